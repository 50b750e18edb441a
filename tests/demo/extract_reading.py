"""An extract read back for the tests, with nothing of the code that wrote it."""

import math
from collections import defaultdict
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

import osmium

Spot = tuple[float, float]
Tags = dict[str, str]
METRES_A_DEGREE = 111_195.0


@dataclass
class Extract:
    """Nodes by number with where they lie (latitude, longitude), ways and relations as they stand in the file."""

    at: dict[int, Spot] = field(default_factory=dict)
    node_tags: dict[int, Tags] = field(default_factory=dict)
    ways: dict[int, tuple[list[int], Tags]] = field(default_factory=dict)
    relations: dict[int, tuple[list[tuple[str, int, str]], Tags]] = field(default_factory=dict)

    @property
    def roads(self) -> dict[int, tuple[list[int], Tags]]:
        return {way: (nodes, tags) for way, (nodes, tags) in self.ways.items() if "highway" in tags}

    def spots(self, way: int) -> list[Spot]:
        return [self.at[node] for node in self.ways[way][0]]

    def addresses(self) -> list[tuple[tuple[str, str, str, str], Spot]]:
        """Number, street, suburb and postcode of every house, each way of giving numbers, with where it stands."""
        keys = ("addr:housenumber", "addr:street", "addr:suburb", "addr:postcode")
        found = [
            (tuple(tags[key] for key in keys), self.at[node])
            for node, tags in self.node_tags.items()
            if "addr:housenumber" in tags
        ]
        for way, (nodes, tags) in self.ways.items():
            if "addr:housenumber" in tags:
                corners = self.spots(way)[1:]
                middle = sum(lat for lat, _ in corners) / len(corners), sum(lon for _, lon in corners) / len(corners)
                found.append((tuple(tags[key] for key in keys), middle))
            if "addr:interpolation" in tags:
                begin, end = self.node_tags[nodes[0]], self.node_tags[nodes[-1]]
                first, last = (int(each["addr:housenumber"]) for each in (begin, end))
                assert begin["addr:street"] == end["addr:street"]
                assert {first % 2, last % 2} == {tags["addr:interpolation"] == "odd"}
                for number in range(first + 2, last, 2):
                    share = (number - first) / (last - first)
                    spot = between(self.at[nodes[0]], self.at[nodes[-1]], share)
                    found.append(((str(number), *(begin[key] for key in keys[1:])), spot))
        return found  # type: ignore[return-value]


def read(file: Path) -> Extract:
    extract = Extract()
    for thing in osmium.FileProcessor(str(file)):
        tags = dict(thing.tags)
        if isinstance(thing, osmium.osm.Node):
            extract.at[thing.id], extract.node_tags[thing.id] = (thing.lat, thing.lon), tags
        elif isinstance(thing, osmium.osm.Way):
            extract.ways[thing.id] = [node.ref for node in thing.nodes], tags
        elif isinstance(thing, osmium.osm.Relation):
            extract.relations[thing.id] = [(one.type, one.ref, one.role) for one in thing.members], tags
    return extract


def between(one: Spot, other: Spot, share: float) -> Spot:
    return one[0] + share * (other[0] - one[0]), one[1] + share * (other[1] - one[1])


def flat(spot: Spot, near: Spot) -> Spot:
    """Metres east and north of a spot near by."""
    east = (spot[1] - near[1]) * math.cos(math.radians(near[0]))
    return east * METRES_A_DEGREE, (spot[0] - near[0]) * METRES_A_DEGREE


def metres_to_line(spot: Spot, line: list[Spot]) -> float:
    """How far a spot lies from a line."""
    best = math.inf
    for one, other in pairwise(line):
        (ax, ay), (bx, by) = flat(one, spot), flat(other, spot)
        share = -(ax * (bx - ax) + ay * (by - ay)) / ((bx - ax) ** 2 + (by - ay) ** 2)
        best = min(best, math.hypot(*between((ax, ay), (bx, by), max(0.0, min(1.0, share)))))
    return best


def do_cross(one: Spot, other: Spot, begin: Spot, end: Spot) -> bool:
    def side(a: Spot, b: Spot, c: Spot) -> float:
        return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])

    return side(one, other, begin) * side(one, other, end) < 0 and side(begin, end, one) * side(begin, end, other) < 0


@dataclass
class Driving:
    """Stretches between two nodes that may be driven, and onto which others each may be followed by."""

    after: dict[tuple[int, int, int], list[tuple[int, int, int]]]

    @classmethod
    def of(cls, extract: Extract) -> "Driving":
        """Stretches are way, node, next node; no one turns round but at a dead end."""
        leaving: dict[int, list[tuple[int, int, int]]] = defaultdict(list)
        for way, (nodes, tags) in extract.roads.items():
            both = tags.get("oneway") != "yes" and tags.get("junction") != "roundabout"
            for one, other in pairwise(nodes):
                leaving[one].append((way, one, other))
                if both:
                    leaving[other].append((way, other, one))
        ruled = [_rule(members, tags) for members, tags in extract.relations.values()]
        forbidden = {turn for word, turn in ruled if word.startswith("no_")}
        only = {turn[:2]: turn[2] for word, turn in ruled if word.startswith("only_")}

        def may_follow(stretch: tuple[int, int, int], onto: tuple[int, int, int]) -> bool:
            way, begin, node = stretch
            if onto[2] == begin and len(leaving[node]) > 1:
                return False
            return (way, node, onto[0]) not in forbidden and only.get((way, node), onto[0]) == onto[0]

        every = [stretch for stretches in leaving.values() for stretch in stretches]
        return cls({each: [onto for onto in leaving[each[2]] if may_follow(each, onto)] for each in every})

    def reached(self, start: tuple[int, int, int], *, backwards: bool = False) -> set[int]:
        """Nodes that can be driven to from a stretch, or from which it can be driven to."""
        beside = self.after
        if backwards:
            beside = defaultdict(list)
            for each, onto in self.after.items():
                for next_ in onto:
                    beside[next_].append(each)
        seen, waiting = {start}, [start]
        while waiting:
            for next_ in beside[waiting.pop()]:
                if next_ not in seen:
                    seen.add(next_)
                    waiting.append(next_)
        return {node for _, *ends in seen for node in ends}


def _rule(members: list[tuple[str, int, str]], tags: Tags) -> tuple[str, tuple[int, int, int]]:
    by_role = {role: number for _, number, role in members}
    return tags["restriction"], (by_role["from"], by_role["via"], by_role["to"])

"""Reading an extract for what has an address: house numbers, streets with a name, and places for their suburbs."""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

import osmium
from osmium.osm import NODE, RELATION, WAY, Node, Relation, Way

from coatround.roads.address_words import has_number_first, house_numbers, name_key, number_key, words

STREET, HOUSE, BETWEEN = 0, 1, 2
"""Kinds of points: one on a street, a house, a house reckoned from its neighbours on a line of numbers."""
SUBURB_TAGS = [f"addr:{key}" for key in ("suburb", "hamlet", "village", "town", "city", "municipality", "district")]
NO_STREETS = frozenset(
    ["platform", "bus_stop", "proposed", "construction", "rest_area", "services", "elevator", "corridor"]
)
NEAR_PLACES = {"suburb", "neighbourhood", "quarter", "village", "hamlet"}
FAR_PLACES = {"town", "city"}
NEAR_METRES, FAR_METRES = 3_000, 15_000
"""Our own default: how far a place's point may lie from a street that is taken to belong to it."""
SPACING_METRES = 150
MOST_BETWEEN = 500
"""A line of numbers with more houses than this between two known ones is taken for a mistake."""
METRES_A_DEGREE = 111_195.0
TELL_EVERY = 2_000
GRID_DEGREES = 0.15

Tags = dict[str, str]
Spot = tuple[float, float]
"""Latitude and longitude."""


class Point(NamedTuple):
    """A house, or one of the points of a street; `area` is all that is said of where it lies."""

    key: str
    name: str
    others: str
    kind: int
    number: str
    suburb: str
    area: str
    postcode: str
    lat: float
    lon: float

    @property
    def spot(self) -> Spot:
        return self.lat, self.lon


def metres_between(one: Spot, other: Spot) -> float:
    """Metres between two points not far apart, as on a plane."""
    east = (other[1] - one[1]) * math.cos(math.radians(one[0]))
    return math.hypot(other[0] - one[0], east) * METRES_A_DEGREE


@dataclass
class Places:
    """Suburbs, villages and towns by where they lie."""

    grid: dict[tuple[int, int], list[tuple[str, str, Spot]]] = field(default_factory=dict)

    def add(self, kind: str, name: str, at: Spot) -> None:
        self.grid.setdefault(_square(at), []).append((kind, name, at))

    def nearest(self, at: Spot) -> str:
        """The suburb or village nearest to a point, else the town; empty where none is near."""
        row, column = _square(at)
        beside = [(row + up, column + right) for up in (-1, 0, 1) for right in range(-2, 3)]
        around = [
            (metres_between(at, spot), kind, name) for cell in beside for kind, name, spot in self.grid.get(cell, [])
        ]
        for kinds, most in ((NEAR_PLACES, NEAR_METRES), (FAR_PLACES, FAR_METRES)):
            near = min(((metres, name) for metres, kind, name in around if kind in kinds), default=(most + 1.0, ""))
            if near[0] <= most:
                return near[1]
        return ""


def _square(at: Spot) -> tuple[int, int]:
    return math.floor(at[0] / GRID_DEGREES), math.floor(at[1] / GRID_DEGREES)


class AddressPoints:
    """Streams an extract's houses and streets; `places`, and how numbers are said, are known once that is done."""

    def __init__(self, extract: Path, tell: Callable[[float], None]) -> None:
        self.places = Places()
        self._file, self._tell = str(extract), tell
        self._size = max(1, extract.stat().st_size)
        self._numbered: dict[int, tuple[Tags, Spot]] = {}
        self._names, self._names_number_first = 0, 0

    @property
    def is_number_first(self) -> bool:
        """Whether most would say the house number before the street: guessed by the streets' names."""
        return self._names_number_first > 0.3 * self._names

    def read(self) -> Iterator[Point]:
        """Every house and every point of a street. Errors of the file come as RuntimeError."""
        on_lines = self._nodes_on_lines()
        relations = list(self._relations())
        processor = osmium.FileProcessor(self._file, NODE | WAY).with_locations()
        keys = osmium.filter.KeyFilter("name", "addr:housenumber", "addr:interpolation")
        for count, thing in enumerate(processor.with_filter(keys)):
            if count % TELL_EVERY == 0:
                self._tell(0.1 + 0.9 * (1 - math.exp(-count * 60 / self._size)))
            if isinstance(thing, Node):
                yield from self._node(thing, on_lines)
            elif isinstance(thing, Way):
                yield from self._way(thing)
        for tags, node in relations:
            try:
                at = processor.node_location_storage.get(node)  # type: ignore[union-attr]
            except KeyError:
                continue
            yield from self._houses(tags, (at.lat, at.lon))

    def _nodes_on_lines(self) -> set[int]:
        """Nodes of lines of numbers, some of which bear the numbers to reckon from."""
        self._tell(0.0)
        lines = osmium.FileProcessor(self._file, WAY).with_filter(osmium.filter.KeyFilter("addr:interpolation"))
        return {node.ref for way in lines if isinstance(way, Way) for node in way.nodes}

    def _relations(self) -> Iterator[tuple[Tags, int]]:
        """The address of each relation and a node of its outline."""
        self._tell(0.03)
        by_way: dict[int, list[Tags]] = {}
        numbered = osmium.filter.KeyFilter("addr:housenumber")
        for relation in osmium.FileProcessor(self._file, RELATION).with_filter(numbered):
            assert isinstance(relation, Relation)
            ways = [part.ref for part in relation.members if part.type == "w" and part.role in ("outer", "outline", "")]
            if ways:
                by_way.setdefault(ways[0], []).append(dict(relation.tags))
        if by_way:
            self._tell(0.06)
            for way in osmium.FileProcessor(self._file, WAY).with_filter(osmium.filter.IdFilter(by_way)):
                assert isinstance(way, Way)
                yield from ((tags, way.nodes[0].ref) for tags in by_way[way.id] if len(way.nodes))

    def _node(self, node: Node, on_lines: set[int]) -> Iterator[Point]:
        at = node.lat, node.lon
        if node.tags.get("place") in NEAR_PLACES | FAR_PLACES and "name" in node.tags:
            self.places.add(node.tags["place"], node.tags["name"], at)
        if "addr:housenumber" in node.tags:
            tags = dict(node.tags)
            if node.id in on_lines:
                self._numbered[node.id] = tags, at
            yield from self._houses(tags, at)

    def _way(self, way: Way) -> Iterator[Point]:
        line = [(node.lat, node.lon) for node in way.nodes if node.location.valid()]
        if not line:
            return
        tags = dict(way.tags)
        if "addr:interpolation" in tags:
            yield from self._line_of_numbers(way, tags)
        elif "addr:housenumber" in tags:
            around = line[1:] if len(line) > 1 and way.is_closed() else line
            lat, lon = (sum(at[axis] for at in around) / len(around) for axis in (0, 1))
            yield from self._houses(tags, (lat, lon))
        if "highway" in tags and tags["highway"] not in NO_STREETS and words(tags.get("name", "")):
            others = "|".join(sorted(set(_other_names(tags)) - {tags["name"]}))
            for lat, lon in _along(line):
                yield self._point(tags["name"], others, STREET, "", {}, (lat, lon))

    def _houses(self, tags: Tags, at: Spot, kind: int = HOUSE) -> Iterator[Point]:
        name = tags.get("addr:street") or tags.get("addr:place") or ""
        if name_key(name):
            others = "|".join(value for key, value in tags.items() if key.startswith("addr:street:"))
            for number in house_numbers(tags.get("addr:housenumber", "")):
                yield self._point(name, others, kind, number, tags, at)

    def _point(self, name: str, others: str, kind: int, number: str, tags: Tags, at: Spot) -> Point:
        self._names += 1
        self._names_number_first += has_number_first(name)
        said = [tags[key] for key in SUBURB_TAGS if any(letter.isalpha() for letter in tags.get(key, ""))]
        place = [tags["addr:place"]] if tags.get("addr:street") and tags.get("addr:place") else []
        suburb = (said + place)[0] if said or place else ""
        area, postcode = " ".join(said + place), tags.get("addr:postcode", "")
        return Point(name_key(name), name, others, kind, number, suburb, area, postcode, *at)

    def _line_of_numbers(self, way: Way, tags: Tags) -> Iterator[Point]:
        """Houses between the numbered nodes of a line, spaced evenly along it."""
        line = [(node.ref, (node.lat, node.lon)) for node in way.nodes if node.location.valid()]
        known = [at for at, (node, _) in enumerate(line) if node in self._numbered]
        for begin, end in pairwise(known):
            first, last = self._numbered[line[begin][0]][0], self._numbered[line[end][0]][0]
            shared = first | {key: value for key, value in tags.items() if value}
            if not (shared.get("addr:street") or shared.get("addr:place")):
                shared = last | first
            numbers = _numbers_between(first["addr:housenumber"], last["addr:housenumber"], tags["addr:interpolation"])
            spots = _spaced([at for _, at in line[begin : end + 1]], len(numbers))
            for number, at in zip(numbers, spots, strict=True):
                yield from self._houses(shared | {"addr:housenumber": str(number)}, at, BETWEEN)


def _other_names(tags: Tags) -> Iterator[str]:
    """The same street in other languages, and other names in use."""
    for key, value in tags.items():
        if key in ("alt_name", "official_name") or (key.startswith("name:") and key[5:].isalpha() and len(key) < 9):
            yield from (name.strip() for name in value.split(";") if words(name))


def _along(line: list[Spot]) -> Iterator[Spot]:
    """Points of a line, none further from the next than the spacing, and not many more than needed."""
    yield line[0]
    since = 0.0
    for before, at in pairwise(line):
        metres = metres_between(before, at)
        for step in range(1, int(metres / SPACING_METRES) + 1):
            share = step * SPACING_METRES / metres
            yield before[0] + share * (at[0] - before[0]), before[1] + share * (at[1] - before[1])
        since = since + metres if metres < SPACING_METRES else 0.0
        if since >= SPACING_METRES / 2:
            yield at
            since = 0.0
    yield line[len(line) // 2]


def _numbers_between(first: str, last: str, how: str) -> list[int]:
    """The numbers of a line from its first to its last; none where that makes no sense."""
    step = {"even": 2, "odd": 2, "all": 1}.get(how, int(how) if how.isascii() and how.isdigit() and len(how) < 4 else 0)
    begin, end = number_key(first), number_key(last)
    if not (step and begin.isascii() and begin.isdigit() and end.isascii() and end.isdigit() and len(begin + end) < 11):
        return []
    low, high = int(begin), int(end)
    parity = {"even": 0, "odd": 1}.get(how, low % 2)
    if abs(high - low) > step * MOST_BETWEEN or (high - low) % step or low % 2 != parity:
        return []
    return list(range(low, high + 1, step)) if low <= high else list(range(low, high - 1, -step))


def _spaced(line: list[Spot], count: int) -> Iterator[Spot]:
    """So many points from the line's first to its last, equally far apart along it."""
    lengths = [metres_between(one, other) for one, other in pairwise(line)]
    total, begun, leg = sum(lengths), 0.0, 0
    for number in range(count):
        wanted = total * number / max(1, count - 1)
        while leg < len(lengths) - 1 and begun + lengths[leg] < wanted:
            begun += lengths[leg]
            leg += 1
        share = min(1.0, (wanted - begun) / lengths[leg]) if lengths[leg] else 0.0
        one, other = line[leg], line[leg + 1]
        yield one[0] + share * (other[0] - one[0]), one[1] + share * (other[1] - one[1])

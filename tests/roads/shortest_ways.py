"""An independent shortest way over an OpenStreetMap extract: plain Dijkstra over pieces of road, written for the tests.

A piece is the stretch of a way between two neighbouring nodes, in one direction. Rules of the road: one-ways
(roundabouts among them), ways and barriers closed to cars, turns that a restriction forbids, and turning round only
where a road ends, but not before a barrier. Private roads and those for residents are open, for that is how the engine
is asked (`shortest` knows metres alone), and restrictions for some hours hold at none.
"""

import heapq
import math
from collections import defaultdict
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

import osmium

CARS = {
    f"{kind}{link}" for kind in ("motorway", "trunk", "primary", "secondary", "tertiary") for link in ("", "_link")
} | {"unclassified", "residential", "living_street", "service"}
ON_FOOT = {"footway", "pedestrian", "cycleway", "path", "bridleway"}
"""Ways for others, open to cars only where that is said of cars."""
SHUT = {"no", "agricultural", "forestry", "psv", "bus", "emergency"}
BARRIERS = {"bollard", "block", "jersey_barrier", "log", "debris", "planter", "fence"}
EARTH_RADIUS_METRES = 6_378_137.0
"""The engine's own radius: that of the WGS 84 equator."""
URBAN_KM_H = 50.0
"""The limit in Finnish towns where no sign says other (common knowledge, no source)."""
LEAST_KM_H = 10.0
"""Limits below are not held to: the two of 5 km/h in the extract bear its mapper's doubt whether the sign is there."""

Piece = tuple[int, int]


@dataclass
class Network:
    """Pieces of road with their metres and limit, and the turns that are forbidden between them."""

    at: dict[int, tuple[float, float]] = field(default_factory=dict)
    after: dict[int, list[int]] = field(default_factory=lambda: defaultdict(list))
    metres: dict[Piece, float] = field(default_factory=dict)
    km_h: dict[Piece, float] = field(default_factory=dict)
    way_of: dict[Piece, int] = field(default_factory=dict)
    shut: set[int] = field(default_factory=set)
    """Nodes that cars can't pass."""
    barriers: set[int] = field(default_factory=set)
    """Nodes with a barrier of any kind, gates among them."""
    forbidden: set[tuple[int, int, int]] = field(default_factory=set)
    """Way, node, way."""
    only: dict[tuple[int, int], int] = field(default_factory=dict)
    """Way, node: the one way that may be taken there."""

    def may_turn(self, piece: Piece, onto: Piece) -> bool:
        _, here = piece
        turns_round = onto[1] == piece[0]
        if here in self.shut or (turns_round and (here in self.barriers or len(self.after[here]) > 1)):
            return False
        first, second = self.way_of[piece], self.way_of[onto]
        if (first, here) in self.only and self.only[first, here] != second:
            return False
        return (first, here, second) not in self.forbidden

    def least(self, start: int, end: int, weight: dict[Piece, float]) -> float | None:
        """The least sum of weights from one node to another; None where there is no way."""
        best = {(start, next_): weight[start, next_] for next_ in self.after[start]}
        waiting = [(cost, piece) for piece, cost in best.items()]
        heapq.heapify(waiting)
        while waiting:
            cost, piece = heapq.heappop(waiting)
            if cost > best[piece]:
                continue
            if piece[1] == end:
                return cost
            for next_ in self.after[piece[1]]:
                onto = (piece[1], next_)
                if self.may_turn(piece, onto) and cost + weight[onto] < best.get(onto, math.inf):
                    best[onto] = cost + weight[onto]
                    heapq.heappush(waiting, (best[onto], onto))
        return None


def metres_between(one: tuple[float, float], other: tuple[float, float]) -> float:
    """The great circle (haversine) between two points in degrees."""
    lat, lon, lat2, lon2 = map(math.radians, (*one, *other))
    half = math.sin((lat2 - lat) / 2) ** 2 + math.cos(lat) * math.cos(lat2) * math.sin((lon2 - lon) / 2) ** 2
    return 2 * EARTH_RADIUS_METRES * math.asin(math.sqrt(half))


def read_network(file: Path) -> Network:
    """The roads open to cars in an extract."""
    network = Network()
    for thing in osmium.FileProcessor(str(file)).with_locations():
        if isinstance(thing, osmium.osm.Node):
            if "barrier" in thing.tags:
                network.barriers.add(thing.id)
            said = _access(thing.tags)
            if said in SHUT or (thing.tags.get("barrier") in BARRIERS and not said):
                network.shut.add(thing.id)
        elif isinstance(thing, osmium.osm.Way):
            _add_way(network, thing)
        elif isinstance(thing, osmium.osm.Relation):
            _add_restriction(network, thing)
    return network


def _access(tags: osmium.osm.TagList) -> str:
    """What is said about cars: the word for them counts over that for all traffic."""
    return next((tags[key] for key in ("motorcar", "motor_vehicle", "vehicle", "access") if key in tags), "")


def _add_way(network: Network, way: osmium.osm.Way) -> None:
    tags = way.tags
    said, for_cars = _access(tags), tags.get("motorcar") or tags.get("motor_vehicle")
    is_open = tags.get("highway") in CARS or (tags.get("highway") in ON_FOOT and for_cars)
    if not is_open or said in SHUT or tags.get("area") == "yes":
        return
    nodes = [node.ref for node in way.nodes if node.location.valid()]
    if len(nodes) < len(way.nodes):
        return
    for node in way.nodes:
        network.at[node.ref] = (node.lat, node.lon)
    round_ = tags.get("junction") in ("roundabout", "circular")
    oneway = tags.get("oneway", "yes" if round_ or tags["highway"].startswith("motorway") else "no")
    limit = tags.get("maxspeed") or ""
    km_h = float(limit) if limit.isdecimal() and float(limit) >= LEAST_KM_H else URBAN_KM_H
    for start, end in pairwise(nodes):
        directions = [(start, end)] if oneway in ("yes", "1", "true") else [(end, start)]
        if oneway not in ("yes", "1", "true", "-1"):
            directions = [(start, end), (end, start)]
        for piece in directions:
            if piece not in network.metres:
                network.after[piece[0]].append(piece[1])
            network.metres[piece] = metres_between(network.at[piece[0]], network.at[piece[1]])
            network.km_h[piece] = max(km_h, network.km_h.get(piece, 0))
            network.way_of[piece] = way.id


def _add_restriction(network: Network, relation: osmium.osm.Relation) -> None:
    kind = relation.tags.get("restriction") or ""
    at_hours = {"time", "hour_on", "day_on"} & {tag.k for tag in relation.tags}
    spared = {"motorcar", "motor_vehicle"} & set((relation.tags.get("except") or "").split(";"))
    if relation.tags.get("type") != "restriction" or at_hours or spared:
        return
    members = {role: [one for one in relation.members if one.role == role] for role in ("from", "via", "to")}
    if any(len(found) != 1 for found in members.values()) or members["via"][0].type != "n":
        return
    first, via, last = (members[role][0].ref for role in ("from", "via", "to"))
    if kind.startswith("no_"):
        network.forbidden.add((first, via, last))
    elif kind.startswith("only_"):
        network.only[first, via] = last

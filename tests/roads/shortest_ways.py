"""An independent shortest way over an OpenStreetMap extract: plain Dijkstra over pieces of road, written for the tests.

A piece is the stretch of a way between two neighbouring nodes, in one direction. Rules of the road: one-ways (roundabouts
among them), ways and barriers closed to cars, turns that a restriction forbids, and no turning round in mid-road.
"""

import heapq
import math
from collections import defaultdict
from dataclasses import dataclass, field
from pathlib import Path

import osmium

CARS = {
    f"{kind}{link}"
    for kind in ("motorway", "trunk", "primary", "secondary", "tertiary")
    for link in ("", "_link")
} | {"unclassified", "residential", "living_street", "service"}
SHUT = {"no", "private", "agricultural", "forestry", "psv", "bus", "delivery", "emergency", "customers", "permit"}
BARRIERS = {"bollard", "block", "jersey_barrier", "log", "debris", "planter"}
EARTH_RADIUS_METRES = 6_378_137.0
"""The engine's own radius: that of the WGS 84 equator."""
URBAN_KM_H = 50.0
"""The limit in Finnish towns where no sign says other (common knowledge, no source)."""

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
    forbidden: set[tuple[int, int, int]] = field(default_factory=set)
    """Way, node, way."""
    only: dict[tuple[int, int], int] = field(default_factory=dict)
    """Way, node: the one way that may be taken there."""

    def may_turn(self, piece: Piece, onto: Piece) -> bool:
        _, here = piece
        if here in self.shut or (onto[1] == piece[0] and len(self.after[here]) > 1):
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
        if thing.is_node():
            if thing.tags.get("barrier") in BARRIERS and thing.tags.get("motor_vehicle") not in ("yes", "designated"):
                network.shut.add(thing.id)
        elif thing.is_way():
            _add_way(network, thing)
        else:
            _add_restriction(network, thing)
    return network


def _add_way(network: Network, way: osmium.osm.Way) -> None:
    tags = way.tags
    access = next((tags.get(key) for key in ("motorcar", "motor_vehicle", "vehicle", "access") if key in tags), "yes")
    if tags.get("highway") not in CARS or access in SHUT or tags.get("area") == "yes":
        return
    nodes = [node.ref for node in way.nodes if node.location.valid()]
    if len(nodes) < len(way.nodes):
        return
    for node in way.nodes:
        network.at[node.ref] = (node.lat, node.lon)
    round_ = tags.get("junction") in ("roundabout", "circular")
    oneway = tags.get("oneway", "yes" if round_ or tags["highway"].startswith("motorway") else "no")
    limit = tags.get("maxspeed", "")
    km_h = float(limit) if limit.isdecimal() else URBAN_KM_H
    for start, end in zip(nodes, nodes[1:], strict=False):
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
    kind = relation.tags.get("restriction", "")
    at_hours = {"except", "hour_on", "day_on"} & {tag.k for tag in relation.tags}
    if relation.tags.get("type") != "restriction" or at_hours:
        return
    members = {role: [one for one in relation.members if one.role == role] for role in ("from", "via", "to")}
    if any(len(found) != 1 for found in members.values()) or members["via"][0].type != "n":
        return
    first, via, last = (members[role][0].ref for role in ("from", "via", "to"))
    if kind.startswith("no_"):
        network.forbidden.add((first, via, last))
    elif kind.startswith("only_"):
        network.only[first, via] = last

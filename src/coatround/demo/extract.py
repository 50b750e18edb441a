"""The invented town as an OpenStreetMap extract: its roads with names and limits, its river, suburbs and addresses."""

import datetime as dt
import math
from collections.abc import Iterator
from itertools import groupby
from pathlib import Path
from random import Random

import osmium
from osmium.osm import mutable

from coatround.demo.arterials import arterial_lines, cells_of
from coatround.demo.crossings import Line, Network, Piece, Spot
from coatround.demo.network import joined
from coatround.demo.signs import Signs, put_signs
from coatround.demo.streets import street_lines
from coatround.demo.town import (
    METRES_A_DEGREE,
    MIDDLE,
    SUBURBS_A_VAN,
    Point,
    Street,
    Suburb,
    depot_yard,
    from_middle,
    houses,
    place_along,
    river,
    suburb,
    weir_tap,
)

TOWN = "Hollow Ford"
RIVER = "Tarrow"
MADE_AT = dt.datetime(2026, 1, 1, tzinfo=dt.UTC)
HALF_HOUSE_DEGREES = 0.00005
"""A house that is drawn is a square of some 10 m."""
FEWEST_ON_A_LINE = 3

Tags = dict[str, str]


def town_network(seed: int, suburbs: int) -> tuple[Network, Signs, list[Suburb]]:
    """The roads of so many suburbs, with what is signed at their crossings."""
    places = [suburb(number, seed) for number in range(suburbs)]
    cells = cells_of(seed, suburbs)
    lines = arterial_lines(cells)
    for number, place in enumerate(places):
        lines.extend(street_lines(number, place, cells.around[number], seed))
    network = joined(lines, [(from_middle(point), _lane(name)) for _, name, _, point in _van_places(places)])
    return network, put_signs(network, seed, [from_middle(place.middle) for place in places]), places


def _lane(name: str) -> Line:
    return Line((), "service", name, 20)


def _van_places(places: list[Suburb]) -> Iterator[tuple[int, str, Suburb, Point]]:
    """Number, lane, suburb and point of where each van stays at night and fills up."""
    for van, place in enumerate(places[::SUBURBS_A_VAN]):
        yield van + 1, "Depot Yard", place, depot_yard(place)
        yield van + 1, "Weir Tap", place, weir_tap(place)


def write_extract(file: Path, seed: int, suburbs: int) -> None:
    """Writes the town with so many suburbs as `.osm.pbf`; the same every time for the same seed."""
    network, signs, places = town_network(seed, suburbs)
    town = _Town(signs)
    town.add_roads(network)
    town.add_river(max(abs(spot[0]) for spot in network.spots))
    town.add_node(Point(*MIDDLE), {"place": "town", "name": TOWN})
    for number, place in enumerate(places):
        town.add_node(place.middle, {"place": "suburb", "name": place.name})
        chance = Random(f"{seed}/numbers/{number}")
        for street in place.streets:
            town.add_houses(street, place, chance.choices(("node", "house", "line"), (70, 15, 15))[0])
    for van, name, place, point in _van_places(places):
        town.add_node(point, _address(str(van), name, place))
    town.write(file)


def _address(number: str, street: str, place: Suburb) -> Tags:
    return {
        "addr:housenumber": number,
        "addr:street": street,
        "addr:suburb": place.name,
        "addr:postcode": place.postcode,
        "addr:city": TOWN,
    }


class _Town:
    """What will be written: nodes and ways are numbered in the order in which they are added, from 1."""

    def __init__(self, signs: Signs) -> None:
        self.signs = signs
        self.nodes: list[tuple[float, float, Tags]] = []
        self.ways: list[tuple[list[int], Tags]] = []
        self.way_of: dict[int, int] = {}

    def add_node(self, point: Point, tags: Tags | None = None) -> int:
        self.nodes.append((point.lat, point.lon, tags or {}))
        return len(self.nodes)

    def add_way(self, nodes: list[int], tags: Tags) -> int:
        self.ways.append((nodes, tags))
        return len(self.ways)

    def add_roads(self, network: Network) -> None:
        lights = set(self.signs.lights)
        self.node_of: dict[int, int] = {}
        for node in sorted({node for piece in network.pieces for node in piece.nodes}):
            tags = {"highway": "traffic_signals"} if node in lights else {}
            self.node_of[node] = self.add_node(_point(network.spots[node]), tags)
        for piece in network.pieces:
            self.way_of[id(piece)] = self.add_way([self.node_of[node] for node in piece.nodes], _road_tags(piece))

    def add_river(self, far_metres: float) -> None:
        nodes = [self.add_node(point) for point in river(far_metres + 2_000)]
        self.add_way(nodes, {"waterway": "river", "name": RIVER})

    def add_houses(self, street: Street, place: Suburb, how: str) -> None:
        """The houses of a street: as nodes, as drawn houses, or as lines along which they are numbered."""
        every = houses(street)
        if how != "line":
            add = self._add_house if how == "house" else self.add_node
            for number, point in every:
                add(point, _address(str(number), street.name, place))
            return
        by_side = sorted(every, key=lambda each: (each[0] % 2, each[0]))
        for (odd, _), side in groupby(by_side, key=lambda each: (each[0] % 2, place_along(street, each[0])[0])):
            self._add_line(list(side), "odd" if odd else "even", street, place)

    def _add_line(self, side: list[tuple[int, Point]], parity: str, street: Street, place: Suburb) -> None:
        is_whole = side[-1][0] - side[0][0] == 2 * (len(side) - 1)
        is_line = is_whole and len(side) >= FEWEST_ON_A_LINE
        numbered = (side[0], side[-1]) if is_line else side
        nodes = [self.add_node(point, _address(str(number), street.name, place)) for number, point in numbered]
        if is_line:
            self.add_way(nodes, {"addr:interpolation": parity})

    def _add_house(self, point: Point, tags: Tags) -> int:
        high = HALF_HOUSE_DEGREES
        wide = high / math.cos(math.radians(point.lat))
        corners = [
            self.add_node(Point(point.lat + up * high, point.lon + right * wide))
            for up, right in ((-1, -1), (-1, 1), (1, 1), (1, -1))
        ]
        return self.add_way([*corners, corners[0]], {"building": "house"} | tags)

    def write(self, file: Path) -> None:
        header = osmium.io.Header()
        header.set("generator", "coatround demo")
        header.set("osmosis_replication_timestamp", f"{MADE_AT:%Y-%m-%dT%H:%M:%SZ}")
        header.add_box(_bounds([(lat, lon) for lat, lon, _ in self.nodes]))
        with osmium.SimpleWriter(str(file), header=header, overwrite=True) as writer:
            for number, (lat, lon, tags) in enumerate(self.nodes, 1):
                writer.add_node(mutable.Node(id=number, location=(lon, lat), tags=tags, version=1, timestamp=MADE_AT))
            for number, (nodes, tags) in enumerate(self.ways, 1):
                writer.add_way(mutable.Way(id=number, nodes=nodes, tags=tags, version=1, timestamp=MADE_AT))
            for number, turn in enumerate(self.signs.turns, 1):
                members = [
                    ("w", self.way_of[id(turn.begin)], "from"),
                    ("n", self.node_of[turn.node], "via"),
                    ("w", self.way_of[id(turn.onto)], "to"),
                ]
                tags = {"type": "restriction", "restriction": turn.word}
                writer.add_relation(
                    mutable.Relation(id=number, members=members, tags=tags, version=1, timestamp=MADE_AT)
                )


def _point(spot: Spot) -> Point:
    """The point so many metres east and north of the town's middle (flat)."""
    lon = MIDDLE[1] + spot[0] / (METRES_A_DEGREE * math.cos(math.radians(MIDDLE[0])))
    return Point(round(MIDDLE[0] + spot[1] / METRES_A_DEGREE, 7), round(lon, 7))


def _bounds(points: list[tuple[float, float]]) -> osmium.osm.Box:
    lats, lons = [lat for lat, _ in points], [lon for _, lon in points]
    return osmium.osm.Box(min(lons), min(lats), max(lons), max(lats))


def _road_tags(piece: Piece) -> Tags:
    line = piece.line
    tags = {"highway": line.kind, "maxspeed": str(line.limit)}
    if line.name:
        tags["name"] = line.name
    if line.bridge:
        tags |= {"bridge": "yes", "layer": "1"}
    if piece.roundabout:
        tags["junction"] = "roundabout"
    elif piece.one_way:
        tags["oneway"] = "yes"
    return tags

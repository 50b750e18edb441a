"""A tiny invented extract: six streets by six avenues in the desert, with names and house numbers."""

from pathlib import Path

import osmium
from osmium.osm.mutable import Node, Way

SOUTH, WEST = -29.6, 128.9
STEP_DEGREES = 0.002
LINES = 6
NUMBERS_A_SIDE = 4
ISLAND = (SOUTH - 0.05, WEST)
"""Where a road lies that no other meets (with `island`)."""


def at(north: float, east: float, south: float = SOUTH, west: float = WEST) -> tuple[float, float]:
    """A point in degrees, so many squares north and east of the corner."""
    return round(south + north * STEP_DEGREES, 7), round(west + east * STEP_DEGREES, 7)


def write_squares(
    file: Path,
    *,
    corners: tuple[tuple[float, float], ...] = ((SOUTH, WEST),),
    highway: str = "residential",
    island: bool = False,
) -> None:
    """Writes the streets; `corners` are the south-west corners of as many squares, far apart or not."""
    writer = osmium.SimpleWriter(str(file), overwrite=True)
    try:
        for square, (south, west) in enumerate(corners):
            _write_square(writer, 10_000 * square, south, west, highway)
        if island:
            _write_island(writer, 10_000 * len(corners))
    finally:
        writer.close()


def _write_square(writer: osmium.SimpleWriter, first: int, south: float, west: float, highway: str) -> None:
    def crossing(row: int, column: int) -> int:
        return first + 1 + row * LINES + column

    for row in range(LINES):
        for column in range(LINES):
            lat, lon = at(row, column, south, west)
            writer.add_node(Node(id=crossing(row, column), location=(lon, lat), version=1))
    number = first + 1 + LINES * LINES
    for row in range(LINES):
        for house in range(NUMBERS_A_SIDE * (LINES - 1)):
            lat, lon = at(row + 0.1, (house + 0.5) / NUMBERS_A_SIDE, south, west)
            tags = {"addr:housenumber": str(2 * house + 1), "addr:street": f"Row {row + 1} Street"}
            writer.add_node(Node(id=number, location=(lon, lat), version=1, tags=tags))
            number += 1
    for line in range(LINES):
        for way, name, nodes in (
            (2 * line, f"Row {line + 1} Street", [crossing(line, column) for column in range(LINES)]),
            (2 * line + 1, f"Column {line + 1} Avenue", [crossing(row, line) for row in range(LINES)]),
        ):
            tags = {"highway": highway, "name": name, "maxspeed": "50"}
            writer.add_way(Way(id=first + 1 + way, nodes=nodes, version=1, tags=tags))


def _write_island(writer: osmium.SimpleWriter, first: int) -> None:
    for number in (1, 2):
        place = (ISLAND[1] + 0.002 * number, ISLAND[0])
        writer.add_node(Node(id=first + number, location=place, version=1))
    tags = {"highway": "residential", "name": "Lonely Lane"}
    writer.add_way(Way(id=first + 1, nodes=[first + 1, first + 2], version=1, tags=tags))

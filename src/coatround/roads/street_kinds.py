"""Kinds of lines on the street picture and how they look, light and dark; a square of it in pixels."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

SIDE = 256
"""Pixels a side of one tile."""
AROUND = 24
"""How many pixels beyond the tile are drawn, so that wide lines go on over its edge."""


@dataclass(frozen=True, slots=True)
class Kind:
    """How a kind of line is drawn: its rank (0 most important), its width in pixels at zoom 16, from which zoom on.

    `look` names its colour, of the line and (with " casing" behind it) of its edge.
    """

    rank: int
    width: float
    from_zoom: int
    names_from: int = 99
    look: str = "road"


KINDS = {
    "green": Kind(4, 0, 13, 16, "green"),
    "water": Kind(0, 0, 0, 14, "water"),
    "coast": Kind(0, 3, 0, look="water"),
    "river": Kind(0, 12, 0, 13, "water"),
    "stream": Kind(6, 3, 14, 16, "water"),
    "track": Kind(7, 2, 14, 17, "dashes"),
    "rail": Kind(4, 2, 12, look="dashes"),
    "service": Kind(7, 3, 15, 17),
    "road": Kind(6, 5, 14, 16),
    "living_street": Kind(6, 5, 14, 16),
    "residential": Kind(5, 6, 13, 15),
    "unclassified": Kind(5, 6, 13, 15),
    "tertiary": Kind(4, 7, 12, 14),
    "secondary": Kind(3, 8, 10, 14, "main"),
    "primary": Kind(2, 8.5, 8, 13, "main"),
    "trunk": Kind(1, 9, 5, 12, "main"),
    "motorway": Kind(0, 9, 0, 12, "main"),
}
"""In the order in which they are drawn, one over the other."""
AREAS = ("green", "water")
LIGHT = {
    "ground": "#f6f3ea",
    "road": "#fffdf7",
    "road casing": "#8b816a",
    "main": "#ffffff",
    "main casing": "#5e563f",
    "dashes": "#7b725c",
    "green": "#e0e8d8",
    "water": "#a4cdd0",
    "name": "#17242a",
    "water name": "#0a5058",
    "green name": "#2f4737",
    "place": "#3e4d53",
}
DARK = {
    "ground": "#10191c",
    "road": "#536b72",
    "road casing": "#0a1012",
    "main": "#7d949b",
    "main casing": "#0a1012",
    "dashes": "#5f757c",
    "green": "#182824",
    "water": "#164a50",
    "name": "#f4f5ef",
    "water name": "#8fd0d3",
    "green name": "#a9c7b6",
    "place": "#b6c2c2",
}
"""From the tokens of the look; roads stand out from the ground by 3:1 or more, by their edge or by themselves."""

Spot = tuple[float, float]
"""Pixels across and down from the upper left corner."""


@dataclass(frozen=True, slots=True)
class Line:
    """A line in the pixels of a square."""

    kind: str
    name: str
    spots: list[Spot]


@dataclass(frozen=True, slots=True)
class Named:
    """The name of a suburb or town in the pixels of a square."""

    rank: int
    name: str
    spot: Spot


@dataclass(frozen=True, slots=True)
class Square:
    """So many tiles a side, by the zoom and the number across and down of its first (Web Mercator, EPSG:3857)."""

    z: int
    x: int
    y: int
    tiles: int = 1

    @property
    def side(self) -> int:
        return self.tiles * SIDE

    @property
    def box(self) -> tuple[float, float, float, float]:
        """West, south, east, north in degrees, with what lies around it."""
        west, north = self._degrees(-AROUND, -AROUND)
        east, south = self._degrees(self.side + AROUND, self.side + AROUND)
        return west, south, east, north

    def _degrees(self, across: float, down: float) -> tuple[float, float]:
        tiles = 2.0**self.z
        lon = (self.x + across / SIDE) / tiles * 360 - 180
        lat = math.degrees(math.atan(math.sinh(math.pi * (1 - 2 * (self.y + down / SIDE) / tiles))))
        return lon, lat

    def pixels(self, lons: NDArray[np.float64], lats: NDArray[np.float64]) -> list[Spot]:
        """Points in degrees as pixels of this square."""
        pixels = 2.0**self.z * SIDE
        across = (lons + 180) / 360 * pixels - self.x * SIDE
        down = (1 - np.arcsinh(np.tan(np.radians(lats))) / math.pi) / 2 * pixels - self.y * SIDE
        return list(zip(across.tolist(), down.tolist(), strict=True))


def width_at(kind: str, z: int) -> float:
    """How wide a line is drawn, pixels."""
    return min(22.0, max(0.9, KINDS[kind].width * 1.55 ** (z - 16)))

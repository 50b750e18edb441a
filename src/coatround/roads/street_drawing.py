"""A tile of streets drawn as SVG: ground, water, roads with casings, names along them; light and dark."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from xml.sax.saxutils import escape

import numpy as np
from numpy.typing import NDArray

SIDE = 256
THIN = 2.2
"""Roads narrower than this many pixels are one line without a casing."""
AROUND = 24
"""How many pixels beyond the tile are drawn, so that wide lines go on over its edge."""


@dataclass(frozen=True, slots=True)
class Kind:
    """How a kind of line is drawn: its rank (0 most important), its width in pixels at zoom 16, from which zoom on."""

    rank: int
    width: float
    from_zoom: int
    names_from: int = 99


KINDS = {
    "motorway": Kind(0, 9, 0, 12),
    "trunk": Kind(1, 9, 0, 12),
    "primary": Kind(2, 8.5, 0, 13),
    "secondary": Kind(3, 8, 11, 14),
    "tertiary": Kind(4, 7, 12, 14),
    "unclassified": Kind(5, 6, 13, 15),
    "residential": Kind(5, 6, 13, 15),
    "living_street": Kind(6, 5, 14, 16),
    "road": Kind(6, 5, 14, 16),
    "service": Kind(7, 3, 15, 17),
    "track": Kind(7, 2, 14, 17),
    "water": Kind(0, 0, 0, 14),
    "river": Kind(0, 12, 0, 13),
    "stream": Kind(6, 3, 14, 16),
    "rail": Kind(4, 2, 12),
}
WATERS, RAIL = ("water", "river", "stream"), "rail"
LIGHT = {
    "ground": "#f6f3ea",
    "road": "#fffdf7",
    "main": "#ffffff",
    "casing": "#a89f8a",
    "thin": "#a89f8a",
    "main thin": "#6f6650",
    "main casing": "#6f6650",
    "water": "#a9d0d2",
    "water name": "#0a5058",
    "name": "#17242a",
    "place": "#3e4d53",
}
DARK = {
    "ground": "#10191c",
    "road": "#34464b",
    "main": "#4f666c",
    "casing": "#0a1012",
    "thin": "#4a5d62",
    "main thin": "#8299a0",
    "main casing": "#0a1012",
    "water": "#12383c",
    "water name": "#8fd0d3",
    "name": "#eef0e8",
    "place": "#b6c2c2",
}
PLACE_SIZES = (17, 15, 13, 12)
PLACE_ZOOMS = (0, 9, 12, 14)
LETTER = 0.53
"""The width of a letter as a share of its size: a rough mean of plain typefaces."""

Spot = tuple[float, float]
"""Pixels across and down from the tile's upper left corner."""


@dataclass(frozen=True, slots=True)
class Line:
    """A line in the pixels of a tile."""

    kind: str
    name: str
    spots: tuple[Spot, ...]


@dataclass(frozen=True, slots=True)
class Named:
    """The name of a suburb or town in the pixels of a tile."""

    rank: int
    name: str
    across: float
    down: float


@dataclass(frozen=True, slots=True)
class TileView:
    """Which tile: zoom, and its number across and down (Web Mercator, EPSG:3857)."""

    z: int
    x: int
    y: int

    @property
    def box(self) -> tuple[float, float, float, float]:
        """West, south, east, north in degrees, with what lies around it."""
        west, north = self._degrees(-AROUND, -AROUND)
        east, south = self._degrees(SIDE + AROUND, SIDE + AROUND)
        return west, south, east, north

    def _degrees(self, across: float, down: float) -> tuple[float, float]:
        tiles = 2.0**self.z
        lon = (self.x + across / SIDE) / tiles * 360 - 180
        lat = math.degrees(math.atan(math.sinh(math.pi * (1 - 2 * (self.y + down / SIDE) / tiles))))
        return lon, lat

    def pixels(self, lons: NDArray[np.float64], lats: NDArray[np.float64]) -> list[Spot]:
        """Points in degrees as pixels of this tile."""
        tiles = 2.0**self.z * SIDE
        across = (lons + 180) / 360 * tiles - self.x * SIDE
        down = (1 - np.arcsinh(np.tan(np.radians(lats))) / math.pi) / 2 * tiles - self.y * SIDE
        return list(zip(across.tolist(), down.tolist(), strict=True))


def draw(view: TileView, lines: Sequence[Line], places: Sequence[Named], *, dark: bool) -> str:
    """The tile as SVG text."""
    look = DARK if dark else LIGHT
    parts = [f'<rect width="{SIDE}" height="{SIDE}" fill="{look["ground"]}"/>']
    parts += _waters(view, lines, look)
    roads = sorted((line for line in lines if line.kind not in WATERS), key=lambda line: -KINDS[line.kind].rank)
    for casing in (True, False):
        parts += [mark for line in roads if (mark := _road(view, line, look, casing=casing))]
    parts += _names(view, lines, places, look)
    box = f'viewBox="0 0 {SIDE} {SIDE}" width="{SIDE}" height="{SIDE}"'
    head = f'<svg xmlns="http://www.w3.org/2000/svg" {box}>'
    group = '<g fill="none" stroke-linecap="round" stroke-linejoin="round">'
    return f"{head}{group}{''.join(parts)}</g></svg>"


def _waters(view: TileView, lines: Iterable[Line], look: dict[str, str]) -> list[str]:
    found = []
    for line in lines:
        if line.kind == "water":
            found.append(f'<path d="{_path(line.spots)}Z" fill="{look["water"]}"/>')
        elif line.kind in WATERS:
            width = _width(view, line.kind)
            found += [_stroke(part, look["water"], width) for part in _within(line.spots)]
    return found


def _road(view: TileView, line: Line, look: dict[str, str], *, casing: bool) -> str:
    main, width = KINDS[line.kind].rank <= 3, _width(view, line.kind)
    if line.kind == RAIL:
        return "" if casing else "".join(_stroke(part, look["thin"], width, "6 4") for part in _within(line.spots))
    if line.kind == "track":
        return "" if casing else "".join(_stroke(part, look["thin"], width, "5 4") for part in _within(line.spots))
    colour = look[("main casing" if main else "casing") if casing else ("main" if main else "road")]
    if width < THIN:
        thin = look["main thin" if main else "thin"]
        return "" if casing else "".join(_stroke(part, thin, width) for part in _within(line.spots))
    return "".join(_stroke(part, colour, width + (1.8 if casing else 0)) for part in _within(line.spots))


def _width(view: TileView, kind: str) -> float:
    return min(22.0, max(0.9, KINDS[kind].width * 1.55 ** (view.z - 16)))


def _stroke(spots: Sequence[Spot], colour: str, width: float, dashes: str = "") -> str:
    dashed = f' stroke-dasharray="{dashes}" stroke-linecap="butt"' if dashes else ""
    return f'<path d="{_path(spots)}" stroke="{colour}" stroke-width="{width:.1f}"{dashed}/>'


def _path(spots: Sequence[Spot]) -> str:
    return "M" + "L".join(f"{across:.1f} {down:.1f}" for across, down in spots)


def _within(spots: Sequence[Spot]) -> list[list[Spot]]:
    """The parts of a line that are on the tile or close to it."""
    parts: list[list[Spot]] = []
    for start, end in pairwise(spots):
        if _is_near(start, end):
            if parts and parts[-1][-1] == start:
                parts[-1].append(end)
            else:
                parts.append([start, end])
    return parts


def _is_near(start: Spot, end: Spot) -> bool:
    low, high = -AROUND, SIDE + AROUND
    return not any(max(a, b) < low or min(a, b) > high for a, b in zip(start, end, strict=True))


def _names(view: TileView, lines: Iterable[Line], places: Iterable[Named], look: dict[str, str]) -> list[str]:
    """Names of places first, then of streets, the more important first; none over another."""
    taken: list[tuple[float, float, float, float]] = []
    marks = []
    for place in places:
        size = PLACE_SIZES[place.rank]
        half = len(place.name) * size * 0.31
        box = (place.across - half, place.down - size, place.across + half, place.down + 4)
        if view.z >= PLACE_ZOOMS[place.rank] and view.z <= 16 and _is_free(box, taken):
            marks.append(
                _text(place.name, look["place"], look["ground"], size, f'x="{place.across:.1f}" y="{place.down:.1f}"')
            )
    longest: dict[str, tuple[int, float, Line]] = {}
    for line in lines:
        if line.name and view.z >= KINDS[line.kind].names_from:
            length = sum(math.dist(a, b) for part in _within(line.spots) for a, b in pairwise(part))
            rank = KINDS[line.kind].rank
            if line.name not in longest or (-rank, length) > (-longest[line.name][0], longest[line.name][1]):
                longest[line.name] = (rank, length, line)
    for _rank, _length, line in sorted(longest.values(), key=lambda one: (one[0], -one[1])):
        mark = _along(line, look, taken)
        if mark:
            marks.append(mark)
    return marks


def _along(line: Line, look: dict[str, str], taken: list[tuple[float, float, float, float]]) -> str:
    """A street's name on its straightest long piece inside the tile; empty where it has no room."""
    size = 13 if KINDS[line.kind].rank <= 3 else 12
    needed = len(line.name) * size * LETTER
    pieces = sorted(_straight(line.spots), key=lambda piece: -math.dist(*piece))
    for start, end in pieces[:3]:
        if math.dist(start, end) < needed + 6:
            break
        if end[0] < start[0]:
            start, end = end, start
        middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
        angle = math.atan2(end[1] - start[1], end[0] - start[0])
        across, down = needed / 2 * math.cos(angle), needed / 2 * math.sin(angle)
        high = abs(down) + size * 0.7
        box = (middle[0] - abs(across) - 2, middle[1] - high, middle[0] + abs(across) + 2, middle[1] + high)
        if _is_free(box, taken):
            turn = f'transform="translate({middle[0]:.1f} {middle[1]:.1f}) rotate({math.degrees(angle):.1f})" y="4"'
            water = line.kind in WATERS
            return _text(line.name, look["water name" if water else "name"], look["ground"], size, turn)
    return ""


def _straight(spots: Sequence[Spot]) -> list[tuple[Spot, Spot]]:
    """The pieces of a line that are nearly straight, cut to the tile."""
    pieces: list[tuple[Spot, Spot]] = []
    begin: Spot | None = None
    before: Spot | None = None
    for spot in spots:
        if begin is not None and before is not None and begin != before:
            bend = _turn(begin, before, spot)
            if bend > 0.25:
                pieces.append((begin, before))
                begin = before
        begin, before = begin or spot, spot
    if begin is not None and before is not None and begin != before:
        pieces.append((begin, before))
    return [cut for piece in pieces if (cut := _cut(*piece))]


def _turn(a: Spot, b: Spot, c: Spot) -> float:
    first, second = math.atan2(b[1] - a[1], b[0] - a[0]), math.atan2(c[1] - b[1], c[0] - b[0])
    return abs(math.remainder(second - first, math.tau))


def _cut(start: Spot, end: Spot) -> tuple[Spot, Spot] | None:
    """A straight piece cut to the tile (Liang and Barsky 1984); None where it lies outside."""
    low, high = 0.0, 1.0
    for at in (0, 1):
        step = end[at] - start[at]
        for edge, sign in ((2.0, -1.0), (SIDE - 2.0, 1.0)):
            along, room = sign * step, sign * (edge - start[at])
            if along == 0:
                if room < 0:
                    return None
            elif along > 0:
                high = min(high, room / along)
            else:
                low = max(low, room / along)
    if low >= high:
        return None
    (a, b), (c, d) = start, end
    return (a + low * (c - a), b + low * (d - b)), (a + high * (c - a), b + high * (d - b))


def _is_free(box: tuple[float, float, float, float], taken: list[tuple[float, float, float, float]]) -> bool:
    """Whether a label lies wholly on the tile and over no other; then its room is taken."""
    left, top, right, bottom = box
    if left < 1 or top < 1 or right > SIDE - 1 or bottom > SIDE - 1:
        return False
    if any(left < b[2] and right > b[0] and top < b[3] and bottom > b[1] for b in taken):
        return False
    taken.append(box)
    return True


def _text(words: str, colour: str, halo: str, size: int, where: str) -> str:
    return (
        f'<text {where} font-family="system-ui,Roboto,sans-serif" font-size="{size}" text-anchor="middle"'
        f' fill="{colour}" stroke="{halo}" stroke-width="3" paint-order="stroke">{escape(words)}</text>'
    )

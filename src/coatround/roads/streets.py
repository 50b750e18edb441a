"""The street picture: lines of an extract simplified at three scales, and tiles drawn of them as they are asked for."""

import contextlib
import math
import sqlite3
import threading
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np
import osmium

from coatround.roads.street_drawing import draw
from coatround.roads.street_kinds import AREAS, KINDS, SIDE, Line, Named, Square
from coatround.roads.street_names import Label, labels

METRES_A_DEGREE = 111_195.0
MICRO = 1e6
LEVELS = ((1.5, 99, 13), (8.0, 4, 12), (50.0, 3, 9), (400.0, 2, 0))
"""For each level of detail: how far a simplified line may lie off, metres; the last rank in it; from which zoom on."""
SMALLEST = 4
"""An area narrower than so many times what a line may lie off is left out of a level."""
GREEN = {
    "landuse": ("forest", "grass", "meadow", "recreation_ground", "village_green", "cemetery"),
    "leisure": ("park", "garden", "golf_course", "nature_reserve"),
    "natural": ("wood", "heath", "grassland"),
}
NAMES_TOGETHER = 4
"""Names are laid out for squares of so many tiles a side, so that they may go on over the edge of a tile."""
PLACES = {"city": 0, "town": 1, "suburb": 2, "village": 2, "neighbourhood": 3, "hamlet": 3, "quarter": 3}
TELL_EVERY = 2000
TABLES = """
CREATE TABLE line (id INTEGER PRIMARY KEY, kind TEXT NOT NULL, name TEXT NOT NULL, points BLOB NOT NULL);
CREATE VIRTUAL TABLE line_box USING rtree (id, west, east, south, north, level, level_end);
CREATE TABLE place (id INTEGER PRIMARY KEY, rank INTEGER NOT NULL, name TEXT NOT NULL);
CREATE VIRTUAL TABLE place_box USING rtree (id, west, east, south, north);
"""
Points = list[tuple[float, float]]
"""Degrees east and north."""


def build_streets(extract: Path, database: Path, *, on_progress: Callable[[float], None] | None = None) -> int:
    """Writes the street picture of an extract into a new database; returns how many lines it has.

    `on_progress` is told the share done and may raise to stop. OSError where the database can't be written.
    """
    database.unlink(missing_ok=True)
    try:
        with contextlib.closing(sqlite3.connect(database)) as file:
            file.executescript(f"PRAGMA journal_mode=OFF; PRAGMA synchronous=OFF; {TABLES}")
            lines = _fill(file, extract, on_progress or (lambda _share: None))
            file.commit()
        return lines
    except sqlite3.Error as error:
        raise OSError(f"the street picture can't be written: {error}") from error


def _fill(file: sqlite3.Connection, extract: Path, on_progress: Callable[[float], None]) -> int:
    keys = osmium.filter.KeyFilter("highway", "waterway", "natural", "railway", "landuse", "leisure", "place")
    size, lines = max(1, extract.stat().st_size), 0
    for seen, thing in enumerate(osmium.FileProcessor(str(extract)).with_locations().with_filter(keys), 1):
        if seen % TELL_EVERY == 0:
            on_progress(1 - math.exp(-seen * 60 / size))
        if isinstance(thing, osmium.osm.Node):
            _add_place(file, thing)
        elif isinstance(thing, osmium.osm.Way) and (kind := _kind(thing)):
            points = [(node.lon, node.lat) for node in thing.nodes if node.location.valid()]
            if len(points) > 1:
                lines += 1
                _add_line(file, kind, thing.tags.get("name") or "", points)
    return lines


def _kind(way: osmium.osm.Way) -> str:
    """What is drawn of a way, empty for nothing."""
    tags = way.tags
    if "highway" in tags and tags.get("area") != "yes":
        kind = tags["highway"].removesuffix("_link")
        return kind if kind in KINDS else ""
    if way.is_closed() and len(way.nodes) > 3:
        if tags.get("natural") == "water":
            return "water"
        if any(tags.get(key) in values for key, values in GREEN.items()):
            return "green"
    if tags.get("natural") == "coastline":
        return "coast"
    if tags.get("waterway") in ("river", "canal", "stream"):
        return "river" if tags["waterway"] != "stream" else "stream"
    return "rail" if tags.get("railway") == "rail" else ""


def _add_place(file: sqlite3.Connection, node: osmium.osm.Node) -> None:
    rank, name = PLACES.get(node.tags.get("place") or ""), node.tags.get("name")
    if rank is None or not name or not node.location.valid():
        return
    made = file.execute("INSERT INTO place (rank, name) VALUES (?, ?)", (rank, name)).lastrowid
    box = (made, node.lon, node.lon, node.lat, node.lat)
    file.execute("INSERT INTO place_box VALUES (?, ?, ?, ?, ?)", box)


def _add_line(file: sqlite3.Connection, kind: str, name: str, points: Points) -> None:
    """The line once for each level of detail it is seen at."""
    lons, lats = [lon for lon, _ in points], [lat for _, lat in points]
    box = (min(lons), max(lons), min(lats), max(lats))
    across = max((box[1] - box[0]) * math.cos(math.radians(box[2])), box[3] - box[2]) * METRES_A_DEGREE
    for level, (metres, last_rank, _zoom) in enumerate(LEVELS):
        if KINDS[kind].rank > last_rank or (kind in AREAS and across < SMALLEST * metres):
            return
        flat = np.rint(np.array(simplified(points, metres)) * MICRO).astype("<i4").tobytes()
        row = (kind, name, flat)
        made = file.execute("INSERT INTO line (kind, name, points) VALUES (?, ?, ?)", row).lastrowid
        file.execute("INSERT INTO line_box VALUES (?, ?, ?, ?, ?, ?, ?)", (made, *box, level, level))


def simplified(points: Points, metres: float) -> Points:
    """The line with fewer points, the old ones no further than so many metres from it (Douglas and Peucker 1973)."""
    if len(points) < 3:
        return points
    shrink = math.cos(math.radians(points[0][1]))
    flat = [(lon * shrink * METRES_A_DEGREE, lat * METRES_A_DEGREE) for lon, lat in points]
    kept, waiting = {0, len(points) - 1}, [(0, len(points) - 1)]
    while waiting:
        first, last = waiting.pop()
        far, at = 0.0, 0
        for number in range(first + 1, last):
            off = _metres_off(flat[number], flat[first], flat[last])
            if off > far:
                far, at = off, number
        if far > metres:
            kept.add(at)
            waiting += [(first, at), (at, last)]
    return [points[number] for number in sorted(kept)]


def _metres_off(point: tuple[float, float], start: tuple[float, float], end: tuple[float, float]) -> float:
    """How far a point lies from the stretch between two others."""
    across, up = end[0] - start[0], end[1] - start[1]
    length = across * across + up * up
    share = 0.0
    if length:
        share = max(0.0, min(1.0, ((point[0] - start[0]) * across + (point[1] - start[1]) * up) / length))
    return math.hypot(point[0] - start[0] - share * across, point[1] - start[1] - share * up)


class StreetPicture:
    """Tiles of the street picture of one extract, as SVG; safe to ask from several threads."""

    def __init__(self, database: Path) -> None:
        self._at = f"{database.resolve().as_uri()}?mode=ro&immutable=1"
        self._own = threading.local()
        self._labels = lru_cache(maxsize=128)(self._labels_anew)

    def tile(self, z: int, x: int, y: int, *, dark: bool) -> str:
        """The tile of that number (Web Mercator, 256 pixels a side) as SVG; empty ground where nothing is known.

        sqlite3.Error where the database is gone.
        """
        first_x, first_y = x - x % NAMES_TOGETHER, y - y % NAMES_TOGETHER
        around = self._labels(Square(z, first_x, first_y, NAMES_TOGETHER))
        off = ((x - first_x) * SIDE, (y - first_y) * SIDE)
        return draw(z, list(self._lines(Square(z, x, y))), _moved(around, *off), dark=dark)

    def _labels_anew(self, square: Square) -> list[Label]:
        return labels(square, self._lines(square), self._places(square))

    def _lines(self, square: Square) -> Iterator[Line]:
        west, south, east, north = square.box
        level = next(number for number, (_metres, _rank, zoom) in enumerate(LEVELS) if square.z >= zoom)
        found = self._file.execute(
            "SELECT line.kind, line.name, line.points FROM line_box JOIN line USING (id)"
            " WHERE east >= ? AND west <= ? AND north >= ? AND south <= ? AND level = ? ORDER BY id",
            (west, east, south, north, level),
        )
        for kind, name, points in found:
            if square.z >= KINDS[kind].from_zoom:
                flat = np.frombuffer(points, dtype="<i4").reshape(-1, 2) / MICRO
                yield Line(kind, name, square.pixels(flat[:, 0], flat[:, 1]))

    def _places(self, square: Square) -> Iterator[Named]:
        west, south, east, north = square.box
        found = self._file.execute(
            "SELECT rank, name, west, south FROM place_box JOIN place USING (id)"
            " WHERE east >= ? AND west <= ? AND north >= ? AND south <= ? ORDER BY rank, id",
            (west, east, south, north),
        )
        for rank, name, lon, lat in found:
            yield Named(rank, name, *square.pixels(np.array([lon]), np.array([lat])))

    @property
    def _file(self) -> sqlite3.Connection:
        """This thread's own connection."""
        file: sqlite3.Connection | None = getattr(self._own, "file", None)
        if file is None:
            file = self._own.file = sqlite3.connect(self._at, uri=True)
        return file


def _moved(around: Iterable[Label], across: float, down: float) -> Iterator[Label]:
    """The labels that reach into a tile, in its own pixels."""
    for label in around:
        x, y = label.middle[0] - across, label.middle[1] - down
        reach = label.half + label.size
        if -reach < x < SIDE + reach and -reach < y < SIDE + reach:
            yield replace(label, middle=(x, y))

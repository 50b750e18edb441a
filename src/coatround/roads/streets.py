"""The street picture: lines of an extract simplified at three scales, and tiles drawn of them as they are asked for."""

import contextlib
import math
import sqlite3
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import osmium

from coatround.roads.street_drawing import KINDS, Line, Named, TileView, draw

METRES_A_DEGREE = 111_195.0
MICRO = 1e6
LEVELS = ((1.5, 99), (8.0, 4), (50.0, 3))
"""For each level of detail: how far a simplified line may lie off, metres, and the last rank of road that is in it."""
PLACES = {"city": 0, "town": 1, "suburb": 2, "village": 2, "neighbourhood": 3, "hamlet": 3, "quarter": 3}
BATCH, TELL_EVERY = 2000, 5000
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
    keys = osmium.filter.KeyFilter("highway", "waterway", "natural", "railway", "place")
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
    if tags.get("natural") == "water" and way.is_closed():
        return "water"
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
    for level, (metres, last_rank) in enumerate(LEVELS):
        if KINDS[kind].rank > last_rank:
            return
        points = simplified(points, metres)
        flat = np.rint(np.array(points) * MICRO).astype("<i4").tobytes()
        row = (kind, name, flat)
        made = file.execute("INSERT INTO line (kind, name, points) VALUES (?, ?, ?)", row).lastrowid
        lons, lats = [lon for lon, _ in points], [lat for _, lat in points]
        box = (made, min(lons), max(lons), min(lats), max(lats), level, level)
        file.execute("INSERT INTO line_box VALUES (?, ?, ?, ?, ?, ?, ?)", box)


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
        self._database = database
        self._own = threading.local()

    def tile(self, z: int, x: int, y: int, *, dark: bool) -> str:
        """The tile of that number (Web Mercator, 256 pixels a side) as SVG; empty ground where nothing is known."""
        view = TileView(z, x, y)
        return draw(view, list(self._lines(view)), list(self._places(view)), dark=dark)

    def _lines(self, view: TileView) -> Iterator[Line]:
        west, south, east, north = view.box
        level = 0 if view.z >= 13 else 1 if view.z == 12 else 2
        found = self._file.execute(
            "SELECT line.kind, line.name, line.points FROM line_box JOIN line USING (id)"
            " WHERE east >= ? AND west <= ? AND north >= ? AND south <= ? AND level = ?",
            (west, east, south, north, level),
        )
        for kind, name, points in found:
            if view.z >= KINDS[kind].from_zoom:
                flat = np.frombuffer(points, dtype="<i4").reshape(-1, 2) / MICRO
                yield Line(kind, name, tuple(view.pixels(flat[:, 0], flat[:, 1])))

    def _places(self, view: TileView) -> Iterator[Named]:
        west, south, east, north = view.box
        found = self._file.execute(
            "SELECT rank, name, west, south FROM place_box JOIN place USING (id)"
            " WHERE east >= ? AND west <= ? AND north >= ? AND south <= ? ORDER BY rank, id",
            (west, east, south, north),
        )
        for rank, name, lon, lat in found:
            ((across, down),) = view.pixels(np.array([lon]), np.array([lat]))
            yield Named(rank, name, across, down)

    @property
    def _file(self) -> sqlite3.Connection:
        """This thread's own connection."""
        file: sqlite3.Connection | None = getattr(self._own, "file", None)
        if file is None:
            file = self._own.file = sqlite3.connect(f"{self._database.resolve().as_uri()}?mode=ro", uri=True)
        return file

"""What an OpenStreetMap extract holds, and whether it is one: a first look before anything is built of it."""

import datetime as dt
import math
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import osmium

DRIVEABLE = frozenset(
    f"{kind}{link}" for kind in ("motorway", "trunk", "primary", "secondary", "tertiary") for link in ("", "_link")
) | {"unclassified", "residential", "living_street", "service", "road", "track"}
CELL_DEGREES = 0.1
APART_METRES = 100_000
"""Our own default: two groups of roads further apart than this, with none between, are two regions."""
SMALL_SHARE = 0.01
METRES_A_DEGREE = 111_195.0
TELL_EVERY = 20_000


class BadExtract(Exception):
    """The file is no extract that roads can be made of; the message says what is wrong and what to do."""


@dataclass(frozen=True, slots=True)
class Look:
    """What an extract holds: roads driveable by car and their metres, its bounds, how old it is, its countries."""

    roads: int
    road_metres: int
    bounds: tuple[float, float, float, float]
    data_from: str
    country: str


def look_at(file: Path, on_progress: Callable[[float], None] | None = None, *, anyway: bool = False) -> Look:
    """Reads the whole extract once; raises BadExtract in words.

    Refused are a file that is no OpenStreetMap data in PBF, or cut short; one without roads; one whose roads lie in
    two regions with more than 100 km between them (unless `anyway`).
    """
    check_kind(file)
    seen = _Seen()
    try:
        header = osmium.io.Reader(str(file))
        data_from = _date(
            header.header().get("osmosis_replication_timestamp") or header.header().get("timestamp") or ""
        )
        header.close()
        _read(file, seen, on_progress or (lambda _share: None))
    except (RuntimeError, ValueError) as error:
        raise BadExtract(
            f"{file.name} is broken or cut short ({error}). Download it again, and look whether its size is right."
        ) from error
    if not seen.roads:
        raise BadExtract(f"{file.name} holds no road that a van can drive. Choose the extract of your own region.")
    apart = None if anyway else _apart_metres(seen.cells)
    if apart:
        raise BadExtract(
            f"{file.name} holds two regions {round(apart / 1000)} km apart, and no road between them. Choose the"
            " extract of the region you work in."
        )
    bounds = (seen.south, seen.west, seen.north, seen.east)
    country = seen.countries.most_common(1)[0][0] if len(seen.countries) == 1 else ""
    return Look(seen.roads, round(seen.metres), bounds, data_from, country)


def check_kind(file: Path) -> None:
    """Raises BadExtract when the file does not even begin like an extract."""
    try:
        with file.open("rb") as opened:
            start = opened.read(64)
    except OSError as error:
        raise BadExtract(f"{file} can't be read: {error.strerror}. Check its name and place.") from error
    if not start:
        raise BadExtract(f"{file.name} is empty. Download it again.")
    if start.lstrip()[:1] == b"<":
        raise BadExtract(f"{file.name} is OpenStreetMap data as XML. Choose the same extract as .osm.pbf.")
    if start[6:15] != b"OSMHeader":
        raise BadExtract(f"{file.name} is not an OpenStreetMap extract. Choose a file that ends in .osm.pbf.")


def _date(typed: str) -> str:
    try:
        return dt.datetime.fromisoformat(typed.replace("Z", "+00:00")).isoformat()
    except ValueError:
        return ""


class _Seen:
    """What was seen so far while an extract is read."""

    def __init__(self) -> None:
        self.roads, self.metres = 0, 0.0
        self.south, self.west, self.north, self.east = 90.0, 180.0, -90.0, -180.0
        self.cells: Counter[tuple[int, int]] = Counter()
        self.countries: Counter[str] = Counter()

    def road(self, points: list[tuple[float, float]]) -> None:
        self.roads += 1
        for (lat, lon), (next_lat, next_lon) in pairwise(points):
            east = (next_lon - lon) * math.cos(math.radians(lat))
            metres = math.hypot(next_lat - lat, east) * METRES_A_DEGREE
            self.metres += metres
            self.cells[math.floor(lat / CELL_DEGREES), math.floor(lon / CELL_DEGREES)] += round(metres) + 1
        for lat, lon in points:
            self.south, self.north = min(self.south, lat), max(self.north, lat)
            self.west, self.east = min(self.west, lon), max(self.east, lon)


def _read(file: Path, seen: _Seen, on_progress: Callable[[float], None]) -> None:
    """Reads roads with where they lie, and the codes of countries whose boundary is in the file."""
    size = max(1, file.stat().st_size)
    keys = osmium.filter.KeyFilter("highway", "ISO3166-1", "ISO3166-1:alpha2")
    for total, thing in enumerate(osmium.FileProcessor(str(file)).with_locations().with_filter(keys), 1):
        if total % TELL_EVERY == 0:
            on_progress(1 - math.exp(-total * 60 / size))
        tags = thing.tags
        if isinstance(thing, osmium.osm.Way) and tags.get("highway") in DRIVEABLE:
            points = [(node.lat, node.lon) for node in thing.nodes if node.location.valid()]
            if len(points) > 1:
                seen.road(points)
        elif isinstance(thing, osmium.osm.Relation) and tags.get("admin_level") == "2":
            seen.countries[tags.get("ISO3166-1:alpha2") or tags.get("ISO3166-1") or ""] += 1


def _apart_metres(cells: Counter[tuple[int, int]]) -> float:
    """How far the second region lies from the first; 0 where there is only one that matters."""
    parts = sorted(_clusters(set(cells)), key=lambda part: -sum(cells[cell] for cell in part))
    total = cells.total()
    for part in parts[1:]:
        if sum(cells[cell] for cell in part) > SMALL_SHARE * total:
            metres = min(_cell_metres(one, other) for one in part for other in parts[0])
            if metres > APART_METRES:
                return metres
    return 0.0


def _clusters(cells: set[tuple[int, int]]) -> list[list[tuple[int, int]]]:
    """Cells that lie within a few of each other, together."""
    left, parts = set(cells), []
    while left:
        part, waiting = [], [left.pop()]
        while waiting:
            row, column = waiting.pop()
            part.append((row, column))
            near = {(row + up, column + across) for up in range(-3, 4) for across in range(-3, 4)} & left
            left -= near
            waiting.extend(near)
        parts.append(part)
    return parts


def _cell_metres(one: tuple[int, int], other: tuple[int, int]) -> float:
    lat = math.radians(one[0] * CELL_DEGREES)
    across = abs(one[1] - other[1]) * math.cos(lat)
    return math.hypot(one[0] - other[0], across) * CELL_DEGREES * METRES_A_DEGREE

"""The roads in use: one folder under `roads/` in the home, named by the file `in-use` beside it."""

import json
import os
from dataclasses import asdict, dataclass
from functools import lru_cache
from pathlib import Path

ROADS, POINTER, ABOUT = "roads", "in-use", "about.json"
HANDED_OVER = "handed-over"
"""Where a page keeps the extract that it was given until its roads are built."""


@dataclass(frozen=True, slots=True)
class About:
    """What an extract held, and what was made of it.

    Metres of road driveable by car; bounds in degrees (south, west, north, east); times in ISO 8601, UTC;
    `data_from` is empty where the extract does not say how old it is; `country` is ISO 3166 alpha-2, or empty.
    """

    stamp: str
    file: str
    added_at: str
    data_from: str
    roads: int
    road_metres: int
    addresses: int
    streets: int
    bounds: tuple[float, float, float, float]
    country: str
    drives_on: str
    speeds_by_hour: bool

    def covers(self, lat: float, lon: float) -> bool:
        """Whether a point lies within the bounds."""
        south, west, north, east = self.bounds
        return south <= lat <= north and west <= lon <= east


@dataclass(frozen=True, slots=True)
class Roads:
    """The folder that holds tiles, addresses and the street picture of one extract."""

    folder: Path
    about: About

    @property
    def addresses(self) -> Path:
        return self.folder / "addresses.sqlite3"

    @property
    def streets(self) -> Path:
        return self.folder / "streets.sqlite3"

    @property
    def drives(self) -> Path:
        """The cache of seconds and metres between points."""
        return self.folder / "drives.sqlite3"


def roads_in_use(home: Path) -> Roads | None:
    """The roads that are in use in a home, None where no extract was added or its folder is gone."""
    pointer = home / ROADS / POINTER
    try:
        stat = pointer.stat()
    except OSError:
        return None
    return _read(pointer, stat.st_mtime_ns, stat.st_ino)


@lru_cache(maxsize=8)
def _read(pointer: Path, _changed_ns: int, _inode: int) -> Roads | None:
    try:
        folder = pointer.parent / pointer.read_text().strip()
        fields = json.loads((folder / ABOUT).read_text())
        return Roads(folder, About(**fields | {"bounds": tuple(fields["bounds"])}))
    except (OSError, ValueError, TypeError, KeyError):
        return None


def write_about(folder: Path, about: About) -> None:
    """Writes what was made of an extract beside it, on disk before this returns."""
    _write_down(folder / ABOUT, json.dumps(asdict(about), indent=1))


def put_in_use(home: Path, stamp: str) -> None:
    """Makes the folder of that stamp the one in use, all of it at once."""
    roads = home / ROADS
    new = roads / f"{POINTER}.new"
    _write_down(new, stamp)
    new.replace(roads / POINTER)


def _write_down(file: Path, words: str) -> None:
    with file.open("w") as out:
        out.write(words)
        out.flush()
        os.fsync(out.fileno())

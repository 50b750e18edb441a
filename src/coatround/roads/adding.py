"""Adding an extract: everything is built in a new folder, and only when all of it is there does it come into use."""

import datetime as dt
import secrets
import shutil
import sqlite3
import time
from collections.abc import Callable, Sequence
from pathlib import Path

from coatround.roads.addresses import build_addresses
from coatround.roads.extract import BadExtract, look_at
from coatround.roads.in_use import HANDED_OVER, ROADS, About, put_in_use, roads_in_use, write_about
from coatround.roads.speeds import HourSpeeds, add_speeds
from coatround.roads.streets import build_streets
from coatround.roads.tiles import Stopped, build_tiles, drives_on

LEFT_OVER_SECONDS = 24 * 3600
"""A half-built folder this old was left by a building that was killed."""
LEAST_COVERED = 0.5

Progress = Callable[[int, str], None]
"""Told the percent that is done and what is being done, in words."""


def add_roads(
    home: Path,
    file: Path,
    *,
    now: dt.datetime,
    country: str = "",
    places: Sequence[tuple[float, float]] = (),
    speeds: Sequence[HourSpeeds] = (),
    anyway: bool = False,
    on_progress: Progress = lambda _percent, _words: None,
    stopped: Callable[[], bool] = lambda: False,
) -> About:
    """Builds tiles, addresses and the street picture of an extract and puts them in use; the old roads go.

    `country` is what it is where the extract does not say; `places` are those that roads are wanted for. Raises
    BadExtract, or Stopped, in words; then the old roads are still in use and nothing is left behind.
    """
    if file.is_dir():
        raise BadExtract(f"{file} is a folder. Choose the file in it that ends in .osm.pbf.")
    if not file.is_file():
        raise BadExtract(f"{file} is not there. Check its name and place.")
    folder = home / ROADS
    stamp = f"{now:%Y%m%dT%H%M%S}-{secrets.token_hex(2)}"
    part = folder / f"{stamp}.part"
    try:
        part.mkdir(parents=True, mode=0o700)
        _sweep(folder)
        about = _build(file, part, stamp, now, country, places, speeds, anyway, _Told(on_progress, stopped))
        part.rename(folder / stamp)
        before = roads_in_use(home)
        put_in_use(home, stamp)
    except (OSError, sqlite3.Error) as error:
        raise BadExtract(
            f"The roads could not be written: {getattr(error, 'strerror', None) or error}. Is there room in {home}, and"
            " may you write there?"
        ) from error
    finally:
        shutil.rmtree(part, ignore_errors=True)
    _remove_others(folder, {stamp, before.about.stamp if before else stamp})
    on_progress(100, "In use.")
    return about


class _Told:
    """Passes progress on, and stops the building when that is asked."""

    def __init__(self, on_progress: Progress, stopped: Callable[[], bool]) -> None:
        self._on_progress, self._stopped = on_progress, stopped
        self._last = -1.0

    def within(self, first: int, last: int, words: str) -> Callable[[float], None]:
        """Tells a share of one part of the work, at most a few times a second."""

        def tell(share: float) -> None:
            self.check()
            if time.monotonic() - self._last > 0.2 or share == 0:
                self._last = time.monotonic()
                self._on_progress(round(first + (last - first) * min(1.0, share)), words)

        tell(0.0)
        return tell

    def check(self) -> None:
        if self._stopped():
            raise Stopped

    @property
    def stopped(self) -> Callable[[], bool]:
        return self._stopped


def _build(
    file: Path,
    part: Path,
    stamp: str,
    now: dt.datetime,
    country: str,
    places: Sequence[tuple[float, float]],
    speeds: Sequence[HourSpeeds],
    anyway: bool,
    told: _Told,
) -> About:
    look = look_at(file, told.within(0, 15, "Reading the extract."), anyway=anyway)
    country = look.country or country
    if not anyway:
        _check_covers(file, look.bounds, places)
    build_tiles(
        file,
        part,
        country=country,
        bounds=look.bounds,
        on_progress=told.within(15, 60, "Building the roads."),
        stopped=told.stopped,
    )
    if speeds:
        add_speeds(part, speeds)
    addresses, streets = build_addresses(
        file, part / "addresses.sqlite3", on_progress=told.within(60, 80, "Addresses.")
    )
    build_streets(file, part / "streets.sqlite3", on_progress=told.within(80, 99, "Drawing the streets."))
    about = About(
        stamp=stamp,
        file=file.name,
        added_at=now.astimezone(dt.UTC).isoformat(timespec="seconds"),
        data_from=look.data_from,
        roads=look.roads,
        road_metres=look.road_metres,
        addresses=addresses,
        streets=streets,
        bounds=look.bounds,
        country=country,
        drives_on=drives_on(country),
        speeds_by_hour=bool(speeds),
    )
    write_about(part, about)
    told.check()
    return about


def _check_covers(file: Path, bounds: tuple[float, float, float, float], places: Sequence[tuple[float, float]]) -> None:
    """Refuses an extract in which most of the places that roads are wanted for do not lie."""
    south, west, north, east = bounds
    inside = sum(south <= lat <= north and west <= lon <= east for lat, lon in places)
    if inside < LEAST_COVERED * len(places):
        raise BadExtract(
            f"{file.name} reaches from {south:.2f}, {west:.2f} to {north:.2f}, {east:.2f}, and only {inside} of your"
            f" {len(places)} addresses lie in it. Choose the extract of the region you work in."
        )


def _sweep(folder: Path) -> None:
    """Removes what buildings that were killed have left."""
    for left in folder.glob("*.part"):
        if time.time() - left.stat().st_mtime > LEFT_OVER_SECONDS:
            shutil.rmtree(left, ignore_errors=True)


def _remove_others(folder: Path, kept: set[str]) -> None:
    """Removes roads that are no longer in use, but the last: someone may still be asking it."""
    for old in folder.iterdir():
        if old.is_dir() and old.suffix != ".part" and old.name not in kept | {HANDED_OVER}:
            shutil.rmtree(old, ignore_errors=True)

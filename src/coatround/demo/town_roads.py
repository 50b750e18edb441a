"""The invented town's roads put in use in the demo's home, with speeds by hour, as a real extract would be."""

import datetime as dt
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

from coatround.demo.extract import write_extract
from coatround.demo.history import ByRoad
from coatround.demo.layout import Depot
from coatround.demo.rush import share_of_free_speed
from coatround.demo.town import Point
from coatround.roads.adding import add_roads
from coatround.roads.drives import drives_between
from coatround.roads.in_use import About, Roads
from coatround.roads.speeds import KINDS, HourSpeeds

SUBURBS_ROUND = 12
SUBURBS_A_VAN = 9
FILE = "hollow-ford.osm.pbf"


def suburbs_for(vans: int) -> int:
    """How many suburbs the town has on the map for so many vans: those they work in, and some round them."""
    return SUBURBS_A_VAN * vans + SUBURBS_ROUND


def town_speeds() -> tuple[HourSpeeds, ...]:
    """The town's speeds by hour for each kind of road, hours that are like the free road left out."""
    found = []
    for kind in KINDS:
        for weekday in range(7):
            for hour in range(24):
                percent = round(100 * share_of_free_speed(kind, weekday, hour))
                if percent != 100:
                    found.append(HourSpeeds(kind, ((weekday + 1) % 7,), hour, hour + 1, percent))
    return tuple(found)


def by_road(roads: Roads) -> ByRoad:
    """Gives a depot the drives by road to and from the homes of its van, and the town's rush hours."""

    def given(depot: Depot, points: Sequence[Point]) -> Depot:
        spots = list(dict.fromkeys((depot.home, depot.refill, *points)))
        number = {spot: at for at, spot in enumerate(spots)}
        drives = drives_between([(spot.lat, spot.lon) for spot in spots], roads)

        def drive(here: Point, there: Point) -> tuple[int, int]:
            start, end = number[here], number[there]
            return int(drives.seconds[start, end]), int(drives.metres[start, end])

        return replace(depot, drive=drive, rush=rush, by_road=True)

    return given


def rush(date: dt.date, seconds: int) -> float:
    """By how much longer a drive of this town takes then: half of it on big roads, half on small ones."""
    hour = min(23, seconds // 3600)
    shares = [share_of_free_speed(kind, date.weekday(), hour) for kind in ("secondary", "residential")]
    return sum(1 / share for share in shares) / len(shares)


def add_town_roads(
    home: Path, seed: int, vans: int, now: dt.datetime, on_progress: Callable[[int, str], None] = lambda _p, _w: None
) -> About:
    """Writes the town as an extract and adds its roads."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / FILE
        write_extract(file, seed, suburbs_for(vans))
        return add_roads(home, file, now=now, country="AU", speeds=town_speeds(), on_progress=on_progress)

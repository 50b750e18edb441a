"""The drives of a run by road: turn by turn in words, the line on the map, and the time at the hour of leaving."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from coatround.core.learn.drives import Learned, road_kind
from coatround.core.units import HOUR, MINUTE
from coatround.roads.engine import NoWay, Point, Way, engine_of
from coatround.roads.in_use import Roads
from coatround.web.records.models import Place
from coatround.web.rounds.drives_seen import learned_now
from coatround.web.rounds.models import Run, Stop
from coatround.web.rounds.travel import roads_now

WAYS_KEPT = 4096
QUARTER = 15 * MINUTE


@dataclass(frozen=True, slots=True)
class Drive:
    """One drive of a run by road: the way, and its seconds at its hour of leaving, parking at its end included."""

    way: Way
    seconds: int


def drives_of(run: Run, stops: Sequence[Stop]) -> dict[str, Drive]:
    """The drives of a run for which a road is known, by the key of the stop they lead to, the way home as `home`."""
    roads = roads_now()
    if roads is None:
        return {}
    learned = None if roads.about.speeds_by_hour else learned_now()
    found: dict[str, Drive | None] = {}
    here, leaving = run.start_place, run.leave_seconds
    for stop in stops:
        there = stop.visit.place if stop.visit else stop.place
        if there is not None and stop.kind != "break":
            found[str(stop.pk)] = _drive(roads, learned, here, there, run.date, leaving)
            here = there
        leaving = stop.end_seconds
    found["home"] = _drive(roads, learned, here, run.end_place, run.date, leaving)
    return {key: drive for key, drive in found.items() if drive is not None}


def _drive(
    roads: Roads, learned: Learned | None, start: Place, end: Place, date: dt.date, leaving: int
) -> Drive | None:
    if not (start.is_pinned and end.is_pinned) or point_of(start) == point_of(end):
        return None
    at = None
    if roads.about.speeds_by_hour:
        at = dt.datetime.combine(date, dt.time()) + dt.timedelta(seconds=leaving // QUARTER * QUARTER)
    way = _way(roads.folder, point_of(start), point_of(end), at)
    if way is None or way.seconds <= 0:
        return None
    factor = 1.0
    if learned is not None:
        factor = learned.factor(road_kind(way.seconds, way.metres), min(23, leaving // HOUR)).median
    return Drive(way, round(way.seconds * factor) + end.parking_seconds)


def point_of(place: Place) -> Point:
    """Where a place lies."""
    return float(place.lat or 0), float(place.lon or 0)


@lru_cache(maxsize=WAYS_KEPT)
def _way(folder: Path, start: Point, end: Point, leaving: dt.datetime | None) -> Way | None:
    try:
        return engine_of(folder).way(start, end, leaving)
    except NoWay:
        return None

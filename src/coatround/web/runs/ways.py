"""The drives of a run by road: turn by turn in words, the line on the map, and the time at the hour of leaving."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from coatround.roads.engine import NoWay, Point, Way, engine_of
from coatround.web.records.models import Place
from coatround.web.rounds.models import Run, Stop
from coatround.web.rounds.travel import roads_now

WAYS_KEPT = 4096


@dataclass(frozen=True, slots=True)
class Drive:
    """One drive of a run; `way` is None where no road is known."""

    start: Place
    end: Place
    way: Way | None

    @property
    def seconds(self) -> int:
        """Seconds at its hour of leaving, with the parking at its end; 0 where no road is known."""
        return self.way.seconds + self.end.parking_seconds if self.way else 0


def drives_of(run: Run, stops: Sequence[Stop]) -> dict[str, Drive]:
    """The drives of a run by road, by the key of the stop they lead to, the way home as `home`; none without roads."""
    roads = roads_now()
    if roads is None:
        return {}
    found: dict[str, Drive] = {}
    here, leaving = run.start_place, run.leave_seconds
    for stop in stops:
        there = stop.visit.place if stop.visit else stop.place
        if there is not None and stop.kind != "break":
            found[str(stop.pk)] = _drive(roads.folder, roads.about.speeds_by_hour, here, there, run.date, leaving)
            here = there
        leaving = stop.end_seconds
    found["home"] = _drive(roads.folder, roads.about.speeds_by_hour, here, run.end_place, run.date, leaving)
    return found


def _drive(folder: Path, by_hour: bool, start: Place, end: Place, date: dt.date, leaving: int) -> Drive:
    if not (start.is_pinned and end.is_pinned) or _point(start) == _point(end):
        return Drive(start, end, None)
    at = dt.datetime.combine(date, dt.time()) + dt.timedelta(seconds=leaving // 900 * 900) if by_hour else None
    return Drive(start, end, _way(folder, _point(start), _point(end), at))


def _point(place: Place) -> Point:
    return float(place.lat or 0), float(place.lon or 0)


@lru_cache(maxsize=WAYS_KEPT)
def _way(folder: Path, start: Point, end: Point, leaving: dt.datetime | None) -> Way | None:
    try:
        return engine_of(folder).way(start, end, leaving)
    except NoWay:
        return None

"""When the van comes: windows for the visits of a run, and how often those of the past held.

An arrival is the first look at the door, as for drives (see `drives_seen`). The windows of a past run are reckoned from
its stops as they stand in the records now; a run changed on its own day is measured against what became of it.
"""

import datetime as dt
import uuid
import zoneinfo
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Protocol

from django.conf import settings

from coatround.core.learn.drives import Learned, road_kind
from coatround.core.learn.works import work_spread
from coatround.core.rounds.arrivals import Arrival, StopAhead, arrivals, share_inside
from coatround.core.rounds.held import ENOUGH_ARRIVALS, ENOUGH_RUNS, Correction, Happened, corrected
from coatround.core.units import HOUR, MINUTE
from coatround.web.due.facts import seconds_of
from coatround.web.rounds.drives_seen import (
    LOOK_BACK,
    FirmTimes,
    StopThen,
    by_run,
    came_and_left,
    learned_now,
    stops_between,
    until_today,
)

MOST_RUNS = 300
"""So many of the latest runs are looked at, which is quick and enough to learn one number from: our own default."""

SEED = 1
"""All windows are reckoned with the same luck, so that the same run always gives the same windows."""

Window = tuple[int, int]


class StopLike(Protocol):
    """What of a stop goes into the windows: clock seconds, and the seconds of the drive to it."""

    @property
    def kind(self) -> str: ...
    @property
    def start(self) -> int: ...
    @property
    def arrive(self) -> int: ...
    @property
    def end(self) -> int: ...
    @property
    def drive_seconds(self) -> int: ...


@dataclass(frozen=True, slots=True)
class StopTimes:
    """A stop as the windows take it."""

    kind: str
    start: int
    arrive: int
    end: int
    drive_seconds: int


@dataclass(frozen=True, slots=True)
class Spreads:
    """What the windows are reckoned with: what drives taught, and the spread of a visit's work (of its logarithm)."""

    learned: Learned
    work: float


def run_windows(
    leave: int, stops: Sequence[StopLike], told: Sequence[int | None], spreads: Spreads, factor: float
) -> dict[int, Arrival]:
    """The windows of a run's visits by their number among its stops; `told` is from when each household expects it."""
    ahead = _all_ahead(leave, stops, told, spreads)
    return {int(one.key): one for one in arrivals(leave, ahead, SEED, factor)}


def _all_ahead(leave: int, stops: Sequence[StopLike], told: Sequence[int | None], spreads: Spreads) -> list[StopAhead]:
    ends = [leave, *(stop.end for stop in stops)]
    return [_ahead(n, stop, ends[n], told[n], spreads) for n, stop in enumerate(stops)]


def _ahead(n: int, stop: StopLike, free: int, told: int | None, spreads: Spreads) -> StopAhead:
    """A planned wait is a door that opens no sooner; else nobody is worked on before what was told."""
    work, is_visit = stop.end - stop.start, stop.kind == "visit"
    waits = stop.start > (free if stop.kind == "break" else stop.arrive)
    opens = stop.start if waits else told or 0
    drive = 0 if stop.kind == "break" else stop.drive_seconds
    work_sd = round(work * spreads.work) if is_visit else 0
    return StopAhead(str(n), is_visit, drive, work, work_sd, opens, spreads.learned.spread)


def windows_now(leave: int, stops: Sequence[StopLike], told: Sequence[int | None]) -> dict[int, Arrival]:
    """The windows with the spreads that are learnt by now."""
    seen = arrivals_seen()
    return run_windows(leave, stops, told, seen.spreads, seen.correction.factor)


def share_now(leave: int, stops: Sequence[StopLike], told: Sequence[int | None], number: int, window: Window) -> float:
    """The share of days on which the visit with this number is reached inside a window."""
    seen = arrivals_seen()
    ahead = _all_ahead(leave, stops, told, seen.spreads)
    return share_inside(leave, ahead, str(number), window, SEED, seen.correction.factor)


@dataclass(frozen=True, slots=True)
class Came:
    """One arrival of the past: when, the windows reckoned for it, and the window that was told."""

    date: dt.date
    happened: Happened
    told: Window | None


def came_between(since: dt.date, until: dt.date, times: FirmTimes, spreads: Spreads, factor: float = 1.0) -> list[Came]:
    """The arrivals from one date until before another, each with the windows that its run would have had."""
    runs = _latest_runs(since, until)
    seen = came_and_left({stop.visit for run in runs for stop in run if stop.visit}, times)
    zone, found = zoneinfo.ZoneInfo(times.zone), []
    for run in runs:
        at = {n: _clock(seen[stop.visit].arrived, stop, zone) for n, stop in enumerate(run) if stop.visit}
        reached = [one for one in at.values() if one is not None]
        if not reached or reached != sorted(reached) or any(seen[s.visit].is_afterwards for s in run if s.visit):
            continue
        told = [seconds_of(stop.told_from) for stop in run]
        then = [_then(stop, spreads.learned) for stop in run]
        for n, arrival in run_windows(run[0].leave, then, told, spreads, factor).items():
            if (came := at[n]) is not None:
                happened = Happened(str(run[n].run), arrival, max(came, arrival.opens))
                found.append(Came(run[n].date, happened, _told(run[n])))
    return found


def _latest_runs(since: dt.date, until: dt.date) -> list[list[StopThen]]:
    return list(by_run(stops_between(since, until)))[-MOST_RUNS:]


def works_between(since: dt.date, until: dt.date, times: FirmTimes) -> Iterator[tuple[int, int]]:
    """What each visit was expected to take at the door, and what it took, in seconds."""
    stops = [stop for run in _latest_runs(since, until) for stop in run]
    seen = came_and_left({stop.visit for stop in stops if stop.visit}, times)
    for stop in stops:
        if stop.visit is not None and not (one := seen[stop.visit]).is_afterwards and one.arrived and one.left:
            yield stop.end - stop.start, round((one.left - one.arrived).total_seconds())


def _then(stop: StopThen, learned: Learned) -> StopTimes:
    """A stop with its drive as it would be expected now: what the engine said, times what was learnt, and parking."""
    drive = stop.seconds
    if stop.engine_seconds:
        factor = learned.factor(road_kind(stop.engine_seconds, stop.metres), stop.arrive // HOUR).median
        drive = round(stop.engine_seconds * factor + learned.standing.seconds) + (stop.parking or 0)
    return StopTimes(stop.kind, stop.start, stop.arrive, stop.end, drive)


def _clock(at: dt.datetime | None, stop: StopThen, zone: zoneinfo.ZoneInfo) -> int | None:
    """Seconds after midnight of the run's date; None where no record says, or one of another day."""
    if at is None or (wall := at.astimezone(zone)).date() != stop.date:
        return None
    return wall.hour * HOUR + wall.minute * MINUTE + wall.second


def _told(stop: StopThen) -> Window | None:
    from_, until = seconds_of(stop.told_from), seconds_of(stop.told_until)
    return None if from_ is None else (from_, from_ if until is None else until)


@dataclass(frozen=True, slots=True)
class Seen:
    """All arrivals that are looked at, and the correction that they teach."""

    came: tuple[Came, ...]
    spreads: Spreads
    correction: Correction

    @property
    def used_from(self) -> dt.date | None:
        """From which day on, of what is looked at, there was enough to correct by; None while there is not."""
        runs: set[str] = set()
        for count, one in enumerate(self.came, 1):
            runs.add(one.happened.run)
            if count >= ENOUGH_ARRIVALS and len(runs) >= ENOUGH_RUNS:
                return one.date + dt.timedelta(days=1)
        return None


def arrivals_seen() -> Seen:
    """The arrivals up to yesterday; looked at anew on the next day, or when a record of the days before comes in."""
    today, last, times = until_today()
    return _kept(settings.HOME, last, today, times)


@lru_cache(maxsize=2)
def _kept(_home: Path, _last: uuid.UUID | None, today: dt.date, times: FirmTimes) -> Seen:
    since = today - LOOK_BACK
    spreads = Spreads(learned_now(), work_spread(works_between(since, today, times)))
    came = came_between(since, today, times, spreads)
    return Seen(tuple(came), spreads, corrected(one.happened for one in came))


def times_of(window: Window) -> tuple[dt.time, dt.time]:
    """A window as clock times of one day."""
    last = 24 * HOUR - MINUTE
    from_, until = (min(max(0, one), last) for one in window)
    return dt.time(from_ // HOUR, from_ % HOUR // 60), dt.time(until // HOUR, until % HOUR // 60)

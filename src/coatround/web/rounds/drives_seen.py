"""The drives that happened, from the records of two visits that follow each other on a run, and what they teach.

A drive is taken to begin when the visit before was handed back (the first time, where that was corrected); without
that, when its last groom ended and what the firm says packing up takes was over. It is taken to end at the first look
at the door; without that, when the first groom began, less what the firm says setting up takes. Parking that was
planned at the place is taken off what it took. What was expected is what the engine said, before any correction. What
is left out, is left out by the reasons of LEFT_OUT, the first that holds. Drives of today count from tomorrow.
"""

import datetime as dt
import uuid
import zoneinfo
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from pathlib import Path

from django.conf import settings
from django.db.models import Count, Max, Min, Q
from django.db.models.functions import Coalesce

from coatround.core.learn.drives import DriveSeen, Learned, learn
from coatround.core.units import HOUR, MINUTE
from coatround.roads.in_use import roads_in_use
from coatround.web.base.firm import firm_today, firm_zone, the_firm
from coatround.web.due.facts import parts, seconds_of
from coatround.web.rounds.models import Stop
from coatround.web.visits.models import Fit, Groom, HandingBack

LOOK_BACK = dt.timedelta(days=400)  # our own default: a year and what is needed to see the same season again
MOST_STOPS = 20_000
SHORT, LONG = MINUTE, 3 * HOUR  # our own default: what lies outside was no drive from one visit to the next
NO_DOG_IN = dt.timedelta(
    minutes=10
)  # our own default: a visit with a dog done and all its records closer together than this
WAITS_FROM = 0.75  # our own default: so much of the expected drive over before the door opens, and it may be a wait
LEFT_OUT = ("halt", "unrecorded", "afterwards", "order", "waited", "near", "short", "long", "other")


@dataclass(frozen=True, slots=True)
class RunDrive:
    """A drive that happened, and the run it belongs to."""

    run: uuid.UUID
    seen: DriveSeen


@dataclass(frozen=True, slots=True)
class DrivesSeen:
    """The drives of the kind that is in use now (by road, or the estimate), what they teach, and what was left out."""

    drives: tuple[RunDrive, ...]
    learned: Learned
    left_out: Mapping[str, int]
    by_road: bool
    since: dt.date
    until: dt.date


@dataclass(frozen=True, slots=True)
class FirmTimes:
    """What of the firm goes into it."""

    zone: str
    setting_up: dt.timedelta
    packing_up: dt.timedelta


@dataclass(frozen=True, slots=True)
class StopThen:
    """A stop as planned, in the order of the columns asked for."""

    run: uuid.UUID
    date: dt.date
    kind: str
    visit: uuid.UUID | None
    arrive: int
    start: int
    seconds: int
    engine_seconds: int
    metres: int
    by_road: bool
    told_from: dt.time | None
    parking: int | None
    told_until: dt.time | None
    leave: int
    end: int


COLUMNS = (
    "run_id",
    "run__date",
    "kind",
    "visit_id",
    "arrive_seconds",
    "start_seconds",
    "drive_seconds",
    "engine_seconds",
    "drive_metres",
    "by_road",
    "visit__told_from",
    "visit__place__parking_seconds",
    "visit__told_until",
    "run__leave_seconds",
    "end_seconds",
)


@dataclass(frozen=True, slots=True)
class CameAndLeft:
    """When the van came to a visit and when it left; None where no record says so."""

    arrived: dt.datetime | None
    left: dt.datetime | None
    is_afterwards: bool


NOTHING = CameAndLeft(None, None, False)


def learned_now() -> Learned:
    """What the drives up to yesterday teach about the engine, or the estimate, in use now."""
    return seen_now().learned


def seen_now() -> DrivesSeen:
    """The drives up to yesterday; looked at anew on the next day, or when a record of the days before comes in."""
    today, last, times = until_today()
    return _kept(settings.HOME, last, today, times, roads_in_use(settings.HOME) is not None)


def until_today() -> tuple[dt.date, uuid.UUID | None, FirmTimes]:
    """Today, the last visit handed back on a day before it, and what of the firm goes into what is learnt from them."""
    firm = the_firm()
    today, zone = firm_today(firm), firm_zone(firm)
    midnight = dt.datetime.combine(today, dt.time(), zone)
    last = HandingBack.objects.filter(at__lt=midnight).order_by("-pk").values_list("pk", flat=True).first()
    times = FirmTimes(
        firm.zone, dt.timedelta(seconds=firm.setting_up_seconds), dt.timedelta(seconds=firm.packing_up_seconds)
    )
    return today, last, times


@lru_cache(maxsize=2)
def _kept(_home: Path, _last: uuid.UUID | None, today: dt.date, times: FirmTimes, by_road: bool) -> DrivesSeen:
    return drives_seen(today, times, by_road=by_road)


def drives_seen(today: dt.date, times: FirmTimes, *, by_road: bool) -> DrivesSeen:
    """The drives of the days before today, in a few queries for any number of them."""
    since, left_out = today - LOOK_BACK, Counter[str]()
    stops = stops_between(since, today)
    happened = came_and_left({stop.visit for stop in stops if stop.visit}, times)
    zone, drives = zoneinfo.ZoneInfo(times.zone), []
    for run in by_run(stops):
        follows = _follows(run, happened)
        for before, stop in pairwise(run):
            if stop.kind == "visit":
                found = _drive(before, stop, happened, follows, zone)
                if isinstance(found, DriveSeen) and found.by_road != by_road:
                    found = "other"
                if isinstance(found, DriveSeen):
                    drives.append(RunDrive(stop.run, found))
                else:
                    left_out[found] += 1
    learned = learn(drive.seen for drive in drives)
    return DrivesSeen(tuple(drives), learned, left_out, by_road, since, today - dt.timedelta(days=1))


def stops_between(since: dt.date, today: dt.date) -> list[StopThen]:
    """The latest stops, earliest first."""
    rows = Stop.objects.filter(run__date__gte=since, run__date__lt=today).order_by("-run__date", "-run_id", "-order")
    return [StopThen(*row) for row in reversed(rows.values_list(*COLUMNS)[:MOST_STOPS])]


def by_run(stops: Iterable[StopThen]) -> Iterator[list[StopThen]]:
    run: list[StopThen] = []
    for stop in stops:
        if run and stop.run != run[-1].run:
            yield run
            run = []
        run.append(stop)
    if run:
        yield run


def came_and_left(visits: Iterable[uuid.UUID], times: FirmTimes) -> dict[uuid.UUID, CameAndLeft]:
    """When the van came and left, by visit."""
    found: dict[uuid.UUID, CameAndLeft] = {}
    for some in parts(visits):
        looked = dict(Fit.objects.filter(visit__in=some).order_by().values_list("visit").annotate(Min("at")))
        handed = dict(HandingBack.objects.filter(visit__in=some).order_by().values_list("visit").annotate(Min("at")))
        grooms = Groom.objects.filter(visit__in=some, corrected=False).order_by().values_list("visit")
        done = Count("pk", filter=Q(state="COMPLETED"))
        groomed = {
            visit: (begun, ended, count)
            for visit, begun, ended, count in grooms.annotate(
                Min("started_at"), ended=Max(Coalesce("ended_at", "at")), done=done
            )
        }
        for visit in some:
            begun, ended, count = groomed.get(visit, (None, None, 0))
            arrived = looked.get(visit) or (begun and begun - times.setting_up)
            left = handed.get(visit) or (ended and ended + times.packing_up)
            found[visit] = CameAndLeft(arrived, left, bool(count and arrived and left and left - arrived < NO_DOG_IN))
    return found


def _follows(run: Sequence[StopThen], happened: Mapping[uuid.UUID, CameAndLeft]) -> set[tuple[uuid.UUID, uuid.UUID]]:
    """The pairs of visits that really came one after the other."""
    came = [(at, stop.visit) for stop in run if stop.visit and (at := happened[stop.visit].arrived)]
    return {(a, b) for (_at, a), (_then, b) in pairwise(sorted(came))}


def _drive(
    before: StopThen,
    stop: StopThen,
    happened: Mapping[uuid.UUID, CameAndLeft],
    follows: set[tuple[uuid.UUID, uuid.UUID]],
    zone: zoneinfo.ZoneInfo,
) -> DriveSeen | str:
    """The drive to a visit from the stop before, or why it is left out."""
    if before.visit is None or stop.visit is None:
        return "halt"
    there, here = happened[before.visit], happened[stop.visit]
    if there.left is None or here.arrived is None:
        return "unrecorded"
    if there.is_afterwards or here.is_afterwards:
        return "afterwards"
    wall = there.left.astimezone(zone)
    if (before.visit, stop.visit) not in follows or here.arrived <= there.left or wall.date() != stop.date:
        return "order"
    parking = stop.parking or 0
    expected = stop.engine_seconds or stop.seconds - parking
    taken = round((here.arrived - there.left).total_seconds()) - parking
    leaving = wall.hour * HOUR + wall.minute * MINUTE + wall.second
    if leaving + parking + WAITS_FROM * expected < _opens(stop):
        return "waited"
    if expected < SHORT:
        return "near"
    if not SHORT <= taken <= LONG:
        return "short" if taken < SHORT else "long"
    return DriveSeen(stop.date, wall.hour, expected, stop.metres, taken, stop.by_road)


def _opens(stop: StopThen) -> int:
    """From when the door was expected to open: a planned wait's end, else the window told; 0 where neither is."""
    return stop.start if stop.start > stop.arrive else seconds_of(stop.told_from) or 0

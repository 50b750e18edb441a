"""What was recorded of a run's visits so far, on the run's own clock."""

import datetime as dt
import uuid
import zoneinfo
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field

from coatround.core.run import Done
from coatround.core.units import DAY, HOUR, MINUTE
from coatround.web.rounds.models import Stop
from coatround.web.visits.models import Fit, Groom, HandingBack

FINAL = ("COMPLETED", "CANCELLED")
NOT_TODAY = ("not today", "vet")


@dataclass
class _Facts:
    fits: list[Fit] = field(default_factory=list)
    grooms: list[Groom] = field(default_factory=list)
    handed: list[HandingBack] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class _Clock:
    date: dt.date
    zone: zoneinfo.ZoneInfo

    def __call__(self, at: dt.datetime) -> int:
        return run_seconds(at.astimezone(self.zone), self.date)


def run_seconds(wall_now: dt.datetime, date: dt.date) -> int:
    """Wall-clock seconds after midnight of a run's date; a moment of the day after it passes 86,400."""
    over = DAY if wall_now.date() == date + dt.timedelta(days=1) else 0
    return wall_now.hour * HOUR + wall_now.minute * MINUTE + wall_now.second + over


def done_so_far(stops: Sequence[Stop], date: dt.date, zone: zoneinfo.ZoneInfo) -> list[Done]:
    """One Done for each visit that was begun, ended or called off, in three queries."""
    facts = _facts([stop.visit_id for stop in stops if stop.visit_id])
    clock = _Clock(date, zone)
    found = [_done(stop, facts[stop.visit_id], clock) for stop in stops if stop.visit_id]
    return [done for done in found if done is not None]


def off_the_list(stops: Sequence[Stop]) -> list[Done]:
    """The visits that were called off."""
    return [Done(str(stop.pk), is_off=True) for stop in stops if stop.visit and stop.visit.state == "CANCELLED"]


def _facts(visits: Sequence[uuid.UUID]) -> dict[uuid.UUID, _Facts]:
    found: dict[uuid.UUID, _Facts] = defaultdict(_Facts)
    for fit in Fit.objects.filter(visit__in=visits, corrected=False):
        found[fit.visit].fits.append(fit)
    for groom in Groom.objects.filter(visit__in=visits, corrected=False):
        found[groom.visit].grooms.append(groom)
    for handed in HandingBack.objects.filter(visit__in=visits, corrected=False):
        found[handed.visit].handed.append(handed)
    return found


def _done(stop: Stop, facts: _Facts, clock: _Clock) -> Done | None:
    visit = stop.visit
    if visit is None:
        return None
    begun = [clock(fit.at) for fit in facts.fits] + [_groom_start(groom, clock) for groom in facts.grooms]
    begun += [clock(handed.at) for handed in facts.handed]
    dogs = {row.dog_id for row in visit.visit_dogs.all()}
    ended = _ended(facts, dogs, clock)
    is_off = visit.state == "CANCELLED" or _none_done(facts, dogs)
    if not begun and not is_off:
        return None
    if is_off and ended is None and begun:
        ended = max(begun)
    return Done(str(stop.pk), min(begun, default=None), ended, _water(facts, dogs), is_off)


def _groom_start(groom: Groom, clock: _Clock) -> int:
    if groom.started_at is not None:
        return clock(groom.started_at)
    return max(clock(groom.ended_at or groom.at) - (groom.work_seconds or 0), 0)


def _ended(facts: _Facts, dogs: set[uuid.UUID], clock: _Clock) -> int | None:
    """At handing back; or when every dog is done or not done."""
    if facts.handed:
        return max(clock(handed.at) for handed in facts.handed)
    final = {groom.dog_id: clock(groom.ended_at or groom.at) for groom in facts.grooms if groom.state in FINAL}
    final |= {fit.dog_id: clock(fit.at) for fit in facts.fits if fit.answer in NOT_TODAY and fit.dog_id not in final}
    return max(final.values()) if final and dogs <= final.keys() else None


def _none_done(facts: _Facts, dogs: set[uuid.UUID]) -> bool:
    if any(groom.state != "CANCELLED" for groom in facts.grooms):
        return False
    off = {groom.dog_id for groom in facts.grooms} | {fit.dog_id for fit in facts.fits if fit.answer in NOT_TODAY}
    return bool(off) and dogs <= off


def _water(facts: _Facts, dogs: set[uuid.UUID]) -> int | None:
    """Litres as recorded, when they were recorded for every dog that was done."""
    drawn = [groom.water_l for groom in facts.grooms if groom.state == "COMPLETED"]
    known = [litres for litres in drawn if litres is not None]
    return sum(known) if drawn and len(known) == len(drawn) and len(drawn) >= len(dogs) else None

"""Due dogs as visits for the planner: one household's dogs share a visit, and each visit gets its day table.

Day costs are whole even cents, in proportion to what an hour of driving costs the firm.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from coatround.core.day_reasons import DayReason, agreed_reasons, day_reasons
from coatround.core.day_table import (
    Dog,
    DogDue,
    Pencilled,
    Setting,
    common_dates,
    day_table,
    power_together,
    rank_together,
    spread_together,
    usual_time,
    windows_on,
    without_hot,
    work_of,
)
from coatround.core.due import Due, Reason, Usual, allowed_dates, dues_until, usual_on
from coatround.core.rounds.problem import Day, Follows, Visit
from coatround.core.workdays import Hours, dates_between

TOLD_LEFT_OUT_CENTS = 1_000_000
LEFT_OUT_HOURS = 3
UNPRICED_HOURS = 2
REGULAR_HOURS = 6
"""Our own defaults: leaving a visit out costs its price (or so many hours of driving where none is set) and so many
hours of driving more, a regular's in a rush so many more again; one that was told costs more than anything else."""


@dataclass(frozen=True, slots=True)
class AgreedVisit:
    """A visit whose date is settled with the household; `window` is the arrival named, `told` if it was promised."""

    id: str
    household: str
    place: str
    dogs: tuple[str, ...]
    date: dt.date
    window: Hours | None
    told: bool
    vans: tuple[str, ...] | None = None


@dataclass(frozen=True, slots=True)
class DueVisit:
    """A visit for the planner with the dogs it stands for, each with its reason; `settled` when its date is agreed.

    `because` names all that its dates and windows follow from.
    """

    visit: Visit
    household: str
    dogs: tuple[str, ...]
    reasons: tuple[Reason, ...]
    due: dt.date
    usual_weekday: int | None = None
    usual_start: int | None = None
    settled: bool = False
    work_is_default: bool = False
    because: tuple[DayReason, ...] = ()


def due_visits(
    dogs: Iterable[Dog],
    agreed: Iterable[AgreedVisit],
    pencilled: Iterable[Pencilled],
    today: dt.date,
    setting: Setting,
) -> tuple[DueVisit, ...]:
    """Every visit to plan between the setting's dates: what is agreed first, then what falls due, by due date.

    A dog that falls due after the last date comes along when another of its household is due and they can share. A
    visit whose usual weekday comes only after the last date, still inside its window, waits for the next plan.
    """
    known = {dog.id: dog for dog in dogs}
    settled = sorted(agreed, key=lambda visit: (visit.date, visit.id))
    shared = _shared(_ones(known, settled, today, setting), setting)
    visits = [_agreed_visit(visit, known, setting) for visit in settled if setting.first <= visit.date <= setting.last]
    free = sorted(pencilled, key=lambda visit: (visit.date, visit.id))
    made: dict[tuple[str, int], str] = {}
    for ones in shared:
        stands = _standing(ones, free)
        visit = _due_visit(ones, stands, made, today, setting)
        made |= {(one.dog.id, one.due.number): visit.visit.id for one in ones}
        visits.append(visit)
    return tuple(visits)


def _ones(
    dogs: Mapping[str, Dog], agreed: Sequence[AgreedVisit], today: dt.date, setting: Setting
) -> dict[tuple[str, str], list[DogDue]]:
    """What falls due, by household and place; a little past the last date too, for dogs that may come along."""
    dates_of: dict[str, list[dt.date]] = defaultdict(list)
    for visit in agreed:
        for id_ in visit.dogs:
            dates_of[id_].append(visit.date)
    found: dict[tuple[str, str], list[DogDue]] = defaultdict(list)
    start = max(today, setting.first)
    for dog in dogs.values():
        reach = setting.last + dt.timedelta(days=max((row.days_early for row in dog.usuals), default=0))
        for due in dues_until(dog.usuals, dog.done, dates_of[dog.id], start, reach):
            dates = _dates(due, start, dates_of[dog.id], setting)
            own = setting.in_season(dog, max(due.date, start))
            found[dog.household, dog.place].append(DogDue(own, due, dates, allowed_dates(due, start)[1]))
    return found


def _dates(due: Due, start: dt.date, agreed: Sequence[dt.date], setting: Setting) -> frozenset[dt.date]:
    """The dates on which this dog may be done: someone works, the household can, and no agreed visit is that day."""
    first, last = allowed_dates(due, start)
    wanted = due.usual.weekdays
    return frozenset(
        date
        for date in dates_between(first, min(last, setting.last))
        if date in setting.hours and date not in agreed and (not wanted or date.weekday() in wanted)
    )


def _shared(found: Mapping[tuple[str, str], list[DogDue]], setting: Setting) -> list[tuple[DogDue, ...]]:
    """The dogs of one household at one place put together where a date and hours suit all of them."""
    groups: list[tuple[DogDue, ...]] = []
    for ones in found.values():
        waiting = sorted(ones, key=lambda one: (one.due.date, one.dog.id))
        group_of: dict[tuple[str, int], int] = {}
        while waiting:
            group, waiting = _gathered(waiting, group_of, setting)
            group_of |= {(one.dog.id, one.due.number): len(group_of) for one in group}
            falls_due = min(max(one.due.date, setting.first) for one in group) <= setting.last
            if falls_due and not _waits(group, setting):
                groups.append(group)
    return sorted(groups, key=lambda group: (group[0].due.date, group[0].dog.id, group[0].due.number))


def _gathered(
    waiting: list[DogDue], group_of: Mapping[tuple[str, int], int], setting: Setting
) -> tuple[tuple[DogDue, ...], list[DogDue]]:
    """The first that waits with all that can share its visit, and the rest; a visit comes after one other at most."""
    group, rest = [waiting[0]], list[DogDue]()
    for one in waiting[1:]:
        together = [*group, one]
        fits = (
            one.dog.id not in {other.dog.id for other in (*group, *rest)}
            and len({group_of[key] for key in map(_before, together) if key in group_of}) <= 1
            and _fit_together(together, setting)
        )
        (group if fits else rest).append(one)
    return tuple(group), rest


def _waits(ones: Sequence[DogDue], setting: Setting) -> bool:
    """Whether the usual weekday of these dogs comes only after the last date, and in time for all of them."""
    weekday, _ = usual_time(ones)
    if weekday is None or any(date.weekday() == weekday for date in common_dates(ones)):
        return False
    until = min(one.until for one in ones)
    return any(
        setting.last < date <= until and date.weekday() == weekday and date in setting.hours
        for date in dates_between(setting.last, until)
    )


def _before(one: DogDue) -> tuple[str, int]:
    return one.dog.id, one.due.number - 1


def _fit_together(ones: Sequence[DogDue], setting: Setting) -> bool:
    if setting.tank_l is not None and sum(one.dog.water_l for one in ones) > setting.tank_l:
        return False
    return any(windows_on(ones, date, setting) for date in common_dates(ones))


def _standing(ones: Sequence[DogDue], free: list[Pencilled]) -> Pencilled | None:
    """The visit of the standing plan nearest these dogs' due date, taken off the list; None if they have none."""
    dogs = {one.dog.id for one in ones}
    near = [visit for visit in free if visit.dogs & dogs]
    if not near:
        return None
    best = min(near, key=lambda visit: (abs((visit.date - ones[0].due.date).days), visit.date, visit.id))
    free.remove(best)
    return best


def _due_visit(
    ones: Sequence[DogDue],
    stands: Pencilled | None,
    made: Mapping[tuple[str, int], str],
    today: dt.date,
    setting: Setting,
) -> DueVisit:
    lead, work = ones[0], work_of(ones, setting)
    id_ = stands.id if stands else f"due-{lead.dog.id}-{lead.due.date}-{lead.due.number}"
    days = day_table(ones, stands, setting)
    in_rush = setting.rush_on((day.date for day in days), [one.dog for one in ones])
    hours = LEFT_OUT_HOURS + (REGULAR_HOURS if in_rush else 0)
    price = sum(one.due.usual.price_cents or UNPRICED_HOURS * setting.cents_per_drive_hour for one in ones)
    visit = Visit(
        id=id_,
        place=lead.dog.place,
        seconds=work,
        water_l=sum(one.dog.water_l for one in ones),
        left_out_cents=price + hours * setting.cents_per_drive_hour,
        days=days,
        power_wh=power_together([one.dog for one in ones]),
        rank=rank_together([one.dog for one in ones]),
        needs=tuple(sorted({need for one in ones for need in one.dog.needs})),
        follows=_follows(ones, made),
        seconds_sd=spread_together([one.dog for one in ones]),
    )
    weekday, start = usual_time(ones)
    return DueVisit(
        visit,
        lead.dog.household,
        tuple(one.dog.id for one in ones),
        tuple(one.due.reason for one in ones),
        lead.due.date,
        weekday,
        start,
        work_is_default=any(one.dog.work_is_default for one in ones),
        because=day_reasons(ones, stands, setting),
    )


def visit_near(id_: str, dogs: Sequence[Dog], around: dt.date, taken: Collection[dt.date], setting: Setting) -> Visit:
    """A visit for these dogs on any of the setting's dates that suits them, dearer the farther from `around`.

    Hours are the household's; the usual hour is not insisted on. `taken` are dates on which a dog has one.
    """
    ones = []
    for dog in (setting.in_season(one, around) for one in dogs):
        usual = replace(usual_on(dog.usuals, around) or Usual(valid_from=around), usual_start=None)
        due = Due(around, setting.first, setting.last, usual, Reason(usual.interval_weeks, usual.valid_from, None))
        dates = frozenset(
            date
            for date in setting.hours
            if setting.first <= date <= setting.last
            and date not in taken
            and (not usual.weekdays or date.weekday() in usual.weekdays)
        )
        ones.append(DogDue(dog, due, dates, setting.last))
    return Visit(
        id=id_,
        place=dogs[0].place,
        seconds=work_of(ones, setting),
        water_l=sum(dog.water_l for dog in dogs),
        left_out_cents=TOLD_LEFT_OUT_CENTS,
        days=day_table(ones, None, setting),
        power_wh=power_together(dogs),
        rank=rank_together(dogs),
        needs=tuple(sorted({need for dog in dogs for need in dog.needs})),
        seconds_sd=spread_together(dogs),
    )


def _follows(ones: Sequence[DogDue], made: Mapping[tuple[str, int], str]) -> Follows | None:
    """The visit this one comes after: the one that holds the last due date of its first dog that has one."""
    before = [(one, made[_before(one)]) for one in ones if _before(one) in made]
    if not before:
        return None
    visit = before[0][1]
    usuals = [one.due.usual for one, other in before if other == visit]
    least = max(usual.interval.days - usual.days_early for usual in usuals)
    most = min(usual.interval.days + usual.days_late for usual in usuals)
    return Follows(visit, max(1, least), max(1, least, most))


def _agreed_visit(agreed: AgreedVisit, dogs: Mapping[str, Dog], setting: Setting) -> DueVisit:
    """A visit on its one day; a window told is kept to the second, and leaving it out costs more than anything else."""
    own = [setting.in_season(dogs[dog], agreed.date) for dog in agreed.dogs if dog in dogs]
    work = setting.door_seconds + sum(dog.work_seconds for dog in own)
    open_, close = setting.hours.get(agreed.date, (0, 0))
    windows = without_hot((open_, close), setting.hot_on(agreed.date, own), work)
    if agreed.window:
        windows = ((agreed.window[0], agreed.window[1] + work),)
    days = (Day(agreed.date, 0, windows),) if windows else ()
    visit = Visit(
        id=agreed.id,
        place=agreed.place,
        seconds=work,
        water_l=sum(dog.water_l for dog in own),
        left_out_cents=TOLD_LEFT_OUT_CENTS,
        days=days,
        power_wh=power_together(own),
        rank=rank_together(own),
        needs=tuple(sorted({need for dog in own for need in dog.needs})),
        vans=agreed.vans,
        seconds_sd=spread_together(own),
        told=agreed.told,
    )
    because = agreed_reasons(own, agreed.date, agreed.window, agreed.told, setting)
    return DueVisit(visit, agreed.household, agreed.dogs, (), agreed.date, settled=True, because=because)

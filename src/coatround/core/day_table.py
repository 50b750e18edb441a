"""The day table of a visit: the dates it may fall on, what each costs, and the windows that hold the whole work.

Day costs are whole even cents, in proportion to what an hour of driving costs the firm.
"""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from coatround.core.due import Due, Usual
from coatround.core.due_work import SPREAD_PERCENT
from coatround.core.rounds.problem import Day, Kept, Window
from coatround.core.rush import Rush
from coatround.core.workdays import Hours

HOUR = 3600

EARLY_MINUTES = 1
LATE_MINUTES = 3
OFF_WEEKDAY_MINUTES = 60
STAY_MINUTES = 60
STAY_HOUR_MINUTES = 10
STAY_SLACK = HOUR // 2
HOUR_SLACK = HOUR
"""Our own defaults: a day early or late, a weekday that is not the usual one and a move away from the plan that stands
to another day, or by more than `STAY_SLACK` on its day, are as dear as so many minutes of driving; the usual hour is
kept to within `HOUR_SLACK`."""


@dataclass(frozen=True, slots=True)
class Dog:
    """One dog with all that its due dates follow from. Dates in `done` are grooms; work in seconds, water in litres.

    `work_sd_seconds` None is our own default of SPREAD_PERCENT.

    `heat` are the kinds of its cautions that keep it out of hot hours; `blows_coat` says that its coat comes out in
    the months for that. `tap` and `plug` say what the household lets the van use.
    """

    id: str
    household: str
    place: str
    usuals: tuple[Usual, ...]
    done: tuple[dt.date, ...]
    work_seconds: int
    water_l: int
    work_sd_seconds: int | None = None
    rank: int = 1
    needs: tuple[str, ...] = ()
    work_is_default: bool = False
    power_wh: int = 0
    heat: tuple[str, ...] = ()
    blows_coat: bool = False
    is_regular: bool = False
    tap: bool = False
    plug: bool = False


@dataclass(frozen=True, slots=True)
class Pencilled:
    """A visit of the plan that stands, not yet told: where it lies is preferred, nothing more.

    `refused` says that the household did not want this date: the visit then falls on any other. `start` is when its
    work starts there, in seconds after midnight, where it stands on a run.
    """

    id: str
    dogs: frozenset[str]
    date: dt.date
    refused: bool = False
    start: int | None = None


@dataclass(frozen=True, slots=True)
class Setting:
    """What all visits share: the dates planned, each date's widest hours, minutes at the door, what driving costs.

    `hours` holds only the dates on which someone works, a little past `last` too; `door_seconds` is setting up,
    handing back and packing up; `tank_l` is the largest tank of all vans, None for no limit. `closed` are dates on
    which nobody works, with the reason. In `hot_months` a dog with a caution for heat is done outside `hot_hours`; in
    `blow_months` a coat that comes out takes `blow_percent` more work.
    """

    first: dt.date
    last: dt.date
    hours: Mapping[dt.date, Hours]
    door_seconds: int
    cents_per_drive_hour: int
    tank_l: int | None = None
    closed: Mapping[dt.date, str] = field(default_factory=dict)
    hot_months: frozenset[int] = frozenset()
    hot_hours: Hours | None = None
    blow_months: frozenset[int] = frozenset()
    blow_percent: int = 0
    rushes: tuple[Rush, ...] = ()

    def rush_on(self, dates: Iterable[dt.date], dogs: Iterable[Dog]) -> str:
        """The name of the first rush that one of these dates is in, where one of the dogs is a regular's; else none."""
        if not self.rushes or not any(dog.is_regular for dog in dogs):
            return ""
        some = list(dates)
        return next((rush.name for rush in self.rushes if any(rush.first <= date <= rush.last for date in some)), "")

    def hot_on(self, date: dt.date, dogs: Iterable[Dog]) -> Hours | None:
        """The hours of a date in which these dogs are not worked on."""
        return self.hot_hours if date.month in self.hot_months and any(dog.heat for dog in dogs) else None

    def in_season(self, dog: Dog, date: dt.date) -> Dog:
        """The dog with the work that it takes in that month."""
        if not dog.blows_coat or date.month not in self.blow_months:
            return dog
        return replace(dog, work_seconds=dog.work_seconds * (100 + self.blow_percent) // 100)

    def minutes_as_cents(self, minutes: int) -> int:
        """What so many minutes of driving cost, as an even number of cents, at least 2 when there are any."""
        return max(2, minutes * self.cents_per_drive_hour // 120 * 2) if minutes else 0


@dataclass(frozen=True, slots=True)
class DogDue:
    """One dog's one due date with the dates it allows between those planned, the last it allows at all, its hours."""

    dog: Dog
    due: Due
    dates: frozenset[dt.date]
    until: dt.date

    @property
    def hours(self) -> Hours:
        usual = self.due.usual
        return usual.hours_from or 0, 24 * HOUR if usual.hours_until is None else usual.hours_until


def day_table(ones: Sequence[DogDue], stands: Pencilled | None, setting: Setting) -> tuple[Day, ...]:
    """The dates on which all these dogs may be done, what each costs, and the windows that hold the whole work."""
    dates = sorted(common_dates(ones))
    if stands and stands.refused:
        dates = [date for date in dates if date != stands.date]
    kept = stands.date if stands and not stands.refused else None
    days = (
        Day(
            date,
            _day_cents(ones, date, kept, setting),
            windows_on(ones, date, setting),
            _hour_kept(stands, setting) if stands and date == kept else None,
        )
        for date in dates
    )
    return tuple(day for day in days if day.windows)


def _hour_kept(stands: Pencilled, setting: Setting) -> Kept | None:
    """The hour at which a visit stands: within half an hour of it costs nothing, any other hour of that day does."""
    if stands.start is None:
        return None
    cents = setting.minutes_as_cents(STAY_HOUR_MINUTES)
    return Kept(max(0, stands.start - STAY_SLACK), stands.start + STAY_SLACK, cents)


def _day_cents(ones: Sequence[DogDue], date: dt.date, stands: dt.date | None, setting: Setting) -> int:
    """What a date costs: days off the due date, leaving the usual weekday, leaving where the visit stands."""
    cents = sum(_days_off_cents(max(one.due.date, setting.first), date, setting) for one in ones)
    weekday, _ = usual_time(ones)
    if date == stands:
        return cents
    if weekday is not None and date.weekday() != weekday:
        cents += setting.minutes_as_cents(OFF_WEEKDAY_MINUTES)
    return cents + (setting.minutes_as_cents(STAY_MINUTES) if stands else 0)


def _days_off_cents(target: dt.date, date: dt.date, setting: Setting) -> int:
    """Late is dearer than early, and grows faster the later it gets."""
    days = (date - target).days
    if days <= 0:
        return -days * setting.minutes_as_cents(EARLY_MINUTES)
    return (days + days * days // 7) * setting.minutes_as_cents(LATE_MINUTES)


def windows_on(ones: Sequence[DogDue], date: dt.date, setting: Setting) -> tuple[Window, ...]:
    """The household's hours that day within working hours, hot hours cut out where one of the dogs must not be in them.

    On the usual weekday only round the usual hour, where that leaves room for the work.
    """
    work, hot = work_of(ones, setting), setting.hot_on(date, (one.dog for one in ones))
    from_, until = common_hours(ones)
    open_, close = max(from_, setting.hours[date][0]), min(until, setting.hours[date][1])
    weekday, start = usual_time(ones)
    if start is not None and weekday in (None, date.weekday()):
        near = max(open_, start - HOUR_SLACK), min(close, start + HOUR_SLACK + work)
        if found := without_hot(near, hot, work):
            return found
    return without_hot((open_, close), hot, work)


def without_hot(window: Window, hot: Hours | None, work: int) -> tuple[Window, ...]:
    """What is left of a window outside the hot hours, where it still holds the work."""
    parts = [window] if hot is None else [(window[0], min(window[1], hot[0])), (max(window[0], hot[1]), window[1])]
    return tuple((from_, until) for from_, until in parts if until - from_ >= work)


def common_dates(ones: Sequence[DogDue]) -> frozenset[dt.date]:
    """The dates on which all these dogs may be done."""
    return frozenset.intersection(*(one.dates for one in ones))


def common_hours(ones: Sequence[DogDue]) -> Hours:
    """The hours that suit all these dogs, in seconds after midnight."""
    return max(one.hours[0] for one in ones), min(one.hours[1] for one in ones)


def work_of(ones: Sequence[DogDue], setting: Setting) -> int:
    """Seconds of the whole visit: the door once, and each dog's work."""
    return setting.door_seconds + sum(one.dog.work_seconds for one in ones)


def usual_time(ones: Sequence[DogDue]) -> tuple[int | None, int | None]:
    """The usual weekday and start of the first dog that has them."""
    weekday = next((one.due.usual.usual_weekday for one in ones if one.due.usual.usual_weekday is not None), None)
    start = next((one.due.usual.usual_start for one in ones if one.due.usual.usual_start is not None), None)
    return weekday, start


def rank_together(dogs: Iterable[Dog]) -> int:
    """Fleas in one dog of the visit put the whole visit last; else a puppy puts it first."""
    ranks = {dog.rank for dog in dogs}
    return max(ranks) if 2 in ranks else min(ranks, default=1)


def power_together(dogs: Iterable[Dog]) -> int:
    """Watt-hours that the van's battery gives for these dogs: none where the household's plug may be used."""
    return sum(0 if dog.plug else dog.power_wh for dog in dogs)


def spread_together(dogs: Iterable[Dog]) -> int:
    """The spread of the visit, its dogs' lengths being independent of each other."""
    spreads = (
        dog.work_seconds * SPREAD_PERCENT / 100 if dog.work_sd_seconds is None else dog.work_sd_seconds for dog in dogs
    )
    return int(sum(spread**2 for spread in spreads) ** 0.5)

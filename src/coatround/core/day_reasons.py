"""What the dates and windows of a visit follow from, by name, so that it can be said in words."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from coatround.core.day_table import Dog, DogDue, Pencilled, Setting, common_hours, usual_time, windows_on
from coatround.core.workdays import Hours, dates_between

Name = Literal[
    "interval",
    "told",
    "agreed",
    "usual time",
    "stands",
    "weekdays",
    "hours",
    "closed",
    "no van",
    "refused",
    "hot hours",
    "no room",
    "puppy first",
    "fleas last",
    "needs",
    "coat comes out",
    "rush",
    "tap",
    "plug",
]


@dataclass(frozen=True, slots=True)
class DayReason:
    """One thing that a visit's dates and windows follow from.

    `dogs` are ids; `dates` those it speaks of; `hours` a window in seconds after midnight; `numbers` weekdays (0 is
    Monday), or weeks, days early and days late, or percent; `words` what was written down, such as a holiday's name.
    """

    name: Name
    dogs: tuple[str, ...] = ()
    dates: tuple[dt.date, ...] = ()
    hours: Hours | None = None
    numbers: tuple[int, ...] = ()
    words: tuple[str, ...] = ()


def day_reasons(ones: Sequence[DogDue], stands: Pencilled | None, setting: Setting) -> tuple[DayReason, ...]:
    """Everything that the day table of these dogs follows from, what was settled first."""
    dogs = [one.dog for one in ones]
    return (
        *_settled(ones),
        *_standing(stands),
        *_barred(ones, setting),
        *_of_dogs(dogs, _span(ones, setting), setting),
    )


def agreed_reasons(
    dogs: Sequence[Dog], date: dt.date, window: Hours | None, told: bool, setting: Setting
) -> tuple[DayReason, ...]:
    """The same of a visit whose date is settled with the household."""
    return DayReason("told" if told else "agreed", dates=(date,), hours=window), *_of_dogs(dogs, [date], setting)


def _settled(ones: Sequence[DogDue]) -> Iterable[DayReason]:
    for one in ones:
        usual = one.due.usual
        numbers = usual.interval_weeks, usual.days_early, usual.days_late
        yield DayReason("interval", (one.dog.id,), (one.due.date, one.due.first, one.due.last), numbers=numbers)
    weekday, start = usual_time(ones)
    if weekday is not None or start is not None:
        hours = None if start is None else (start, start)
        yield DayReason("usual time", hours=hours, numbers=() if weekday is None else (weekday,))
    weekdays = [set(one.due.usual.weekdays) for one in ones if one.due.usual.weekdays]
    if weekdays:
        yield DayReason("weekdays", numbers=tuple(sorted(set.intersection(*weekdays))))
    if any(one.due.usual.hours_from is not None or one.due.usual.hours_until is not None for one in ones):
        yield DayReason("hours", hours=common_hours(ones))


def _standing(stands: Pencilled | None) -> Iterable[DayReason]:
    if stands:
        hours = None if stands.start is None or stands.refused else (stands.start, stands.start)
        yield DayReason("refused" if stands.refused else "stands", dates=(stands.date,), hours=hours)


def _span(ones: Sequence[DogDue], setting: Setting) -> list[dt.date]:
    """The dates that the interval of these dogs leaves, between those planned."""
    first = max(min(one.due.first for one in ones), setting.first)
    return list(dates_between(first, min(setting.last, *(one.until for one in ones))))


def _barred(ones: Sequence[DogDue], setting: Setting) -> Iterable[DayReason]:
    """Dates of the span on which nobody works, or on which the windows hold no work."""
    span = _span(ones, setting)
    closed: dict[str, list[dt.date]] = {}
    for date in span:
        if date not in setting.hours and date in setting.closed:
            closed.setdefault(setting.closed[date], []).append(date)
    for words, dates in closed.items():
        yield DayReason("closed", dates=tuple(dates), words=(words,))
    idle = tuple(date for date in span if date not in setting.hours and date not in setting.closed)
    if idle:
        yield DayReason("no van", dates=idle, numbers=tuple(sorted({date.weekday() for date in idle})))
    open_dates = [date for date in span if all(date in one.dates for one in ones)]
    full = tuple(date for date in open_dates if not windows_on(ones, date, setting))
    if full:
        yield DayReason("no room", dates=full)


def _of_dogs(dogs: Sequence[Dog], dates: Sequence[dt.date], setting: Setting) -> Iterable[DayReason]:
    """What follows from the dogs themselves, on these dates."""
    hot = tuple(date for date in dates if setting.hot_on(date, dogs))
    if hot:
        kinds = tuple(dict.fromkeys(kind for dog in dogs for kind in dog.heat))
        yield DayReason("hot hours", _ids(dog for dog in dogs if dog.heat), hot, setting.hot_hours, words=kinds)
    if last := _ids(dog for dog in dogs if dog.rank == 2):
        yield DayReason("fleas last", last)
    elif first := _ids(dog for dog in dogs if dog.rank == 0):
        yield DayReason("puppy first", first)
    for need in sorted({need for dog in dogs for need in dog.needs}):
        yield DayReason("needs", _ids(dog for dog in dogs if need in dog.needs), words=(need,))
    blowing = tuple(date for date in dates if date.month in setting.blow_months)
    if blowing and setting.blow_percent and any(dog.blows_coat for dog in dogs):
        percent = (setting.blow_percent,)
        yield DayReason("coat comes out", _ids(dog for dog in dogs if dog.blows_coat), blowing, numbers=percent)
    if rush := setting.rush_on(dates, dogs):
        yield DayReason("rush", _ids(dog for dog in dogs if dog.is_regular), words=(rush,))
    if any(dog.tap for dog in dogs):
        yield DayReason("tap")
    if any(dog.plug for dog in dogs):
        yield DayReason("plug")


def _ids(dogs: Iterable[Dog]) -> tuple[str, ...]:
    return tuple(dog.id for dog in dogs)

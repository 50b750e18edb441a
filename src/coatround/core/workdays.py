"""Which days a van works: its hours by weekday, less its days off and the dates that are closed to all."""

import datetime as dt
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass

WEEK = 7
Hours = tuple[int, int]


@dataclass(frozen=True, slots=True)
class WeekdayHours:
    """One weekday of a van (0 is Monday): `open` and `close` in seconds after midnight, and its break.

    `break_seconds` 0 is no break; a break with no times of its own may fall anywhere in the day's middle half.
    """

    weekday: int
    open: int
    close: int
    break_seconds: int = 0
    break_from: int | None = None
    break_until: int | None = None


@dataclass(frozen=True, slots=True)
class DaysOff:
    """A first and a last date on which nobody works, both counted; `van` None is every van."""

    first: dt.date
    last: dt.date
    van: str | None = None


@dataclass(frozen=True, slots=True)
class Workday:
    """A date on which a van works, with that weekday's hours."""

    van: str
    date: dt.date
    hours: WeekdayHours


def dates_between(first: dt.date, last: dt.date) -> Iterator[dt.date]:
    """Every date from first to last, both counted; none when last comes before first."""
    for days in range((last - first).days + 1):
        yield first + dt.timedelta(days=days)


def monday_of(date: dt.date) -> dt.date:
    """The Monday of the week a date falls in."""
    return date - dt.timedelta(days=date.weekday())


def workdays(
    hours: Mapping[str, Iterable[WeekdayHours]],
    days_off: Iterable[DaysOff],
    closed: Collection[dt.date],
    first: dt.date,
    last: dt.date,
) -> tuple[Workday, ...]:
    """The days each van works from first to last, by date and then in the order of the vans.

    `closed` are public holidays and other dates on which nobody works.
    """
    by_van = {van: {row.weekday: row for row in rows} for van, rows in hours.items()}
    off = tuple(days_off)
    return tuple(
        Workday(van, date, rows[date.weekday()])
        for date in dates_between(first, last)
        if date not in closed
        for van, rows in by_van.items()
        if date.weekday() in rows and not _is_off(off, van, date)
    )


def _is_off(off: tuple[DaysOff, ...], van: str, date: dt.date) -> bool:
    return any(row.van in (None, van) and row.first <= date <= row.last for row in off)


def widest_hours(days: Iterable[Workday]) -> dict[dt.date, Hours]:
    """For each date on which any van works, from the earliest opening to the latest closing."""
    widest: dict[dt.date, Hours] = {}
    for day in days:
        open_, close = widest.get(day.date, (day.hours.open, day.hours.close))
        widest[day.date] = min(open_, day.hours.open), max(close, day.hours.close)
    return widest

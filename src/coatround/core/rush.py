"""The weeks before a holiday in which all want to come: minutes held back for regulars, and how full it will be."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from coatround.core.workdays import monday_of

REGULAR_GROOMS = 3
"""From so many grooms here on a dog is a regular's: our own default."""


@dataclass(frozen=True, slots=True)
class Rush:
    """A rush from a first to a last date, both counted.

    On each of its days `held_seconds` of every van are kept free of new callers, until `open_days` before that day.
    """

    name: str
    first: dt.date
    last: dt.date
    held_seconds: int
    open_days: int = 7

    def holds(self, date: dt.date, today: dt.date) -> int:
        """Seconds of each van's day that are held back on that date, as seen from today."""
        in_it = self.first <= date <= self.last
        return self.held_seconds if in_it and (date - today).days > self.open_days else 0


@dataclass(frozen=True, slots=True)
class Wanting:
    """A visit that comes up: the date it is due, its work and the usual drive to it in seconds, whose it is."""

    due: dt.date
    seconds: int
    is_regular: bool


@dataclass(frozen=True, slots=True)
class WeekLoad:
    """One week of a rush, from `monday`, in seconds: what the vans can work, what is held back, what comes up."""

    monday: dt.date
    works: int
    held: int
    regulars: int
    others: int

    @property
    def left(self) -> int:
        """What is left for new callers; below zero when more comes up than can be done."""
        return self.works - self.held - self.regulars - self.others

    @property
    def short(self) -> int:
        """What of the regulars alone cannot be done, the held minutes being for them."""
        return max(0, self.regulars - self.works)


def held_on(rushes: Iterable[Rush], date: dt.date, today: dt.date) -> int:
    """The most that any rush holds back on a date, in seconds of each van's day."""
    return max((rush.holds(date, today) for rush in rushes), default=0)


def week_loads(
    rush: Rush, days: Iterable[tuple[dt.date, int]], wanting: Iterable[Wanting], today: dt.date
) -> tuple[WeekLoad, ...]:
    """The weeks of a rush; `days` are the days vans work in it, each with the seconds of an ordinary day.

    What is due before the rush or today counts in its first week that is still to come, what is due after it nowhere.
    """
    own = [(date, seconds) for date, seconds in days if rush.first <= date <= rush.last and date >= today]
    weeks = sorted({monday_of(date) for date, _ in own})
    dues = [(_week_of(one.due, weeks), one) for one in wanting if one.due <= rush.last]
    return tuple(_load(monday, rush, own, dues, today) for monday in weeks)


def _week_of(due: dt.date, weeks: Sequence[dt.date]) -> dt.date | None:
    return max((monday for monday in weeks if monday <= due), default=weeks[0] if weeks else None)


def _load(
    monday: dt.date,
    rush: Rush,
    days: Sequence[tuple[dt.date, int]],
    dues: Sequence[tuple[dt.date | None, Wanting]],
    today: dt.date,
) -> WeekLoad:
    own = [(date, seconds) for date, seconds in days if monday_of(date) == monday]
    up = [one for week, one in dues if week == monday]
    return WeekLoad(
        monday,
        sum(seconds for _, seconds in own),
        sum(min(seconds, rush.holds(date, today)) for date, seconds in own),
        sum(one.seconds for one in up if one.is_regular),
        sum(one.seconds for one in up if not one.is_regular),
    )

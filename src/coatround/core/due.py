"""When each dog comes up again: from what was done and what is settled to due dates, windows and their reason."""

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

OVERDUE_DAYS = 14
"""A dog whose window is over may fall on the first so many days from now: our own default."""

LEAST_DAYS = 7
"""A window that is nearly over still offers so many days, so that the usual weekday is among them: our own default."""


@dataclass(frozen=True, slots=True)
class Usual:
    """What is settled for a dog between two dates (`valid_until` None has no end).

    Clock times are seconds after midnight, weekdays 0 for Monday; an empty `weekdays` is any day. `body_cut` is how
    the body is done.
    """

    valid_from: dt.date
    valid_until: dt.date | None = None
    interval_weeks: int = 6
    days_early: int = 7
    days_late: int = 7
    weekdays: tuple[int, ...] = ()
    hours_from: int | None = None
    hours_until: int | None = None
    usual_weekday: int | None = None
    usual_start: int | None = None
    work_seconds: int | None = None
    price_cents: int = 0
    body_cut: str = ""

    @property
    def interval(self) -> dt.timedelta:
        """The time from one groom to the next."""
        return dt.timedelta(weeks=self.interval_weeks)


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a dog is due: every so many weeks since a date, and how the last groom fell.

    `last` is the groom counted from (None: never groomed), `days_late` how late it was against the one before it
    (below zero: early; None: there was none before), `planned` whether `last` is a visit still to come.
    """

    weeks: int
    since: dt.date
    last: dt.date | None
    days_late: int | None = None
    planned: bool = False


@dataclass(frozen=True, slots=True)
class Due:
    """One due date of a dog, the window settled round it (both ends counted), and why.

    `number` is 0 for the next one, 1 for the one after it, and so on.
    """

    date: dt.date
    first: dt.date
    last: dt.date
    usual: Usual
    reason: Reason
    number: int = 0

    def days_over(self, today: dt.date) -> int:
        """How many days the due date is past; 0 when it is not."""
        return max(0, (today - self.date).days)


def usual_on(usuals: Sequence[Usual], date: dt.date) -> Usual | None:
    """The usual in force on a date: the one that began last; where none is, the next that begins; else None."""
    live = [row for row in usuals if row.valid_until is None or row.valid_until >= date]
    begun = [row for row in live if row.valid_from <= date]
    if begun:
        return max(begun, key=lambda row: row.valid_from)
    return min(live, key=lambda row: row.valid_from, default=None)


def next_due(
    usuals: Sequence[Usual],
    done: Sequence[dt.date],
    today: dt.date,
    *,
    planned: bool = False,
    number: int = 0,
) -> Due | None:
    """The next due date, counted from the last of `done`; None when nothing is settled.

    A dog that was never groomed is due from the day its usual began. The date may be past: the dog is then overdue.
    """
    last = max(done, default=None)
    usual = usual_on(usuals, max(last, today) if last else today)
    if usual is not None and _is_over(usual, max(_date(usual, last), today)):
        usual = usual_on(usuals, max(_date(usual, last), today))
    if usual is None:
        return None
    date = _date(usual, last)
    early = dt.timedelta(days=usual.days_early if last else 0)
    reason = Reason(usual.interval_weeks, usual.valid_from, last, _days_late(usual, done), planned)
    return Due(date, date - early, date + dt.timedelta(days=usual.days_late), usual, reason, number)


def _date(usual: Usual, last: dt.date | None) -> dt.date:
    return max(last + usual.interval, usual.valid_from) if last else usual.valid_from


def _is_over(usual: Usual, date: dt.date) -> bool:
    return usual.valid_until is not None and usual.valid_until < date


def _days_late(usual: Usual, done: Sequence[dt.date]) -> int | None:
    """How late the last groom was against the one before it; None unless both fell under this usual."""
    latest = sorted(set(done))[-2:]
    if len(latest) < 2 or latest[1] < usual.valid_from:
        return None
    return (latest[1] - latest[0] - usual.interval).days


def dues_until(
    usuals: Sequence[Usual],
    done: Sequence[dt.date],
    agreed: Sequence[dt.date],
    today: dt.date,
    last: dt.date,
) -> tuple[Due, ...]:
    """Every due date up to `last`, in order, one an interval; `agreed` are dates already settled with the household.

    An agreed date takes the place of the due date nearest to it, so a due date is only kept before one when at
    least half an interval lies between. A due date that is past counts as today for those after it.
    """
    return tuple(_dues(usuals, done, sorted(agreed), today, last))


def _dues(
    usuals: Sequence[Usual], done: Sequence[dt.date], agreed: list[dt.date], today: dt.date, last: dt.date
) -> Iterator[Due]:
    been, waiting, number = list(done), list(agreed), 0
    planned = False
    while due := next_due(usuals, been, today, planned=planned, number=number):
        target = max(due.date, today)
        if waiting and (waiting[0] <= target or waiting[0] - target < due.usual.interval / 2):
            been.append(waiting.pop(0))
            number += 1
        elif target > last or _is_over(due.usual, target):
            return
        else:
            yield due
            been.append(target)
            number += 1
        planned = True


def allowed_dates(due: Due, start: dt.date) -> tuple[dt.date, dt.date]:
    """The first and last date on which a due dog may be done when planning begins on `start`.

    A window that is over, or nearly, is lengthened: an overdue dog falls on the earliest days.
    """
    if due.last < start:
        return start, start + dt.timedelta(days=OVERDUE_DAYS - 1)
    first = max(due.first, start)
    if due.date < start:
        return first, max(due.last, start + dt.timedelta(days=LEAST_DAYS - 1))
    return first, due.last

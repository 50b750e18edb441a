"""What a diary says about one household: last groom, usual interval, weekday and hour, and what it was told."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, time
from itertools import pairwise
from statistics import median

from coatround.intake.cells import Interval
from coatround.intake.found import Appointment

_SHORTEST_GAP_DAYS = 7
_LONGEST_GAP_DAYS = 52 * 7


@dataclass(frozen=True)
class History:
    """Worked out from past dates; `gaps` is how many gaps between them the interval rests on."""

    last_groom: date | None
    interval: Interval | None
    gap_days: float | None
    gaps: int
    weekday: int | None
    hour: time | None
    told: tuple[Appointment, ...]


def history(appointments: Iterable[Appointment], today: date) -> History:
    """Last groom, median gap, and the weekday and hour that more than half of at least three past dates share.

    A date that is today counts as still to come. Gaps under a week (a call back) or over a year (a break) are left
    out of the median: our own default.
    """
    dated = sorted(appointments, key=lambda one: (one.date, one.start or time(0)))
    past = [one for one in dated if one.date < today]
    days = sorted({one.date for one in past})
    gaps = [(later - earlier).days for earlier, later in pairwise(days)]
    fair = [gap for gap in gaps if _SHORTEST_GAP_DAYS <= gap <= _LONGEST_GAP_DAYS]
    gap_days = float(median(fair)) if fair else None
    starts = [(one.start.hour, 30 if one.start.minute >= 30 else 0) for one in past if one.start]
    hour = _majority(starts)
    return History(
        last_groom=days[-1] if days else None,
        interval=Interval(max(1, round(gap_days / 7))) if gap_days else None,
        gap_days=gap_days,
        gaps=len(fair),
        weekday=_majority([day.weekday() for day in days]),
        hour=time(*hour) if hour else None,
        told=tuple(one for one in dated if one.date >= today),
    )


def _majority[T](values: list[T]) -> T | None:
    """The value of more than half, from at least three."""
    if len(values) < 3:
        return None
    value, times = Counter(values).most_common(1)[0]
    return value if times * 2 > len(values) else None

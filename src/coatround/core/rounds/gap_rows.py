"""A run that stands as stretches, and its gaps as rows: what `gaps` lays out for numpy."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from coatround.core.rounds.plan import BreakStop, PlannedRun, RefillStop, VisitStop
from coatround.core.rounds.problem import Run, Visit
from coatround.core.rounds.table import pieces_on

EVER = 2**40
"""Later than any clock time."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of a run: it may begin from `early` to `late`, and takes `long` seconds at least, waiting included.

    Whole numbers or arrays of them, one for each stretch.
    """

    early: Any
    late: Any
    long: Any
    possible: Any

    @classmethod
    def of_rows(cls, rows: tuple[Any, Any, Any]) -> "Stretch":
        """Stretches that are possible, as columns: early, late, long."""
        return cls(*rows, np.ones(len(rows[0]), dtype=bool))

    def then(self, seconds: Any, other: "Stretch") -> "Stretch":
        """This stretch, a drive of so many seconds, the other."""
        gone = self.long + seconds
        wait = np.maximum(other.early - gone - self.late, 0)
        possible = self.possible & other.possible & (self.early + gone <= other.late)
        early = np.maximum(other.early - gone, self.early) - wait
        late = np.minimum(other.late - gone, self.late)
        return Stretch(early, late, gone + other.long + wait, possible)

    def of(self, which: NDArray[np.int64]) -> "Stretch":
        """Some of the stretches."""
        return Stretch(self.early[which], self.late[which], self.long[which], self.possible[which])


@dataclass(frozen=True, slots=True)
class Stay:
    """A stop: the place, when it may begin, its seconds, the break after it as (from, latest start, seconds)."""

    place: int
    early: int
    late: int
    seconds: int
    water_l: int = 0
    rank: int = 1
    is_refill: bool = False
    rest: tuple[int, int, int] | None = None

    def stretch(self) -> Stretch:
        """The stop by itself, its break with it."""
        own = Stretch(self.early, self.late, self.seconds, True)
        if self.rest is None:
            return own
        from_, late, seconds = self.rest
        return own.then(0, Stretch(from_, late, seconds, True))


class GapRow(NamedTuple):
    """One gap, or columns of many: run and place in it, the places round it, the stretches before and after, its tank.

    `used_l` is drawn since the tank was `level`, `rest_l` till the next refill; ranks between `low` and `high` may come
    here; `refills` are left; `is_used` is 1 where the run has a stop.
    """

    run: Any
    at: Any
    start: Any
    end: Any
    ahead_early: Any
    ahead_late: Any
    ahead_long: Any
    behind_early: Any
    behind_late: Any
    behind_long: Any
    used_l: Any
    rest_l: Any
    level: Any
    low: Any
    high: Any
    refills: Any
    is_used: Any

    def ahead(self, g: Any) -> tuple[Any, Any, Any]:
        """The stretches before some gaps."""
        return self.ahead_early[g], self.ahead_late[g], self.ahead_long[g]

    def behind(self, g: Any) -> tuple[Any, Any, Any]:
        """The stretches after some gaps."""
        return self.behind_early[g], self.behind_late[g], self.behind_long[g]


def stays_of(
    run: Run, planned: PlannedRun | None, visits: Mapping[str, Visit], number: Mapping[str, int]
) -> list[Stay]:
    """The stops of a run in order; a visit keeps the window in which it starts, a break stays with the stop before."""
    found: list[Stay] = []
    for stop in planned.stops if planned else ():
        if isinstance(stop, RefillStop):
            found.append(Stay(number[stop.refill], 0, EVER, stop.end - stop.arrive, is_refill=True))
        elif isinstance(stop, BreakStop):
            last, rest = found.pop(), run.break_
            times = (rest.from_, rest.to - rest.seconds) if rest else (stop.start, stop.start)
            found.append(replace(last, rest=(*times, stop.seconds)))
        else:
            visit = visits[stop.visit]
            early, late = _window(visit, run, stop)
            found.append(Stay(number[visit.place], early, late, visit.seconds, visit.water_l, visit.rank))
    return found


def _window(visit: Visit, run: Run, stop: VisitStop) -> tuple[int, int]:
    """When the work may start: the window it starts in, kept hours apart; outside of all, where it stands."""
    day = next((day for day in visit.days if day.date == run.date), None)
    for early, late, _ in pieces_on(visit, day, run) if day else ():
        if early <= stop.start <= late:
            return early, late
    return stop.start, stop.start


def gap_rows(
    r: int, run: Run, stays: list[Stay], number: Mapping[str, int], seconds: NDArray[np.int64]
) -> Iterator[GapRow]:
    """The gaps of one run, before the first stop to after the last."""
    places = [number[run.start_place], *(stay.place for stay in stays), number[run.end_place]]
    ends = Stretch(run.open, run.close, 0, True)
    ahead, behind = [ends], [ends]
    for at, stay in enumerate(stays):
        ahead.append(ahead[-1].then(int(seconds[places[at], stay.place]), stay.stretch()))
    for at in range(len(stays) - 1, -1, -1):
        behind.insert(0, stays[at].stretch().then(int(seconds[stays[at].place, places[at + 2]]), behind[0]))
    refills = run.max_refills - sum(stay.is_refill for stay in stays)
    for at in range(len(stays) + 1):
        a, b = ahead[at], behind[at]
        if not (a.possible and b.possible):
            continue
        before, after = stays[:at], stays[at:]
        yield GapRow(
            r,
            at,
            places[at],
            places[at + 1],
            *(int(a.early), int(a.late), int(a.long), int(b.early), int(b.late), int(b.long)),
            *_litres(run, before, after),
            max((stay.rank for stay in before if not stay.is_refill), default=0),
            min((stay.rank for stay in after if not stay.is_refill), default=EVER),
            refills,
            int(bool(stays)),
        )


def _litres(run: Run, before: list[Stay], after: list[Stay]) -> tuple[int, int, int]:
    """Litres drawn since the last fill, to be drawn until the next, and what that fill came to."""
    used, rest = 0, 0
    level = run.water_l if run.water_at_start_l is None else run.water_at_start_l
    for stay in before:
        used = 0 if stay.is_refill else used + stay.water_l
        level = run.water_l if stay.is_refill else level
    for stay in after:
        if stay.is_refill:
            break
        rest += stay.water_l
    return used, rest, level

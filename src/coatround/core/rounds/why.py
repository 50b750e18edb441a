"""Why a visit is where it is: every other date tried, with what it would cost and what it would break."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field, fields, replace

from coatround.core.rounds.by_hand import (
    Known,
    Shift,
    as_ordered,
    known_faults,
    new_faults,
    plan_of_runs,
    shifts,
    without,
)
from coatround.core.rounds.fault import Fault
from coatround.core.rounds.order import best_order
from coatround.core.rounds.plan import BreakStop, Cost, Plan, PlannedRun, VisitStop
from coatround.core.rounds.problem import Problem
from coatround.core.rounds.table import Table

PLACES_TRIED = 6
"""Where a visit fits nowhere on a date, so many places in its runs are driven, those roughly least late first."""

NOTHING = Cost(0, 0, 0, 0, 0, 0)


@dataclass(frozen=True, slots=True)
class Other:
    """A date for a visit: the best run and order there, what the whole plan would cost more, what would break.

    `order` are the visits of that run with this one among them. `is_here` marks where it stands now. `shifts` are
    the other visits that stay on their day and start at another time, `more` what each part of the cost grows by (below
    zero: shrinks), `after` the whole plan with the visit there.
    """

    date: dt.date
    run: str
    order: tuple[str, ...]
    start: int
    more_cents: int
    more_drive_seconds: int
    faults: tuple[Fault, ...]
    is_here: bool = False
    shifts: tuple[Shift, ...] = ()
    more: Cost = NOTHING
    after: Plan | None = field(default=None, repr=False)


def other_dates(problem: Problem, plan: Plan, visit: str) -> tuple[Other, ...]:
    """The best that each date of the problem has for this visit, by date; tried out, never guessed.

    The visit is taken out first. Where it fits, its run gets the exact best order with it; where it does not, it goes
    in where least breaks, and what breaks is listed. Cents are those of the whole plan against `plan`. ValueError if
    `problem.travel` is None.
    """
    table = Table(problem)
    here = next((run.id for run in plan.runs if visit in run.visit_ids), None)
    look = _Look(table, plan, without(problem, plan, visit) if here else plan, visit, known_faults(problem, plan))
    found = []
    for date in sorted({run.date for run in problem.runs}):
        runs = [r for r, run in enumerate(problem.runs) if run.date == date]
        if here in {problem.runs[r].id for r in runs}:
            found.append(look.stays(str(here)))
        elif one := look.fits(runs) or look.forced(runs):
            found.append(one)
    return tuple(found)


def other_places(problem: Problem, plan: Plan, visit: str) -> tuple[Other, ...]:
    """The visit at every other place in the order of its own run, first place first; the others keep their order."""
    run = next((run for run in plan.runs if visit in run.visit_ids), None)
    if run is None:
        return ()
    look = _Look(Table(problem), plan, plan, visit, known_faults(problem, plan))
    rest = [one for one in run.visit_ids if one != visit]
    orders = [[*rest[:at], visit, *rest[at:]] for at in range(len(rest) + 1)]
    here = list(run.visit_ids)
    return tuple(look.stays(run.id) if order == here else look.ordered(run.id, order) for order in orders)


@dataclass(frozen=True, slots=True)
class _Look:
    """A plan as it is, and without the visit."""

    table: Table
    plan: Plan
    apart: Plan
    visit: str
    known: frozenset[Known]

    def stays(self, run: str) -> Other:
        """Where it stands now."""
        planned = next(one for one in self.plan.runs if one.id == run)
        return replace(self._other(planned, self.plan, ()), is_here=True)

    def fits(self, runs: Sequence[int]) -> Other | None:
        """The cheapest exact order of one of these runs with the visit in it."""
        v = self.table.visit_number[self.visit]
        best: tuple[int, Other] | None = None
        for r in (r for r in runs if v in self.table.choices[r]):
            order = self._order(self.table.problem.runs[r].id)
            ordered = best_order(self.table, r, [*(self.table.visit_number[one] for one in order), v])
            if ordered is None:
                continue
            other = self._other_of(ordered.planned)
            if not other.faults and (best is None or other.more_cents < best[0]):
                best = other.more_cents, other
        return best[1] if best else None

    def forced(self, runs: Sequence[int]) -> Other | None:
        """The order in which least breaks, in whichever of these runs."""
        problem, best = self.table.problem, None
        ways = [(r, at) for r in runs for at in range(len(self._order(problem.runs[r].id)) + 1)]
        for r, at in sorted(ways, key=lambda way: (self._roughly(*way), way))[:PLACES_TRIED]:
            run, order = problem.runs[r], self._order(problem.runs[r].id)
            tried = as_ordered(problem, run.id, [*order[:at], self.visit, *order[at:]])
            key = (len(tried.faults), tried.late_seconds, tried.planned.back - tried.planned.leave, r, at)
            if best is None or key < best[0]:
                best = key, tried.planned
        return self._other_of(best[1]) if best else None

    def _roughly(self, r: int, at: int) -> tuple[int, int]:
        """Seconds late and seconds out with the visit there, without refills and break."""
        problem, table = self.table.problem, self.table
        run, here = problem.runs[r], table.start_of[r]
        order = self._order(run.id)
        free, late = run.open, 0
        for id_ in [*order[:at], self.visit, *order[at:]]:
            v = table.visit_number[id_]
            arrive = free + table.seconds[here][table.place_of[v]]
            starts = table.choices[r][v].starts if v in table.choices[r] else ()
            start = min((max(arrive, opens) for opens, closes in starts if arrive <= closes), default=arrive)
            late += max(0, arrive - starts[-1][1]) if starts else 0
            free, here = start + problem.visits[v].seconds, table.place_of[v]
        return late, free + table.seconds[here][table.end_of[r]]

    def ordered(self, run: str, order: Sequence[str]) -> Other:
        """The run in exactly this order."""
        return self._other_of(as_ordered(self.table.problem, run, order).planned)

    def _order(self, run: str) -> list[str]:
        return next((list(one.visit_ids) for one in self.apart.runs if one.id == run), [])

    def _other_of(self, planned: PlannedRun) -> Other:
        """What the whole plan becomes with this run in it."""
        problem = self.table.problem
        known = {one.id: one for one in self.apart.runs} | {planned.id: planned}
        after = plan_of_runs(problem, [known[run.id] for run in problem.runs if run.id in known], self.apart.left_out)
        return self._other(planned, after, new_faults(problem, after, self.known))

    def _other(self, planned: PlannedRun, after: Plan, faults: tuple[Fault, ...]) -> Other:
        run = next(one for one in self.table.problem.runs if one.id == planned.id)
        start = next(one.start for one in planned.stops if isinstance(one, VisitStop) and one.visit == self.visit)
        drive = drive_seconds(after) - drive_seconds(self.plan)
        parts = {one.name: getattr(after.cost, one.name) - getattr(self.plan.cost, one.name) for one in fields(Cost)}
        more = Cost(**parts)
        shifted = tuple(one for one in shifts(self.plan, after) if one.visit != self.visit)
        total = more.total
        return Other(run.date, run.id, planned.visit_ids, start, total, drive, faults, False, shifted, more, after)


def drive_seconds(plan: Plan) -> int:
    """Seconds of driving in all: each arrival less the end before it, and each way home."""
    seconds = 0
    for run in plan.runs:
        free = run.leave
        for stop in run.stops:
            seconds += 0 if isinstance(stop, BreakStop) else stop.arrive - free
            free = stop.end
        seconds += run.back - free
    return seconds

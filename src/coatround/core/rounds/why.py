"""Why a visit is where it is: every other date tried, with what it would cost and what it would break."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace

from coatround.core.rounds.by_hand import as_ordered, plan_of_runs, with_orders, without
from coatround.core.rounds.check import check
from coatround.core.rounds.fault import Fault
from coatround.core.rounds.order import best_order
from coatround.core.rounds.plan import BreakStop, Plan, PlannedRun, VisitStop
from coatround.core.rounds.problem import Problem
from coatround.core.rounds.table import Table


@dataclass(frozen=True, slots=True)
class Other:
    """A date for a visit: the best run and order there, what the whole plan would cost more, what would break.

    `order` are the visits of that run with this one among them. `is_here` marks where it stands now.
    """

    date: dt.date
    run: str
    order: tuple[str, ...]
    start: int
    more_cents: int
    more_drive_seconds: int
    faults: tuple[Fault, ...]
    is_here: bool = False


def other_dates(problem: Problem, plan: Plan, visit: str) -> tuple[Other, ...]:
    """The best that each date of the problem has for this visit, by date; tried out, never guessed.

    The visit is taken out first. Where it fits, its run gets the exact best order with it; where it does not, it goes
    in where least breaks, and what breaks is listed. Cents are those of the whole plan against `plan`. ValueError if
    `problem.travel` is None.
    """
    table = Table(problem)
    here = next((run.id for run in plan.runs if visit in run.visit_ids), None)
    look = _Look(table, plan, without(problem, plan, visit) if here else plan, visit)
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
    look = _Look(Table(problem), plan, plan, visit)
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
        for r in runs:
            run, order = problem.runs[r], self._order(problem.runs[r].id)
            for at in range(len(order) + 1):
                tried = as_ordered(problem, run.id, [*order[:at], self.visit, *order[at:]])
                key = (len(tried.faults), tried.late_seconds, tried.planned.back - tried.planned.leave, r, at)
                if best is None or key < best[0]:
                    best = key, tried.planned
        return self._other_of(best[1]) if best else None

    def ordered(self, run: str, order: Sequence[str]) -> Other:
        """The run in exactly this order."""
        moved = with_orders(self.table.problem, self.plan, {run: list(order)})
        planned = next(one for one in moved.plan.runs if one.id == run)
        return self._other(planned, moved.plan, moved.faults)

    def _order(self, run: str) -> list[str]:
        return next((list(one.visit_ids) for one in self.apart.runs if one.id == run), [])

    def _other_of(self, planned: PlannedRun) -> Other:
        """What the whole plan becomes with this run in it."""
        problem = self.table.problem
        known = {one.id: one for one in self.apart.runs} | {planned.id: planned}
        after = plan_of_runs(problem, [known[run.id] for run in problem.runs if run.id in known], self.apart.left_out)
        old = {(fault.code, fault.where, fault.words) for fault in check(problem, self.plan)}
        new = (fault for fault in check(problem, after) if (fault.code, fault.where, fault.words) not in old)
        return self._other(planned, after, tuple(new))

    def _other(self, planned: PlannedRun, after: Plan, faults: tuple[Fault, ...]) -> Other:
        run = next(one for one in self.table.problem.runs if one.id == planned.id)
        start = next(one.start for one in planned.stops if isinstance(one, VisitStop) and one.visit == self.visit)
        drive = drive_seconds(after) - drive_seconds(self.plan)
        more = after.cost.total - self.plan.cost.total
        return Other(run.date, run.id, planned.visit_ids, start, more, drive, faults)


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

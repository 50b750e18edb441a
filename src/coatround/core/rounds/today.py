"""A run from here and now: the times of the rest, who will be outside what they were told, and three ways out.

Clock times are wall-clock seconds after midnight of the run's date. What is done is not in the problem any more; `now`
and where the van is come in. Nothing here decides: each way is driven, checked and costed, and a person takes one.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from coatround.core.rounds.by_hand import as_ordered, plan_of_runs
from coatround.core.rounds.check import check
from coatround.core.rounds.fault import Fault
from coatround.core.rounds.openings import Opening, openings
from coatround.core.rounds.plan import Plan, PlannedRun, VisitStop
from coatround.core.rounds.problem import Problem, Run, Visit

Kind = Literal["push on", "swap", "move"]

ORDERS_TRIED = 6
"""So many of the best orders are driven with refills and break; our own default."""

WORTH_SECONDS = 5 * 60
"""A swap that only brings the van home sooner is offered from so much on; our own default."""

LOOKS = 3
"""The opening on another day is looked for, for so many visits at most; our own default."""


@dataclass(frozen=True, slots=True)
class Here:
    """Where the van is and since when it is free: clock seconds, a place of the problem, litres left (None is full).

    `worked_seconds` of the paid day are over; `had_break` says that the break was taken.
    """

    now: int
    place: str
    water_l: int | None = None
    worked_seconds: int = 0
    had_break: bool = False


@dataclass(frozen=True, slots=True)
class Outside:
    """A household that will not be reached inside the window told: arrival, window, and by how much it is missed."""

    visit: str
    arrive: int
    told: tuple[int, int]

    @property
    def seconds(self) -> int:
        """How much too late; below zero is too early."""
        return self.arrive - self.told[1] if self.arrive > self.told[1] else self.arrive - self.told[0]


@dataclass(frozen=True, slots=True)
class WayOut:
    """One way to go on: the rest of the run, who is outside, what breaks, cents against pushing on.

    `moved` is the visit that goes to another day, and `opening` where; `plan` is the whole plan then.
    """

    kind: Kind
    planned: PlannedRun | None
    outside: tuple[Outside, ...]
    faults: tuple[Fault, ...]
    more_cents: int
    plan: Plan
    problem: Problem
    moved: str = ""
    opening: Opening | None = None

    @property
    def late_seconds(self) -> int:
        """Seconds of lateness against windows told, added up."""
        return sum(max(0, one.seconds) for one in self.outside)


def ways_out(problem: Problem, plan: Plan, run_id: str, here: Here) -> tuple[WayOut, ...]:
    """Pushing on, swapping the order, and moving one visit to another day; the last two only where they help.

    `plan` is the one that stands, with what is still to do on run `run_id`. A swap is the order that is least late
    against windows told, then against other windows, then soonest home; dogs with fleas stay last. The visit to move
    is the one whose going makes the rest least late, one that was told nothing before one that was.
    """
    day = from_here(problem, run_id, here)
    others = [run for run in plan.runs if run.id != run_id]
    order = next((run.visit_ids for run in plan.runs if run.id == run_id), ())
    look = _Look(problem, day, run_id, others, plan, here)
    on = look.way("push on", order)
    found = [on]
    swap = look.best_swap(order)
    if swap and (_breaks(swap) < _breaks(on) or _sooner(swap, on)):
        found.append(replace(swap, more_cents=swap.plan.cost.total - on.plan.cost.total))
    move = look.best_move(order, on)
    if move and _breaks(move) < _breaks(on):
        found.append(replace(move, more_cents=move.plan.cost.total - on.plan.cost.total))
    return tuple(found)


def _breaks(way: WayOut) -> tuple[int, int]:
    return way.late_seconds, len(way.faults)


def _sooner(way: WayOut, on: WayOut) -> bool:
    """Whether nothing breaks more, and the van is home a good while sooner."""
    return _breaks(way) <= _breaks(on) and _worth(way)[2] + WORTH_SECONDS <= _worth(on)[2]


def _worth(way: WayOut) -> tuple[int, int, int]:
    return way.late_seconds, len(way.faults), way.planned.back if way.planned else 0


def from_here(problem: Problem, run_id: str, here: Here) -> Problem:
    """The problem with one run beginning where the van is now; what has passed of its paid time is over."""
    return replace(problem, runs=tuple(_from_here(run, here) if run.id == run_id else run for run in problem.runs))


def _from_here(run: Run, here: Here) -> Run:
    return replace(
        run,
        start_place=here.place,
        open=here.now,
        close=max(run.close, here.now),
        paid_seconds=max(0, run.paid_seconds - here.worked_seconds),
        water_at_start_l=here.water_l,
        break_=None if here.had_break else run.break_,
    )


@dataclass(frozen=True, slots=True)
class _Look:
    """What all ways share: the problem of all days, and the one that begins here."""

    problem: Problem
    day: Problem
    run_id: str
    others: Sequence[PlannedRun]
    standing: Plan
    here: Here

    @property
    def visits(self) -> dict[str, Visit]:
        return {visit.id: visit for visit in self.problem.visits}

    def way(self, kind: Kind, order: Sequence[str]) -> WayOut:
        """The rest of the run in this order."""
        planned = as_ordered(self.day, self.run_id, order, self.here.now).planned if order else None
        runs = [*self.others, planned] if planned else list(self.others)
        after = plan_of_runs(self.day, _in_problem_order(self.day, runs), self.standing.left_out)
        faults = tuple(fault for fault in check(self.day, after) if fault.where == self.run_id)
        return WayOut(kind, planned, self.outside(planned), faults, 0, after, self.day)

    def outside(self, planned: PlannedRun | None) -> tuple[Outside, ...]:
        """Who is reached outside the window told."""
        found = []
        for stop in planned.stops if planned else ():
            if isinstance(stop, VisitStop) and (told := _told(self.visits[stop.visit])) is not None:
                arrive = max(stop.arrive, min(stop.start, told[0]))
                if not told[0] <= arrive <= told[1]:
                    found.append(Outside(stop.visit, arrive, told))
        return tuple(found)

    def best_swap(self, order: Sequence[str]) -> WayOut | None:
        """The least late of the best orders."""
        tried = [self.way("swap", other) for other in _least_late(self.day, self.run_id, order, self.here.now)]
        ways = [way for way in tried if way.planned and way.planned.visit_ids != tuple(order)]
        return min(ways, key=_worth, default=None)

    def best_move(self, order: Sequence[str], on: WayOut) -> WayOut | None:
        """The best visit to move to another day, with the best opening there."""
        ranked = sorted((self._without(order, visit) for visit in order), key=lambda one: one[0])
        best: WayOut | None = None
        for _key, visit, rest in ranked[:LOOKS]:
            way = self._moved(visit, rest)
            if way is not None and (best is None or _worth(way) < _worth(best)):
                best = way
        return best

    def _without(self, order: Sequence[str], visit: str) -> tuple[tuple[bool, int, int, str], str, list[str]]:
        rest = [one for one in order if one != visit]
        forced = as_ordered(self.day, self.run_id, rest, self.here.now) if rest else None
        late = sum(max(0, one.seconds) for one in self.outside(forced.planned if forced else None))
        back = forced.planned.back if forced else self.here.now
        return (self.visits[visit].told, late, back, visit), visit, rest

    def _moved(self, visit: str, rest: Sequence[str]) -> WayOut | None:
        today = next(run.date for run in self.problem.runs if run.id == self.run_id)
        later = replace(self.day, runs=tuple(run for run in self.day.runs if run.date > today))
        orders = {run.id: run.visit_ids for run in self.others}
        found = openings(later, orders, visit, most=1) if later.runs else ()
        if not found:
            return None
        way, opening = self.way("move", rest), found[0]
        before = orders.get(opening.run, ())
        planned = _with(self.day, opening, before, visit)
        runs = [run for run in self.others if run.id != opening.run] + [planned]
        runs += [way.planned] if way.planned else []
        after = plan_of_runs(self.day, _in_problem_order(self.day, runs), self.standing.left_out)
        known = {(fault.code, fault.where, fault.words) for fault in check(self.problem, self.standing)}
        faults = tuple(
            fault
            for fault in check(self.day, after)
            if fault.where in (self.run_id, opening.run) and (fault.code, fault.where, fault.words) not in known
        )
        return replace(way, plan=after, faults=faults, moved=visit, opening=opening)


def _with(problem: Problem, opening: Opening, before: Sequence[str], visit: str) -> PlannedRun:
    """The run of an opening with the visit in it: the exact best order, which the opening promised."""
    from coatround.core.rounds.order import best_order
    from coatround.core.rounds.table import Table

    table = Table(problem)
    r = next(r for r, run in enumerate(problem.runs) if run.id == opening.run)
    ordered = best_order(table, r, [*(table.visit_number[one] for one in before), table.visit_number[visit]])
    assert ordered is not None
    return ordered.planned


def _in_problem_order(problem: Problem, runs: Sequence[PlannedRun]) -> list[PlannedRun]:
    known = {run.id: run for run in runs}
    return [known[run.id] for run in problem.runs if run.id in known]


def _told(visit: Visit) -> tuple[int, int] | None:
    """The window in which a household was told the van arrives, from the window of the work."""
    if not visit.told or not visit.days or not visit.days[0].windows:
        return None
    opens, closes = visit.days[0].windows[0]
    return opens, closes - visit.seconds


def _least_late(problem: Problem, run_id: str, order: Sequence[str], now: int) -> list[tuple[str, ...]]:
    """The few orders least late against windows told, then other windows, then soonest home; refills come after."""
    run = next(run for run in problem.runs if run.id == run_id)
    visits = {visit.id: visit for visit in problem.visits}
    travel, number = problem.travel, {place.id: at for at, place in enumerate(problem.places)}
    assert travel is not None
    windows = {id_: _starts(visits[id_], run) for id_ in order}
    best: list[tuple[tuple[int, int, int], tuple[str, ...]]] = []

    def look(done: tuple[str, ...], here: int, free: int, late: int, other: int) -> None:
        if len(best) >= ORDERS_TRIED and (late, other, free) >= best[-1][0]:
            return
        if len(done) == len(order):
            back = free + travel.seconds[here][number[run.end_place]]
            best.append(((late, other, back), done))
            best.sort()
            del best[ORDERS_TRIED:]
            return
        rest = [one for one in order if one not in done]
        least = min(visits[one].rank for one in rest)
        for one in sorted((one for one in rest if visits[one].rank == least), key=lambda one: windows[one][1]):
            opens, closes, is_told = windows[one]
            there = number[visits[one].place]
            start = max(opens, free + travel.seconds[here][there])
            behind = max(0, start - closes)
            more = (behind, 0) if is_told else (0, behind)
            look((*done, one), there, start + visits[one].seconds, late + more[0], other + more[1])

    look((), number[run.start_place], now, 0, 0)
    return [found for _key, found in best]


def _starts(visit: Visit, run: Run) -> tuple[int, int, bool]:
    """When the work may start at the earliest and latest, and whether that was told."""
    windows = next((day.windows for day in visit.days if day.date == run.date), ())
    if not windows:
        return run.open, run.close, False
    return windows[0][0], windows[-1][1] - visit.seconds, visit.told

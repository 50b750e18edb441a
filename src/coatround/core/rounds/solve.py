"""Plans a round: a first plan, the search over days, the exact order of each run, repair, and the checker's word."""

import datetime
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from itertools import pairwise

from coatround.core.rounds.check import check
from coatround.core.rounds.cost import cost_of, day_cents
from coatround.core.rounds.draft import Draft
from coatround.core.rounds.formulation import Orders
from coatround.core.rounds.plan import BreakStop, Plan, PlannedRun, RefillStop
from coatround.core.rounds.problem import Problem
from coatround.core.rounds.reasons import left_out_because
from coatround.core.rounds.repair import drafted, polish
from coatround.core.rounds.search import search
from coatround.core.rounds.small import cheapest, is_small
from coatround.core.rounds.start import first_orders
from coatround.core.rounds.table import Table
from coatround.core.rounds.territories import A_ROUND, Hands, is_large, one_by_one, search_in_territories

Stop = Callable[[int], bool]
"""Asked with the number of iterations done; True ends the search and the best so far is the answer."""

Progress = Callable[[int, int], None]
"""Told the number of iterations done and the cost of the best so far in cents."""

ITERATIONS_A_TIE = 2_000
"""Iterations before each fixing of visits that others follow."""


def after_iterations(count: int) -> Stop:
    """A stop after so many iterations: with it the same seed gives the same plan every time."""
    return lambda done: done >= count


def solve(
    problem: Problem,
    seed: int,
    stop: Stop,
    on_progress: Progress | None = None,
    ends: Callable[[], bool] = lambda: False,
    standing: Mapping[str, Sequence[str]] | None = None,
    hands: Hands = one_by_one,
) -> Plan:
    """The best plan found until `stop(iterations)`; `ends()` cuts the exact polish after the search short.

    The search goes on from `standing` (visit ids in order by run id) where there is one, so that what stands is
    only left for something cheaper. `hands` search the territories of a large problem.

    `problem.travel` must be there (ValueError if not). Every plan has passed the checker; RuntimeError would be
    a fault of the planner itself.
    """
    table = Table(problem)
    draft, iterations = _certain(table, ends) or _searched(table, seed, stop, on_progress, ends, standing, hands)
    plan = plan_of(draft, seed, iterations)
    if faults := check(problem, plan):
        raise RuntimeError(f"the planner made a plan that breaks: {faults[0].words}")
    return plan


def _certain(table: Table, ends: Callable[[], bool]) -> tuple[Draft, int] | None:
    """A small problem solved for certain, without any search."""
    draft = cheapest(table, ends) if is_small(table) else None
    return (draft, 0) if draft else None


def _searched(
    table: Table,
    seed: int,
    stop: Stop,
    on_progress: Progress | None,
    ends: Callable[[], bool],
    standing: Mapping[str, Sequence[str]] | None,
    hands: Hands,
) -> tuple[Draft, int]:
    """Searched over days; where visits follow others, in rounds: plan, fix those that are followed, plan again."""
    orders, done = first_orders(table, stop, standing), 0
    narrowed = table
    large = is_large(table)
    look, most = search, ITERATIONS_A_TIE
    if large:
        look, most = partial(search_in_territories, hands=hands), A_ROUND * len(table.runs_for)
    for level in range(_levels(table)):
        orders, iterations = look(narrowed, orders, seed + level, _either(stop, done, most), _after(on_progress, done))
        done += iterations
        narrowed = _fixed(table, orders, level)
        orders = [[v for v in order if v in narrowed.choices[r]] for r, order in enumerate(orders)]
    orders, iterations = look(narrowed, orders, seed, _either(stop, done), _after(on_progress, done))
    draft = drafted(table, orders)
    polish(draft, ends)
    return draft, done + iterations


def _either(stop: Stop, done: int, most: int | None = None) -> Stop:
    """The stop given, counted on from `done`, or after `most` iterations more."""
    return lambda now: (most is not None and now >= most) or stop(done + now)


def _after(on_progress: Progress | None, done: int) -> Progress | None:
    if on_progress is None:
        return None
    return lambda iterations, cents: on_progress(done + iterations, cents)


def _depths(table: Table) -> list[int]:
    """How many visits each visit comes after, one behind another."""

    def depth(v: int) -> int:
        first = table.first_of[v]
        return 0 if first is None else 1 + depth(first)

    return [depth(v) for v in range(len(table.first_of))]


def _levels(table: Table) -> int:
    return max(_depths(table), default=0)


def _fixed(table: Table, orders: Orders, level: int) -> Table:
    """The table with visits up to this depth kept to their dates, and those that follow them kept at a distance."""
    date_of = {v: table.problem.runs[r].date for r, order in enumerate(orders) for v in order}
    depths = _depths(table)
    followed = {first for first in table.first_of if first is not None}
    allowed: dict[int, set[datetime.date]] = {}
    for v, visit in enumerate(table.problem.visits):
        if depths[v] <= level and v in followed:
            allowed[v] = {date_of[v]} if v in date_of else set()
        first = table.first_of[v]
        if visit.follows and first in date_of and depths[v] <= level + 1 and v not in allowed:
            low, high = visit.follows.least_days, visit.follows.most_days
            days = (day.date for day in visit.days)
            allowed[v] = {day for day in days if low <= (day - date_of[first]).days <= high}
    return table.narrowed(allowed)


def plan_of(draft: Draft, seed: int, iterations: int) -> Plan:
    """The draft as a plan: runs and what was left out in the order of the problem, the cost by part."""
    problem, left_out = draft.table.problem, draft.left_out()
    runs = tuple(draft.days[r].planned for r in range(len(problem.runs)) if r in draft.days)
    outs = [
        max(0, day.planned.back - day.planned.leave - problem.runs[r].paid_seconds)
        for r, day in sorted(draft.days.items())
    ]
    cents = [cents for run in runs for cents in day_cents(problem, run)]
    cost = cost_of(
        problem.costs,
        [leg for run in runs for leg in _legs(draft.table, run)],
        outs,
        cents,
        [problem.visits[v].left_out_cents for v in left_out],
    )
    return Plan(cost, runs, tuple(left_out_because(draft, v) for v in left_out), seed, iterations)


def _legs(table: Table, planned: PlannedRun) -> list[tuple[int, int]]:
    """The drives of a planned run as (seconds, metres)."""
    travel, number = table.problem.travel, table.place_number
    assert travel is not None
    run = next(run for run in table.problem.runs if run.id == planned.id)
    places = [number[run.start_place]]
    for stop in planned.stops:
        if isinstance(stop, RefillStop):
            places.append(number[stop.refill])
        elif not isinstance(stop, BreakStop):
            places.append(table.place_of[table.visit_number[stop.visit]])
    places.append(number[run.end_place])
    return [(travel.seconds[a][b], travel.metres[a][b]) for a, b in pairwise(places)]

"""The search over days and vans: PyVRP through a short runner of our own, since first penalties matter here."""

import warnings
from collections.abc import Callable
from math import ceil

from pyvrp import (
    IteratedLocalSearch,
    IteratedLocalSearchParams,
    PenaltyManager,
    PenaltyParams,
    RandomNumberGenerator,
    Solution,
)
from pyvrp.search import (
    OPERATORS,
    LocalSearch,
    NeighbourhoodParams,
    PerturbationManager,
    PerturbationParams,
    compute_neighbours,
)

from coatround.core.rounds.cost import UNIT
from coatround.core.rounds.formulation import Formulation, Loads, Orders, formulate
from coatround.core.rounds.table import Table
from coatround.core.units import HOUR

_Penalties = tuple[tuple[list[float], float, float], PenaltyParams]

LONG_RUN = 8
"""Visits a run from which on runs count as long; a groomer's day holds five to nine."""

SURE = 10
"""How much higher first penalties are where the start is good already, so that the search stays near it."""


def search(
    table: Table,
    start: Orders,
    seed: int,
    stop: Callable[[int], bool],
    on_best: Callable[[int, int], None] | None = None,
) -> tuple[Orders, int]:
    """The best orders PyVRP finds from `start` until `stop(iterations done)`, and how many iterations it made.

    `on_best(iterations, cents)` is told now and then of the best so far. The same seed and number of iterations
    give the same orders.
    """
    if not any(table.runs_for) or stop(0):
        return start, 0
    formulation = formulate(table)
    solution = formulation.solution(start)
    penalties = _penalties(formulation)
    local, params = _local(formulation, seed), IteratedLocalSearchParams(history_length=100)
    best, iterations = _run(local, solution, penalties, params, _Watch(stop, on_best, formulation))
    return (formulation.orders(best) if best.is_feasible() else start), iterations


def search_on(
    table: Table,
    start: Orders,
    seed: int,
    stop: Callable[[int], bool],
    on_best: Callable[[int, int], None],
    found: bool,
) -> tuple[Orders, int]:
    """As `search`, for many short searches one after the other: what it finds holds refills too, as ~tap.

    `found` says that `start` was found like that before and holds them. Everything is improved once at first; after
    that only what changed is looked at again.
    """
    if not any(table.runs_for) or stop(0):
        return start, 0
    formulation = formulate(table)
    solution = formulation.solution(start, found)
    local, penalties = _local(formulation, seed), _penalties(formulation, SURE)
    better = local(solution, PenaltyManager(*penalties).cost_evaluator(), exhaustive=True)
    if better.is_feasible() or not solution.is_feasible():
        solution = better
    params = IteratedLocalSearchParams(history_length=100, exhaustive_on_best=False)
    best, iterations = _run(local, solution, penalties, params, _Watch(stop, on_best, formulation))
    return (formulation.filled_orders(best) if best.is_feasible() else start), iterations


def _local(formulation: Formulation, seed: int) -> LocalSearch:
    """PyVRP's moves on this problem: with long runs more neighbours and larger perturbations."""
    data, table = formulation.data, formulation.table
    is_long = len(table.runs_for) >= LONG_RUN * len(table.problem.runs)
    near, most = (60, 25) if is_long else (40, 5)
    neighbours = compute_neighbours(data, NeighbourhoodParams(num_neighbours=near))
    perturbation = PerturbationManager(PerturbationParams(1, most))
    local = LocalSearch(data, RandomNumberGenerator(seed=seed), neighbours, perturbation)
    for operator in OPERATORS:
        if operator.supports(data):
            local.add_operator(operator(data))
    return local


def _run(
    local: LocalSearch, start: Solution, penalties: _Penalties, params: IteratedLocalSearchParams, watch: "_Watch"
) -> tuple[Solution, int]:
    """The best solution of the iterated search from `start`, and its iterations."""
    runner = IteratedLocalSearch(watch.data, PenaltyManager(*penalties), local, start, params)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        result = runner.run(watch, collect_stats=False, display=False)
    return result.best, result.num_iterations


class _Watch:
    """PyVRP's stopping criterion: counts iterations, asks the stop given, tells of progress."""

    def __init__(
        self, stop: Callable[[int], bool], on_best: Callable[[int, int], None] | None, formulation: Formulation
    ) -> None:
        self.stop, self.on_best, self.scale = stop, on_best, formulation.scale
        self.data = formulation.data
        self.more = formulation.cents_uncounted()
        self.iterations = -1

    def __call__(self, best_cost: float) -> bool:
        self.iterations += 1
        over = self.stop(self.iterations)
        # A best that is no plan yet costs the largest whole number there is.
        if self.on_best and (over or self.iterations % 50 == 0) and best_cost < 2**60:
            self.on_best(self.iterations, ceil(best_cost / self.scale) + self.more)
        return over


def _penalties(formulation: Formulation, times: int = 1) -> _Penalties:
    """First penalties and their bounds, from what a second of driving and a litre's way cost: units may be any."""
    table, scale = formulation.table, formulation.scale
    second = max(0.1, _cents_a_second(table)) * scale
    litre = max(100 * second, 1.3 * _cents_a_litre(table) * scale)
    params = PenaltyParams(solutions_between_updates=50, max_penalty=10 * litre)
    return (Loads(table).penalties(times * litre), 10 * times * second, 1.0), params


def _cents_a_second(table: Table) -> float:
    """What a second on the road costs: the mean over all legs, or overtime's where driving is free."""
    seconds = sum(map(sum, table.seconds))
    drive = sum(map(sum, table.drive)) / UNIT / seconds if seconds else 0.0
    return drive or table.problem.costs.cents_per_overtime_hour / HOUR


def _cents_a_litre(table: Table) -> float:
    """What the mean leg costs for each litre of the mean visit."""
    legs, litres = len(table.drive) ** 2, sum(visit.water_l for visit in table.problem.visits)
    drive = sum(map(sum, table.drive)) / UNIT / legs
    return drive * len(table.problem.visits) / litres if litres else 0.0

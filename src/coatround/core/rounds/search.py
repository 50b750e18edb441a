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
    watch = _Watch(stop, on_best, formulation)
    penalties, params = _penalties(formulation)
    rng = RandomNumberGenerator(seed=seed)
    neighbours = compute_neighbours(formulation.data, NeighbourhoodParams(num_neighbours=40))
    perturbation = PerturbationManager(PerturbationParams(1, 5))
    local = LocalSearch(formulation.data, rng, neighbours, perturbation)
    for operator in OPERATORS:
        if operator.supports(formulation.data):
            local.add_operator(operator(formulation.data))
    runner = IteratedLocalSearch(
        formulation.data,
        PenaltyManager(penalties, params),
        local,
        solution,
        IteratedLocalSearchParams(history_length=100),
    )
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        result = runner.run(watch, collect_stats=False, display=False)
    if not result.best.is_feasible():
        return start, result.num_iterations
    return formulation.orders(result.best), result.num_iterations


class _Watch:
    """PyVRP's stopping criterion: counts iterations, asks the stop given, tells of progress."""

    def __init__(
        self, stop: Callable[[int], bool], on_best: Callable[[int, int], None] | None, formulation: Formulation
    ) -> None:
        self.stop, self.on_best, self.scale = stop, on_best, formulation.scale
        self.more = formulation.cents_uncounted()
        self.iterations = -1

    def __call__(self, best_cost: float) -> bool:
        self.iterations += 1
        # A best that is no plan yet costs the largest whole number there is.
        if self.on_best and self.iterations % 50 == 0 and best_cost < 2**60:
            self.on_best(self.iterations, ceil(best_cost / self.scale) + self.more)
        return self.stop(self.iterations)


def _penalties(formulation: Formulation) -> tuple[tuple[list[float], float, float], PenaltyParams]:
    """First penalties and their bounds, from what a second of driving costs: money may be in any unit."""
    table, scale = formulation.table, formulation.scale
    second = max(0.1, _cents_a_second(table)) * scale
    loads = Loads(table).penalties(100 * second)
    params = PenaltyParams(solutions_between_updates=50, max_penalty=1000 * second)
    return (loads, 10 * second, 1.0), params


def _cents_a_second(table: Table) -> float:
    """What a second on the road costs: the mean over all legs, or overtime's where driving is free."""
    seconds = sum(map(sum, table.seconds))
    drive = sum(map(sum, table.drive)) / UNIT / seconds if seconds else 0.0
    return drive or table.problem.costs.cents_per_overtime_hour / HOUR

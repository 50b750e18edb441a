"""Small problems with every rule in play: the plan costs what a mixed-integer model proves to be the least."""

import pytest

from coatround.core.rounds.check import check
from coatround.core.rounds.small import is_small
from coatround.core.rounds.solve import after_iterations, solve
from coatround.core.rounds.table import Table
from tests.core.rounds.mixed_integer import least_cost
from tests.core.rounds.small_problems import small_problem


@pytest.mark.parametrize("seed", range(50))
def test_a_small_plan_is_the_proven_optimum(seed: int) -> None:
    problem = small_problem(seed)
    assert is_small(Table(problem))
    plan = solve(problem, seed, after_iterations(100))
    assert check(problem, plan) == []
    assert plan.cost.total == round(least_cost(problem), 3)

"""Planner and checker agree on what random plans cost, no answer is refused, the same asked twice is the same."""

import os
import random
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatround.core.rounds.by_hand import as_ordered, plan_of_runs
from coatround.core.rounds.check import check
from coatround.core.rounds.fileformat import write_problem
from coatround.core.rounds.solve import after_iterations, solve
from tests.core.rounds.small_problems import small_problem

ROOT = Path(__file__).parents[3]
PLANS = int(os.environ.get("COATROUND_PLANS", "150"))
"""Random plans tried here; COATROUND_PLANS=1000 for the thousand."""
ANSWERS = int(os.environ.get("COATROUND_ANSWERS", "40"))


@pytest.mark.parametrize("seed", range(PLANS))
def test_a_random_plan_costs_the_same_to_the_cent(seed: int) -> None:
    """Visits thrown onto runs in any order, whatever breaks: each part of the cost is the checker's."""
    chance = random.Random(seed)
    whole = small_problem(seed)
    orders: dict[str, list[str]] = {}
    for visit in chance.sample(whole.visits, len(whole.visits)):
        if chance.random() < 0.85:
            orders.setdefault(chance.choice(whole.runs).id, []).append(visit.id)
    runs = [as_ordered(whole, run.id, orders[run.id]).planned for run in whole.runs if run.id in orders]
    plan = plan_of_runs(whole, runs)
    assert [fault.words for fault in check(whole, plan) if fault.where == "cost"] == []
    assert plan.cost.total == sum(
        (plan.cost.drive, plan.cost.overtime, plan.cost.runs, plan.cost.days, plan.cost.left_out)
    )


@settings(max_examples=ANSWERS, deadline=None)
@given(
    seed=st.integers(0, 10**9),
    visits=st.integers(1, 14),
    runs=st.integers(1, 5),
    iterations=st.integers(0, 60),
    chance=st.integers(0, 10**6),
)
def test_no_answer_is_refused(seed: int, visits: int, runs: int, iterations: int, chance: int) -> None:
    """Whatever the problem, and however early it is stopped, the checker finds nothing in the answer."""
    whole = small_problem(seed, visits, runs)
    assert check(whole, solve(whole, chance, after_iterations(iterations))) == []


@pytest.mark.parametrize(("visits", "runs"), [(8, 3), (30, 8)])
def test_the_same_asked_twice_is_the_same_file(visits: int, runs: int, tmp_path: Path) -> None:
    """In processes of their own whose hashes differ: byte for byte."""
    problem = tmp_path / "round.json"
    problem.write_text(write_problem(small_problem(7, visits, runs)), encoding="utf-8")
    found = []
    for hashes in ("1", "2"):
        out = tmp_path / f"plan-{hashes}.json"
        command = [sys.executable, "-m", "coatround", "plan", str(problem), "--iterations", "120", "--seed", "3"]
        environment = os.environ | {"PYTHONHASHSEED": hashes, "PYTHONPATH": str(ROOT / "src")}
        subprocess.run([*command, "--out", str(out)], check=True, env=environment, capture_output=True)
        found.append(out.read_bytes())
    assert found[0] == found[1]

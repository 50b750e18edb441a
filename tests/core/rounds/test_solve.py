"""What holds for every plan, whatever the problem."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatround.core.rounds.check import check
from coatround.core.rounds.explain import REASON_WORDS, cost_lines, summary
from coatround.core.rounds.plan import REASONS, Plan
from coatround.core.rounds.planfile import write_plan
from coatround.core.rounds.problem import Costs, Day, Follows, Problem, Visit
from coatround.core.rounds.solve import after_iterations, solve
from tests.core.rounds.examples import plan_json, problem_from, problem_json
from tests.core.rounds.small_problems import small_problem


def planned_ids(plan: Plan) -> list[str]:
    return [visit for run in plan.runs for visit in run.visit_ids]


def test_it_works() -> None:
    """The example's plan is no dearer than the one worked out by hand."""
    plan = solve(problem_from(problem_json()), 1, after_iterations(50))
    assert plan.cost.total <= plan_json()["cost"]["total"]
    assert [left.visit for left in plan.left_out] == ["v5"]
    assert plan.left_out[0].reason == "no_day"


@given(st.integers(0, 100_000), st.integers(5, 16), st.integers(2, 6))
@settings(max_examples=40, deadline=None)
def test_every_visit_is_planned_once_or_left_out_with_a_reason(seed: int, visits: int, runs: int) -> None:
    """Above nine visits the search plans, below the certain way; both keep every promise."""
    problem = small_problem(seed, visits, runs)
    plan = solve(problem, seed, after_iterations(60))
    planned, out = planned_ids(plan), [left.visit for left in plan.left_out]
    assert sorted(planned + out) == sorted(visit.id for visit in problem.visits)
    assert {left.reason for left in plan.left_out} <= set(REASONS)
    assert all(left.words for left in plan.left_out)
    assert check(problem, plan) == []
    cost = plan.cost
    assert cost.total == cost.drive + cost.overtime + cost.runs + cost.days + cost.left_out
    by_id = {visit.id: visit for visit in problem.visits}
    assert cost.left_out == sum(by_id[visit].left_out_cents for visit in out)
    for left in plan.left_out:
        assert by_id[left.visit].told == (left.reason == "told_broken")


@given(st.integers(0, 100_000))
@settings(max_examples=8, deadline=None)
def test_the_same_seed_and_iterations_give_the_same_bytes(seed: int) -> None:
    problem = small_problem(seed, 14, 5)
    one, other = (write_plan(solve(problem, 3, after_iterations(80))) for _ in range(2))
    assert one == other


@given(st.integers(0, 100_000))
@settings(max_examples=10, deadline=None)
def test_a_search_never_costs_more_than_leaving_all_out(seed: int) -> None:
    problem = small_problem(seed, 14, 4)
    plan = solve(problem, seed, after_iterations(0))
    assert plan.cost.total <= sum(visit.left_out_cents for visit in problem.visits)


def test_odd_costs_are_rounded_as_the_checker_rounds() -> None:
    problem = replace(small_problem(4, 12, 4), costs=Costs(4217, 31, 9013, 7))
    plan = solve(problem, 1, after_iterations(100))
    assert check(problem, plan) == []
    assert Fraction(plan.cost.runs, 7) == len(plan.runs)


def test_a_stop_at_once_still_gives_a_plan() -> None:
    problem = small_problem(8, 14, 4)
    assert check(problem, solve(problem, 1, lambda _: True, ends=lambda: True)) == []


def test_progress_is_told_in_the_cost_of_the_plan() -> None:
    """Iterations only go up and costs only down, and both end where the plan does or before."""
    problem = replace(
        small_problem(8, 14, 4), runs=tuple(replace(r, break_=None) for r in small_problem(8, 14, 4).runs)
    )
    told: list[tuple[int, int]] = []
    plan = solve(problem, 1, after_iterations(500), lambda *now: told.append(now))
    assert told
    assert [done for done, _ in told] == sorted(done for done, _ in told)
    assert plan.iterations >= told[-1][0]
    assert [cents for _, cents in told] == sorted((cents for _, cents in told), reverse=True)


def test_no_runs_leaves_all_out() -> None:
    problem = replace(problem_from(problem_json()), runs=())
    plan = solve(problem, 1, after_iterations(10))
    assert {left.reason for left in plan.left_out} == {"no_day"}
    assert check(problem, plan) == []


def test_no_visits_is_an_empty_plan() -> None:
    problem = replace(problem_from(problem_json()), visits=())
    plan = solve(problem, 1, after_iterations(10))
    assert (plan.runs, plan.left_out, plan.cost.total) == ((), (), 0)


def test_travel_must_be_there() -> None:
    with pytest.raises(ValueError, match="travel"):
        solve(replace(problem_from(problem_json()), travel=None), 1, after_iterations(1))


def with_visit(**changed: object) -> tuple[Problem, Visit]:
    """The example with its second visit changed and nothing but that visit."""
    problem = problem_from(problem_json())
    visit = replace(problem.visits[1], **changed)  # type: ignore[arg-type]
    return replace(problem, visits=(visit,)), visit


WINDOW_DAY = problem_from(problem_json()).visits[1].days[0]

LEFT_OUT: list[tuple[dict[str, object], str, str]] = [
    ({"days": ()}, "no_day", "no day at all"),
    ({"days": (replace(WINDOW_DAY, date=WINDOW_DAY.date.replace(day=20)),)}, "no_day", "No run is out"),
    ({"days": (Day(WINDOW_DAY.date, 0, ((28800, 32399),)),)}, "window_too_short", "60 minutes"),
    ({"days": (Day(WINDOW_DAY.date, 0, ((0, 28800),)),)}, "window_too_short", "window"),
    ({"vans": ("b",)}, "no_run", "for b; only a"),
    ({"needs": ("two people",)}, "no_run", "two people"),
    ({"water_l": 61}, "no_run", "61 litres"),
    ({"power_wh": 2001}, "no_run", "2001 Wh"),
    ({"noise_percent": 101}, "no_run", "101 %"),
    ({"days": (Day(WINDOW_DAY.date, 0, ((28800, 32500),)),)}, "no_run", "Even alone"),
    ({"left_out_cents": 5}, "dearer_than_left_out", "leaving it out costs 5"),
    ({"vans": ("b",), "told": True}, "told_broken", "Told 2026-03-02"),
]


@pytest.mark.parametrize(("changed", "reason", "words"), LEFT_OUT, ids=[words for _, _, words in LEFT_OUT])
def test_what_is_left_out_says_why(changed: dict[str, object], reason: str, words: str) -> None:
    problem, visit = with_visit(**changed)
    plan = solve(problem, 1, after_iterations(10))
    assert check(problem, plan) == []
    (left,) = plan.left_out
    assert (left.visit, left.reason) == (visit.id, reason)
    assert words in left.words
    assert left.words.endswith(".")


def test_no_room_beside_what_is_planned() -> None:
    """Two dogs whose only hour is the same: the dearer one to leave out is planned, the other has no room."""
    problem = problem_from(problem_json())
    day = Day(WINDOW_DAY.date, 0, ((32400, 36000),))
    visits = (replace(problem.visits[1], days=(day,)), replace(problem.visits[2], days=(day,), left_out_cents=9000))
    plan = solve(replace(problem, visits=visits), 1, after_iterations(10))
    assert planned_ids(plan) == ["v2"]
    assert [(left.visit, left.reason) for left in plan.left_out] == [("v3", "no_room")]


def test_told_times_that_clash_are_told_broken() -> None:
    problem = problem_from(problem_json())
    day = Day(WINDOW_DAY.date, 0, ((32400, 34200 + 3600),))
    told = [
        replace(problem.visits[i], days=(day,), told=True, left_out_cents=1_000_000, rank=1, follows=None)
        for i in (0, 1, 2)
    ]
    plan = solve(replace(problem, visits=tuple(told)), 1, after_iterations(10))
    assert {left.reason for left in plan.left_out} == {"told_broken"}


def tied(first: int, second: int, **link: int) -> Problem:
    """Sixteen visits on five runs, one of them following another."""
    problem = small_problem(21, 16, 5)
    visits = [replace(visit, follows=None) for visit in problem.visits]
    visits[second] = replace(visits[second], follows=Follows(visits[first].id, **link))
    return replace(problem, visits=tuple(visits))


@given(st.integers(0, 15), st.integers(0, 15), st.integers(0, 2), st.integers(0, 2))
@settings(max_examples=15, deadline=None)
def test_a_visit_that_follows_keeps_its_distance(first: int, second: int, least: int, more: int) -> None:
    if first == second:
        return
    problem = tied(first, second, least_days=least, most_days=least + more)
    assert check(problem, solve(problem, 1, after_iterations(100))) == []


def test_words_for_parts_and_reasons() -> None:
    problem = problem_from(problem_json())
    plan = solve(problem, 1, after_iterations(10))
    lines = cost_lines(plan)
    assert lines[-1] == ("altogether", plan.cost.total)
    assert sum(cents for _, cents in lines[:-1]) == plan.cost.total
    assert set(REASON_WORDS) == set(REASONS)
    assert summary(problem, plan) == f"4 of 5 visits planned on {len(plan.runs)} runs, 1 left out"


@given(st.integers(0, 100_000))
@settings(max_examples=10, deadline=None)
def test_from_a_standing_plan_it_only_gets_cheaper(seed: int) -> None:
    """With no time to search, the plan that stands is the answer, or a cheaper one that the exact polish found."""
    problem = small_problem(seed, 14, 5)
    before = solve(problem, 1, after_iterations(200))
    standing = {run.id: run.visit_ids for run in before.runs}
    after = solve(problem, 2, after_iterations(0), standing=standing)
    assert after.cost.total <= before.cost.total


@given(st.integers(0, 100_000))
@settings(max_examples=10, deadline=None)
def test_a_standing_plan_of_another_round_breaks_nothing(seed: int) -> None:
    """Visits that are gone, that stand twice or where they may not be any more are planned anew."""
    problem = small_problem(seed, 14, 5)
    everywhere = [visit.id for visit in problem.visits] + ["gone"]
    standing = {run.id: everywhere for run in problem.runs} | {"no run": everywhere}
    assert check(problem, solve(problem, 1, after_iterations(30), standing=standing)) == []

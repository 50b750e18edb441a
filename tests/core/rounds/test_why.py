"""Every other date is tried: what fits there equals the best of all orders driven by hand, by the checker's cost."""

from dataclasses import replace
from itertools import permutations

import pytest

from coatround.core.rounds.by_hand import as_ordered, plan_of_runs, without
from coatround.core.rounds.check import check
from coatround.core.rounds.problem import Day
from coatround.core.rounds.solve import after_iterations, solve
from coatround.core.rounds.why import other_dates, other_places
from tests.core.rounds.small_problems import small_problem
from tests.core.rounds.test_by_hand import HOUR, MONDAY, TUESDAY, codes, problem, visit


def test_the_day_before_costs_the_way_there() -> None:
    """Both visits stand on one day; b alone on the other costs its way out and back, less what it cost here."""
    whole = problem(visit("a"), visit("b"))
    plan = solve(whole, 1, after_iterations(50))
    here, there = sorted(other_dates(whole, plan, "b"), key=lambda one: not one.is_here)
    assert (here.more_cents, here.faults) == (0, ())
    assert (there.more_cents, there.more_drive_seconds, there.faults) == (1200, 1200, ())


def test_a_date_that_is_none_says_what_breaks() -> None:
    whole = problem(visit("a"), visit("b", days=(Day(MONDAY, 0, ((8 * HOUR, 17 * HOUR),)),)))
    plan = solve(whole, 1, after_iterations(50))
    tuesday = next(one for one in other_dates(whole, plan, "b") if one.date == TUESDAY)
    assert codes(tuesday.faults) == ["wrong_day"]
    assert {fault.visit for fault in tuesday.faults} == {"b"}


def test_the_places_of_its_own_run_in_order() -> None:
    whole = problem(visit("a"), visit("b"), visit("c", rank=2))
    plan = solve(whole, 1, after_iterations(50))
    places = other_places(whole, plan, "c")
    assert [codes(one.faults) for one in places] == [["rank"], ["rank"], []]
    assert [one.order.index("c") for one in places] == [0, 1, 2]
    assert places[2].is_here


def test_one_left_out_is_tried_everywhere() -> None:
    whole = problem(visit("a", seconds=5 * HOUR), visit("b", seconds=5 * HOUR), visit("c", seconds=5 * HOUR))
    plan = solve(whole, 1, after_iterations(50))
    assert len(plan.left_out) == 1
    out = plan.left_out[0].visit
    tried = other_dates(whole, plan, out)
    assert [one.date for one in tried] == [MONDAY, TUESDAY]
    assert all(one.faults for one in tried)


@pytest.mark.parametrize("seed", range(25))
def test_what_fits_is_the_cheapest_of_all_orders(seed: int) -> None:
    """Against every order of every run of the date, driven as given and judged by the checker."""
    whole = replace(small_problem(seed, visits=5, runs=3))
    plan = solve(whole, 1, after_iterations(100))
    for planned in plan.runs[:1]:
        lead = planned.visit_ids[0]
        apart = without(whole, plan, lead)
        known = {check_words(fault) for fault in check(whole, plan)}
        for other in other_dates(whole, plan, lead):
            if other.is_here or other.faults:
                continue
            costs = []
            for run in (run for run in whole.runs if run.date == other.date):
                rest = next((one.visit_ids for one in apart.runs if one.id == run.id), ())
                for order in permutations([*rest, lead]):
                    runs = {one.id: one for one in apart.runs} | {run.id: as_ordered(whole, run.id, order).planned}
                    after = plan_of_runs(whole, [runs[one.id] for one in whole.runs if one.id in runs], apart.left_out)
                    if {check_words(fault) for fault in check(whole, after)} <= known:
                        costs.append(after.cost.total - plan.cost.total)
            assert other.more_cents <= min(costs, default=other.more_cents)


def check_words(fault: object) -> tuple[str, str]:
    return fault.code, fault.words  # type: ignore[attr-defined]

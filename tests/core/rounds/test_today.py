"""From here and now: half an hour late, a swap that is better, one moved; each way is what the checker says it is."""

import pytest

from coatround.core.rounds.by_hand import plan_of_runs
from coatround.core.rounds.check import check
from coatround.core.rounds.plan import VisitStop
from coatround.core.rounds.problem import Day
from coatround.core.rounds.solve import after_iterations, solve
from coatround.core.rounds.today import Here, from_here, ways_out
from tests.core.rounds.small_problems import small_problem
from tests.core.rounds.test_by_hand import HOUR, MINUTE, MONDAY, TUESDAY, as_ordered, problem, visit


def told(id_: str, from_: int, until: int, **values: object):  # type: ignore[no-untyped-def]
    return visit(id_, days=(Day(MONDAY, 0, ((from_, until + HOUR),)),), told=True, **values)


def test_half_an_hour_late_with_one_window_told() -> None:
    """At home at 9:00: a from 9:10, then b at 10:20, told 9:20 to 9:50, half an hour late. Swapped, b comes at 9:20."""
    whole = problem(visit("a"), told("b", 9 * HOUR + 20 * MINUTE, 9 * HOUR + 50 * MINUTE))
    plan = plan_of_runs(whole, [as_ordered(whole, "mon", ["a", "b"]).planned])
    on, swap, *rest = ways_out(whole, plan, "mon", Here(9 * HOUR, "home"))
    assert [(one.visit, one.seconds) for one in on.outside] == [("b", 30 * MINUTE)]
    assert (on.kind, on.planned.back if on.planned else 0) == ("push on", 11 * HOUR + 40 * MINUTE)
    assert (swap.kind, swap.outside) == ("swap", ())
    assert [type(one).__name__ for one in rest] == ["WayOut"] * len(rest)


def test_moving_one_frees_the_rest() -> None:
    """Two pencilled visits and one told after them: with one of them on Tuesday the told window is kept."""
    early = Day(MONDAY, 0, ((8 * HOUR, 11 * HOUR),)), Day(TUESDAY, 0, ((8 * HOUR, 17 * HOUR),))
    whole = problem(visit("a", days=early), visit("b", days=early), told("c", 10 * HOUR + 30 * MINUTE, 11 * HOUR))
    plan = plan_of_runs(whole, [as_ordered(whole, "mon", ["a", "b", "c"]).planned])
    ways = {way.kind: way for way in ways_out(whole, plan, "mon", Here(9 * HOUR + 20 * MINUTE, "home"))}
    assert ways["push on"].late_seconds > 0
    move = ways["move"]
    assert move.moved in ("a", "b")
    assert move.opening is not None
    assert move.opening.date == TUESDAY
    assert move.late_seconds == 0


def test_nothing_is_offered_where_nothing_helps() -> None:
    whole = problem(visit("a"))
    plan = plan_of_runs(whole, [as_ordered(whole, "mon", ["a"]).planned])
    (on, *rest) = ways_out(whole, plan, "mon", Here(8 * HOUR, "home"))
    assert on.outside == ()
    assert [way.kind for way in rest if way.kind == "swap"] == []


def test_fleas_stay_last_in_a_swap() -> None:
    whole = problem(visit("a"), told("b", 8 * HOUR, 8 * HOUR + 30 * MINUTE, rank=2))
    plan = plan_of_runs(whole, [as_ordered(whole, "mon", ["a", "b"]).planned])
    kinds = [way.kind for way in ways_out(whole, plan, "mon", Here(8 * HOUR, "home"))]
    assert "swap" not in kinds


@pytest.mark.parametrize("seed", range(40))
def test_each_way_is_what_the_checker_says(seed: int) -> None:
    """On random problems with every rule: the faults listed are the checker's, the cost is its cost, nobody is lost."""
    whole = small_problem(seed)
    plan = solve(whole, 1, after_iterations(100))
    for run in plan.runs:
        first = next(stop for stop in run.stops if isinstance(stop, VisitStop))
        home = next(one.start_place for one in whole.runs if one.id == run.id)
        here = Here(first.start + 40 * MINUTE, home)
        day = from_here(whole, run.id, here)
        for way in ways_out(whole, plan, run.id, here):
            assert way.problem == day
            found = check(day, way.plan)
            assert [fault.words for fault in found if fault.code.startswith("wrong_") and fault.where == "cost"] == []
            assert {fault.words for fault in way.faults} <= {fault.words for fault in found}
            served = [visit for one in way.plan.runs for visit in one.visit_ids]
            assert sorted(served) == sorted(visit for one in plan.runs for visit in one.visit_ids)

"""A person's own order: driven as given, with what breaks named by the checker."""

import datetime as dt
from dataclasses import replace

import pytest

from coatround.core.rounds.by_hand import as_ordered, moved, plan_of_runs, with_orders, without
from coatround.core.rounds.check import check
from coatround.core.rounds.plan import BreakStop, RefillStop, VisitStop
from coatround.core.rounds.problem import Break, Costs, Day, Place, Problem, Refill, Run, Travel, Visit
from coatround.core.rounds.solve import after_iterations, solve
from tests.core.rounds.small_problems import small_problem

HOUR, MINUTE = 3600, 60
MONDAY, TUESDAY = dt.date(2026, 3, 2), dt.date(2026, 3, 3)


def visit(id_: str, **values: object) -> Visit:
    """An hour of work on Monday or Tuesday between 8 and 17, 20 litres."""
    days = tuple(Day(date, 0, ((8 * HOUR, 17 * HOUR),)) for date in (MONDAY, TUESDAY))
    return Visit(
        **({"id": id_, "place": id_, "seconds": HOUR, "water_l": 20, "left_out_cents": 9000, "days": days} | values)
    )  # type: ignore[arg-type]


def problem(*visits: Visit, **values: object) -> Problem:
    """Places in a line, ten minutes and ten kilometres apart, home first; a run on Monday and one on Tuesday."""
    ids = ["home", *(one.id for one in visits)]
    minutes = [[10 * abs(a - b) for b in range(len(ids))] for a in range(len(ids))]
    travel = Travel(
        tuple(tuple(60 * one for one in row) for row in minutes),
        tuple(tuple(1000 * one for one in row) for row in minutes),
    )
    run = {
        "van": "van", "start_place": "home", "end_place": "home", "open": 8 * HOUR, "close": 18 * HOUR,
        "paid_seconds": 8 * HOUR, "max_overtime_seconds": HOUR, "water_l": 100, "max_refills": 2,
        "refills": (Refill("home", 900),),
    } | values  # fmt: skip
    runs = tuple(Run(id=id_, date=date, **run) for id_, date in (("mon", MONDAY), ("tue", TUESDAY)))  # type: ignore[arg-type]
    return Problem(Costs(3600, 0, 7200, 0), tuple(Place(id_, 0, 0) for id_ in ids), travel, runs, visits)


def codes(faults: object) -> list[str]:
    return sorted({fault.code for fault in faults})  # type: ignore[attr-defined]


def test_it_drives_exactly_the_order_given() -> None:
    """Home to c (30 minutes), to a (20), to b (10), home (20): 80 minutes of driving and 3 hours of work."""
    forced = as_ordered(problem(visit("a"), visit("b"), visit("c")), "mon", ["c", "a", "b"])
    assert forced.planned.visit_ids == ("c", "a", "b")
    assert forced.faults == ()
    assert forced.late_seconds == 0
    assert forced.planned.back - forced.planned.leave == 3 * HOUR + 80 * MINUTE


def test_a_window_that_cannot_be_kept_is_named_and_the_work_starts_on_arrival() -> None:
    told = visit("a", days=(Day(MONDAY, 0, ((8 * HOUR, 9 * HOUR + 30 * MINUTE),)),), told=True)
    forced = as_ordered(problem(told, visit("b")), "mon", ["b", "a"])
    assert codes(forced.faults) == ["outside_window"]
    stop = forced.planned.stops[1]
    assert isinstance(stop, VisitStop)
    assert stop.start == stop.arrive == 8 * HOUR + 20 * MINUTE + HOUR + 10 * MINUTE
    assert forced.late_seconds == stop.start - (8 * HOUR + 30 * MINUTE) == HOUR


def test_it_leaves_no_sooner_than_it_must() -> None:
    """Work that may start at 12 is not left for at 8."""
    noon = visit("a", days=(Day(MONDAY, 0, ((12 * HOUR, 17 * HOUR),)),))
    assert as_ordered(problem(noon), "mon", ["a"]).planned.leave == 12 * HOUR - 10 * MINUTE
    assert as_ordered(problem(noon), "mon", ["a"], leave=9 * HOUR).planned.leave == 9 * HOUR


def test_the_tank_is_filled_where_it_is_nearest() -> None:
    thirsty = [visit(id_, water_l=60) for id_ in "abc"]
    planned = as_ordered(problem(*thirsty), "mon", ["a", "b", "c"]).planned
    assert [type(stop) for stop in planned.stops] == [VisitStop, RefillStop, VisitStop, RefillStop, VisitStop]
    assert codes(as_ordered(problem(*thirsty, max_refills=1), "mon", ["a", "b", "c"]).faults) == ["tank_dry"]


def test_a_rank_and_a_missing_break_are_named() -> None:
    fleas, usual = visit("a", rank=2), visit("b")
    assert codes(as_ordered(problem(fleas, usual), "mon", ["a", "b"]).faults) == ["rank"]
    rest = Break(30 * MINUTE, 11 * HOUR, 13 * HOUR)
    three = problem(*(visit(id_, seconds=2 * HOUR) for id_ in "abc"), break_=rest)
    planned = as_ordered(three, "mon", ["a", "b", "c"])
    assert planned.faults == ()
    assert any(isinstance(stop, BreakStop) for stop in planned.planned.stops)
    long = problem(visit("a", seconds=7 * HOUR), break_=Break(30 * MINUTE, 11 * HOUR, 12 * HOUR))
    assert codes(as_ordered(long, "mon", ["a"]).faults) == ["break_missing"]


def test_a_move_to_a_day_that_is_none_says_so_and_costs() -> None:
    """Tuesday is no day of b. The way to b and home, 40 minutes, moves with it; cents are a cent a second."""
    monday = visit("b", days=(Day(MONDAY, 0, ((8 * HOUR, 17 * HOUR),)),))
    whole = problem(visit("a"), monday)
    plan = solve(whole, 1, after_iterations(50))
    assert [run.visit_ids for run in plan.runs] == [("a", "b")] or [run.visit_ids for run in plan.runs] == [("b", "a")]
    after = moved(whole, plan, "b", "tue", 0)
    assert codes(after.faults) == ["wrong_day"]
    assert after.more_cents == 20 * MINUTE
    back = moved(whole, after.plan, "b", "mon", 1)
    assert back.faults == ()
    assert back.more_cents == -20 * MINUTE


def test_what_is_taken_out_is_left_out() -> None:
    whole = problem(visit("a"), visit("b"))
    plan = solve(whole, 1, after_iterations(50))
    after = without(whole, plan, "b")
    assert [left.visit for left in after.left_out] == ["b"]
    assert after.cost.left_out == 9000
    assert check(whole, after) == []


@pytest.mark.parametrize("seed", range(60))
def test_the_planners_own_orders_break_nothing_by_hand(seed: int) -> None:
    """Whatever the planner orders exactly can be driven by hand too, and the whole costs the same or a little more."""
    whole = small_problem(seed)
    plan = solve(whole, 1, after_iterations(100))
    forced = [as_ordered(whole, run.id, run.visit_ids) for run in plan.runs]
    assert [fault for one in forced for fault in one.faults] == []
    again = plan_of_runs(whole, [one.planned for one in forced], plan.left_out)
    assert check(whole, replace(again, seed=plan.seed)) == []
    assert again.cost.total >= plan.cost.total


def test_whose_start_shifts_and_what_each_part_costs() -> None:
    """a and b are ten minutes apart; driven the other way round each starts at another time."""
    whole = problem(visit("a"), visit("b"))
    plan = solve(whole, 1, after_iterations(50))
    (run,) = plan.runs
    first, second = run.visit_ids
    after = with_orders(whole, plan, {run.id: [second, first]})
    starts = {one.visit: (one.before, one.after) for one in after.shifts}
    assert starts[first][1] > starts[first][0]
    assert starts[second][1] < starts[second][0]
    assert set(starts) == {"a", "b"}
    assert with_orders(whole, plan, {run.id: [first, second]}).shifts == ()


def one_window(day: Day) -> Day:
    return replace(day, windows=((day.windows[0][0], day.windows[-1][1]),))


@pytest.mark.parametrize("seed", range(20))
def test_the_van_leaves_as_late_as_it_may(seed: int) -> None:
    """No later minute of leaving brings it back as soon and as little late; each day has one window here."""
    whole = small_problem(seed, visits=6, runs=2)
    whole = replace(whole, visits=tuple(replace(one, days=tuple(map(one_window, one.days))) for one in whole.visits))
    plan = solve(whole, 1, after_iterations(50))
    for run in plan.runs:
        order = list(run.visit_ids)[::-1]
        forced = as_ordered(whole, run.id, order)
        for later in range(60, 3600, 60):
            other = as_ordered(whole, run.id, order, forced.planned.leave + later)
            assert (other.late_seconds, other.planned.back) > (forced.late_seconds, forced.planned.back)

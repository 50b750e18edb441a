"""The exact order of one run: small cases worked out by hand, and all orders tried."""

from dataclasses import replace
from itertools import permutations

from hypothesis import given, settings
from hypothesis import strategies as st

from coatround.core.rounds.formulation import MOST_WINDOWS, formulate
from coatround.core.rounds.order import best_of_each_subset, best_order
from coatround.core.rounds.plan import BreakStop, RefillStop, VisitStop
from coatround.core.rounds.problem import Break, Day, Problem
from coatround.core.rounds.table import Table
from tests.core.rounds.examples import problem_from, problem_json
from tests.core.rounds.small_problems import small_problem

HOUR = 3600


def monday(**changed: object) -> Problem:
    """The example with its first run changed: home, tap, p1 to p4 ten minutes apart; v1 puppy, v2, v3 fleas."""
    problem = problem_from(problem_json())
    run = replace(problem.runs[0], **changed)  # type: ignore[arg-type]
    return replace(problem, runs=(run, *problem.runs[1:]))


def test_it_works() -> None:
    """Ranks give v1, v2, v3; the tank holds two of three; the tap lies on the way out, so it is filled there."""
    found = best_order(Table(monday(break_=None)), 0, [2, 1, 0])
    assert found is not None
    assert found.planned.visit_ids == ("v1", "v2", "v3")
    assert sum(isinstance(stop, RefillStop) for stop in found.planned.stops) == 1


def test_a_run_leaves_so_late_that_it_never_waits() -> None:
    """v2's only window starts at 10:00: leaving at 9:30, half an hour's drive away, costs no waiting."""
    problem = monday(break_=None)
    day = replace(problem.visits[1].days[0], windows=((10 * HOUR, 18 * HOUR),))
    visits = (problem.visits[0], replace(problem.visits[1], days=(day,)), *problem.visits[2:])
    found = best_order(Table(replace(problem, visits=visits)), 0, [1])
    assert found is not None
    assert found.planned.leave == 9 * HOUR + 1800
    (stop,) = found.planned.stops
    assert isinstance(stop, VisitStop)
    assert (stop.arrive, stop.start) == (10 * HOUR, 10 * HOUR)


def test_a_break_is_taken_where_it_is_due() -> None:
    """Six hours twenty of work, road and rest from 8:00 to 14:30: the break of 11:00 to 13:00 is due."""
    problem = monday(break_=Break(1800, 11 * HOUR, 13 * HOUR), close=14 * HOUR + 1800)
    visits = tuple(replace(visit, water_l=0, seconds=5400) for visit in problem.visits)
    found = best_order(Table(replace(problem, visits=visits)), 0, [0, 1, 2])
    assert found is not None
    (rest,) = [stop for stop in found.planned.stops if isinstance(stop, BreakStop)]
    assert rest.start >= 11 * HOUR
    assert rest.end <= 13 * HOUR


def test_a_break_that_never_fits_is_avoided_by_being_back_in_time() -> None:
    """A break longer than its time can only be avoided: back before it ends, or out after it starts."""
    problem = monday(break_=Break(7200, 11 * HOUR, 12 * HOUR))
    found = best_order(Table(problem), 0, [0, 1])
    assert found is not None
    assert found.planned.back < 12 * HOUR or found.planned.leave > 11 * HOUR
    tight = monday(break_=Break(7200, 8 * HOUR, 12 * HOUR + 1800), open=8 * HOUR, close=13 * HOUR)
    visits = tuple(replace(visit, water_l=0, seconds=4500) for visit in tight.visits)
    assert best_order(Table(replace(tight, visits=visits)), 0, [0, 1, 2]) is None


def test_more_than_the_run_may_carry_is_no_order() -> None:
    for limit in ({"power_wh": 1199}, {"noise_percent": 59}, {"max_refills": 0}, {"close": 9 * HOUR}):
        assert best_order(Table(monday(**limit)), 0, [0, 1, 2]) is None


@given(st.integers(0, 100_000))
@settings(max_examples=40, deadline=None)
def test_whatever_order_is_given_the_best_is_the_same(seed: int) -> None:
    """The order given only bounds the search; and one visit fewer is the same answer as that subset's."""
    table = Table(small_problem(seed))
    visits = sorted(table.choices[0])[:4]
    if not visits:
        return
    found = [best_order(table, 0, order) for order in permutations(visits)]
    assert len({order.units if order else None for order in found}) == 1
    sets = best_of_each_subset(table, 0, visits)
    everything = 2 ** len(visits) - 1
    assert (sets[everything].units if everything in sets else None) == (found[0].units if found[0] else None)


def test_many_different_windows_are_narrowed_before_the_search() -> None:
    problem = problem_from(problem_json())
    dates = [run.date for run in problem.runs]
    runs = tuple(replace(problem.runs[0], id=f"r{i}", date=dates[0].replace(day=2 + i), break_=None) for i in range(8))
    days = tuple(Day(run.date, 0, ((8 * HOUR + 900 * i, 16 * HOUR),)) for i, run in enumerate(runs))
    visit = replace(problem.visits[1], days=days)
    clients = formulate(Table(replace(problem, runs=runs, visits=(visit,)))).clients
    assert len(clients) == MOST_WINDOWS
    assert sorted(date for client in clients for date in client.dates) == list(range(8))
    for client in clients:
        assert all(client.starts[0] >= days[date].windows[0][0] for date in client.dates)

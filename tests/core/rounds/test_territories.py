"""Many vans: parted into territories, each visit in one of them, and the whole still a plan."""

import datetime
import math
import random

import pytest

from coatround.core.rounds import territories
from coatround.core.rounds.check import check
from coatround.core.rounds.formulation import formulate
from coatround.core.rounds.planfile import write_plan
from coatround.core.rounds.problem import Costs, Day, Follows, Place, Problem, Refill, Run, Travel, Visit
from coatround.core.rounds.search import search_on
from coatround.core.rounds.solve import after_iterations, solve
from coatround.core.rounds.start import first_orders
from coatround.core.rounds.table import Table
from tests.core.rounds.small_problems import HOUR, MINUTE, MONDAY, small_problem

VANS = "abcdef"
DATES = [MONDAY + datetime.timedelta(days=d) for d in range(4)]


def town(seed: int, visits: int = 60) -> Problem:
    """Six vans on four dates in a square of 30 km; some dogs bound to a van, some following another, one for nobody."""
    chance = random.Random(seed)
    points = [(chance.uniform(0, 30), chance.uniform(0, 30)) for _ in range(visits + len(VANS))]
    km = [[math.dist(a, b) for b in points] for a in points]
    return Problem(
        Costs(3600, 0, 7200, 0),
        tuple(Place(f"p{i}", round(y / 111, 6), round(x / 95, 6)) for i, (x, y) in enumerate(points)),
        Travel(
            tuple(tuple(MINUTE * (3 + math.ceil(2 * d)) if d else 0 for d in row) for row in km),
            tuple(tuple(math.ceil(1000 * d) for d in row) for row in km),
        ),
        tuple(_run(date, i, visits) for date in DATES for i in range(len(VANS))),
        tuple(_visit(chance, i) for i in range(visits)),
    )


def _run(date: datetime.date, van: int, visits: int) -> Run:
    home = f"p{visits + van}"
    hours = (8 * HOUR, 17 * HOUR, 7 * HOUR, HOUR)
    return Run(f"{date}-{VANS[van]}", VANS[van], date, home, home, *hours, 60, 2, (Refill(home, 900),))


def _visit(chance: random.Random, i: int) -> Visit:
    windows = chance.choice([((8 * HOUR, 17 * HOUR),), ((8 * HOUR, 10 * HOUR), (13 * HOUR, 17 * HOUR))])
    return Visit(
        id=f"v{i}",
        place=f"p{i}",
        seconds=60 * MINUTE,
        water_l=chance.randint(12, 40),
        left_out_cents=18000,
        days=tuple(Day(date, 2 * chance.randint(0, 300), windows) for date in DATES if chance.random() < 0.8),
        vans=("z",) if i == 7 else (VANS[i // 5 % 6],) if i % 5 == 0 else None,
        follows=Follows(f"v{i - 1}", 1, 2) if i % 15 == 3 else None,
    )


@pytest.fixture
def forced(monkeypatch: pytest.MonkeyPatch) -> None:
    """Territories for a problem of sixty visits: two vans, or about thirty visits."""
    monkeypatch.setattr(territories, "MANY_VISITS", 40)
    monkeypatch.setattr(territories, "VANS_A_TERRITORY", 2)
    monkeypatch.setattr(territories, "VISITS_A_SPAN", 30)


def parted(problem: Problem, rounds: int = 6) -> list[list[territories.Territory]]:
    table = Table(problem)
    borders, orders = territories._Borders(table), first_orders(table)
    return [borders.territories(orders, round_) for round_ in range(rounds)]


@pytest.mark.usefixtures("forced")
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_every_run_and_visit_is_in_exactly_one_territory(seed: int) -> None:
    problem = town(seed)
    for found in parted(problem):
        assert len(found) > 1
        assert sorted(v for territory in found for v in territory.visits) == list(range(len(problem.visits)))
        assert sorted(r for territory in found for r in territory.runs) == list(range(len(problem.runs)))


@pytest.mark.usefixtures("forced")
def test_vans_own_visits_stay_with_them() -> None:
    """A visit for one van alone is always in a territory with that van, whether it is planned or left out."""
    problem = town(4)
    for found in parted(problem):
        for territory in found:
            vans = {problem.runs[r].van for r in territory.runs}
            for v in territory.visits:
                own = problem.visits[v].vans
                assert own is None or own == ("z",) or own[0] in vans


@pytest.mark.usefixtures("forced")
def test_vans_are_grouped_by_two_and_not_always_the_same() -> None:
    problem = town(5)
    groups = [
        {frozenset(problem.runs[r].van for r in territory.runs) for territory in found}
        for found in parted(problem)[1::2]
    ]
    assert all(len(group) == 2 for found in groups for group in found)
    assert groups[0] != groups[1]


@pytest.mark.usefixtures("forced")
def test_spans_of_dates_follow_one_another_and_move() -> None:
    problem = town(5)
    one, other = (
        [sorted({problem.runs[r].date for r in territory.runs}) for territory in found]
        for found in parted(problem)[0:3:2]
    )
    assert one == [DATES[:2], DATES[2:]]
    assert other == [DATES[:1], DATES[1:3], DATES[3:]]


@pytest.mark.usefixtures("forced")
@pytest.mark.parametrize("seed", [1, 2])
def test_a_plan_by_territories_passes_the_checker_and_is_the_same_each_time(seed: int) -> None:
    problem = town(seed)
    assert territories.is_large(Table(problem))
    one, other = (solve(problem, seed, after_iterations(1500)) for _ in range(2))
    assert check(problem, one) == []
    assert write_plan(one) == write_plan(other)
    assert one.iterations == 1500
    assert "v7" in {left.visit for left in one.left_out}


@pytest.mark.usefixtures("forced")
def test_more_iterations_make_it_cheaper() -> None:
    problem = town(6)
    few, many = (solve(problem, 1, after_iterations(n)).cost.total for n in (0, 1500))
    assert many < few


@pytest.mark.usefixtures("forced")
def test_a_stop_in_the_middle_ends_it_with_a_plan() -> None:
    """The stop is asked again and again in every territory; after it says yes nothing more is searched."""
    problem, asked = town(3), []

    def stop(done: int) -> bool:
        asked.append(done)
        return done >= 40

    plan = solve(problem, 1, stop, ends=lambda: True)
    assert check(problem, plan) == []
    assert plan.iterations == 40
    assert max(asked) == 40
    assert check(problem, solve(problem, 1, lambda _: True, ends=lambda: True)) == []


@pytest.mark.usefixtures("forced")
def test_progress_goes_one_way() -> None:
    told: list[tuple[int, int]] = []
    plan = solve(town(2), 1, after_iterations(3000), lambda *now: told.append(now))
    assert told
    assert [done for done, _ in told] == sorted(done for done, _ in told)
    assert plan.iterations >= told[-1][0]
    # Fixing the visits that are followed may cost something, so only the ends are compared.
    assert told[-1][1] <= told[0][1]


@pytest.mark.usefixtures("forced")
def test_refills_and_windows_are_found_again() -> None:
    """What one search found is, put into the next, the same solution: nothing is lost between two rounds."""
    table = Table(town(8))
    orders, _ = search_on(table, first_orders(table), 1, after_iterations(200), lambda *_: None, found=False)
    formulation = formulate(table)
    solution = formulation.solution(orders, found=True)
    assert solution.is_feasible()
    assert formulation.filled_orders(solution) == orders
    assert any(v < 0 for order in orders for v in order)


def test_small_problems_are_not_parted() -> None:
    assert not territories.is_large(Table(town(1)))
    assert not territories.is_large(Table(small_problem(1)))

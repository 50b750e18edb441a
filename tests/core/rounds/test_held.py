"""How often windows held, and the factor on the spread that is learnt from it."""

import random
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import beta

from coatround.core.errors import BadInput
from coatround.core.rounds.arrivals import Arrival, StopAhead, arrivals
from coatround.core.rounds.held import Happened, corrected, exact_interval, held

HOUR = 3600


def test_held_counts_both_ends_as_inside() -> None:
    found = held([(100, 200)] * 4, [100, 200, 99, 201])
    assert (found.count, found.inside) == (4, 2)


def test_the_exact_interval_of_45_in_50() -> None:
    """Source: Clopper and Pearson 1934, by scipy.stats.binomtest: 0.7819 to 0.9667."""
    found = held([(0, 9)] * 50, [5] * 45 + [10] * 5)
    assert (found.low, found.high) == pytest.approx((0.7819, 0.9667), abs=5e-5)


def test_nothing_seen_says_nothing() -> None:
    found = held([], [])
    assert (found.count, found.inside, found.low, found.high) == (0, 0, 0, 1)


def test_as_many_times_as_windows() -> None:
    with pytest.raises(BadInput, match="one for each of 1 windows"):
        held([(0, 9)], [])


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 3000), st.integers(0, 3000))
def test_the_exact_interval_is_that_of_the_beta_distribution(one: int, other: int) -> None:
    """Source: the limits are quantiles of beta(k, n - k + 1) and beta(k + 1, n - k), as scipy has them."""
    inside, count = min(one, other), max(one, other)
    low, high = exact_interval(inside, count)
    assert low == pytest.approx(beta.ppf(0.025, inside, count - inside + 1) if inside else 0, abs=1e-8)
    assert high == pytest.approx(beta.ppf(0.975, inside + 1, count - inside) if inside < count else 1, abs=1e-8)


DAY = [
    StopAhead("a", True, 1200, 4500, 900),
    StopAhead("b", True, 900, 3600, 800, opens=10 * HOUR),
    StopAhead("c", True, 600, 5400, 1000),
    StopAhead("d", True, 1500, 2700, 600, opens=13 * HOUR),
    StopAhead("e", True, 900, 2700, 600),
]


def happened(runs: int, truth: float, reckoned: float = 1.0, seed: int = 1) -> list[Happened]:
    """Runs whose spread truly is `truth` times what the stops say; each one draw of the day, by plain chance."""
    windows = arrivals(8 * HOUR, DAY, seed, spread=reckoned)
    chance, found = random.Random(seed), []
    for run in range(runs):
        clock = 8.0 * HOUR
        for stop, window in zip(DAY, windows, strict=True):
            clock += stop.drive_seconds * chance.lognormvariate(0, stop.drive_spread * truth)
            clock = max(clock, stop.opens)
            found.append(Happened(f"run {run}", window, round(clock)))
            share = stop.work_sd * truth / stop.work_seconds
            # The mean of the work stays what is expected, to the second order of its spread.
            clock += stop.work_seconds * chance.lognormvariate(-(share**2) / 2, share)
    return found


def inside_80(seen: list[Happened], windows: tuple[Arrival, ...]) -> float:
    by_key = {one.key: one for one in windows}
    good = held([by_key[one.arrival.key].window_80 for one in seen], [one.at for one in seen])
    return good.inside / good.count


@pytest.mark.parametrize("truth", [0.6, 1.0, 1.5, 2.0])
def test_a_known_factor_is_found_again(truth: float) -> None:
    """Four hundred runs: within a tenth of the truth, waits and all."""
    found = corrected(happened(400, truth))
    assert found.used
    assert (found.arrivals, found.runs) == (2000, 400)
    assert found.factor == pytest.approx(truth, rel=0.1)


@pytest.mark.parametrize("truth", [0.6, 1.6])
def test_corrected_windows_hold_what_they_say(truth: float) -> None:
    """What was learnt of one lot of runs, used for another: the 80 % window of those that seldom wait holds 80 %."""
    factor = corrected(happened(300, truth)).factor
    later = [one for one in happened(1000, truth, seed=7) if one.arrival.key in "ace"]
    assert inside_80(later, arrivals(8 * HOUR, DAY, 7, spread=factor)) == pytest.approx(0.8, abs=0.03)
    assert abs(inside_80(later, arrivals(8 * HOUR, DAY, 7)) - 0.8) > 0.08


def test_windows_already_widened_are_not_widened_twice() -> None:
    """Reckoned with 1.5 and truly 1.5: the factor for the stops as they are is 1.5, not more."""
    assert corrected(happened(400, 1.5, reckoned=1.5)).factor == pytest.approx(1.5, rel=0.1)


def test_few_arrivals_change_nothing() -> None:
    """Nine runs are too few to use, and what they teach is held back toward 1."""
    found = corrected(happened(9, 2.0))
    assert (found.factor, found.used) == (1.0, False)
    assert 1 < found.learnt < corrected(happened(400, 2.0)).learnt


def test_one_run_counts_as_one_and_is_held_toward_one() -> None:
    """Two deviations late: f is where 1 - 4 / f^2 + 16 ln f = 0, that is 1.139; five such stops say no more."""
    about = Arrival("a", 0, 0.0, 10000, (8718, 11282), (8040, 11960), (7200, 12600))
    once = [Happened("r", about, 12000)]
    assert corrected(once).learnt == pytest.approx(1.139, abs=0.001)
    assert corrected(once * 5).learnt == pytest.approx(1.139, abs=0.001)
    assert corrected(once * 5).arrivals == 5


def test_nothing_happened() -> None:
    found = corrected([])
    assert (found.factor, found.arrivals, found.used) == (1.0, 0, False)


def test_windows_without_width_teach_nothing() -> None:
    """Neither a plan without spread nor a wait that is certain says how wide a window should be."""
    (sure,) = arrivals(8 * HOUR, [StopAhead("a", True, 0, HOUR)], 1)
    waits = arrivals(8 * HOUR, [StopAhead("a", True, 0, HOUR, 60), StopAhead("b", True, 0, HOUR, opens=15 * HOUR)], 1)[
        1
    ]
    seen = [Happened("r", sure, 8 * HOUR + 600), Happened("r", waits, 15 * HOUR), Happened("r", waits, 16 * HOUR)]
    assert corrected(seen).arrivals == 0


def test_late_at_a_door_where_all_wait_widens() -> None:
    """A visit at which 97 of 100 wait: only that it was later than that is known, and that alone widens."""
    (seen,) = (one for one in happened(1, 1.0) if one.arrival.key == "d")
    waiting = replace(seen.arrival, waits=0.97, window_80=(46800, 46800), window_95=(46800, 46800), median=46800)
    late = [Happened(f"run {i}", waiting, 46800 + 300) for i in range(60)]
    early = [Happened(f"run {i}", waiting, 46800) for i in range(60)]
    assert corrected(late).factor > 1.5
    assert corrected(early).factor < 1


@settings(max_examples=15, deadline=None)
@given(st.randoms(use_true_random=False))
def test_the_order_of_what_happened_does_not_matter(chance: random.Random) -> None:
    seen = happened(20, 1.3)
    shuffled = seen[:]
    chance.shuffle(shuffled)
    assert corrected(shuffled) == corrected(seen)

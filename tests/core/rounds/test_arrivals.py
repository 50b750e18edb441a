"""Arrival windows: days worked out by hand, published log-normal values, and what holds for any run."""

import math
from dataclasses import replace
from itertools import pairwise
from statistics import NormalDist

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatround.core.errors import BadInput
from coatround.core.rounds.arrivals import (
    QUARTER,
    Arrival,
    StopAhead,
    arrivals,
    lognormal,
    share_inside,
    stops_ahead,
    told_window,
    window_levels,
)
from tests.core.rounds.examples import plan_from, plan_json, problem_from, problem_json

HOUR, MINUTE = 3600, 60
SOURCE_LOGNORMAL = [
    # Mean, deviation, mu, sigma, median, and the levels .05, .8, .9, .95: textbook formulas, values from scipy.stats.
    (60, 15, 4.064032, 0.246221, 58.2086, 38.8239, 71.6116, 79.8042, 87.2720),
    (20, 8, 2.921522, 0.385253, 18.5695, 9.8536, 25.6812, 30.4244, 34.9951),
    (45, 20, 3.716532, 0.424573, 41.1215, 20.4539, 58.7835, 70.8555, 82.6728),
]


def visit(key: str, work_seconds: int = HOUR, drive_seconds: int = 0, **changed: object) -> StopAhead:
    return replace(StopAhead(key, True, drive_seconds, work_seconds), **changed)  # type: ignore[arg-type]


def test_without_spread_every_window_is_the_time_of_the_plan() -> None:
    """Monday of the example: v1 at 30000, v2 at 34200, tap and break, v3 at 43500; every quarter hour told holds it."""
    problem = problem_from(problem_json())
    problem = replace(problem, visits=tuple(replace(each, seconds_sd=0) for each in problem.visits))
    monday = plan_from(plan_json()).runs[0]
    found = arrivals(monday.leave, stops_ahead(problem, monday, drive_spread=0), seed=1)
    assert [(one.key, one.window_80, one.window_95) for one in found] == [
        ("v1", (30000, 30000), (30000, 30000)),
        ("v2", (34200, 34200), (34200, 34200)),
        ("v3", (43500, 43500), (43500, 43500)),
    ]
    assert [one.told for one in found] == [(29700, 30600), (34200, 35100), (43200, 44100)]
    assert [one.waits for one in found] == [0, 0, 0]


def test_a_spread_of_none_is_the_plan_too() -> None:
    problem, monday = problem_from(problem_json()), plan_from(plan_json()).runs[0]
    found = arrivals(monday.leave, stops_ahead(problem, monday), seed=1, spread=0)
    assert [one.median for one in found] == [30000, 34200, 43500]


def test_stops_say_when_work_may_begin() -> None:
    """v4 is planned at 08:50 in its window of 08:00 to 10:00; a planned wait until 09:30 opens the door at 09:30."""
    problem, tuesday = problem_from(problem_json()), plan_from(plan_json()).runs[1]
    (stop,) = stops_ahead(problem, tuesday)
    assert (stop.opens, stop.drive_seconds, stop.work_seconds, stop.work_sd) == (8 * HOUR, 3000, HOUR, 720)
    late = replace(tuesday.stops[0], start=34200, end=37800)  # type: ignore[arg-type]
    (stop,) = stops_ahead(problem, replace(tuesday, stops=(late,)))
    assert stop.opens == 34200


def test_stops_of_a_whole_day() -> None:
    """Monday: v1, v2, a refill of a quarter hour, the break from 11:00, v3 by way of the tap; only visits arrive."""
    problem, monday = problem_from(problem_json()), plan_from(plan_json()).runs[0]
    found = stops_ahead(problem, monday)
    assert [stop.is_visit for stop in found] == [True, True, False, False, True]
    assert [stop.drive_seconds for stop in found] == [1200, 600, 1200, 0, 1800]
    assert [(stop.work_seconds, stop.opens) for stop in found[2:4]] == [(900, 0), (1800, 11 * HOUR)]


def test_stops_need_the_travel() -> None:
    problem, tuesday = problem_from(problem_json()), plan_from(plan_json()).runs[1]
    with pytest.raises(ValueError, match="travel"):
        stops_ahead(replace(problem, travel=None), tuesday)


def test_the_first_drive_alone_is_the_log_normal() -> None:
    """A drive of 20 minutes in the median with a spread of 0.25: nine days of ten within 20 e^(1.2816/4) = 27.6."""
    (found,) = arrivals(8 * HOUR, [visit("a", drive_seconds=20 * MINUTE)], seed=4)
    assert found.median == 8 * HOUR + 20 * MINUTE
    low, high = (math.exp(z * 0.25) * 20 * MINUTE for z in (-1.2815515655, 1.2815515655))
    assert found.window_80 == (math.floor(8 * HOUR + low), math.ceil(8 * HOUR + high))
    low, high = (math.exp(z * 0.25) * 20 * MINUTE for z in (-1.9599639845, 1.9599639845))
    assert found.window_95[0] == pytest.approx(8 * HOUR + low, abs=2)
    assert found.window_95[1] == pytest.approx(8 * HOUR + high, abs=2)


def test_a_wait_absorbs_lateness() -> None:
    """An hour's work from 08:00, ten minutes of spread; who opens at 12:00 is always reached then, the next at 13."""
    stops = [visit("a", work_sd=600), visit("b", opens=12 * HOUR), visit("c")]
    early, noon, after = arrivals(8 * HOUR, stops, seed=1)
    assert early.window_95 == (8 * HOUR, 8 * HOUR)
    assert (noon.window_80, noon.window_95, noon.waits) == ((43200, 43200), (43200, 43200), 1)
    assert after.window_95 == (13 * HOUR, 13 * HOUR)
    assert noon.told == (43200, 44100)


def test_where_half_the_days_wait_all_that_is_outside_is_late() -> None:
    """Work of 60 minutes in the median, the door opens then: half the days wait. 80 % lies up to the level 0.8."""
    mean, sigma = HOUR * math.exp(0.02), 0.2
    sd = mean * math.sqrt(math.expm1(sigma**2))
    stops = [visit("a", round(mean), work_sd=round(sd)), visit("b", opens=9 * HOUR)]
    _, found = arrivals(8 * HOUR, stops, seed=2)
    assert found.waits == pytest.approx(0.5, abs=0.01)
    assert found.window_80[0] == found.window_95[0] == 9 * HOUR
    assert found.window_80[1] == pytest.approx(8 * HOUR + HOUR * math.exp(sigma * NormalDist().inv_cdf(0.8)), abs=5)


def test_a_drive_and_the_work_after_it_are_independent() -> None:
    """Both an hour in the median with a spread of 0.1: together 0.1 x root 2 of an hour, not twice 0.1."""
    mean = HOUR * math.exp(0.005)
    work_sd = round(mean * math.sqrt(math.expm1(0.01)))
    first = visit("a", round(mean), drive_seconds=HOUR, drive_spread=0.1, work_sd=work_sd)
    low, high = arrivals(0, [first, visit("b")], seed=3)[-1].window_80
    assert high - low == pytest.approx(2 * 1.2816 * 0.1 * math.sqrt(2) * HOUR, rel=0.03)


def test_a_break_is_taken_whole_and_not_before_its_time() -> None:
    """An hour's work from 10:00, a break of half an hour from 11:30, then the next; a late day takes it at once."""
    rest = StopAhead("break", False, 0, 1800, opens=11 * HOUR + 1800)
    _, after = arrivals(10 * HOUR, [visit("a"), rest, visit("b")], seed=1)
    assert after.window_95 == (12 * HOUR, 12 * HOUR)
    _, after = arrivals(11 * HOUR, [visit("a"), rest, visit("b")], seed=1)
    assert after.window_95 == (12 * HOUR + 1800, 12 * HOUR + 1800)


@pytest.mark.parametrize("row", SOURCE_LOGNORMAL)
def test_log_normal_moments(row: tuple[float, ...]) -> None:
    """Source: textbook identities sigma2 = ln(1 + (s/m)^2), mu = ln m - sigma2/2; values as scipy.stats.lognorm."""
    mean, sd, *expected = row
    mu, sigma = lognormal(mean, sd)
    found = [math.exp(mu + sigma * NormalDist().inv_cdf(level)) for level in (0.5, 0.05, 0.8, 0.9, 0.95)]
    assert [mu, sigma] == pytest.approx(expected[:2], abs=5e-7)
    assert found == pytest.approx(expected[2:], abs=5e-5)


def test_log_normal_goes_there_and_back() -> None:
    """Source: LN(0, 1) has mean 1.648721271 and variance 4.670774270, LN(4, .3) 57.111186 and 307.167091 (textbook)."""
    assert lognormal(1.648721271, math.sqrt(4.670774270)) == pytest.approx((0, 1), abs=1e-8)
    assert lognormal(57.111186, math.sqrt(307.167091)) == pytest.approx((4, 0.3), abs=1e-7)


def test_fenton_wilkinson() -> None:
    """Source: Fenton 1960 (IRE Trans. Comm. Sys. 8:57), a sum as the log-normal of its mean and variance."""
    mean = sum(row[0] for row in SOURCE_LOGNORMAL)
    sd = math.sqrt(sum(row[1] ** 2 for row in SOURCE_LOGNORMAL))
    mu, sigma = lognormal(mean, sd)
    assert (mean, sd) == pytest.approx((125, 26.248809), abs=1e-6)
    assert (mu, sigma) == pytest.approx((4.806738, 0.207729), abs=1e-6)
    levels = [math.exp(mu + sigma * NormalDist().inv_cdf(level)) for level in (0.05, 0.5, 0.9, 0.95)]
    assert levels == pytest.approx([86.926, 122.332, 159.645, 172.160], abs=1e-3)
    three = lognormal(3 * 1.648721271, math.sqrt(3 * 4.670774270))
    assert three == pytest.approx((1.372196, 0.672928), abs=1e-6)


@pytest.mark.parametrize("seed", range(3))
def test_three_works_one_after_the_other(seed: int) -> None:
    """Source: Monte Carlo of 4e6 draws of the same sum: median 121.927, level .9 at 159.251 (minutes)."""
    stops = [visit(str(mean), mean * MINUTE, work_sd=sd * MINUTE) for mean, sd, *_ in SOURCE_LOGNORMAL]
    found = arrivals(0, [*stops, visit("last")], seed, draws=40_000)[-1]
    assert found.median / MINUTE == pytest.approx(121.927, rel=0.004)
    assert found.window_80[1] / MINUTE == pytest.approx(159.251, rel=0.004)
    usual = arrivals(0, [*stops, visit("last")], seed)[-1]
    assert usual.window_80[1] / MINUTE == pytest.approx(159.251, rel=0.012)


def test_how_often_a_window_holds() -> None:
    """Half are there by the median; a window from the door's opening on holds all that wait."""
    stops = [visit("a", HOUR, work_sd=600), visit("b", drive_seconds=1200, opens=9 * HOUR)]
    late, early = (arrivals(leave, stops, 1)[1] for leave in (8 * HOUR, 7 * HOUR))
    assert share_inside(8 * HOUR, stops, "b", (0, late.median), 1) == pytest.approx(0.5, abs=0.001)
    assert share_inside(8 * HOUR, stops, "b", late.window_80, 1) == pytest.approx(0.8, abs=0.002)
    assert share_inside(8 * HOUR, stops, "b", late.window_95, 1) == pytest.approx(0.95, abs=0.002)
    assert early.waits > 0.99
    assert share_inside(7 * HOUR, stops, "b", (9 * HOUR, 9 * HOUR), 1) == pytest.approx(early.waits)
    with pytest.raises(BadInput, match="key"):
        share_inside(7 * HOUR, stops, "c", (0, 1), 1)
    with pytest.raises(BadInput, match="spread"):
        share_inside(7 * HOUR, stops, "b", (0, 1), 1, spread=-1)


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(BadInput, match="mean"):
        lognormal(0, 1)
    with pytest.raises(BadInput, match="spread"):
        arrivals(0, [], 1, spread=-0.5)


@pytest.mark.parametrize(
    ("window", "told"),
    [
        ((32400, 34200), (32400, 34200)),
        ((32401, 34201), (32400, 35100)),
        ((32399, 32399), (31500, 32400)),
        ((32400, 32400), (32400, 33300)),
        ((86399, 90001), (85500, 90900)),
    ],
)
def test_told_outward_to_the_quarter_hour(window: tuple[int, int], told: tuple[int, int]) -> None:
    assert told_window(window) == told


@st.composite
def days(draw: st.DrawFn) -> list[StopAhead]:
    """One to nine stops: visits, refills and a break, with drives, work and doors that open at some hour."""
    stops = []
    for number in range(draw(st.integers(1, 9))):
        work = draw(st.integers(0, 2 * HOUR))
        stops.append(
            StopAhead(
                f"v{number}",
                draw(st.sampled_from([True, True, True, False])),
                draw(st.sampled_from([0, 300, 900, 2400])),
                work,
                draw(st.integers(0, work // 2)),
                draw(st.sampled_from([0, 8 * HOUR, 10 * HOUR, 12 * HOUR, 15 * HOUR])),
                draw(st.sampled_from([0.0, 0.1, 0.25, 0.4])),
            )
        )
    return stops


def levels(one: Arrival) -> list[int]:
    return [one.window_95[0], one.window_80[0], one.median, one.window_80[1], one.window_95[1]]


@settings(max_examples=40, deadline=None)
@given(days(), st.integers(0, 2**32))
def test_windows_lie_inside_one_another(stops: list[StopAhead], seed: int) -> None:
    """The median in 80 in 95 in told; told in quarter hours, less than one wider at each end than what it rounds."""
    for one in arrivals(8 * HOUR, stops, seed, draws=500):
        assert one.told[0] <= one.window_95[0] <= one.window_80[0] <= one.window_80[1] <= one.window_95[1]
        assert one.window_80[0] <= one.median <= max(one.window_80[1], one.opens)
        assert one.window_95[1] <= one.told[1]
        assert one.told[0] % QUARTER == one.told[1] % QUARTER == 0
        assert one.window_95[0] - one.told[0] < QUARTER
        assert one.told[1] - one.window_95[1] <= QUARTER


@settings(max_examples=40, deadline=None)
@given(days(), st.integers(0, 2**32))
def test_none_comes_before_the_door_opens_or_before_the_one_before(stops: list[StopAhead], seed: int) -> None:
    """No level of a visit is earlier than its door, nor than the same level at the visit before."""
    found = arrivals(8 * HOUR, stops, seed, draws=500)
    for one in found:
        assert min(levels(one)) >= one.opens
        assert min(levels(one)) >= 8 * HOUR
        assert 0 <= one.waits <= 1
    for before, after in pairwise(found):
        assert after.median >= before.median
        assert after.window_80[0] >= before.window_80[0]
        assert after.window_95[0] >= before.window_95[0]
        if window_levels(0.95, after.waits)[1] >= window_levels(0.95, before.waits)[1]:
            assert after.window_95[1] >= before.window_95[1]


@settings(max_examples=20, deadline=None)
@given(days(), st.integers(0, 2**32))
def test_the_same_seed_gives_the_same_answer(stops: list[StopAhead], seed: int) -> None:
    assert arrivals(8 * HOUR, stops, seed, draws=500) == arrivals(8 * HOUR, stops, seed, draws=500)


@settings(max_examples=20, deadline=None)
@given(days(), st.integers(0, 2**32), st.integers(0, HOUR))
def test_leaving_later_is_never_earlier(stops: list[StopAhead], seed: int, later: int) -> None:
    """With common random numbers this holds for every draw, so also for the ends of windows where nobody waits."""
    first = arrivals(8 * HOUR, stops, seed, draws=500)
    second = arrivals(8 * HOUR + later, stops, seed, draws=500)
    for before, after in zip(first, second, strict=True):
        assert before.median <= after.median <= before.median + later + 1
        assert after.waits <= before.waits


def test_a_visit_keeps_its_luck_when_the_order_changes() -> None:
    """Two visits at one address: whichever goes first, the third is reached at the same times."""
    one, two = visit("a", work_sd=700), visit("b", 2 * HOUR, work_sd=1500)
    last = visit("c")
    assert arrivals(0, [one, two, last], 9)[-1] == arrivals(0, [two, one, last], 9)[-1]

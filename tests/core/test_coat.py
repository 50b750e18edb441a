"""The coat model: mass balance, an ODE solver beside it, and intervals that hold what they say."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from coatround.core.errors import BadInput
from coatround.core.trade.coat import (
    LOOSE_MEDIAN,
    LOOSE_SPREAD,
    NOISE,
    SHED_MEDIAN,
    SHED_SPREAD,
    Comb,
    believe,
    combed,
    curve,
    fallen_g,
    home_share,
    loose_after,
    steady_loose,
    three_more,
)

TAKEN = 0.8
sheds, shares, lengths = st.floats(0.05, 30), st.floats(0.002, 0.4), st.floats(1, 400)


@given(st.floats(0, 500), lengths, sheds, shares)
def test_no_hair_is_lost(loose: float, days: float, shed: float, share: float) -> None:
    """Mass balance to 1e-9: what was there and was shed is what is loose and what fell; falling never negative."""
    after, fell = loose_after(loose, days, shed, share), fallen_g(loose, days, shed, share)
    assert loose + shed * days == pytest.approx(after + fell, rel=1e-9)
    assert fell >= -1e-9 * (loose + shed * days)


@given(sheds, shares, st.floats(5, 120), st.floats(0.1, 1))
def test_balance_of_a_whole_cycle(shed: float, share: float, days: float, taken: float) -> None:
    """When all intervals are alike: shed = taken + fallen, to 1e-9, by the steady state and by going round once."""
    before = shed * float(steady_loose(np.array([share]), days, taken)[0])
    left = before * (1 - taken)
    assert loose_after(left, days, shed, share) == pytest.approx(before, rel=1e-9)
    home = shed * float(home_share(np.array([share]), days, taken)[0]) * days
    assert shed * days == pytest.approx(taken * before + fallen_g(left, days, shed, share), rel=1e-9)
    assert home == pytest.approx(fallen_g(left, days, shed, share), rel=1e-6, abs=1e-9 * shed * days)


@given(st.floats(0, 200), st.floats(1, 120), st.floats(0.2, 10), st.floats(0.005, 0.2))
@settings(max_examples=25, deadline=None)
def test_an_ode_solver_agrees(loose: float, days: float, shed: float, share: float) -> None:
    """scipy's solver on dL/dt = s - k L, with what fell as a second unknown."""
    found = solve_ivp(
        lambda _t, y: [shed - share * y[0], share * y[0]],
        (0, days),
        [loose, 0.0],
        method="DOP853",
        rtol=1e-11,
        atol=1e-11,
    )
    assert loose_after(loose, days, shed, share) == pytest.approx(found.y[0, -1], rel=1e-7, abs=1e-7)
    assert fallen_g(loose, days, shed, share) == pytest.approx(found.y[1, -1], rel=1e-7, abs=1e-7)


@given(sheds, shares, st.lists(st.floats(5, 120), min_size=1, max_size=8))
def test_grams_follow_the_days_one_by_one(shed: float, share: float, days: list[float]) -> None:
    rows = shed * combed(np.array([share]), days, TAKEN)[:, 0]
    loose = shed * float(steady_loose(np.array([share]), days[0], TAKEN)[0])
    for place, length in enumerate(days):
        if place:
            loose = loose_after(loose * (1 - TAKEN), length, shed, share)
        assert rows[place] == pytest.approx(TAKEN * loose, rel=1e-9)


@pytest.mark.parametrize("grooms", [3, 6, 12])
def test_nine_of_ten_hold_the_truth(grooms: int) -> None:
    """2,000 dogs drawn from the documented belief, intervals jittered by 20 %, log-normal noise: 87 to 93 %."""
    chance = np.random.default_rng(20260301 + grooms)
    hits = np.zeros(3)
    dogs = 2000
    for _dog in range(dogs):
        shed = SHED_MEDIAN * math.exp(SHED_SPREAD * chance.normal())
        share = LOOSE_MEDIAN * math.exp(LOOSE_SPREAD * chance.normal())
        days = 42 * np.exp(0.2 * chance.normal(size=grooms))
        grams = (
            shed * combed(np.array([share]), days.tolist(), TAKEN)[:, 0] * np.exp(NOISE * chance.normal(size=grooms))
        )
        belief = believe([Comb(*pair) for pair in zip(days, grams, strict=True)], TAKEN)
        home = shed * float(home_share(np.array([share]), 42, TAKEN)[0])
        for place, (known, true) in enumerate(
            ((belief.shed_g_a_day(), shed), (belief.loose_share_a_day(), share), (belief.home_g_a_day(42), home))
        ):
            hits[place] += known.low <= true <= known.high
    assert all(0.87 <= share <= 0.93 for share in hits / dogs), hits / dogs


def spread_of(grooms: list[Comb]) -> float:
    known = believe(grooms, TAKEN).loose_share_a_day()
    return math.log(known.high / known.low)


BELIEVED = 2 * 1.645 * LOOSE_SPREAD


def test_one_groom_and_equal_intervals_stay_wide() -> None:
    """What grams at like intervals say of the share that falls is next to nothing; unlike ones say more."""
    true = combed(np.array([0.05]), [42] * 12, TAKEN)[:, 0] * 2
    unlike = [14, 70, 21, 98, 14, 84, 28, 90, 14, 70, 21, 98]
    told = combed(np.array([0.05]), unlike, TAKEN)[:, 0] * 2
    assert spread_of([Comb(42, float(true[0]))]) > 0.9 * BELIEVED
    assert spread_of([Comb(42, float(grams)) for grams in true]) > 0.8 * BELIEVED
    assert spread_of([Comb(d, float(grams)) for d, grams in zip(unlike, told, strict=True)]) < 0.6 * BELIEVED


def test_known_figures_are_found_again() -> None:
    """Many grooms without noise at unlike intervals: s and k within a tenth."""
    days = [14, 70, 21, 98, 35, 60] * 12
    grams = combed(np.array([0.04]), days, TAKEN)[:, 0] * 3
    belief = believe([Comb(d, float(g)) for d, g in zip(days, grams, strict=True)], TAKEN)
    assert belief.shed_g_a_day().mean == pytest.approx(3, rel=0.1)
    assert belief.loose_share_a_day().mean == pytest.approx(0.04, rel=0.1)


def test_longer_intervals_leave_more_at_home_and_more_visits_settle() -> None:
    grooms = [Comb(42, 40), Comb(28, 30), Comb(60, 55)]
    belief = believe(grooms, TAKEN)
    line = curve(belief)
    assert all(one.home_g_a_day < two.home_g_a_day for one, two in pairwise(line))
    assert all(at.low < at.home_g_a_day < at.high for at in line)
    later = three_more(grooms, belief, (21, 63, 42))
    assert later.home_g_a_day(42).sd < belief.home_g_a_day(42).sd


def test_what_is_no_groom_is_refused() -> None:
    for grooms, taken in (
        ([], 0.8),
        ([Comb(0, 10)], 0.8),
        ([Comb(42, 0)], 0.8),
        ([Comb(42, 10)], 0),
        ([Comb(42, 10)], 1.1),
    ):
        with pytest.raises(BadInput):
            believe(grooms, taken)

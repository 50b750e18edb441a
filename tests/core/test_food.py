"""Before and after a food, against another library; and what is never said."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from coatround.core.errors import BadInput
from coatround.core.reckon import RECKONERS
from coatround.core.trade.food import LEAST_DAYS, LOWER, NO_CHANGE, TOO_EARLY, TOO_FEW, food_change, t_975

grades = st.lists(st.integers(0, 10).map(float), min_size=2, max_size=12)


@pytest.mark.parametrize("freedom", [1, 2, 5, 10, 30, 31, 60, 500])
def test_students_t(freedom: int) -> None:
    assert t_975(freedom) == pytest.approx(float(stats.t.ppf(0.975, freedom)), rel=5e-5)


@given(grades, grades)
def test_the_interval_is_welchs(before: list[float], after: list[float]) -> None:
    """scipy's Welch interval; ours takes whole degrees of freedom, rounded down, so it is never narrower."""
    found = food_change(before, after, 70)
    if len(set(before)) == 1 and len(set(after)) == 1:
        return
    theirs = stats.ttest_ind(after, before, equal_var=False).confidence_interval(0.95)
    assert found.low is not None
    assert found.high is not None
    assert found.low <= theirs.low + 2e-3
    assert found.high >= theirs.high - 2e-3
    assert (found.low + found.high) / 2 == pytest.approx((theirs.low + theirs.high) / 2, abs=1e-6)


def test_under_eight_weeks_it_is_too_early() -> None:
    """Olivry, Mueller and Prelaud 2015, BMC Vet Res 11:225: at least eight weeks."""
    assert LEAST_DAYS == 8 * 7
    assert food_change([9, 9, 8], [1, 1, 2], 55).words == TOO_EARLY
    assert food_change([9, 9, 8], [1, 1, 2], 56).words == LOWER
    assert food_change([3, 4, 3], [3, 4, 3], 56).words == NO_CHANGE
    assert food_change([3], [4, 3], 70).words == TOO_FEW


@given(grades, grades, st.integers(0, 400))
def test_no_allergy_is_named_and_the_vet_is(before: list[float], after: list[float], days: int) -> None:
    answer = RECKONERS["food"].answer({"before": before, "after": after, "days": days})
    assert "allerg" not in answer["words"].lower()
    assert "vet" in answer["caution"]


def test_days_before_today_only() -> None:
    with pytest.raises(BadInput, match="days: is -1"):
        food_change([1, 2], [1, 2], -1)

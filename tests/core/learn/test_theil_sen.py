"""The slope of Theil and Sen by hand and against scipy, and what wild values do to it."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import theilslopes

from coatround.core.learn.theil_sen import theil_sen

DEVIATIONS_95 = 1.959964


def test_a_small_example() -> None:
    """Slope -0.1, 95 % between -0.2 and -1/30: fifteen pairs by hand, and scipy has the same."""
    x, y = np.array([0, 1, 3, 6, 8, 11.0]), np.array([10, 9.8, 9.9, 9.3, 9.1, 8.8])
    found = theil_sen(x, y, np.zeros(6, dtype=int), DEVIATIONS_95)
    assert found is not None
    assert (found.median, found.low, found.high) == pytest.approx((-0.1, -0.2, -0.1 / 3))


def test_a_wild_value_does_not_turn_it() -> None:
    """Ten pairs by hand: six slopes are 1, the four with the wild value 24.75, 32.67, 48.5 and 96."""
    found = theil_sen(np.arange(1, 6.0), np.array([1, 2, 3, 4, 100.0]), np.zeros(5, dtype=int), DEVIATIONS_95)
    assert found is not None
    assert found.median == 1


@given(st.integers(0, 10_000), st.integers(5, 60))
@settings(max_examples=25, deadline=None)
def test_one_group_as_an_independent_program_has_it(seed: int, size: int) -> None:
    chance = np.random.default_rng(seed)
    x = chance.normal(size=size)
    y = 2 * x + chance.normal(size=size)
    found, other = theil_sen(x, y, np.zeros(size, dtype=int), DEVIATIONS_95), theilslopes(y, x)
    assert found is not None
    assert found.median == pytest.approx(other[0])
    assert found.low == pytest.approx(other[2], abs=0.2)
    assert found.high == pytest.approx(other[3], abs=0.2)


def test_groups_may_lie_at_heights_of_their_own() -> None:
    x = np.array([1, 2, 3, 11, 12, 13.0])
    y = np.array([1, 2, 3, 1, 2, 3.0])
    found = theil_sen(x, y, np.array([0, 0, 0, 1, 1, 1]), 1)
    assert found is not None
    assert (found.median, found.low, found.high) == (1, 1, 1)


def test_no_pair_no_slope() -> None:
    assert theil_sen(np.array([1.0, 2.0]), np.array([1.0, 2.0]), np.array([0, 1]), 1) is None
    assert theil_sen(np.empty(0), np.empty(0), np.empty(0, dtype=int), 1) is None
    assert theil_sen(np.array([3.0, 3.0]), np.array([1.0, 2.0]), np.array([0, 0]), 1) is None

"""Control charts against the handbook's and a textbook's tables, and pandas."""

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coatround.core.errors import BadInput
from coatround.core.learn.charts import FIRST, cusum, ewma, own_chart

NIST_EWMA = (
    52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4,
    53.6, 52.1,
)  # fmt: skip
NIST_EWMA_SERIES = (
    50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05, 49.38, 49.92,
    50.73,
    51.23, 51.94, 51.99,
)  # fmt: skip
NIST_CUSUM = (
    324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600, 324.625, 325.150,
    328.325,
    327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350,
)  # fmt: skip
MONTGOMERY = (
    102.0, 94.8, 98.3, 98.4, 102.0, 98.5, 99.0, 97.7, 100.0, 98.1, 101.3, 98.7, 101.1, 98.4, 97.0, 96.7, 100.3,
    101.4, 97.2,
    101.0,
)  # fmt: skip
MONTGOMERY_HIGH = (2.0, 0, 0, 0, 2.0, 0.5, 0, 0, 0, 0, 1.3, 0, 1.1, 0, 0, 0, 0.3, 1.7, 0, 1.0)
MONTGOMERY_LOW = (0, 3.2, 2.9, 2.5, 0, 0, 0, 0.3, 0, 0, 0, 0, 0, 0, 1.0, 2.3, 0, 0, 0.8, 0)
values = st.lists(st.floats(-50, 50), min_size=1, max_size=40)


def test_nist_ewma() -> None:
    """NIST/SEMATECH e-Handbook 6.3.2.4: lambda 0.3, k 3, start 50, s 2.0539; no signal."""
    found = ewma(NIST_EWMA, 50, 2.0539, 0.3, 3)
    assert found.series == pytest.approx(NIST_EWMA_SERIES, abs=0.006)
    assert (found.low, found.high) == (pytest.approx(47.4115, abs=1e-3), pytest.approx(52.5884, abs=1e-3))
    assert found.signals == ()


@given(values, st.floats(0.01, 1))
def test_ewma_as_pandas_has_it(some: list[float], weight: float) -> None:
    theirs = pd.Series([0.0, *some]).ewm(alpha=weight, adjust=False).mean()
    assert ewma(some, 0, 1, weight, 3).series == pytest.approx(theirs.tolist()[1:], abs=1e-9)


def test_nist_cusum() -> None:
    """NIST/SEMATECH e-Handbook 6.3.2.3: target 325, k 0.3175, h 4.1959; the first signal is observation 14."""
    found = cusum(NIST_CUSUM, 325, 0.3175, 4.1959)
    assert found.signals[0] == 14
    assert [found.high[place - 1] for place in (4, 5, 13, 14, 16, 20)] == pytest.approx(
        [0, 0.0325, 3.0075, 4.94, 10.63, 19.035], abs=1e-9
    )
    assert [found.low[place - 1] for place in (4, 5, 8, 13)] == pytest.approx([0.3325, 0, 0.715, 0], abs=1e-9)


def test_a_textbooks_cusum() -> None:
    """Montgomery, Applied Statistics and Probability for Engineers, table 16-8: target 99, K 1, H 10."""
    found = cusum(MONTGOMERY, 99, 1, 10)
    assert found.high == pytest.approx(MONTGOMERY_HIGH, abs=1e-9)
    assert found.low == pytest.approx(MONTGOMERY_LOW, abs=1e-9)
    assert found.signals == ()


@given(values, st.floats(-5, 5), st.floats(0, 3), st.floats(0, 20))
def test_cusum_by_an_own_loop(some: list[float], target: float, k: float, h: float) -> None:
    """Page's sums as the most that any run of values up to now lies beyond target and k."""
    found = cusum(some, target, k, h)
    for end in range(1, len(some) + 1):
        runs = [sum(x - target - k for x in some[begin:end]) for begin in range(end + 1)]
        assert found.high[end - 1] == pytest.approx(max(runs), abs=1e-8)


def test_what_is_no_chart_is_refused() -> None:
    for wrong in ((0, 1.0), (1.5, 1.0), (0.3, -1.0)):
        with pytest.raises(BadInput):
            ewma([1, 2], 0, wrong[1], wrong[0], 3)
    with pytest.raises(BadInput, match="k: is below 0"):
        cusum([1], 0, -1, 2)


def test_a_dogs_own_chart_waits_and_then_notices() -> None:
    """Five values of 10 kg and a slow fall by 8 %: it shows; noise of the usual size does not."""
    assert own_chart([10.0] * FIRST, 0.15) is None
    steady = own_chart([10.0, 10.1, 9.9, 10.0, 10.1, 9.9, 10.0], 0.15)
    falling = own_chart([10.0, 10.1, 9.9, 10.0, 9.8, 9.6, 9.4, 9.2], 0.15)
    assert steady is not None
    assert falling is not None
    assert not steady.has_drifted
    assert falling.has_drifted

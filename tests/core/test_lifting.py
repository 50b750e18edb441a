"""The lifting equation against the examples of its manual and of a national centre for work safety."""

from dataclasses import replace
from math import prod

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coatround.core.errors import BadInput
from coatround.core.trade.lifting import Lift, frequency, index, limit_kg, multipliers

IDEAL = Lift(25, 75, 25, 0, 0.2, 1, "good")
POUND_KG = 0.45359237
INCH_CM = 2.54
lifts = st.builds(
    Lift,
    st.floats(10, 80),
    st.floats(0, 190),
    st.floats(0, 180),
    st.floats(0, 140),
    st.floats(0, 20),
    st.floats(0.1, 8),
    st.sampled_from(["good", "fair", "poor"]),
)


def test_the_ideal_lift_is_the_load_constant() -> None:
    assert limit_kg(IDEAL) == pytest.approx(23)


@pytest.mark.parametrize(
    ("parts", "pounds"),
    [
        ((1.0, 0.94, 0.87, 1.0, 0.88, 0.95), 34.9),
        ((0.5, 0.78, 0.87, 1.0, 0.88, 1.0), 15.2),
    ],
)
def test_manual_example_4(parts: tuple[float, ...], pounds: float) -> None:
    """NIOSH 94-110, example 4 (package inspection), pp. 44 to 46: 34.9 and 15.2 lb; parts of the second from memory."""
    assert 51 * prod(parts) == pytest.approx(pounds, abs=0.1)


def test_manual_example_4_origin_in_metric() -> None:
    """A lift with its printed multipliers (V 22 in, D 36 in, 3 a minute, fair), the load constant brought to 51 lb."""
    lift = Lift(25, 22 * INCH_CM, 36 * INCH_CM, 0, 3, 0.75, "fair")
    found = multipliers(lift)
    assert (round(found.vertical, 2), round(found.distance, 2)) == (0.94, 0.87)
    assert (found.frequency, found.coupling) == (0.88, 0.95)
    assert limit_kg(lift) / POUND_KG * (51 * POUND_KG / 23) == pytest.approx(34.9, abs=0.25)


@pytest.mark.parametrize(
    ("parts", "pounds"),
    [
        ((0.44, 0.89, 0.86, 0.95), 16.3),
        ((0.44, 0.75, 0.86), 14.5),
        ((0.67, 0.98, 0.93, 0.90), 28.0),
        ((0.50, 0.85, 0.93, 0.90), 18.1),
        ((0.56, 0.89, 0.91, 0.86, 0.95), 18.9),
    ],
)
def test_manual_examples_1_to_3(parts: tuple[float, ...], pounds: float) -> None:
    """NIOSH 94-110, examples 1 to 3: values from memory; only the arithmetic is checked."""
    assert 51 * prod(parts) == pytest.approx(pounds, abs=0.05)


def test_a_national_centres_frequency_example() -> None:
    """Canadian Centre for Occupational Health and Safety, frequency page: 23 x 0.93 x 0.71 x 0.13 is 1.97 kg.

    10 lifts a minute over 2 to 8 hours from 75 cm up have the frequency multiplier 0.13, an angle of 90 degrees 0.71.
    """
    lift = replace(IDEAL, angle_deg=90, per_minute=10, hours=8, vertical_cm=75)
    found = multipliers(lift)
    assert (found.frequency, round(found.asymmetry, 2)) == (0.13, 0.71)
    assert pytest.approx(1.97, abs=0.01) == 23 * 0.93 * 0.71 * 0.13


def test_frequency_between_rows_and_beyond() -> None:
    """NIOSH 94-110: p. 16, 10 lifts a minute for 8 of 15 minutes are 5.33; p. 7, straight between rows of table 5."""
    assert pytest.approx(5.33, abs=0.01) == 10 * 8 / 15
    assert frequency(5.5, 1, low=True) == pytest.approx((0.80 + 0.75) / 2)
    assert frequency(0.1, 1, low=True) == 1.0
    assert frequency(13, 1, low=True) == 0
    assert frequency(13, 1, low=False) == 0.34
    assert frequency(15.1, 1, low=False) == 0


@pytest.mark.parametrize(
    ("lift", "kg"),
    [
        (Lift(30, 75, 50, 30, 3, 1, "good"), 13.8752),
        (Lift(40, 40, 60, 0, 1, 1, "fair"), 10.2827),
        (Lift(50, 25, 75, 45, 0.2, 8, "poor"), 5.6329),
        (Lift(25, 100, 30, 0, 1, 8, "good"), 15.4776),
    ],
)
def test_metric_by_hand(lift: Lift, kg: float) -> None:
    """No published pair: reckoned once apart from this code."""
    assert limit_kg(lift) == pytest.approx(kg, abs=1e-3)


def test_grip_hangs_on_height() -> None:
    """Table 7: a fair grip is 0.95 below 75 cm, 1 from there up."""
    assert multipliers(replace(IDEAL, vertical_cm=74, grip="fair")).coupling == 0.95
    assert multipliers(replace(IDEAL, vertical_cm=75, grip="fair")).coupling == 1.0


@pytest.mark.parametrize(
    "change", [{"horizontal_cm": 64}, {"vertical_cm": 176}, {"distance_cm": 176}, {"angle_deg": 136}]
)
def test_outside_the_method_there_is_no_limit(change: dict[str, float]) -> None:
    assert limit_kg(replace(IDEAL, **change)) == 0
    assert index(10, 0) is None


@given(lifts)
def test_never_more_than_the_load_constant(lift: Lift) -> None:
    assert 0 <= limit_kg(lift) <= 23 + 1e-9


@given(lifts, st.floats(0, 20))
def test_farther_is_never_easier(lift: Lift, more: float) -> None:
    assert limit_kg(replace(lift, horizontal_cm=lift.horizontal_cm + more)) <= limit_kg(lift) + 1e-9


def test_more_than_a_shift_is_refused() -> None:
    with pytest.raises(BadInput, match="hours: is 9"):
        limit_kg(replace(IDEAL, hours=9))

"""The heat index against the weather service's chart and another library; a day's closed hours."""

import metpy.calc
import pytest
from hypothesis import given
from hypothesis import strategies as st
from metpy.units import units

from coatround.core.errors import BadInput
from coatround.core.trade.heat import CLOSED_FROM_C, heat_index_c, heat_index_f, hot_hours, temp_at


@pytest.mark.parametrize(
    ("temp", "humidity", "chart"),
    [
        (80, 40, 80),
        (84, 70, 90),
        (88, 100, 121),
        (90, 50, 95),
        (90, 70, 106),
        (92, 60, 105),
        (96, 65, 121),
        (98, 55, 117),
        (100, 40, 109),
        (100, 60, 129),
        (104, 50, 131),
        (110, 40, 136),
    ],
)
def test_the_chart(temp: float, humidity: float, chart: int) -> None:
    """US National Weather Service, heat index chart (srh.noaa.gov/tsa/?n=heatindex), degrees Fahrenheit."""
    assert round(heat_index_f(temp, humidity)) == chart


@pytest.mark.parametrize(
    ("temp", "humidity", "index"),
    [(95, 10, 89.4496), (110, 10, 104.3890), (82, 90, 91.9917), (85, 95, 104.6123), (75, 50, 74.55), (80, 100, 89.29)],
)
def test_the_adjustments(temp: float, humidity: float, index: float) -> None:
    """wpc.ncep.noaa.gov/html/heatindex_equation.shtml, reckoned apart; the chart's 87 at (80, 100) leaves them out."""
    assert heat_index_f(temp, humidity) == pytest.approx(index, abs=0.005)


@given(st.floats(81, 112), st.floats(0, 100))
def test_as_another_library_has_it(temp: float, humidity: float) -> None:
    """metpy, which has the adjustments; it changes over to the regression elsewhere, so from 81 F."""
    plain = 0.5 * (temp + 61 + (temp - 68) * 1.2 + humidity * 0.094)
    if (plain + temp) / 2 < 80:
        return
    theirs = metpy.calc.heat_index(temp * units.degF, humidity * units.percent, mask_undefined=False)
    assert heat_index_f(temp, humidity) == pytest.approx(float(theirs.to("degF").magnitude.item()), abs=1e-6)


@given(st.floats(-10, 50), st.floats(0, 100))
def test_celsius_and_fahrenheit_agree(temp_c: float, humidity: float) -> None:
    assert heat_index_c(temp_c, humidity) * 9 / 5 + 32 == pytest.approx(heat_index_f(temp_c * 9 / 5 + 32, humidity))


def test_a_day_runs_from_its_low_to_its_high() -> None:
    assert temp_at(5, 10, 30) == pytest.approx(10)
    assert temp_at(15, 10, 30) == pytest.approx(30)
    assert temp_at(10, 10, 30) == pytest.approx(20)
    assert temp_at(22, 10, 30) == pytest.approx(20)


@given(st.floats(-5, 30), st.floats(0, 25), st.floats(0, 100), st.sampled_from(sorted(CLOSED_FROM_C)))
def test_hours_are_of_the_day_and_close_by_the_rule(low: float, more: float, humidity: float, caution: str) -> None:
    hours = hot_hours(low, low + more, humidity, caution)
    assert [hour.hour for hour in hours] == list(range(24))
    for hour in hours:
        assert low - 1e-6 <= hour.temp_c <= low + more + 1e-6
        assert hour.closed == (max(hour.temp_c, hour.heat_index_c) >= CLOSED_FROM_C[caution])


@given(st.floats(-5, 30), st.floats(0, 25), st.floats(0, 100))
def test_a_caution_never_opens_an_hour(low: float, more: float, humidity: float) -> None:
    without = {hour.hour for hour in hot_hours(low, low + more, humidity, "none") if hour.closed}
    for caution in CLOSED_FROM_C:
        assert without <= {hour.hour for hour in hot_hours(low, low + more, humidity, caution) if hour.closed}


def test_without_a_caution_the_transport_rules_figure() -> None:
    """9 CFR 3.16: moving air from 85 F (29.5 C) on."""
    assert CLOSED_FROM_C["none"] == 29.5


def test_what_makes_no_day_is_refused() -> None:
    with pytest.raises(BadInput, match="low_c: is 30"):
        hot_hours(30, 20, 50, "airway")
    with pytest.raises(BadInput, match="caution"):
        hot_hours(10, 20, 50, "tail")

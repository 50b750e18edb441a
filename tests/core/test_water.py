"""Water: the surface of a dog, litres it takes, what is in the tank along a run."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from iapws import IAPWS97

from coatround.core.errors import BadInput
from coatround.core.trade.water import (
    GRAMS_BY_SIZE,
    RINSE_L_A_M2,
    WASH_L_A_M2,
    Draw,
    Point,
    bath_water,
    body_surface_m2,
    dry_at,
    litres_for,
    lowest,
    tank_line,
)


@pytest.mark.parametrize(
    ("kg", "m2"),
    [(2, 0.160), (5, 0.295), (10, 0.469), (20, 0.744), (30, 0.975), (40, 1.181), (50, 1.371)],
)
def test_body_surface_as_tabled(kg: float, m2: float) -> None:
    """The dog formula of veterinary manuals, 10.1 * grams^(2/3) / 10^4; printed tables lie up to 1 % below it."""
    assert body_surface_m2(kg) == pytest.approx(m2, abs=0.0006)
    assert body_surface_m2(kg) == pytest.approx(10.1 * (kg * 1000) ** (2 / 3) / 10_000)


@given(st.floats(5, 60), st.floats(5, 25), st.floats(28, 45), st.floats(46, 70))
def test_bath_water_by_steam_tables(litres: float, cold: float, target: float, hot: float) -> None:
    """IAPWS-IF97 by another library: mass from the cold litres, heat from enthalpies; 0.3 % apart at the most."""
    states = [IAPWS97(T=273.15 + c, P=0.101325) for c in (cold, target, hot)]
    found = bath_water(litres, target, hot, cold)
    kwh = litres / 1000 * states[0].rho * (states[1].h - states[0].h) / 3600
    assert found.kwh_from_cold == pytest.approx(kwh, rel=0.003)
    share = (states[1].h - states[0].h) / (states[2].h - states[0].h)
    assert found.hot_litres / litres == pytest.approx(share, rel=0.003)
    assert found.hot_litres + found.cold_litres == pytest.approx(litres)


def test_the_steam_tables_are_the_published_ones() -> None:
    """IAPWS R7-97(2012), table 5: 300 K and 3 MPa give h 115.331273 and cp 4.17301218."""
    water = IAPWS97(T=300, P=3)
    assert (water.h, water.cp) == (pytest.approx(115.331273, abs=1e-6), pytest.approx(4.17301218, abs=1e-8))


def test_forty_litres_to_38() -> None:
    """40 l from 15 to 38 C: 1.0678 kWh by IF97, 26.7 minutes at 2.4 kW; from 60 C 51.1 % is hot."""
    found = bath_water(40, 38, 60, 15)
    assert found.kwh_from_cold == pytest.approx(1.0678, rel=0.001)
    assert found.kwh_from_cold / 2.4 * 60 == pytest.approx(26.695, rel=0.001)
    assert found.hot_litres / 40 == pytest.approx(0.51125, abs=0.001)


@pytest.mark.parametrize(("target", "hot", "cold"), [(70, 60, 15), (10, 60, 15), (38, 15, 15)])
def test_a_bath_outside_its_taps_is_refused(target: float, hot: float, cold: float) -> None:
    with pytest.raises(BadInput):
        bath_water(40, target, hot, cold)


def test_a_dog_of_no_weight_has_no_surface() -> None:
    with pytest.raises(BadInput, match="kg: is 0"):
        body_surface_m2(0)


def test_litres_of_a_ten_kilo_curly_dog_by_hand() -> None:
    """Our own default: 3 + 0.469 * (20 * 2 + 22) = 32.1, rounded up."""
    assert litres_for("curly", "small", 10_000, 2) == 33


def test_a_dog_not_weighed_is_taken_as_middling_for_its_size() -> None:
    assert litres_for("smooth", "tiny", None, 1) == litres_for("smooth", "giant", 4_000, 1)


def test_no_wash_no_water() -> None:
    assert litres_for("double", "giant", None, 0) == 0


def test_a_coat_or_size_not_known_is_refused() -> None:
    with pytest.raises(BadInput, match="coat: is 'woolly'"):
        litres_for("woolly", "tiny", None, 1)
    with pytest.raises(BadInput, match="size: is 'huge'"):
        litres_for("curly", "huge", None, 1)
    with pytest.raises(BadInput, match="washes: is -1"):
        litres_for("curly", "tiny", None, -1)


def test_every_coat_has_its_litres() -> None:
    assert set(WASH_L_A_M2) == set(RINSE_L_A_M2) == {"hairless", "smooth", "wire", "mixed", "silky", "curly", "double"}


@given(
    st.sampled_from(sorted(WASH_L_A_M2)),
    st.sampled_from(sorted(GRAMS_BY_SIZE)),
    st.integers(500, 90_000),
    st.integers(1, 3),
)
def test_more_dog_or_more_washes_never_take_less(coat: str, size: str, grams: int, washes: int) -> None:
    litres = litres_for(coat, size, grams, washes)
    assert litres_for(coat, size, grams + 500, washes) >= litres
    assert litres_for(coat, size, grams, washes + 1) >= litres > 0


def test_the_tank_falls_at_each_bath_and_rises_at_the_refill() -> None:
    points = tank_line(100, 0, 1000, [Draw(100, 200, 40), Draw(500, 600, 70)], [(300, 400)])
    assert points == (
        (0, 100),
        (100, 100),
        (200, 60),
        (300, 60),
        (400, 100),
        (500, 100),
        (600, 30),
        (1000, 30),
    )
    assert lowest(points) == (600, 30)
    assert dry_at(points) is None


def test_a_plan_that_runs_dry_says_when() -> None:
    points = tank_line(50, 0, 300, [Draw(100, 200, 100)])
    assert dry_at(points) == 150
    assert lowest(points) == (200, -50)
    assert dry_at(tank_line(50, 0, 300, [], at_start=-1)) == 0


def test_a_run_may_start_with_less_than_a_full_tank() -> None:
    assert tank_line(100, 0, 10, [], at_start=35) == ((0, 35), (10, 35))


def test_no_points_have_no_lowest() -> None:
    with pytest.raises(BadInput, match="points: is empty"):
        lowest([])


@given(
    st.integers(1, 300), st.lists(st.tuples(st.integers(1, 900), st.integers(1, 3600), st.integers(0, 150)), max_size=9)
)
def test_a_tank_refilled_in_time_never_goes_below_zero(tank_l: int, stops: list[tuple[int, int, int]]) -> None:
    at, level = 0, tank_l
    draws, refills = [], []
    for gap, work, wanted in stops:
        litres = min(wanted, tank_l)
        at += gap
        if litres > level:
            refills.append((at, at + 600))
            at, level = at + 600, tank_l
        draws.append(Draw(at, at + work, litres))
        at, level = at + work, level - litres
    points = tank_line(tank_l, 0, at, draws, refills)
    assert dry_at(points) is None
    assert points[-1] == (at, level)
    assert_falls_and_rises(points, refills, tank_l)


def assert_falls_and_rises(points: tuple[Point, ...], refills: list[tuple[int, int]], tank_l: int) -> None:
    rises = {end for _start, end in refills}
    for (start, before), (end, after) in pairwise(points):
        assert start <= end
        assert 0 <= after <= tank_l
        assert after <= before or end in rises

"""Strength of thinned bleach against printed recipes."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coatround.core.trade.hygiene import CLEANINGS, NEVER, PPM_A_PERCENT, strength_percent
from coatround.core.trade.mix import Ratio

STOCKS = (Fraction(525, 100), Fraction(6), Fraction(825, 100))


def ppm(stock: Fraction, ratio: Ratio) -> float:
    return float(strength_percent(stock, ratio) * PPM_A_PERCENT)


@pytest.mark.parametrize(
    ("ratio", "expected"),
    [
        (Ratio(1, 32, "water"), (1591, 1818, 2500)),
        (Ratio(1, 32, "total"), (1641, 1875, 2578)),
        (Ratio(1, 10, "water"), (4773, 5455, 7500)),
        (Ratio(1, 10, "total"), (5250, 6000, 8250)),
        (Ratio(1, 100, "water"), (520, 594, 817)),
    ],
)
def test_thinned_bleach(ratio: Ratio, expected: tuple[int, ...]) -> None:
    """C1 V1 = C2 V2 by hand. A bleach sheet calls 1 in 10 of 5.25 % 5250 ppm: so by "1:10" it means one in ten."""
    assert [round(ppm(stock, ratio)) for stock in STOCKS] == list(expected)


def test_kitchen_measures() -> None:
    """CDC's recipes: 5 tablespoons in a US gallon and a third of a cup differ by 6 %; all are 1000 ppm and more."""
    spoons = Ratio(7393, 378_541, "water")
    third = Ratio(1, 48, "water")
    assert [round(ppm(stock, spoons)) for stock in STOCKS] == [1006, 1149, 1580]
    assert [round(ppm(stock, third)) for stock in STOCKS] == [1071, 1224, 1684]


def test_peroxide_by_the_label() -> None:
    """4.25 % at 1 and 16 is 0.25 %, one in 16 is 0.2656 %; 7 % at 1 and 16 is 0.4118 %."""
    assert float(strength_percent(Fraction(425, 100), Ratio(1, 16, "water"))) == pytest.approx(0.25)
    assert float(strength_percent(Fraction(425, 100), Ratio(1, 16, "total"))) == pytest.approx(0.2656, abs=1e-4)
    assert float(strength_percent(Fraction(7), Ratio(1, 16, "water"))) == pytest.approx(0.4118, abs=1e-4)


@given(st.fractions(Fraction(1, 100), 100), st.integers(1, 20), st.integers(0, 500))
def test_never_stronger_than_the_bottle(stock: Fraction, product: int, water: int) -> None:
    assert 0 < strength_percent(stock, Ratio(product, water, "water")) <= stock


def test_after_a_catching_dog_it_is_stricter() -> None:
    usual = max(one.minutes_wet for one in CLEANINGS if not one.catching and one.source)
    assert all(one.minutes_wet > usual for one in CLEANINGS if one.catching)


def test_minutes_wet_and_strength_as_published() -> None:
    """CDC's bleach page: at least 1000 ppm and a minute. Shelter sheets: 1 and 32, 10 minutes wet, against parvovirus.
    Moriello 2019, Vet Dermatol 30:178: ringworm, cleaning and 1 and 100. Worms and Germs 2011: quats are not enough."""
    wet = {one.key: one.minutes_wet for one in CLEANINGS}
    assert wet["tub"] >= 1
    assert all(ppm(stock, Ratio(1, 32, "water")) >= 1000 for stock in STOCKS)
    assert wet["after catching"] == 10
    assert "1 part household bleach and 32 of water" in next(o.how for o in CLEANINGS if o.key == "after catching")
    assert "1 part household bleach and 100 of water" in next(o.how for o in CLEANINGS if o.key == "after ringworm")
    assert any("parvovirus" in line for line in NEVER)


def test_permethrin_is_kept_from_cats() -> None:
    """dvm360 proceedings 2009/2010: dog spot-ons of 45 to 65 % poison cats, 11 to 25 % by touching a treated dog."""
    assert any("Permethrin" in line and "cat" in line and "keep them apart" in line for line in NEVER)

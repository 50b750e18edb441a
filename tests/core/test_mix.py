"""The mix: a label's ratio and rule, millilitres in a bath, contact, and what is not for a dog."""

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coatround.core.errors import BadInput
from coatround.core.trade.mix import Caution, NotFor, Product, Ratio, mix, not_for, product_ml

OAT = Product("Oat wash", Ratio(1, 16, "water"), 5)
RELIEF = Product("Skin relief", Ratio(1, 9, "water"), 10)

ratios = st.builds(
    lambda product, more, rule: Ratio(product, product + more if rule == "total" else more, rule),
    st.integers(1, 20),
    st.integers(0, 200),
    st.sampled_from(["water", "total"]),
)


def test_one_and_32_of_water_is_one_part_in_33() -> None:
    assert Ratio(1, 32, "water").share == Fraction(1, 33)


def test_one_in_32_is_one_part_in_32() -> None:
    assert Ratio(1, 32, "total").share == Fraction(1, 32)


def test_half_a_cup_in_a_us_gallon_is_one_and_32() -> None:
    """Shelter disinfection sheets print "1:32" as 1/2 cup a gallon: 16 cups a gallon, so 1/2 in 16 1/2."""
    assert Ratio(1, 32, "water").share == Fraction(1, 2) / (16 + Fraction(1, 2))


@pytest.mark.parametrize(
    ("ratio", "percent", "ppm"),
    [
        (Ratio(1, 32, "water"), 5.25, 1591),
        (Ratio(1, 32, "total"), 5.25, 1641),
        (Ratio(1, 10, "total"), 5.25, 5250),  # a published bleach sheet calls this "1:10, 5250 ppm"
        (Ratio(1, 10, "water"), 5.25, 4773),
        (Ratio(1, 100, "water"), 8.25, 817),
    ],
)
def test_the_rules_differ_as_printed_tables_do(ratio: Ratio, percent: float, ppm: int) -> None:
    """Parts per million of a bleach so strong: percent * 10,000 * share."""
    assert round(percent * 10_000 * ratio.share) == ppm


def test_millilitres_by_hand() -> None:
    assert product_ml(Ratio(1, 16, "total"), 12) == 750
    assert product_ml(Ratio(1, 16, "water"), 12) == 706  # 12000 / 17 = 705.88
    assert product_ml(Ratio(1, 0, "water"), 2) == 2000  # undiluted
    assert product_ml(Ratio(1, 16, "water"), 0) == 0


def test_several_products_share_one_bath_each_at_its_own_ratio() -> None:
    bath = mix([OAT, RELIEF], 10)
    assert [(pour.product.name, pour.ml) for pour in bath.pours] == [("Oat wash", 588), ("Skin relief", 1000)]
    assert bath.water_ml == 10_000 - 588 - 1000
    assert bath.contact_minutes == 10


def test_a_bath_of_water_alone() -> None:
    assert (mix([], 10).water_ml, mix([], 10).contact_minutes) == (10_000, 0)


def test_more_product_than_bath_is_refused() -> None:
    neat = Product("Neat", Ratio(1, 0, "water"))
    with pytest.raises(BadInput, match="Neat and Oat wash make 588 ml more than the bath's 10 litres"):
        mix([neat, OAT], 10)


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        ((0, 16, "water"), "product: is 0 parts"),
        ((1, -1, "water"), "other: is -1 parts"),
        ((2, 1, "total"), "other: is 1 parts in all, expected at least the 2"),
        ((1, 16, "1:16"), "rule: is '1:16'"),
    ],
)
def test_a_ratio_that_cannot_be_is_refused(parts: Any, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        Ratio(*parts)


def test_a_bath_below_nothing_is_refused() -> None:
    with pytest.raises(BadInput, match="bath_l: is -1 litres"):
        product_ml(OAT.ratio, -1)


def test_the_label_speaks_against_a_caution() -> None:
    product = Product("Flea wash", Ratio(1, 4, "water"), 10, "whelping, puppies under 12 weeks, heart")
    cautions = [Caution("whelping", "Due in March."), Caution("ears", "Sore left ear.")]
    assert not_for(product, cautions) == (NotFor("Flea wash", "label", product.not_for),)


def test_a_caution_speaks_against_the_product() -> None:
    words = "Red after OAT WASH; plain water only."
    assert not_for(OAT, [Caution("product", words)]) == (NotFor("Oat wash", "caution", words),)
    assert not_for(OAT, [Caution("product", "Red after wheat wash.")]) == ()


def test_a_part_of_a_word_says_nothing() -> None:
    assert not_for(Product("X", Ratio(1, 4, "water"), 0, "sweetheart blends"), [Caution("heart", "Tablets.")]) == ()


@given(ratios, st.integers(0, 500))
def test_the_same_parts_counted_in_the_whole_are_never_weaker(ratio: Ratio, bath_l: int) -> None:
    if ratio.rule == "water" and ratio.other >= ratio.product:
        assert product_ml(ratio, bath_l) <= product_ml(Ratio(ratio.product, ratio.other, "total"), bath_l)


@given(ratios, st.integers(0, 500))
def test_a_bath_holds_what_it_holds(ratio: Ratio, bath_l: int) -> None:
    bath = mix([Product("One", ratio)], bath_l)
    assert bath.water_ml + bath.pours[0].ml == bath_l * 1000
    assert abs(bath.pours[0].ml - bath_l * 1000 * ratio.share) <= Fraction(1, 2)


@given(ratios, st.integers(0, 200), st.integers(0, 200))
def test_two_baths_take_what_one_of_both_would(ratio: Ratio, first_l: int, second_l: int) -> None:
    apart = product_ml(ratio, first_l) + product_ml(ratio, second_l)
    assert abs(apart - product_ml(ratio, first_l + second_l)) <= 1

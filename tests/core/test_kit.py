"""The kit: what a run needs, with its margin, rounded to what can be loaded."""

from math import sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coatround.core.trade.kit import GroomPlan, ToolLine, Use, WaterLine, kit, with_margin

OAT = Use("oat", "Oat wash", 700, 1000)


def test_the_margin_of_one_groom_by_hand() -> None:
    """One sd of 20 % on 100: enough 19 times of 20 is 100 + 1.645 * 20 (standard normal table)."""
    assert with_margin([100]) == pytest.approx(132.9)


def test_four_equal_grooms_need_half_the_share_of_margin() -> None:
    assert with_margin([100] * 4) == pytest.approx(400 + 1.645 * 0.2 * 200)


def test_products_are_rounded_up_to_bottles() -> None:
    loaded = kit([GroomPlan("curly", "small", (OAT,)), GroomPlan("curly", "small", (OAT,))], [30, 30], 150, 0)
    line = loaded.products[0]
    assert (line.expected_ml, line.carry_ml, line.bottles) == (1400, 1726, 2)  # 1400 + 0.329 * 990


def test_products_are_listed_by_name_each_once() -> None:
    grooms = [GroomPlan("curly", "small", (OAT, Use("a", "Almond rinse", 100, 500)))] * 3
    assert [line.name for line in kit(grooms, [], 150, 0).products] == ["Almond rinse", "Oat wash"]


def test_towels_for_washed_dogs_only() -> None:
    wash = ("first wash", "rinse")
    large, dry = GroomPlan("double", "large", steps=wash), GroomPlan("double", "large", steps=("nails",))
    assert kit([dry], [], 150, 0).towels == 0
    assert kit([large, dry], [], 150, 0).towels == 7  # 4 and 1 for the coat, and the margin
    assert kit([GroomPlan("smooth", "tiny", steps=wash)], [], 150, 0).towels == 2


def test_two_pieces_of_cotton_a_dog_and_some_over() -> None:
    groom = GroomPlan("curly", "small", steps=("cotton in", "first wash", "cotton out"))
    assert kit([groom] * 3, [], 150, 0).cotton_pieces == 8  # 6 + 0.329 * 2 * sqrt(3)


def test_blades_and_combs_by_the_cut_a_cool_one_for_every_four_dogs() -> None:
    clip = GroomPlan("curly", "small", tools=(("blade", 10), ("comb", 13), ("scissored", 0), ("blade", 10)))
    assert kit([clip] * 5, [], 150, 0).tools == (ToolLine("blade", 10, 2, 5), ToolLine("comb", 13, 2, 5))
    assert kit([clip], [], 150, 0).tools == (ToolLine("blade", 10, 1, 1), ToolLine("comb", 13, 1, 1))


def test_water_says_whether_tank_and_refills_are_enough() -> None:
    assert kit([], [60, 60], 150, 0).water == WaterLine(120, 148, 150)
    assert kit([], [60, 60], 150, 0).water.is_enough
    assert not kit([], [70, 70], 150, 0).water.is_enough
    assert kit([], [70, 70], 150, 1).water.is_enough


def test_an_empty_run_needs_nothing() -> None:
    empty = kit([], [], 150, 0)
    assert (empty.products, empty.tools, empty.towels, empty.cotton_pieces, empty.water.carry_l) == ((), (), 0, 0, 0)


@given(st.lists(st.integers(0, 3000), max_size=12), st.integers(1, 5000))
def test_what_is_carried_is_never_less_than_expected_and_fits_its_bottles(mls: list[int], bottle_ml: int) -> None:
    grooms = [GroomPlan("curly", "small", (Use("oat", "Oat wash", ml, bottle_ml),)) for ml in mls]
    for line in kit(grooms, [], 150, 0).products:
        assert line.expected_ml == sum(mls)
        assert line.expected_ml <= line.carry_ml <= line.bottles * bottle_ml
        assert (line.bottles - 1) * bottle_ml < max(line.carry_ml, 1)


@given(st.lists(st.floats(0, 1000), min_size=1, max_size=12))
def test_the_margin_lies_between_independent_and_all_alike(values: list[float]) -> None:
    margin = with_margin(values) - sum(values)
    assert margin <= 1.645 * 0.2 * sum(values) + 1e-6
    assert margin >= 1.645 * 0.2 * sum(values) / sqrt(len(values)) - 1e-6

"""Every reckoner: its keys, its caution, its refusals, and the same answer from metric and US measures."""

import contextlib
import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatround.core.checking import Refused, number, tenths
from coatround.core.reckon import RECKONERS
from coatround.core.reckon.measures import from_people, to_people
from coatround.core.trade.mix import Ratio

IN_AND_OUT: dict[str, tuple[set[str], set[str]]] = {
    "mix": ({"bath_litres", "products"}, {"products", "water_litres"}),
    "bath-water": ({"litres", "target_c", "hot_c", "cold_c"}, {"hot_litres", "cold_litres", "kwh_from_cold"}),
    "disinfectant": ({"stock_percent", "ratio"}, {"ppm", "percent"}),
    "body-size": ({"kg"}, {"surface_m2", "resting_kcal"}),
    "noise": ({"rule", "segments"}, {"dose_percent", "twa_dba", "minutes_left"}),
    "lift": (
        {
            "horizontal_cm",
            "vertical_cm",
            "distance_cm",
            "angle_deg",
            "per_minute",
            "hours",
            "grip",
            "load_kg",
        },
        {"limit_kg", "index", "multipliers"},
    ),
    "heat-index": ({"temp_c", "humidity_percent"}, {"heat_index_c"}),
    "hot-hours": ({"low_c", "high_c", "humidity_percent", "caution"}, {"hours", "rule"}),
    "ewma": ({"values", "target", "sd", "lambda", "width"}, {"series", "limits", "signals"}),
    "cusum": ({"values", "target", "k", "h"}, {"high", "low", "limits", "signals"}),
    "pool": ({"groups"}, {"mean", "between_sd", "within_sd", "estimates"}),
    "coat": (
        {"grooms", "taken_share", "household_grams_a_day"},
        {"shed_g_a_day", "loose_share_a_day", "curve", "advice"},
    ),
    "tax": ({"country", "rule", "lines_cents", "rate_percent", "inclusive"}, {"tax_cents", "total_cents"}),
    "food": ({"before", "after", "days"}, {"change", "low", "high", "words", "parts"}),
    "price": (
        {
            "work_minutes",
            "drive_minutes",
            "hourly_cents",
            "drive_km",
            "cents_a_km",
            "product_cents",
            "water_litres",
            "cents_a_litre",
            "wear_cents",
        },
        {"cost_cents", "price_cents", "words", "parts"},
    ),
}
DEFERS = {
    "mix": ("label", "vet"),
    "bath-water": ("law", "vet"),
    "disinfectant": ("label", "law", "vet"),
    "body-size": ("vet",),
    "noise": ("law", "vet", "doctor"),
    "lift": ("law",),
    "heat-index": ("vet",),
    "hot-hours": ("vet",),
    "coat": ("vet",),
    "food": ("vet",),
}
"""Whom each answer that touches health, heat, lifting, noise or chemicals defers to."""
WITHOUT_CAUTION = {"ewma", "cusum", "pool", "tax", "price"}
junk = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**20), 10**20) | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=8,
)


def test_all_are_there() -> None:
    assert set(RECKONERS) == set(IN_AND_OUT) == set(DEFERS) | WITHOUT_CAUTION


@pytest.mark.parametrize("name", IN_AND_OUT)
def test_keys_are_exactly_so(name: str) -> None:
    """The example holds every key that is asked; the answer every key that is promised, and the caution beside it."""
    reckoner, (asked, given_back) = RECKONERS[name], IN_AND_OUT[name]
    assert asked <= set(reckoner.example)
    answer = reckoner.answer(reckoner.example)
    assert set(answer) - {"caution"} == given_back
    json.dumps(answer, allow_nan=False)


@pytest.mark.parametrize("name", IN_AND_OUT)
def test_each_answer_carries_its_caution(name: str) -> None:
    reckoner = RECKONERS[name]
    answer = reckoner.answer(reckoner.example)
    assert ("caution" in answer) == (name in DEFERS)
    for whom in DEFERS.get(name, ()):
        assert whom in answer["caution"].lower(), (name, whom)
    explained = reckoner.explained(reckoner.example)
    assert explained["formula"]
    assert explained["source"]


@pytest.mark.parametrize("name", IN_AND_OUT)
def test_each_missing_key_is_named(name: str) -> None:
    reckoner = RECKONERS[name]
    for value in reckoner.values:
        if value.needed:
            left = {key: part for key, part in reckoner.example.items() if key != value.name}
            with pytest.raises(Refused) as refused:
                reckoner.answer(left)
            assert refused.value.refusal.path == value.name
            assert value.name in refused.value.refusal.words


@given(st.sampled_from(sorted(RECKONERS)), st.data())
@settings(max_examples=300, deadline=None)
def test_wrong_values_are_refused_with_words(name: str, data: st.DataObject) -> None:
    """Any JSON in place of any value: an answer or a refusal, never anything else."""
    reckoner = RECKONERS[name]
    asked: Any = dict(reckoner.example)
    key = data.draw(st.sampled_from(sorted(asked)))
    asked[key] = data.draw(junk)
    with contextlib.suppress(Refused):
        json.dumps(reckoner.answer(asked))


def test_a_ratio_is_one_of_two_rules_never_a_string() -> None:
    for wrong in (
        "1:32",
        "1/32",
        32,
        {"product": 1},
        {"product": 1, "water": 3, "total": 4},
        {"product": 2, "total": 1},
    ):
        with pytest.raises(Refused) as refused:
            RECKONERS["disinfectant"].answer({"stock_percent": 5, "ratio": wrong})
        assert '{"product": 1, "water": 32}' in refused.value.refusal.words
    assert {field: str(kind) for field, kind in Ratio.__annotations__.items()}["product"] == "<class 'int'>"


def test_two_rules_of_one_label_differ() -> None:
    """12 l: one part and 32 of water is 363.6 ml, one in 32 is 375 ml; two products share one bath."""
    rows = [
        {"name": "wash", "ratio": {"product": 1, "water": 32}},
        {"name": "rinse", "ratio": {"product": 1, "total": 32}},
    ]
    answer = RECKONERS["mix"].answer({"bath_litres": 12, "products": rows})
    assert [round(one["ml"], 1) for one in answer["products"]] == [363.6, 375.0]
    assert answer["water_litres"] == pytest.approx(12 - 0.3636 - 0.375, abs=1e-4)


lengths = st.floats(1, 60)


@given(lengths, lengths, lengths, st.floats(1, 120))
def test_a_lift_in_inches_and_pounds_is_the_same(h: float, v: float, d: float, pounds: float) -> None:
    """The boundary turns inches and pounds into centimetres and kilograms: the figure is one, whatever is typed."""
    metric = dict(RECKONERS["lift"].example) | {
        "horizontal_cm": from_people(h, "cm", "us"),
        "vertical_cm": from_people(v, "cm", "us"),
        "distance_cm": from_people(d, "cm", "us"),
        "load_kg": from_people(pounds, "kg", "us"),
    }
    by_hand = metric | {"horizontal_cm": h * 2.54, "vertical_cm": v * 2.54, "distance_cm": d * 2.54}
    by_hand["load_kg"] = pounds * 0.45359237
    one, other = RECKONERS["lift"].answer(metric), RECKONERS["lift"].answer(by_hand)
    assert one["limit_kg"] == pytest.approx(other["limit_kg"])
    assert to_people(from_people(h, "cm", "us"), "cm", "us") == pytest.approx(h)


@given(st.floats(-20, 50), st.floats(0, 100))
def test_heat_in_fahrenheit_is_the_same(temp_c: float, humidity: float) -> None:
    fahrenheit = from_people(temp_c * 9 / 5 + 32, "c", "us")
    both = [{"temp_c": temp, "humidity_percent": humidity} for temp in (temp_c, fahrenheit)]
    one, other = (RECKONERS["heat-index"].answer(asked) for asked in both)
    assert one["heat_index_c"] == pytest.approx(other["heat_index_c"], abs=1e-6)


@given(st.floats(0.5, 60), st.integers(1, 20), st.integers(1, 200))
def test_a_mix_in_gallons_is_the_same(gallons: float, product: int, water: int) -> None:
    rows = [{"name": "wash", "ratio": {"product": product, "water": water}}]
    litres = from_people(gallons, "litres", "us")
    answer = RECKONERS["mix"].answer({"bath_litres": litres, "products": rows})
    share = product / (product + water)
    assert to_people(answer["products"][0]["ml"], "ml", "us") == pytest.approx(gallons * 128 * share)
    water_gallons = to_people(answer["water_litres"], "litres", "us")
    assert water_gallons == pytest.approx(gallons * (1 - share), rel=1e-6, abs=1e-8)


@pytest.mark.parametrize("value", [10**400, -(10**400), float("nan"), float("inf"), True, "1", None])
def test_no_number_breaks_a_reader(value: object) -> None:
    for read in (tenths(0, 10), number(0, 10)):
        with pytest.raises(Refused):
            read(value, "kg")

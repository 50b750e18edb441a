"""The bath and what cleans it: mix, bath water, disinfectant."""

from collections.abc import Mapping
from typing import Any

from coatround.core.errors import BadInput
from coatround.core.reckon.asked import Reckoner, a_number, a_ratio, exact, named, rows
from coatround.core.reckon.cautions import CHEMICALS, HOT_WATER, SHAMPOO
from coatround.core.trade.hygiene import PPM_A_PERCENT, strength_percent
from coatround.core.trade.mix import ML_A_LITRE
from coatround.core.trade.water import bath_water


def _mix(given: Mapping[str, Any]) -> dict[str, Any]:
    bath_ml = exact(given["bath_litres"]) * ML_A_LITRE
    pours = [(product["name"], product["ratio"].share * bath_ml) for product in given["products"]]
    water_ml = bath_ml - sum(ml for _name, ml in pours)
    if water_ml < 0:
        names = " and ".join(name for name, _ml in pours)
        raise BadInput("products", f"{names} together are {float(-water_ml):g} ml more than the bath")
    return {
        "products": [{"name": name, "ml": float(ml)} for name, ml in pours],
        "water_litres": float(water_ml / ML_A_LITRE),
    }


def _bath_water(given: Mapping[str, Any]) -> dict[str, Any]:
    found = bath_water(given["litres"], given["target_c"], given["hot_c"], given["cold_c"])
    return {"hot_litres": found.hot_litres, "cold_litres": found.cold_litres, "kwh_from_cold": found.kwh_from_cold}


def _disinfectant(given: Mapping[str, Any]) -> dict[str, Any]:
    percent = strength_percent(exact(given["stock_percent"]), given["ratio"])
    return {"ppm": float(percent * PPM_A_PERCENT), "percent": float(percent)}


RECKONERS = (
    Reckoner(
        "mix",
        "Mix",
        "Millilitres of each product in one bath, by the label's ratio.",
        (
            a_number("bath_litres", "Bath", "litres", 0, 1000, 12, above=True),
            rows(
                "products",
                "Products",
                (
                    named("name", "Product", "Oat wash"),
                    a_ratio("ratio", "Ratio on the label", {"product": 1, "water": 16}),
                ),
                [{"name": "Oat wash", "ratio": {"product": 1, "water": 16}}],
                20,
            ),
        ),
        _mix,
        "ml = bath litres x 1000 x product / (product + water), or product / total; the rest is water.",
        "The product's label. One part and 32 of water is 1/33; one part in 32 is 1/32.",
        SHAMPOO,
    ),
    Reckoner(
        "bath-water",
        "Bath water",
        "How much hot and how much cold, and what it takes to heat it all.",
        (
            a_number("litres", "Bath", "litres", 0, 1000, 40, above=True),
            a_number("target_c", "Bath temperature", "c", 0, 60, 36),
            a_number("hot_c", "Hot water", "c", 0, 100, 60),
            a_number("cold_c", "Cold water", "c", 0, 60, 15),
        ),
        _bath_water,
        "hot = litres x (target - cold) / (hot - cold); kWh = litres x 4.178 kJ x (target - cold) / 3600.",
        "Heat balance; properties of water by IAPWS-IF97 (within 0.3 %). Losses of pipe and tub are left out.",
        HOT_WATER,
    ),
    Reckoner(
        "disinfectant",
        "Disinfectant",
        "How strong a thinned disinfectant is.",
        (
            a_number("stock_percent", "What works, in the bottle", "percent", 0, 100, 5.25, above=True),
            a_ratio("ratio", "Thinned", {"product": 1, "water": 32}),
        ),
        _disinfectant,
        "percent = bottle percent x product / (product + water), or product / total; ppm = percent x 10,000.",
        "C1 V1 = C2 V2. Bleach at 1 part and 32 of water from 5.25 % is 1,591 ppm.",
        CHEMICALS,
    ),
)

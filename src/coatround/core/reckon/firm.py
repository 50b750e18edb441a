"""Money: tax by a country's rounding, and the price of a groom."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from coatround.core.checking import list_of, whole
from coatround.core.errors import BadInput
from coatround.core.reckon.asked import Reckoner, Value, a_number, a_word, exact, named, yes
from coatround.core.trade.price import price
from coatround.core.trade.tax import tax_in, tax_on, tax_rule

LARGE = 10**12


def _tax(given: Mapping[str, Any]) -> dict[str, Any]:
    country = given["country"].upper()
    if len(country) != 2 or not country.isascii() or not country.isalpha():
        raise BadInput("country", f"is {country!r}, expected two letters of ISO 3166, like AU")
    rule = tax_rule(country, Decimal(str(given["rate_percent"])), rounded=given["rule"])
    lines = given["lines_cents"]
    tax = tax_in(lines, rule) if given["inclusive"] else tax_on(lines, rule)
    return {"tax_cents": tax, "total_cents": sum(lines) + (0 if given["inclusive"] else tax)}


def _price(given: Mapping[str, Any]) -> dict[str, Any]:
    found = price(**{name: exact(part) for name, part in given.items()})
    parts = {
        name: getattr(found, name)
        for name in ("work_cents", "drive_cents", "product_cents", "water_cents", "wear_cents")
    }
    words = (
        f"{given['work_minutes']:g} minutes on the dog and {given['drive_minutes']:g} on the road at the hourly return "
        f"wanted, and what is used up. Tax comes on top."
    )
    return {"cost_cents": found.cost_cents, "price_cents": found.price_cents, "words": words, "parts": parts}


LINES = Value(
    "lines_cents", "Lines, in the smallest unit of money", "", "numbers", list_of(whole(-LARGE, LARGE), 2000),
    example=[5500, 1250],
)  # fmt: skip
RECKONERS = (
    Reckoner(
        "tax",
        "Tax",
        "The tax on a sale, rounded as the country's law says.",
        (
            named("country", "Country, two letters", "AU"),
            a_word("rule", "Rounded once on the total, or on each line", ("total", "line"), "total"),
            LINES,
            a_number("rate_percent", "Rate", "percent", 0, 100, 10),
            yes("inclusive", "The lines hold the tax already", True),
        ),
        _tax,
        "exclusive: lines x rate; inclusive: lines x rate / (100 + rate); exact fractions, rounded once or by line.",
        "AU: GST Act 1999 s 9-90 (a half goes up). NZ: GST Act s 19O (half a cent or less is dropped). Elsewhere a "
        "half goes "
        "up: our own default. Ask whoever does your books.",
    ),
    Reckoner(
        "price",
        "Price",
        "What a groom costs you, and the price for the hourly return you want.",
        (
            a_number("work_minutes", "On the dog", "minutes", 0, 1440, 75),
            a_number("drive_minutes", "On the road", "minutes", 0, 1440, 15),
            a_number("hourly_cents", "Wanted an hour, in the smallest unit of money", "", 0, LARGE, 5500),
            a_number("drive_km", "Driven", "km", 0, 5000, 9),
            a_number("cents_a_km", "A kilometre costs", "", 0, LARGE, 88),
            a_number("product_cents", "Products used", "", 0, LARGE, 210),
            a_number("water_litres", "Water", "litres", 0, 5000, 28),
            a_number("cents_a_litre", "A litre costs", "", 0, LARGE, 0.4),
            a_number("wear_cents", "Wear of blades, dryer, van", "", 0, LARGE, 320),
        ),
        _price,
        "price = (work + drive minutes) / 60 x hourly + km x cents a km + products + litres x cents a litre + wear.",
        "Common practice; the figures are yours.",
    ),
)

"""Measures as people type and read them: metric, or those of the United States; inside all is metric."""

from typing import Literal

System = Literal["metric", "us"]
INCH_CM, POUND_KG, OUNCE_G, MILE_KM = 2.54, 0.45359237, 28.349523125, 1.609344
GALLON_L, FLUID_OUNCE_ML = 3.785411784, 29.5735295625
"""Exact by definition."""
US_SIZE = {"cm": INCH_CM, "kg": POUND_KG, "litres": GALLON_L, "ml": FLUID_OUNCE_ML, "g": OUNCE_G, "km": MILE_KM}
US_NAME = {"cm": "in", "kg": "lb", "litres": "US gal", "ml": "US fl oz", "g": "oz", "km": "mi", "c": "°F"}
NAME = {
    "c": "°C",
    "percent": "%",
    "dba": "dB(A)",
    "deg": "degrees",
    "minutes": "min",
    "hours": "h",
    "litres": "l",
    "share": "from 0 to 1",
}  # fmt: skip


def from_people(value: float, unit: str, system: System) -> float:
    """A typed value in the metric unit that is kept."""
    if system == "metric":
        return value
    return (value - 32) * 5 / 9 if unit == "c" else value * US_SIZE.get(unit, 1)


def to_people(value: float, unit: str, system: System) -> float:
    """A kept value in the unit that this person reads."""
    if system == "metric":
        return value
    return value * 9 / 5 + 32 if unit == "c" else value / US_SIZE.get(unit, 1)


def unit_name(unit: str, system: System) -> str:
    """The unit as it stands beside a value."""
    return US_NAME.get(unit, NAME.get(unit, unit)) if system == "us" else NAME.get(unit, unit)

"""Heat: the index made for people, and a day's hours that a dog with a caution is better kept out of.

Source of the index: Rothfusz 1990 (NWS SR 90-23) with the adjustments of the US National Weather Service
(wpc.ncep.noaa.gov/html/heatindex_equation.shtml). It is made for people in the shade: for a dog it is no safe limit,
and an hour that is not closed is not called safe. Half of the heat events of dogs in one UK study lay on days of
16.9 C or less (Hall et al. 2022, Vet Sci 9:231).
"""

import math
from dataclasses import dataclass

from coatround.core.errors import BadInput

COOLEST_HOUR, WARMEST_HOUR = 5, 15
"""When a day is coolest and warmest, and a half cosine between: our own default."""
CLOSED_FROM_C = {"airway": 22.0, "heart": 24.0, "heat": 22.0, "age": 25.0, "weight": 25.0, "none": 29.5}
"""Heat index from which an hour is closed, by caution: our own defaults, to be changed with the dog's vet.

Without a caution: 85 F, the air temperature at which US transport rules for dogs want moving air (9 CFR 3.16).
"""


@dataclass(frozen=True, slots=True)
class HeatHour:
    """An hour of the day: air temperature, heat index, and whether it is closed to the dog."""

    hour: int
    temp_c: float
    heat_index_c: float
    closed: bool


def heat_index_c(temp_c: float, humidity_percent: float) -> float:
    """The heat index in degrees Celsius of air in the shade."""
    return (heat_index_f(temp_c * 9 / 5 + 32, humidity_percent) - 32) * 5 / 9


def heat_index_f(temp: float, humidity: float) -> float:
    """The heat index in degrees Fahrenheit: the plain form below 80, above it the regression and its adjustments."""
    plain = 0.5 * (temp + 61 + (temp - 68) * 1.2 + humidity * 0.094)
    if (plain + temp) / 2 < 80:
        return plain
    index = (
        -42.379
        + 2.04901523 * temp
        + 10.14333127 * humidity
        - 0.22475541 * temp * humidity
        - 0.00683783 * temp**2
        - 0.05481717 * humidity**2
        + 0.00122874 * temp**2 * humidity
        + 0.00085282 * temp * humidity**2
        - 0.00000199 * temp**2 * humidity**2
    )
    if humidity < 13 and 80 <= temp <= 112:
        return index - (13 - humidity) / 4 * math.sqrt((17 - abs(temp - 95)) / 17)
    if humidity > 85 and 80 <= temp <= 87:
        return index + (humidity - 85) / 10 * (87 - temp) / 5
    return index


def temp_at(
    hour: float, low_c: float, high_c: float, *, coolest: float = COOLEST_HOUR, warmest: float = WARMEST_HOUR
) -> float:
    """Air temperature at an hour of a day with this low and high: from low to high and back, as half cosines."""
    climb = warmest - coolest
    since = (hour - coolest) % 24
    part = since / climb if since <= climb else (since - climb) / (24 - climb)
    rising = (1 - math.cos(math.pi * part)) / 2
    return low_c + (high_c - low_c) * (rising if since <= climb else 1 - rising)


def hot_hours(
    low_c: float,
    high_c: float,
    humidity_percent: float,
    caution: str,
    closed_from_c: float | None = None,
    *,
    coolest: float = COOLEST_HOUR,
    warmest: float = WARMEST_HOUR,
) -> tuple[HeatHour, ...]:
    """The 24 hours of a day; the humidity is taken for all of them, which errs to the careful side at noon.

    `closed_from_c` replaces our own default. BadInput for a low above the high, or a caution not known.
    """
    if low_c > high_c:
        raise BadInput("low_c", f"is {low_c}, above high_c {high_c}")
    if caution not in CLOSED_FROM_C:
        raise BadInput("caution", f"is {caution!r}, expected one of {', '.join(CLOSED_FROM_C)}")
    limit = CLOSED_FROM_C[caution] if closed_from_c is None else closed_from_c
    hours = []
    for hour in range(24):
        temp = temp_at(hour, low_c, high_c, coolest=coolest, warmest=warmest)
        index = heat_index_c(temp, humidity_percent)
        hours.append(HeatHour(hour, temp, index, max(index, temp) >= limit))
    return tuple(hours)

"""The groomer's own ears and back, and the heat of the day."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from coatround.core.reckon.asked import Reckoner, a_number, a_word, rows
from coatround.core.reckon.cautions import HEAT, LIFT, NOISE
from coatround.core.trade import hearing, heat, lifting


def _noise(given: Mapping[str, Any]) -> dict[str, Any]:
    rule = hearing.RULES[given["rule"]]
    found = hearing.dose(rule, [hearing.Segment(one["dba"], one["minutes"]) for one in given["segments"]])
    level = "lex_8h_dba" if rule is hearing.LEX8H else "twa_dba"
    return {"dose_percent": found.percent, level: found.level_dba, "minutes_left": found.minutes_left}


def _lift(given: Mapping[str, Any]) -> dict[str, Any]:
    lift = lifting.Lift(**{name: part for name, part in given.items() if name != "load_kg"})
    limit = lifting.limit_kg(lift)
    return {
        "limit_kg": limit,
        "index": lifting.index(given["load_kg"], limit),
        "multipliers": asdict(lifting.multipliers(lift)),
    }


def _heat_index(given: Mapping[str, Any]) -> dict[str, Any]:
    return {"heat_index_c": heat.heat_index_c(given["temp_c"], given["humidity_percent"])}


def _hot_hours(given: Mapping[str, Any]) -> dict[str, Any]:
    caution = given["caution"]
    limit = given.get("closed_from_c", heat.CLOSED_FROM_C[caution])
    hours = heat.hot_hours(given["low_c"], given["high_c"], given["humidity_percent"], caution, limit)
    rule = (
        f"Closed from {limit:g} C, of the air or by heat index, whichever is more. The day runs from its low at "
        f"{heat.COOLEST_HOUR}:00 to its high at {heat.WARMEST_HOUR}:00. Both are our own defaults."
    )
    return {"hours": [asdict(hour) for hour in hours], "rule": rule}


HUMIDITY = a_number("humidity_percent", "Humidity", "percent", 0, 100, 45)
RECKONERS = (
    Reckoner(
        "noise",
        "Noise",
        "A day's noise dose from minutes at so many decibels.",
        (
            a_word("rule", "Rule", tuple(hearing.RULES), "niosh"),
            rows(
                "segments",
                "Noise",
                (a_number("dba", "Level", "dba", 0, 140, 95), a_number("minutes", "For", "minutes", 0, 1440, 30)),
                [{"dba": 95, "minutes": 30}, {"dba": 80, "minutes": 240}],
                100,
            ),
        ),
        _noise,
        "dose = 100 x sum of minutes / (480 / 2^((dBA - criterion) / exchange)); niosh 85 and 3, osha 90 and 5; "
        "lex8h is "
        "10 log10 of the mean energy over 8 hours, its dose against 85 dB(A).",
        "NIOSH 98-126 (1998) table 1-1; 29 CFR 1910.95 appendix A; ISO 9612 and WHS regulation 56 for lex8h. Dryers "
        "at 1 m: "
        "94.8 to 108.0 dBA (Scheifele et al. 2012, Noise Health 14:224).",
        NOISE,
    ),
    Reckoner(
        "lift",
        "Lift",
        "A first look at lifting a dog into the tub or onto the table.",
        (
            a_number("horizontal_cm", "Hands before the ankles", "cm", 0, 200, 35),
            a_number("vertical_cm", "Height of the hands at the start", "cm", 0, 250, 40),
            a_number("distance_cm", "How far up or down", "cm", 0, 250, 50),
            a_number("angle_deg", "Turn of the body", "deg", 0, 180, 0),
            a_number("per_minute", "Lifts a minute", "per minute", 0, 60, 0.2),
            a_number("hours", "For so many hours a day", "hours", 0, 8, 1, above=True),
            a_word("grip", "Grip", lifting.GRIPS, "poor"),
            a_number("load_kg", "Load", "kg", 0, 500, 18),
        ),
        _lift,
        "limit = 23 kg x 25/H x (1 - 0.003 |V - 75|) x (0.82 + 4.5/D) x (1 - 0.0032 A) x frequency x grip; index = "
        "load / limit.",
        "Applications Manual for the Revised NIOSH Lifting Equation, DHHS (NIOSH) 94-110, Rev. 9/2021, tables 5 and 7.",
        LIFT,
    ),
    Reckoner(
        "heat-index",
        "Heat index",
        "How warm the air feels to people in the shade.",
        (a_number("temp_c", "Air", "c", -40, 60, 31), HUMIDITY),
        _heat_index,
        "Rothfusz regression with the adjustments below 13 % and above 85 % humidity; the plain form below 80 F.",
        "US National Weather Service, SR 90-23; wpc.ncep.noaa.gov/html/heatindex_equation.shtml.",
        HEAT,
    ),
    Reckoner(
        "hot-hours",
        "Hot hours",
        "The hours of a day that a dog with a caution is better kept out of.",
        (
            a_number("low_c", "Low of the day", "c", -40, 60, 17),
            a_number("high_c", "High of the day", "c", -40, 60, 33),
            HUMIDITY,
            a_word("caution", "The dog's caution", tuple(heat.CLOSED_FROM_C), "airway"),
            a_number("closed_from_c", "Closed from, if not our default", "c", 0, 60, needed=False),
        ),
        _hot_hours,
        "Half a cosine from the low at 5:00 to the high at 15:00 and back; an hour is closed where air or heat "
        "index reach the "
        "caution's figure.",
        "The index: US National Weather Service. The curve and the figures are our own defaults; 29.5 C without a "
        "caution is "
        "the air temperature of 9 CFR 3.16.",
        HEAT,
    ),
)

"""One dog: its body, its coat, its food."""

from collections.abc import Mapping, Sequence
from typing import Any

from coatround.core.reckon.asked import Reckoner, a_number, a_whole, numbers, rows
from coatround.core.reckon.cautions import BODY, FOOD, HAIR
from coatround.core.trade import body, coat, food
from coatround.core.trade.water import body_surface_m2

ALIKE = 1.15
WEEK = 7


def _body_size(given: Mapping[str, Any]) -> dict[str, Any]:
    return {"surface_m2": body_surface_m2(given["kg"]), "resting_kcal": body.resting_kcal(given["kg"])}


def _coat(given: Mapping[str, Any]) -> dict[str, Any]:
    grooms = [coat.Comb(one["days"], one["grams"]) for one in given["grooms"]]
    belief = coat.believe(grooms, given["taken_share"])
    shed, loose = belief.shed_g_a_day(), belief.loose_share_a_day()
    line = coat.curve(belief)
    return {
        "shed_g_a_day": {"mean": shed.mean, "sd": shed.sd},
        "loose_share_a_day": {"mean": loose.mean, "sd": loose.sd},
        "curve": [
            {"interval_days": at.interval_days, "home_g_a_day": at.home_g_a_day, "low": at.low, "high": at.high}
            for at in line
        ],
        "advice": advice(line, given.get("household_grams_a_day"), [groom.days for groom in grooms]),
    }


def advice(line: Sequence[coat.HomeAt], accepted: float | None, days: Sequence[float]) -> str:
    """The longest interval at which the household's grams a day are kept, and how sure that is."""
    words = []
    if accepted is not None:
        kept = [at for at in line if at.home_g_a_day <= accepted]
        sure = [at for at in line if at.high <= accepted]
        if not kept:
            words.append(
                f"Even every {line[0].interval_days // WEEK} weeks leaves more than {accepted:g} g a day at home."
            )
        else:
            longest = kept[-1].interval_days // WEEK
            words.append(
                f"At most every {longest} weeks keeps it at or below {accepted:g} g a day at home, as far as is known."
            )
            words.append(
                f"Nineteen times of twenty every {sure[-1].interval_days // WEEK} weeks does."
                if sure
                else "It is not sure enough to promise any interval yet."
            )
    if len(days) < 3 or max(days) < ALIKE * min(days):
        words.append("Grooms at like intervals can't tell shedding from falling: one shorter or longer interval would.")
    return " ".join(words) or "Say how many grams a day at home the household accepts, and an interval is named."


def _food(given: Mapping[str, Any]) -> dict[str, Any]:
    found = food.food_change(given["before"], given["after"], given["days"])
    return {
        "change": found.change,
        "low": found.low,
        "high": found.high,
        "words": found.words % found.said,
        "parts": {"before": list(given["before"]), "after": list(given["after"]), "days": given["days"]},
    }


RECKONERS = (
    Reckoner(
        "body-size",
        "Body size",
        "Body surface and resting energy from weight.",
        (a_number("kg", "Weight", "kg", 0, 200, 12, above=True),),
        _body_size,
        "surface = 0.101 x kg^(2/3) square metres; resting energy = 70 x kg^0.75 kcal a day.",
        "Meeh's form with K = 10.1 for dogs and the resting energy formula, as veterinary manuals print them.",
        BODY,
    ),
    Reckoner(
        "coat",
        "Coat",
        "Loose hair: how much a dog sheds, how much falls at home, and what another interval would change.",
        (
            rows(
                "grooms",
                "Grooms, the earliest first",
                (
                    a_number("days", "Days since the one before", "", 0, 1000, 42, above=True),
                    a_number("grams", "Combed out", "g", 0, 5000, 45, above=True),
                ),
                [{"days": 42, "grams": 45}, {"days": 28, "grams": 36}, {"days": 63, "grams": 52}],
            ),
            a_number("taken_share", "Share of the loose hair that a groom takes", "share", 0, 1, 0.8, above=True),
            a_number(
                "household_grams_a_day", "What the household accepts at home a day", "g", 0, 1000, 1.5, needed=False
            ),
        ),
        _coat,
        "dL/dt = s - k L, a groom takes e L; grams log-normal about that, spread 0.25; s log-normal about 2 g a "
        "day, k about "
        "0.03 a day before anything is seen; low and high hold it nine times of ten.",
        "Our own model and our own defaults. Mass balance and calibration: docs/reckoning.md.",
        HAIR,
    ),
    Reckoner(
        "food",
        "Food",
        "Grades of itch, skin or ears before and after a change of food.",
        (
            numbers("before", "Grades before, the earliest first", "", 0, 100, [4, 3, 4]),
            numbers("after", "Grades since", "", 0, 100, [2, 1, 2]),
            a_whole("days", "Days since the change", "days", 0, 5000, 70),
        ),
        _food,
        "mean after less mean before; Welch's interval at 95 %.",
        "Eight weeks at the least: Olivry, Mueller and Prelaud 2015, BMC Vet Res 11:225.",
        FOOD,
    ),
)

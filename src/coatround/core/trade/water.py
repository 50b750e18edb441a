"""Water: how much a dog takes, and what is in the tank along a run."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil

from coatround.core.errors import BadInput

# Litres a square metre of dog for one wash, and for the rinses after the last: our own default, until a firm's own
# grooms say better. A dense undercoat holds most, bare skin least.
WASH_L_A_M2 = {
    "hairless": 8,
    "smooth": 12,
    "wire": 15,
    "mixed": 17,
    "silky": 18,
    "curly": 20,
    "double": 24,
}  # fmt: skip
RINSE_L_A_M2 = {
    "hairless": 10,
    "smooth": 14,
    "wire": 18,
    "mixed": 20,
    "silky": 20,
    "curly": 22,
    "double": 28,
}  # fmt: skip
WETTING_L = 3
# A middling weight of each size where none was taken: our own default.
GRAMS_BY_SIZE = {"tiny": 4_000, "small": 8_000, "medium": 15_000, "large": 27_000, "giant": 45_000}


def body_surface_m2(kg: float) -> float:
    """A dog's body surface in square metres: 0.101 * kg^(2/3). BadInput at 0 kg or below.

    Meeh's form with K = 10.1 for dogs, as printed in veterinary manuals (their tables lie up to 1 % below it).
    """
    if not kg > 0:
        raise BadInput("kg", f"is {kg}, expected more than 0")
    return float(0.101 * kg ** (2 / 3))


def litres_for(
    coat: str, size: str, weight_grams: int | None, washes: int, own: Mapping[str, float] | None = None
) -> int:
    """Litres one dog takes, wetting and rinsing included, rounded up; 0 for no wash.

    Our own default, from body surface and coat; `own` holds what a firm set instead, litres a square metre by "wash
    curly" and "rinse curly" (figures.py). `weight_grams` None takes a middling weight of the size. BadInput for
    a coat or size not known, or washes below 0.
    """
    if coat not in WASH_L_A_M2:
        raise BadInput("coat", f"is {coat!r}, expected one of {', '.join(sorted(WASH_L_A_M2))}")
    if washes < 0:
        raise BadInput("washes", f"is {washes}, expected 0 or more")
    if washes == 0:
        return 0
    surface_m2 = body_surface_m2(_grams(size, weight_grams) / 1000)
    wash = (own or {}).get(f"wash {coat}", WASH_L_A_M2[coat])
    rinse = (own or {}).get(f"rinse {coat}", RINSE_L_A_M2[coat])
    return ceil(WETTING_L + surface_m2 * (wash * washes + rinse))


def _grams(size: str, weight_grams: int | None) -> int:
    if weight_grams is not None:
        return weight_grams
    if size not in GRAMS_BY_SIZE:
        raise BadInput("size", f"is {size!r}, expected one of {', '.join(GRAMS_BY_SIZE)}")
    return GRAMS_BY_SIZE[size]


KJ_A_LITRE_K = 4.178
"""Heat that a litre of water, measured cold, takes for one degree: 999.1 g at 15 C, 4.182 kJ/(kg K) between 15 and 40 C
(IAPWS-IF97); within 0.3 % of it from 5 to 25 C cold and to 45 C warm."""


TAP_HOT_C, TAP_COLD_C, TEPID_C = 60, 15, 36
"""A boiler, a cold tap and a tepid bath where nothing else is known: our own default. No guideline for dogs is known
to us; sources say tepid or cool."""


@dataclass(frozen=True, slots=True)
class BathWater:
    """A bath from two taps: litres of hot and of cold, and the energy that heats all of it from cold."""

    hot_litres: float
    cold_litres: float
    kwh_from_cold: float


def bath_water(litres: float, target_c: float, hot_c: float, cold_c: float) -> BathWater:
    """Hot and cold for a bath at `target_c`, losses left out. BadInput where the target lies outside hot and cold."""
    if not litres > 0:
        raise BadInput("litres", f"is {litres}, expected more than 0")
    if not cold_c < hot_c:
        raise BadInput("hot_c", f"is {hot_c}, expected more than cold_c {cold_c}")
    if not cold_c <= target_c <= hot_c:
        raise BadInput("target_c", f"is {target_c}, expected from cold_c {cold_c} to hot_c {hot_c}")
    hot = litres * (target_c - cold_c) / (hot_c - cold_c)
    return BathWater(hot, litres - hot, litres * KJ_A_LITRE_K * (target_c - cold_c) / 3600)


@dataclass(frozen=True, slots=True)
class Draw:
    """So much drawn between two clock times (seconds after midnight): litres from the tank, or watt-hours."""

    start: int
    end: int
    amount: float


Point = tuple[int, float]


def tank_line(
    full: float,
    leave: int,
    back: int,
    draws: Sequence[Draw],
    refills: Sequence[tuple[int, int]] = (),
    *,
    at_start: float | None = None,
) -> tuple[Point, ...]:
    """What is left along a run, as (seconds, amount) corners of straight lines.

    It falls evenly while something is drawn and rises to `full` by the end of a refill. A plan that is wrong goes below
    zero here: nothing is hidden. Draws and refills may come in any order; they do not overlap.
    """
    level: float = full if at_start is None else at_start
    points: list[Point] = [(leave, level)]
    stops = [(draw.start, draw.end, draw.amount) for draw in draws]
    refilled: list[tuple[int, int, float | None]] = [(start, end, None) for start, end in refills]
    for start, end, amount in sorted([*stops, *refilled], key=lambda stop: (stop[0], stop[1])):
        points.append((start, level))
        level = full if amount is None else level - amount
        points.append((end, level))
    points.append((max(back, points[-1][0]), level))
    return tuple(dict.fromkeys(points))


def lowest(points: Sequence[Point]) -> Point:
    """The first corner at which least is left; BadInput for no points."""
    if not points:
        raise BadInput("points", "is empty, expected at least one")
    return min(points, key=lambda point: (point[1], point[0]))


def dry_at(points: Sequence[Point]) -> int | None:
    """When it would be empty, in seconds after midnight; None when it lasts."""
    for (start, before), (end, after) in pairwise(points):
        if after < 0 <= before:
            return round(start + (end - start) * before / (before - after))
    return points[0][0] if points and points[0][1] < 0 else None

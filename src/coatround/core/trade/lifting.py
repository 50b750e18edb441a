"""A first look at a lift: the revised NIOSH lifting equation, in metric units. Indicative: a dog is no steady load.

RWL = 23 kg * HM * VM * DM * AM * FM * CM. Source: Waters, Putz-Anderson and Garg, Applications Manual for the Revised
NIOSH Lifting Equation, DHHS (NIOSH) 94-110, Rev. 9/2021: multipliers, table 5 (frequency), table 7 (coupling). The
method leaves out one-handed lifts, lifting seated or kneeling, tight spaces and unstable loads.
"""

from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from coatround.core.errors import BadInput

LOAD_CONSTANT_KG = 23
MIDDLE_CM = 75
GRIPS = ("good", "fair", "poor")
Grip = Literal["good", "fair", "poor"]

# Lifts a minute: multipliers for up to 1, 2 and 8 hours, each below and from 75 cm (table 5, p. 15).
FREQUENCY: tuple[tuple[float, tuple[float, float, float, float, float, float]], ...] = (
    (0.2, (1.00, 1.00, 0.95, 0.95, 0.85, 0.85)),
    (0.5, (0.97, 0.97, 0.92, 0.92, 0.81, 0.81)),
    (1, (0.94, 0.94, 0.88, 0.88, 0.75, 0.75)),
    (2, (0.91, 0.91, 0.84, 0.84, 0.65, 0.65)),
    (3, (0.88, 0.88, 0.79, 0.79, 0.55, 0.55)),
    (4, (0.84, 0.84, 0.72, 0.72, 0.45, 0.45)),
    (5, (0.80, 0.80, 0.60, 0.60, 0.35, 0.35)),
    (6, (0.75, 0.75, 0.50, 0.50, 0.27, 0.27)),
    (7, (0.70, 0.70, 0.42, 0.42, 0.22, 0.22)),
    (8, (0.60, 0.60, 0.35, 0.35, 0.18, 0.18)),
    (9, (0.52, 0.52, 0.30, 0.30, 0.00, 0.15)),
    (10, (0.45, 0.45, 0.26, 0.26, 0.00, 0.13)),
    (11, (0.41, 0.41, 0.00, 0.23, 0.00, 0.00)),
    (12, (0.37, 0.37, 0.00, 0.21, 0.00, 0.00)),
    (13, (0.00, 0.34, 0.00, 0.00, 0.00, 0.00)),
    (14, (0.00, 0.31, 0.00, 0.00, 0.00, 0.00)),
    (15, (0.00, 0.28, 0.00, 0.00, 0.00, 0.00)),
)
GRIP_BELOW = {"good": 1.0, "fair": 0.95, "poor": 0.9}
GRIP_FROM_MIDDLE = {"good": 1.0, "fair": 1.0, "poor": 0.9}


@dataclass(frozen=True, slots=True)
class Lift:
    """One lift: hands before the ankles, height of the hands at its start, way up, turn, how often, how long, grip."""

    horizontal_cm: float
    vertical_cm: float
    distance_cm: float
    angle_deg: float
    per_minute: float
    hours: float
    grip: Grip


@dataclass(frozen=True, slots=True)
class Multipliers:
    """What each part of a lift leaves of 23 kg, from 0 to 1."""

    horizontal: float
    vertical: float
    distance: float
    asymmetry: float
    frequency: float
    coupling: float

    @property
    def product(self) -> float:
        return (
            self.horizontal * self.vertical * self.distance * self.asymmetry * self.frequency * self.coupling
        )  # fmt: skip


def multipliers(lift: Lift) -> Multipliers:
    """The six multipliers; one is 0 where the method allows no such lift. BadInput over 8 hours or a grip not known."""
    if lift.grip not in GRIPS:
        raise BadInput("grip", f"is {lift.grip!r}, expected one of {', '.join(GRIPS)}")
    low = lift.vertical_cm < MIDDLE_CM
    return Multipliers(
        horizontal=0.0 if lift.horizontal_cm > 63 else min(1.0, 25 / max(lift.horizontal_cm, 1e-9)),
        vertical=0.0 if lift.vertical_cm > 175 else 1 - 0.003 * abs(lift.vertical_cm - MIDDLE_CM),
        distance=0.0 if lift.distance_cm > 175 else 0.82 + 4.5 / max(lift.distance_cm, 25),
        asymmetry=0.0 if lift.angle_deg > 135 else 1 - 0.0032 * lift.angle_deg,
        frequency=frequency(lift.per_minute, lift.hours, low),
        coupling=(GRIP_BELOW if low else GRIP_FROM_MIDDLE)[lift.grip],
    )


def frequency(per_minute: float, hours: float, low: bool) -> float:
    """Table 5, straight between its rows (p. 7); from 0.2 down the first row, above 15 nothing."""
    if not 0 < hours <= 8:
        raise BadInput("hours", f"is {hours}, expected above 0, at most 8")
    column = (0 if hours <= 1 else 2 if hours <= 2 else 4) + (0 if low else 1)
    if per_minute <= FREQUENCY[0][0]:
        return FREQUENCY[0][1][column]
    for (before, first), (after, second) in pairwise(FREQUENCY):
        if per_minute <= after:
            share = (per_minute - before) / (after - before)
            return first[column] + share * (second[column] - first[column])
    return 0.0


def limit_kg(lift: Lift) -> float:
    """The recommended weight limit."""
    return LOAD_CONSTANT_KG * multipliers(lift).product


def index(load_kg: float, limit: float) -> float | None:
    """Load over limit: above 1 the task stresses some people; None where there is no limit to hold it against."""
    return load_kg / limit if limit > 0 else None

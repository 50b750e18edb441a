"""Food beside what is seen: grades before and after a change of food, with an honest interval. It names no allergy.

An elimination trial takes at least eight weeks and belongs to a vet (Olivry, Mueller and Prelaud 2015, BMC Vet Res
11:225): under eight weeks the words are "too early to tell". The interval is Welch's at 95 %.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean, variance

from coatround.core.errors import BadInput

LEAST_DAYS = 56
# Student's t, 97.5 %, 1 to 30 degrees of freedom.
T_975 = (
    12.7062, 4.3027, 3.1824, 2.7764, 2.5706, 2.4469, 2.3646, 2.3060, 2.2622, 2.2281,
    2.2010, 2.1788, 2.1604, 2.1448, 2.1314, 2.1199, 2.1098, 2.1009, 2.0930, 2.0860,
    2.0796, 2.0739, 2.0687, 2.0639, 2.0595, 2.0555, 2.0518, 2.0484, 2.0452, 2.0423,
)  # fmt: skip
NORMAL_975 = 1.959964
TOO_EARLY = (
    "Too early to tell: %(days)d days on this food; eight weeks at the least, and such a trial belongs to a vet."
)
TOO_FEW = "Too few to tell: two grades before and two after are needed."
LOWER = (
    "Lower on this food, by %(by)s on average. That is no proof that the food did it; ask a vet before changing more."
)
HIGHER = "Higher on this food, by %(by)s on average. That is no proof that the food did it; ask a vet."
NO_CHANGE = "No change that stands out from this dog's own ups and downs."


@dataclass(frozen=True, slots=True)
class FoodChange:
    """Mean grade after less before, its 95 % interval (None for too few), and the words with what fills them."""

    change: float | None
    low: float | None
    high: float | None
    words: str
    said: dict[str, object]


def t_975(freedom: float) -> float:
    """Student's t at 97.5 %: a table to 30, above it Fisher's expansion; between whole numbers the careful one."""
    whole = math.floor(freedom)
    if whole < 1:
        return T_975[0]
    if whole <= len(T_975):
        return T_975[whole - 1]
    z = NORMAL_975
    return z + (z**3 + z) / (4 * whole) + (5 * z**5 + 16 * z**3 + 3 * z) / (96 * whole**2)


def food_change(before: Sequence[float], after: Sequence[float], days: int) -> FoodChange:
    """How grades differ since a food was changed `days` ago. BadInput for days below 0."""
    if days < 0:
        raise BadInput("days", f"is {days}, expected 0 or more")
    if len(before) < 2 or len(after) < 2:
        return FoodChange(None, None, None, TOO_EARLY if days < LEAST_DAYS else TOO_FEW, {"days": days})
    change = fmean(after) - fmean(before)
    parts = variance(before) / len(before), variance(after) / len(after)
    error = math.sqrt(sum(parts))
    freedom = 1.0
    if error > 0:
        freedom = sum(parts) ** 2 / (parts[0] ** 2 / (len(before) - 1) + parts[1] ** 2 / (len(after) - 1))
    reach = t_975(freedom) * error
    low, high = change - reach, change + reach
    words = TOO_EARLY if days < LEAST_DAYS else LOWER if high < 0 else HIGHER if low > 0 else NO_CHANGE
    return FoodChange(change, low, high, words, {"days": days, "by": f"{abs(change):.1f}"})

"""Control charts: a slow drift shows, noise does not. EWMA and tabular CUSUM as in the NIST/SEMATECH e-Handbook.

6.3.2.4 (EWMA, Roberts 1959, limits after many values) and 6.3.2.3 (CUSUM, Page 1954). Numbers of signals begin at 1.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from coatround.core.errors import BadInput

WEIGHT, WIDTH = 0.3, 2.4
"""Weight of the newest value and limits in standard deviations for a dog's own chart: our own default, by simulation
(docs/benchmarks.md)."""
FIRST = 4
"""A dog's chart begins when so many values gave it a middle of its own: our own default."""


@dataclass(frozen=True, slots=True)
class Ewma:
    """The weighted mean after each value, its limits, and which values lay outside them (the first is 1)."""

    series: tuple[float, ...]
    low: float
    high: float
    signals: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Cusum:
    """The sums above and below the target after each value, and which were over `limit` (the first is 1)."""

    high: tuple[float, ...]
    low: tuple[float, ...]
    limit: float
    signals: tuple[int, ...]


def ewma(values: Sequence[float], target: float, sd: float, weight: float, width: float) -> Ewma:
    """The chart with limits at `width` standard deviations of its own. BadInput outside 0 < weight <= 1, sd >= 0."""
    if not 0 < weight <= 1:
        raise BadInput("lambda", f"is {weight}, expected above 0, at most 1")
    if sd < 0 or width < 0:
        raise BadInput("sd" if sd < 0 else "width", "is below 0, expected 0 or more")
    reach = width * sd * math.sqrt(weight / (2 - weight))
    series, level = [], target
    for value in values:
        level += weight * (value - level)
        series.append(level)
    out = tuple(place for place, level in enumerate(series, 1) if abs(level - target) > reach)
    return Ewma(tuple(series), target - reach, target + reach, out)


def cusum(values: Sequence[float], target: float, k: float, h: float) -> Cusum:
    """The sums beyond `k` from the target, over at `h`; both in the unit of the values. BadInput below 0."""
    if k < 0 or h < 0:
        raise BadInput("k" if k < 0 else "h", "is below 0, expected 0 or more")
    above, below = 0.0, 0.0
    highs, lows = [], []
    for value in values:
        above = max(0.0, above + value - target - k)
        below = max(0.0, below + target - value - k)
        highs.append(above)
        lows.append(below)
    out = tuple(place for place, pair in enumerate(zip(highs, lows, strict=True), 1) if max(pair) > h)
    return Cusum(tuple(highs), tuple(lows), h, out)


@dataclass(frozen=True, slots=True)
class OwnChart:
    """A dog's own chart: its middle and spread from its first values, the EWMA over those after them."""

    middle: float
    sd: float
    chart: Ewma
    first: int

    @property
    def has_drifted(self) -> bool:
        """Whether the latest value lies outside the dog's own limits."""
        return bool(self.chart.series) and self.chart.signals[-1:] == (len(self.chart.series),)


def own_chart(values: Sequence[float], usual_sd: float, usual_worth: float = 6.0) -> OwnChart | None:
    """The chart of one dog's values in order; None while there are no more than FIRST of them.

    Its spread is that of its first values, drawn toward what is usual (`usual_sd`, as if from `usual_worth` values):
    four values alone say little. The middle from few values is itself unsure, which widens the limits.
    """
    if len(values) <= FIRST:
        return None
    first = values[:FIRST]
    middle = sum(first) / FIRST
    squares = sum((value - middle) ** 2 for value in first) + usual_worth * usual_sd**2
    sd = math.sqrt(squares / (FIRST - 1 + usual_worth))
    share = WEIGHT / (2 - WEIGHT)
    wider = math.sqrt((share + 1 / FIRST) / share)
    return OwnChart(middle, sd, ewma(values[FIRST:], middle, sd, WEIGHT, WIDTH * wider), FIRST)

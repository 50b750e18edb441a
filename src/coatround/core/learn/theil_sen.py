"""A slope that few wild values can't turn: the median of the slopes of all pairs (Theil 1950, Sen 1968)."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Slope:
    """The slope, and between what it lies; no slope at all where no pair differs."""

    median: float
    low: float
    high: float


def theil_sen(x: Floats, y: Floats, groups: Whole, deviations: float) -> Slope | None:
    """The slope within groups that may lie at heights of their own; only pairs of one group are looked at.

    The limits are Sen's, by the variance of Kendall's sum, added up over groups (Hirsch and Slack 1984), at so many
    standard deviations.
    """
    slopes, variance = [], 0.0
    for group in np.unique(groups):
        here = groups == group
        slopes.append(_slopes(x[here], y[here]))
        count = int(here.sum())
        variance += count * (count - 1) * (2 * count + 5) / 18
    every = np.sort(np.concatenate(slopes)) if slopes else np.empty(0)
    if not len(every):
        return None
    reach = deviations * math.sqrt(variance)
    low = max(round((len(every) - reach) / 2) - 1, 0)
    high = min(round((len(every) + reach) / 2), len(every) - 1)
    return Slope(float(np.median(every)), float(every[low]), float(every[high]))


def _slopes(x: Floats, y: Floats) -> Floats:
    first, second = np.triu_indices(len(x), 1)
    apart = x[second] - x[first]
    differs = apart != 0
    slopes: Floats = (y[second] - y[first])[differs] / apart[differs]
    return slopes

"""How far the length of a visit's work is from what was expected: one spread for a firm, from visits that happened."""

import math
from collections.abc import Iterable
from statistics import median

BELIEVED_SPREAD = 0.20
BELIEVED_VISITS = 30
"""Our own defaults: before anything is seen, work is log-normal with this spread, as if from so many visits."""

SHORTEST, LONGEST = 1 / 4, 4
"""What took a quarter of the expected time, or four times as long, was something else: our own default."""


def work_spread(visits: Iterable[tuple[int, int]]) -> float:
    """The standard deviation of the logarithm of actual over expected seconds, drawn toward 0.20 while few are seen.

    Always longer or always shorter is no spread: the median ratio is taken out first.
    """
    ratios = [actual / expected for expected, actual in visits if expected > 0 and actual > 0]
    logs = [math.log(ratio) for ratio in ratios if SHORTEST <= ratio <= LONGEST]
    middle = median(logs) if logs else 0.0
    squares = sum((one - middle) ** 2 for one in logs) + BELIEVED_VISITS * BELIEVED_SPREAD**2
    return math.sqrt(squares / (len(logs) + BELIEVED_VISITS))

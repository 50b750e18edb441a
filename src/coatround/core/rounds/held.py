"""How often arrival windows held, and what that teaches about their width.

An interval for a share is exact: Clopper and Pearson 1934. The factor on the spread is the most likely one for the
probability integral transforms of past arrivals (Dawid 1984): were the windows right, they would be standard normal; a
factor f makes them normal with standard deviation f. Being late or early throughout counts as width too, so that the
windows hold.
"""

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from coatround.core.errors import BadInput
from coatround.core.rounds.arrivals import Arrival, window_levels
from coatround.core.rounds.problem import Window

ENOUGH_ARRIVALS = 50
ENOUGH_RUNS = 10
"""Our own defaults: from so many arrivals on so many runs on, what they taught is used."""
BELIEVED = 0.25
"""Our own default before anything is seen: the spread is right to within a quarter (in logarithms, one deviation)."""
NARROWEST, WIDEST = 0.25, 4.0
NORMAL = NormalDist()


@dataclass(frozen=True, slots=True)
class Held:
    """So many of `count` arrivals were inside; the share that would be lies between `low` and `high` with 95 %."""

    count: int
    inside: int
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Happened:
    """A visit that was reached: on which run, what was reckoned before, and the clock seconds of being at the door."""

    run: str
    arrival: Arrival
    at: int


@dataclass(frozen=True, slots=True)
class Correction:
    """What to multiply every spread by. `factor` is for use: `learnt` where it is `used`, else 1."""

    factor: float
    learnt: float
    arrivals: int
    runs: int
    used: bool


def held(windows: Sequence[Window], arrived: Sequence[int]) -> Held:
    """How often windows held what arrived, both ends inside; raises BadInput where they are not as many."""
    if len(windows) != len(arrived):
        raise BadInput("arrived", f"has {len(arrived)} times, expected one for each of {len(windows)} windows")
    inside = sum(low <= at <= high for (low, high), at in zip(windows, arrived, strict=True))
    return Held(len(windows), inside, *exact_interval(inside, len(windows)))


def exact_interval(inside: int, count: int, share: float = 0.95) -> tuple[float, float]:
    """Clopper and Pearson's limits for a share of which `inside` of `count` were seen; (0, 1) for none."""
    tail = (1 - share) / 2
    low = 0.0 if inside == 0 else _crossing(lambda p: tail - 1 + _at_most(inside - 1, count, p))
    high = 1.0 if inside == count else _crossing(lambda p: _at_most(inside, count, p) - tail)
    return low, high


def _at_most(inside: int, count: int, p: float) -> float:
    """The chance of at most `inside` of `count`, at a chance `p` each (0 < p < 1)."""
    logs = np.concatenate([[0.0], np.cumsum(np.log(np.arange(1, count + 1)))])
    k = np.arange(inside + 1)
    ways = logs[count] - logs[k] - logs[count - k]
    return float(np.sum(np.exp(ways + k * math.log(p) + (count - k) * math.log1p(-p))))


def _crossing(falls: Callable[[float], float]) -> float:
    """Where a function that falls over (0, 1) is 0, by halving."""
    low, high = 0.0, 1.0
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (middle, high) if falls(middle) > 0 else (low, middle)
    return (low + high) / 2


def corrected(happened: Iterable[Happened]) -> Correction:
    """The factor on the spread that past arrivals teach, in whatever order they come.

    Arrivals of one run are late together, so a run counts as one, however many stops it has; few runs leave the factor
    near 1. The factors that the windows were reckoned with are taken out first.
    """
    seen = sorted(happened, key=lambda one: (one.run, one.arrival.key, one.at))
    places = [(one.run, low, high) for one in seen for low, high in _place(one)]
    runs = len({run for run, _, _ in places})
    if not places:
        return Correction(1.0, 1.0, 0, 0, False)
    weight = runs / len(places)
    exact = np.array([low for _, low, high in places if low == high])
    parts = [(low, high) for _, low, high in places if low != high]

    def unlikely(log_factor: float) -> float:
        factor = math.exp(log_factor)
        surprise = len(exact) * log_factor + float(np.sum(exact**2)) / (2 * factor**2)
        surprise -= sum(math.log(_between(low / factor, high / factor)) for low, high in parts)
        return weight * surprise + (log_factor / BELIEVED) ** 2 / 2

    learnt = math.exp(_lowest(unlikely, math.log(NARROWEST), math.log(WIDEST)))
    used = len(places) >= ENOUGH_ARRIVALS and runs >= ENOUGH_RUNS
    return Correction(learnt if used else 1.0, learnt, len(places), runs, used)


def _between(low: float, high: float) -> float:
    return max(NORMAL.cdf(high) - NORMAL.cdf(low), 1e-12)


def _lowest(of: Callable[[float], float], low: float, high: float) -> float:
    """Where a function with one valley is lowest, by golden section."""
    golden = (math.sqrt(5) - 1) / 2
    left, right = high - golden * (high - low), low + golden * (high - low)
    at_left, at_right = of(left), of(right)
    for _ in range(40):
        if at_left <= at_right:
            high, right, at_right = right, left, at_left
            left = high - golden * (high - low)
            at_left = of(left)
        else:
            low, left, at_left = left, right, at_right
            right = low + golden * (high - low)
            at_right = of(right)
    return (low + high) / 2


def _place(one: Happened) -> list[tuple[float, float]]:
    """Between which normal deviations an arrival lay, at a spread of 1; nothing where the windows have no width.

    A van that waited would have come at any time before, so only that it was early is known; and only that it was late
    where all that was reckoned is waiting.
    """
    arrival, spread = one.arrival, one.arrival.spread
    knots = _knots(arrival)
    if arrival.waits and one.at <= arrival.opens:
        return [(-math.inf, spread * NORMAL.inv_cdf(arrival.waits))] if arrival.waits < 1 else []
    if len(knots) >= 2:
        deviation = spread * _deviation(knots, one.at)
        return [(deviation, deviation)]
    return [(spread * NORMAL.inv_cdf(arrival.waits), math.inf)] if 0 < arrival.waits < 1 else []


def _knots(arrival: Arrival) -> list[tuple[int, float]]:
    """Clock seconds and normal deviations known of an arrival, both rising; none where nothing spreads."""
    known: dict[int, float] = {}
    if 0 < arrival.waits < 1:
        known[arrival.opens] = NORMAL.inv_cdf(arrival.waits)
    ends = [(0.5, arrival.median)]
    for share, window in ((0.8, arrival.window_80), (0.95, arrival.window_95)):
        ends += zip(window_levels(share, arrival.waits), window, strict=True)
    for level, at in ends:
        if arrival.waits < level < 1:
            known.setdefault(at, NORMAL.inv_cdf(level))
    return sorted(known.items())


def _deviation(knots: Sequence[tuple[int, float]], at: int) -> float:
    """Straight between knots, and on beyond the outer two."""
    after = next((i for i in range(1, len(knots) - 1) if at <= knots[i][0]), len(knots) - 1)
    (x0, z0), (x1, z1) = knots[after - 1], knots[after]
    return z0 + (z1 - z0) * (at - x0) / (x1 - x0)

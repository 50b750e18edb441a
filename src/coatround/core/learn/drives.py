"""What drives really take against what was expected: a factor by kind of road and hour, with its uncertainty.

    log((taken - standing) / expected) = overall + kind of road + hours of the day + what is left over

`standing` is what goes by between records without driving (parking, ringing, the last things put away): short drives
would else seem slower than long ones. It is the slope of taken / expected on 1 / expected (Theil 1950, Sen 1968). The
rest is a mixed model with partial pooling towards 0, which is "the engine is right" (see `pooled`). Values farther from
the fit than two robust standard deviations are pulled in to there (winsorised residuals: Huber, Robust Statistics,
1981), and the uncertainty is widened for that and for drives of one day being alike (design effect: Kish 1965).
"""

import datetime as dt
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import NDArray

from coatround.core.errors import BadInput
from coatround.core.learn.pooled import Belief, Groupings, Pooled, pooled
from coatround.core.learn.theil_sen import theil_sen
from coatround.core.units import HOUR

STREETS, MAIN_ROADS, OPEN_ROAD = "streets", "main roads", "open road"
KINDS = (STREETS, MAIN_ROADS, OPEN_ROAD)
SLOW_KM_H, FAST_KM_H = 30, 60
"""Our own default: the mean speeds expected between which a drive is one on main roads."""
HOURS = ((0, 9), (9, 12), (12, 15), (15, 18), (18, 24))
"""Our own default: the parts of a day, by the hour of leaving."""
ENOUGH_DRIVES = 30
"""Our own default: from so many drives in all on, a factor is used."""
WIDEST = 1.25
"""Our own default: a factor is used where the upper end of its interval is at most so many times the lower."""
DEVIATIONS_80 = 1.2815515655446004
"""Four fifths of a normal distribution lie within so many standard deviations."""
BELIEF = Belief(mean_spread=0.25, group_spread=0.1, group_weight=2, value_spread=0.25, value_weight=5)
"""Our own default before anything is seen, in logarithms: an engine is right to within a quarter."""
STANDING_SPREAD = 180.0
"""Our own default before anything is seen: seconds of standing, a standard deviation from none."""
MOST_STANDING = 900.0
PULLED_IN = 2.0
LEAST_SPREAD = 0.02
LEAST_SHARE = 0.1
PAIRED_DRIVES = 2000
ROUNDS = 12

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class DriveSeen:
    """A drive that happened: its date, the hour of leaving, what was expected, and what it took.

    Whole seconds and metres; `by_road` says whether the expectation was the road engine's or an estimate.
    """

    date: dt.date
    hour: int
    seconds_expected: int
    metres: int
    seconds_taken: int
    by_road: bool = True


@dataclass(frozen=True, slots=True)
class Factor:
    """What to multiply expected seconds by.

    `median` is for use: `learnt` where it is `used`, else 1. The factor lies between `low` and `high` with 80 %; a
    single drive spreads more. `drives` were seen of this kind and hour.
    """

    median: float
    low: float
    high: float
    drives: int
    used: bool
    learnt: float


@dataclass(frozen=True, slots=True)
class Standing:
    """Seconds that go by without driving between two records, and between what they lie with 80 %."""

    seconds: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Learned:
    """What the drives taught. `spread` is the standard deviation of a single drive's logarithm."""

    drives: int
    overall: Factor
    factors: Mapping[tuple[str, int | None], Factor]
    spread: float
    standing: Standing

    def factor(self, kind: str, hour: int | None) -> Factor:
        """The factor of a kind of road, at an hour of leaving or over the whole day; raises BadInput."""
        if kind not in KINDS:
            raise BadInput("kind", f"is {kind!r}, expected one of {', '.join(KINDS)}")
        return self.factors[kind, None if hour is None else hours_of(hour)]


def road_kind(seconds: int, metres: int) -> str:
    """The kind of road of a drive, by the mean speed expected; raises BadInput."""
    if seconds <= 0:
        raise BadInput("seconds", f"is {seconds}, expected more than 0")
    metres_an_hour = metres * HOUR
    if metres_an_hour < SLOW_KM_H * 1000 * seconds:
        return STREETS
    return MAIN_ROADS if metres_an_hour <= FAST_KM_H * 1000 * seconds else OPEN_ROAD


def hours_of(hour: int) -> int:
    """Which of HOURS an hour of the day (0 to 23) lies in; raises BadInput."""
    if not 0 <= hour < 24:
        raise BadInput("hour", f"is {hour}, expected 0 to 23")
    return next(number for number, (start, end) in enumerate(HOURS) if start <= hour < end)


def learn(seen: Iterable[DriveSeen]) -> Learned:
    """What these drives teach, in whatever order they come; raises BadInput for one without expected seconds."""
    rows = _Rows.of(seen)
    standing, standing_variance = _standing(rows)
    ratio = np.log(np.maximum((rows.taken - standing) / rows.expected, LEAST_SHARE))
    found, left = _fitted(ratio, rows)
    factors = _Factors(found, rows, standing, standing_variance)
    reach = DEVIATIONS_80 * math.sqrt(standing_variance)
    return Learned(
        drives=len(ratio),
        overall=factors.overall(),
        factors={
            (kind, hours): factors.of(number, hours)
            for number, kind in enumerate(KINDS)
            for hours in (None, *range(len(HOURS)))
        },
        spread=_spread(left),
        standing=Standing(standing, max(standing - reach, 0), standing + reach),
    )


@dataclass(frozen=True, slots=True)
class _Rows:
    """The drives as columns, in an order that depends on nothing but themselves."""

    expected: Floats
    taken: Floats
    kinds: Whole
    hours: Whole
    days: Whole

    @classmethod
    def of(cls, seen: Iterable[DriveSeen]) -> Self:
        rows = sorted(
            (one.date.toordinal(), one.hour, one.seconds_expected, one.metres, one.seconds_taken) for one in seen
        )
        kinds = [KINDS.index(road_kind(expected, metres)) for _day, _hour, expected, metres, _taken in rows]
        table = np.array(rows, dtype=float).reshape(len(rows), 5)
        return cls(
            table[:, 2],
            table[:, 4],
            np.array(kinds, dtype=np.int64),
            np.array([hours_of(row[1]) for row in rows], dtype=np.int64),
            table[:, 0].astype(np.int64),
        )


def _standing(rows: _Rows) -> tuple[float, float]:
    """Seconds of standing and their variance; what was believed before holds back what few drives say."""
    believed = STANDING_SPREAD**2
    some = np.unique(np.linspace(0, len(rows.taken) - 1, min(len(rows.taken), PAIRED_DRIVES)).round().astype(int))
    expected, taken = rows.expected[some], rows.taken[some]
    slope = theil_sen(1 / expected, taken / expected, rows.kinds[some], deviations=1)
    if slope is None:
        return 0.0, believed
    variance = max((slope.high - slope.low) / 2, 1.0) ** 2
    seconds = slope.median * believed / (believed + variance)
    return min(max(seconds, 0.0), MOST_STANDING), believed * variance / (believed + variance)


def _fitted(ratio: Floats, rows: _Rows) -> tuple[Pooled, Floats]:
    """The model of the logarithms, and what it leaves over of each drive before anything is pulled in."""
    groupings = Groupings([rows.kinds, rows.hours], [len(KINDS), len(HOURS)])
    if not len(ratio):
        return pooled(ratio, groupings, BELIEF), ratio
    fit = np.full(len(ratio), np.median(ratio))
    for _round in range(ROUNDS):
        left = ratio - fit
        most = PULLED_IN * max(float(np.median(np.abs(left))) * 1.4826, LEAST_SPREAD)
        held = np.clip(left, -most, most)
        share = max(float(np.mean(np.abs(left) <= most)), 0.5)
        found = pooled(fit + held, groupings, BELIEF, share**2 / _alike(held, rows.days))
        fit = found.mean + np.take(found.groups[0], rows.kinds) + np.take(found.groups[1], rows.hours)
    return found, ratio - fit


def _alike(left: Floats, days: Whole) -> float:
    """How many drives say no more than one of their own day would: 1 + (size of a day - 1) x correlation in a day."""
    _, number, sizes = np.unique(days, return_inverse=True, return_counts=True)
    size, groups = len(left), len(sizes)
    if groups < 2 or size <= groups:
        return 1.0
    means = np.bincount(number, left) / sizes
    within = float(np.sum((left - means[number]) ** 2)) / (size - groups)
    among = float(np.sum(sizes * (means - left.mean()) ** 2)) / (groups - 1)
    usual = (size - float(np.sum(sizes**2)) / size) / (groups - 1)
    between = max((among - within) / usual, 0.0)
    if between == 0:
        return 1.0
    return 1 + (float(np.sum(sizes**2)) / size - 1) * between / (between + within)


@dataclass(frozen=True, slots=True)
class _Factors:
    """Makes factors of what was found."""

    found: Pooled
    rows: _Rows
    standing: float
    standing_variance: float

    def overall(self) -> Factor:
        kinds = _shares(self.rows.kinds, len(KINDS))
        return self._factor(kinds, self._hour_shares(), np.ones(len(self.rows.kinds), dtype=bool))

    def of(self, kind: int, hours: int | None) -> Factor:
        """The factor of a kind in one part of the day, or over all of it as the drives lie."""
        these = self.rows.kinds == kind
        among = self._hour_shares() if hours is None else np.eye(len(HOURS))[hours]
        if hours is not None:
            these &= self.rows.hours == hours
        return self._factor(np.eye(len(KINDS))[kind], among, these)

    def _hour_shares(self) -> Floats:
        return _shares(self.rows.hours, len(HOURS))

    def _factor(self, kinds: Floats, hours: Floats, these: NDArray[np.bool_]) -> Factor:
        """Of the means weighted so; where standing is not known well, neither is the factor."""
        weights = np.concatenate([[1.0], kinds, hours])
        parts = np.concatenate([[self.found.mean], *self.found.groups])
        taken = self.rows.taken[these] if these.any() else self.rows.taken
        pull = float(np.mean(1 / np.maximum(taken - self.standing, 60))) if len(taken) else 0.0
        variance = float(weights @ self.found.covariance @ weights) + pull**2 * self.standing_variance
        middle, reach = float(weights @ parts), DEVIATIONS_80 * math.sqrt(variance)
        used = len(self.rows.taken) >= ENOUGH_DRIVES and math.exp(2 * reach) <= WIDEST
        learnt = math.exp(middle)
        low, high = math.exp(middle - reach), math.exp(middle + reach)
        return Factor(learnt if used else 1.0, low, high, int(these.sum()), used, learnt)


def _shares(numbers: Whole, count: int) -> Floats:
    """The share of drives in each group; all alike where there is none."""
    counts = np.bincount(numbers, minlength=count).astype(float)
    return counts / counts.sum() if counts.sum() else np.full(count, 1 / count)


def _spread(left: Floats) -> float:
    """A single drive's spread by the middle four fifths of what is left over, with what was believed before."""
    believed, weight = BELIEF.value_spread**2, BELIEF.value_weight
    if not len(left):
        return BELIEF.value_spread
    tenth, nine_tenths = np.quantile(left, (0.1, 0.9))
    seen = float((nine_tenths - tenth) / (2 * DEVIATIONS_80)) ** 2
    return math.sqrt((weight * believed + len(left) * seen) / (weight + len(left)))

"""Loose hair on a dog and in its home: our own model, a first-order balance, with how sure it is.

dL/dt = s - k L: hair comes loose at s grams a day, and of what is loose a share k falls at home a day. A groom takes
the share e of what is loose. Between two grooms L(d) = s/k + (L(0) - s/k) exp(-k d); what falls at home is s d less
what L gained, so nothing is lost. Before the first groom written down the dog is taken to have been groomed at that
same interval for long.

Grams combed out are log-normal about e L with a spread of NOISE. Beliefs before anything is seen: s log-normal about
2 g a day, k log-normal about 0.03 a day. Given k all that is left is linear in log s, so its answer is exact; k is
looked at on a fixed grid. Intervals that are alike can't tell s from k, and then the answer stays as wide as
the belief.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coatround.core.errors import BadInput

SHED_MEDIAN, SHED_SPREAD = 2.0, 0.8
LOOSE_MEDIAN, LOOSE_SPREAD = 0.03, 0.6
NOISE = 0.25
"""Our own defaults: medians in grams a day and a day, spreads of logarithms."""
INTERVALS_DAYS = tuple(range(14, 85, 7))
NINETY = 0.05, 0.95
_POINTS, _REACH = 161, 4.0

Floats = NDArray[np.float64]
_erf = np.vectorize(math.erf, otypes=[np.float64])


@dataclass(frozen=True, slots=True)
class Comb:
    """One groom: days since the one before, grams combed out; None where they were not weighed."""

    days: float
    grams: float | None


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of one figure: mean, standard deviation, and where it lies nine times of ten."""

    mean: float
    sd: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class HomeAt:
    """Grams a day at home with so many days between grooms, and where that lies nine times of ten."""

    interval_days: int
    home_g_a_day: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class CoatBelief:
    """What is believed of one dog's coat: for each k of a grid its weight, and log s given k (mean, one spread)."""

    loose: Floats
    weights: Floats
    log_shed: Floats
    spread: float
    taken_share: float

    def shed_g_a_day(self) -> Known:
        """Grams that come loose a day."""
        return self._of(lambda loose: np.ones_like(loose))

    def loose_share_a_day(self) -> Known:
        """The share of what is loose that falls at home a day."""
        mean = float(self.weights @ self.loose)
        sd = math.sqrt(max(float(self.weights @ (self.loose - mean) ** 2), 0))
        low, high = np.interp(NINETY, np.cumsum(self.weights) - self.weights / 2, self.loose)
        return Known(mean, sd, float(low), float(high))

    def home_g_a_day(self, interval_days: float) -> Known:
        """Grams a day that fall at home when the dog is groomed every so many days."""
        return self._of(lambda loose: home_share(loose, interval_days, self.taken_share))

    def combed_g(self, interval_days: float) -> Known:
        """Grams that a groom takes when the dog is groomed every so many days."""
        return self._of(lambda loose: self.taken_share * steady_loose(loose, interval_days, self.taken_share))

    def _of(self, share: Callable[[Floats], Floats]) -> Known:
        """s times a share that hangs on k: a mixture of log-normals."""
        middles = self.log_shed + np.log(share(self.loose))
        means = np.exp(middles + self.spread**2 / 2)
        mean = float(self.weights @ means)
        square = float(self.weights @ (means**2 * math.exp(self.spread**2)))
        low, high = (self._quantile(middles, part) for part in NINETY)
        return Known(mean, math.sqrt(max(square - mean**2, 0)), low, high)

    def _quantile(self, middles: Floats, part: float) -> float:
        low, high = float(middles.min()) - 8 * self.spread, float(middles.max()) + 8 * self.spread
        for _step in range(40):
            middle = (low + high) / 2
            below = float(self.weights @ (1 + _erf((middle - middles) / (self.spread * math.sqrt(2))))) / 2
            low, high = (middle, high) if below < part else (low, middle)
        return math.exp((low + high) / 2)


def loose_after(loose_g: float, days: float, shed_g_a_day: float, loose_share_a_day: float) -> float:
    """Grams loose so many days later, nothing taken."""
    ceiling = shed_g_a_day / loose_share_a_day
    return ceiling + (loose_g - ceiling) * math.exp(-loose_share_a_day * days)


def fallen_g(loose_g: float, days: float, shed_g_a_day: float, loose_share_a_day: float) -> float:
    """Grams that fall at home in so many days: what was shed, less what is now loose more than before."""
    return shed_g_a_day * days - (loose_after(loose_g, days, shed_g_a_day, loose_share_a_day) - loose_g)


def steady_loose(loose: Floats, interval_days: float, taken_share: float) -> Floats:
    """Loose hair at a groom for one gram shed a day, when all intervals are alike; `loose` are shares a day."""
    left = np.exp(-loose * interval_days)
    steady: Floats = -np.expm1(-loose * interval_days) / loose / (1 - (1 - taken_share) * left)
    return steady


def home_share(loose: Floats, interval_days: float, taken_share: float) -> Floats:
    """The share of what is shed that falls at home, when all intervals are alike: the rest is taken."""
    share: Floats = 1 - taken_share * steady_loose(loose, interval_days, taken_share) / interval_days
    return np.maximum(share, 1e-12)


def combed(loose: Floats, days: Sequence[float], taken_share: float) -> Floats:
    """Grams combed out at each groom for one gram shed a day, a row a groom and a column a share."""
    before = steady_loose(loose, days[0], taken_share)
    rows = []
    for place, length in enumerate(days):
        if place:
            left = np.exp(-loose * length)
            before = before * (1 - taken_share) * left - np.expm1(-loose * length) / loose
        rows.append(taken_share * before)
    return np.array(rows)


def believe(grooms: Sequence[Comb], taken_share: float) -> CoatBelief:
    """What the grooms of one dog say of its coat. BadInput for no grooms, no days, no grams or no share taken."""
    if not grooms:
        raise BadInput("grooms", "is empty, expected at least one")
    for place, groom in enumerate(grooms):
        if not groom.days > 0 or (groom.grams is not None and not groom.grams > 0):
            raise BadInput(f"grooms[{place}]", "days and grams must be more than 0")
    if not 0 < taken_share <= 1:
        raise BadInput("taken_share", f"is {taken_share}, expected above 0, at most 1")
    return _believed([groom.days for groom in grooms], _logs(grooms), taken_share)


def _logs(grooms: Sequence[Comb]) -> Floats:
    """Logarithms of the grams; nan where they were not weighed."""
    return np.array([math.nan if groom.grams is None else math.log(groom.grams) for groom in grooms])


def _believed(days: Sequence[float], log_grams: Floats, taken_share: float) -> CoatBelief:
    weighed = np.isfinite(log_grams)
    z = np.linspace(-_REACH, _REACH, _POINTS)
    loose = LOOSE_MEDIAN * np.exp(LOOSE_SPREAD * z)
    rest = log_grams[weighed, None] - np.log(combed(loose, days, taken_share)[weighed]) - math.log(SHED_MEDIAN)
    count = int(weighed.sum())
    precision = SHED_SPREAD**-2 + count / NOISE**2
    middle = rest.sum(axis=0) / NOISE**2 / precision
    fits = -0.5 * ((rest**2).sum(axis=0) / NOISE**2 - middle**2 * precision) - z**2 / 2
    weights = np.exp(fits - fits.max())
    return CoatBelief(loose, weights / weights.sum(), math.log(SHED_MEDIAN) + middle, precision**-0.5, taken_share)


def curve(belief: CoatBelief, intervals_days: Sequence[int] = INTERVALS_DAYS) -> tuple[HomeAt, ...]:
    """Grams a day at home against days between grooms."""
    found = ((days, belief.home_g_a_day(days)) for days in intervals_days)
    return tuple(HomeAt(days, known.mean, known.low, known.high) for days, known in found)


def three_more(grooms: Sequence[Comb], belief: CoatBelief, intervals_days: Sequence[float]) -> CoatBelief:
    """What would be believed after three more grooms at these intervals, if they gave what is now most likely."""
    days = [*(groom.days for groom in grooms), *intervals_days]
    best = int(np.argmax(belief.weights))
    expected = np.log(combed(belief.loose[best : best + 1], days, belief.taken_share)[:, 0]) + belief.log_shed[best]
    seen = np.concatenate([_logs(grooms), expected[len(grooms) :]])
    return _believed(days, seen, belief.taken_share)

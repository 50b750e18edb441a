"""How long a groom takes: log-normal, partly pooled, so that a new dog gets what is like it and a known one its own.

log seconds = mean + kind (coat and size) + cut + handling + month of that coat + dog + rest, a linear mixed model: the
variances by REML on the latest dogs (pooled.py), then every dog's own part in closed form, its grooms weighed against
the spread between dogs.
"""

import math
from collections import defaultdict
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from coatround.core.learn.pooled import Belief, Groupings, pooled

BELIEF = Belief(group_spread=0.1, group_weight=4, value_spread=0.18, value_weight=20)
"""Before anything is seen, as logarithms: our own default."""
DOGS_FOR_SPREADS = 250
TEN_PERCENT = 1.2815515655446004
"""Standard normal deviations that leave a tenth out on one side."""
FACTORS = ("kind", "cut", "handling", "month")


@dataclass(frozen=True, slots=True)
class Table:
    """What a groom's length hangs on but the dog itself: each factor as a word, "" where it is not known."""

    kind: str = ""
    cut: str = ""
    handling: str = ""
    month: str = ""


def table(coat: str, size: str, month: int, cut: str = "", handling: str = "") -> Table:
    """A groom's factors; the month counts for its coat only."""
    return Table(f"{coat} {size}", cut, handling, f"{coat} {month}")


@dataclass(frozen=True, slots=True)
class PastGroom:
    """One groom that happened: whose, what its length hung on, and its seconds."""

    dog: Hashable
    table: Table
    seconds: int


@dataclass(frozen=True, slots=True)
class Expected:
    """What is expected of a groom: mean seconds, the spread of their logarithm, and nine times of ten's 80 % window."""

    log_mean: float
    log_sd: float

    @property
    def seconds(self) -> int:
        """The mean of the log-normal."""
        return round(math.exp(self.log_mean + self.log_sd**2 / 2))

    @property
    def middle_seconds(self) -> int:
        """As often longer as shorter."""
        return round(math.exp(self.log_mean))

    @property
    def sd_seconds(self) -> int:
        return round(self.seconds * math.sqrt(math.expm1(self.log_sd**2)))

    @property
    def eight_of_ten(self) -> tuple[int, int]:
        """Seconds between which it lies eight times of ten."""
        reach = TEN_PERCENT * self.log_sd
        return round(math.exp(self.log_mean - reach)), round(math.exp(self.log_mean + reach))


@dataclass(frozen=True, slots=True)
class Durations:
    """What was learnt: the mean, each factor's part, each dog's own part and how many grooms it rests on."""

    mean: float
    parts: Mapping[tuple[str, str], float]
    between: Mapping[str, float]
    dogs: Mapping[Hashable, tuple[float, float]] = field(default_factory=dict)
    dog_variance: float = 0.04
    rest_variance: float = 0.0225
    mean_variance: float = 0.0
    grooms: int = 0

    def expect(self, dog: Hashable, given: Table) -> Expected:
        """What the next groom of a dog is expected to take; a dog never seen gets what is like it."""
        level, variance = self._like(given)
        own, unsure = self.dogs.get(dog, (0.0, self.dog_variance))
        return Expected(level + own, math.sqrt(self.rest_variance + unsure + variance))

    def _like(self, given: Table) -> tuple[float, float]:
        level, variance = self.mean, self.mean_variance
        for name in FACTORS:
            word = getattr(given, name)
            part = self.parts.get((name, word))
            level += part or 0.0
            if part is None and word:
                variance += self.between[name]
        return level, variance

    @property
    def within_spread(self) -> float:
        """The spread of a dog's grooms about its own length, as a logarithm."""
        return math.sqrt(self.rest_variance)


def learn(grooms: Sequence[PastGroom]) -> Durations | None:
    """What grooms in any order say; None for none. Seconds below 1 are left out."""
    known = [groom for groom in grooms if groom.seconds > 0]
    if not known:
        return None
    latest = dict.fromkeys(groom.dog for groom in known)
    some = set(list(latest)[:DOGS_FOR_SPREADS])
    model = _fitted([groom for groom in known if groom.dog in some])
    return _with_dogs(model, known)


def _fitted(grooms: Sequence[PastGroom]) -> Durations:
    values = np.log([float(groom.seconds) for groom in grooms])
    levels: list[list[Hashable]] = [list(dict.fromkeys(groom.dog for groom in grooms))]
    columns: list[list[Hashable]] = [[groom.dog for groom in grooms]]
    for name in FACTORS:
        column: list[Hashable] = [getattr(groom.table, name) for groom in grooms]
        levels.append(list(dict.fromkeys(column)))
        columns.append(column)
    numbers = []
    for column, words in zip(columns, levels, strict=True):
        place = {word: number for number, word in enumerate(words)}
        numbers.append(np.array([place[word] for word in column]))
    middle = float(values.mean())
    found = pooled(values - middle, Groupings(numbers, [len(words) for words in levels]), BELIEF)
    parts = {
        (name, str(word)): part
        for name, words, some in zip(FACTORS, levels[1:], found.groups[1:], strict=True)
        for word, part in zip(words, some, strict=True)
    }
    between = dict(zip(FACTORS, found.group_variances[1:], strict=True))
    return Durations(
        middle + found.mean,
        parts,
        between,
        dog_variance=found.group_variances[0],
        rest_variance=found.left_over,
        mean_variance=float(found.covariance[0, 0]) / max(len(levels[1]), 1),
        grooms=len(grooms),
    )


def _with_dogs(model: Durations, grooms: Iterable[PastGroom]) -> Durations:
    """Each dog's own part: the mean of what is left of its grooms, weighed against the spread between dogs."""
    left: dict[Hashable, list[float]] = defaultdict(list)
    for groom in grooms:
        level, _variance = model._like(groom.table)
        left[groom.dog].append(math.log(groom.seconds) - level)
    between, rest = model.dog_variance, model.rest_variance
    dogs = {}
    for dog, some in left.items():
        weight = len(some) * between / (len(some) * between + rest)
        dogs[dog] = (weight * sum(some) / len(some), between * (1 - weight))
    count = sum(len(some) for some in left.values())
    return Durations(
        model.mean, model.parts, model.between, dogs, between, rest, model.mean_variance, count
    )  # fmt: skip

"""How long a groom takes: log-normal, partly pooled, so that a new dog gets what is like it and a known one its own.

log seconds = mean + kind (coat and size) + cut + handling + washes + month of that coat + dog + rest, a linear mixed
model: the variances by REML on the latest dogs (pooled.py), then every dog's own part in closed form, its grooms
weighed against the spread between dogs.
"""

import math
from collections import defaultdict
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from coatround.core.learn.pooled import Belief, Groupings, Pooled, pooled

BELIEF = Belief(group_spread=0.1, group_weight=4, value_spread=0.18, value_weight=20)
"""Before anything is seen, as logarithms: our own default."""
DOGS_FOR_SPREADS = 250
ENOUGH_GROOMS, ENOUGH_DOGS = 60, 10
"""From so many on a firm's own minutes are used: our own default."""
TEN_PERCENT = 1.2815515655446004
"""Standard normal deviations that leave a tenth out on one side."""
FACTORS = ("kind", "cut", "handling", "washes", "month")


@dataclass(frozen=True, slots=True)
class Table:
    """What a groom's length hangs on but the dog itself: each factor as a word, "" where it is not known."""

    kind: str = ""
    cut: str = ""
    handling: str = ""
    washes: str = ""
    month: str = ""


def table(coat: str, size: str, month: int, *, cut: str = "", two_people: bool = False, washes: int = 1) -> Table:
    """A groom's factors; `cut` is how the body is done, and the month (1 for January) counts for its coat only."""
    return Table(f"{coat} {size}", cut, "two people" if two_people else "", f"{washes} washes", f"{coat} {month}")


@dataclass(frozen=True, slots=True)
class PastGroom:
    """One groom that happened: whose, what its length hung on, and its seconds."""

    dog: Hashable
    table: Table
    seconds: int


@dataclass(frozen=True, slots=True)
class Expected:
    """What is expected of a groom: mean and spread of the logarithm of its seconds."""

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
    """What was learnt: the mean, each factor's part, each dog's own part with its variance, from how many grooms.

    `new_variance` is how unsure the length of a new dog of a kind is, apart from the dog's own pace: few dogs of a
    kind say little of it. For a dog that was seen it is in the dog's own part.
    """

    mean: float
    parts: Mapping[tuple[str, str], float]
    between: Mapping[str, float]
    dogs: Mapping[Hashable, tuple[float, float]] = field(default_factory=dict)
    dog_variance: float = 0.04
    rest_variance: float = 0.0225
    new_variance: Mapping[str, float] = field(default_factory=dict)
    grooms: int = 0

    def expect(self, dog: Hashable, given: Table) -> Expected:
        """What the next groom of a dog is expected to take; a dog never seen gets what is like it."""
        level, variance = self._like(given)
        new = self.dog_variance + self.new_variance.get(given.kind, 0.0)
        own, unsure = self.dogs.get(dog, (0.0, new))
        return Expected(level + own, math.sqrt(self.rest_variance + unsure + variance))

    def knows(self, dog: Hashable, given: Table) -> bool:
        """Whether the dog itself, or one of its coat and size, was ever seen."""
        return dog in self.dogs or ("kind", given.kind) in self.parts

    def _like(self, given: Table) -> tuple[float, float]:
        level, variance = self.mean, 0.0
        for name in FACTORS:
            word = getattr(given, name)
            part = self.parts.get((name, word))
            level += part or 0.0
            if part is None and word:
                variance += self.between[name]
        return level, variance

    @property
    def within_share(self) -> float:
        """The spread of a dog's grooms about its own length, as a share of it."""
        return math.sqrt(math.expm1(self.rest_variance))


def held_back(grooms: Sequence[PastGroom], before: int) -> "Held | None":
    """How grooms would have been foretold: the first `before` of `grooms` (the latest first) from those after them."""
    model = learn(grooms[before:])
    if model is None:
        return None
    last: dict[Hashable, int] = {}
    for groom in grooms[before:]:
        last.setdefault(groom.dog, groom.seconds)
    kinds: dict[str, list[int]] = defaultdict(list)
    for groom in grooms[before:]:
        kinds[groom.table.kind].append(groom.seconds)
    rows = []
    for groom in grooms[:before]:
        if groom.seconds > 0 and groom.table.kind in kinds:
            alike = kinds[groom.table.kind]
            expected = model.expect(groom.dog, groom.table)
            rows.append(Foretold(groom, expected, last.get(groom.dog), sum(alike) // len(alike)))
    return Held(tuple(rows)) if rows else None


@dataclass(frozen=True, slots=True)
class Foretold:
    """A groom that was held back, what was expected of it, the dog's last time, and the mean of its coat and size."""

    groom: PastGroom
    expected: Expected
    last_seconds: int | None
    alike_seconds: int


@dataclass(frozen=True, slots=True)
class Held:
    """Grooms that were held back, with what was foretold."""

    rows: tuple[Foretold, ...]

    @property
    def inside(self) -> float:
        """The share that lay in its 80 % window."""
        within = [row.expected.eight_of_ten for row in self.rows]
        hits = sum(low <= row.groom.seconds <= high for (low, high), row in zip(within, self.rows, strict=True))
        return hits / len(self.rows)

    @property
    def known(self) -> tuple[Foretold, ...]:
        """Those of dogs that were seen before."""
        return tuple(row for row in self.rows if row.last_seconds is not None)

    def error_seconds(self, by: Literal["learnt", "last", "alike"]) -> float:
        """The mean absolute error over the dogs seen before; 0.0 for none."""
        rows = self.known
        foretold = {
            "learnt": [row.expected.middle_seconds for row in rows],
            "last": [row.last_seconds or 0 for row in rows],
            "alike": [row.alike_seconds for row in rows],
        }[by]
        errors = [abs(seconds - row.groom.seconds) for seconds, row in zip(foretold, rows, strict=True)]
        return sum(errors) / len(errors) if errors else 0.0


def learn(grooms: Sequence[PastGroom]) -> Durations | None:
    """What grooms say, the latest first; None while there are too few. Seconds below 1 are left out."""
    known = [groom for groom in grooms if groom.seconds > 0]
    if len(known) < ENOUGH_GROOMS or len({groom.dog for groom in known}) < ENOUGH_DOGS:
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
    groupings = Groupings(numbers, [len(words) for words in levels])
    found = pooled(values - middle, groupings, BELIEF)
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
        new_variance=_new_variance([str(word) for word in columns[1]], groupings, found),
        grooms=len(grooms),
    )


def _new_variance(kinds: Sequence[str], groupings: Groupings, found: Pooled) -> dict[str, float]:
    """The variance of all but the dog's own part, for the usual groom of each kind."""
    design = groupings.design()
    design[:, groupings.slices()[0]] = 0
    variances = {}
    for kind in dict.fromkeys(kinds):
        row = design[[place for place, word in enumerate(kinds) if word == kind]].mean(axis=0)
        variances[kind] = float(row @ found.covariance @ row)
    return variances


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
        model.mean, model.parts, model.between, dogs, between, rest, model.new_variance, count
    )  # fmt: skip

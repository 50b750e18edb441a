"""Means of groups, partly pooled: a group with little to say stays near the mean of all, one with much keeps its own.

A linear mixed model with one or more crossed groupings, variances by restricted maximum likelihood (REML; Patterson
and Thompson 1971), found by expectation and maximisation (Dempster, Laird and Rubin 1977) on Henderson's equations.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

STEPS = 2000
STILL = 1e-10
"""The largest change of a variance, as a share of it, at which the search has come to rest."""

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Belief:
    """What is taken to be so before anything is seen: spreads as standard deviations, in the unit of the values.

    `mean_spread` is that of the mean around 0, None for no belief. `group_spread` counts as if it had been seen on
    `group_weight` groups, for each grouping; `value_spread`, within groups, as if on `value_weight` values.
    """

    mean_spread: float | None = None
    group_spread: float = 0.0
    group_weight: float = 0.0
    value_spread: float = 0.0
    value_weight: float = 0.0


NO_BELIEF = Belief()


@dataclass(frozen=True, slots=True)
class Pooled:
    """The mean of all, what each group lies above it, and how sure that is.

    `covariance` is that of mean and groups, in their order, given the variances; `left_over` is the variance within.
    """

    mean: float
    groups: tuple[tuple[float, ...], ...]
    group_variances: tuple[float, ...]
    left_over: float
    covariance: Floats


@dataclass(frozen=True, slots=True)
class Groupings:
    """Which group each value belongs to, once for each grouping, and how many groups each has."""

    numbers: Sequence[Whole]
    counts: Sequence[int]

    def design(self) -> Floats:
        """A column of ones, then one for each group of each grouping."""
        size = len(self.numbers[0])
        columns = [np.ones((size, 1))]
        columns += [np.eye(count)[number] for number, count in zip(self.numbers, self.counts, strict=True)]
        return np.hstack(columns)

    def slices(self) -> list[slice]:
        """Where each grouping's columns lie in the design."""
        ends = np.cumsum([1, *self.counts]).tolist()
        return [slice(start, end) for start, end in pairwise(ends)]


def pooled(values: Floats, groupings: Groupings, belief: Belief = NO_BELIEF, worth: float = 1.0) -> Pooled:
    """The means of groups. Without a belief it takes groups of which one holds two values or more.

    `worth` is what a value counts as against an undisturbed one of its own: under 1 where values are alike in ways
    that the groupings do not say.
    """
    design = groupings.design()
    cross, right, square = design.T @ design, design.T @ values, float(values @ values)
    size, slices = len(values), groupings.slices()
    start = max(float(np.var(values)) if size else belief.value_spread**2, 1e-12)
    within, between = start, [start / 4] * len(slices)
    for _step in range(STEPS):
        found, covariance = _solved(cross, right, worth / within, between, slices, belief)
        before = [within, *between]
        between = [_between(found[one], covariance[one, one], belief) for one in slices]
        rest = square - 2 * float(found @ right) + float(found @ cross @ found)
        within = max(_within(rest + float(np.sum(cross * covariance)), size, belief), start * 1e-9)
        if all(abs(a - b) <= STILL * b for a, b in zip([within, *between], before, strict=True)):
            break
    found, covariance = _solved(cross, right, worth / within, between, slices, belief)
    groups = tuple(tuple(found[one].tolist()) for one in slices)
    return Pooled(float(found[0]), groups, tuple(between), within, covariance)


def _solved(
    cross: Floats, right: Floats, precision: float, between: Sequence[float], slices: Sequence[slice], belief: Belief
) -> tuple[Floats, Floats]:
    """Henderson's equations: the mean and groups that are most likely, and their covariance."""
    prior = np.zeros(len(cross))
    prior[0] = 0.0 if belief.mean_spread is None else belief.mean_spread**-2
    for one, variance in zip(slices, between, strict=True):
        prior[one] = 1 / max(variance, 1e-300)
    covariance = np.linalg.inv(cross * precision + np.diag(prior))
    return covariance @ right * precision, covariance


def _within(squares: float, size: int, belief: Belief) -> float:
    return (squares + belief.value_weight * belief.value_spread**2) / (size + belief.value_weight)


def _between(found: Floats, covariance: Floats, belief: Belief) -> float:
    seen = float(found @ found) + float(np.trace(covariance))
    believed = belief.group_weight * belief.group_spread**2
    return (seen + believed) / (len(found) + belief.group_weight)

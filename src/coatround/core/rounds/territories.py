"""Many vans: a part of the round at a time, each searched on its own.

A territory is a few neighbouring vans on all dates, or a few dates with all vans, with the visits now there and
those left out nearby. Its dates and matrices are small, and freed before the next one. Rounds over the dates and over
the vans take turns, with other borders each time; every search goes on from what stands.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from coatround.core.rounds.formulation import Orders
from coatround.core.rounds.problem import Problem, Travel
from coatround.core.rounds.search import search_on
from coatround.core.rounds.table import Table

MANY_VISITS = 600
"""Above so many visits the vans are parted into territories (our own default)."""
MANY_VANS = 6
"""With fewer vans there is too little to part (our own default)."""
VANS_A_TERRITORY = 4
VISITS_A_SPAN = 460
"""How large a territory of neighbouring vans and one of following dates shall be (measured)."""
NEAR = 20
"""How many of the nearest visits say which vans are neighbours (our own default)."""
SHARE = 6
"""Iterations for each visit of a territory before the next one's turn (measured)."""
A_ROUND = 2 * SHARE
"""Iterations for each visit of the whole problem, by dates and by vans once each."""

Stop = Callable[[int], bool]
OnBest = Callable[[int, int], None]
Counts = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Territory:
    """Runs and visits planned together, by number."""

    runs: tuple[int, ...]
    visits: tuple[int, ...]


def is_large(table: Table) -> bool:
    """Whether there are visits and vans enough to be parted."""
    vans = {run.van for run in table.problem.runs}
    return len(table.problem.visits) > MANY_VISITS and len(vans) >= MANY_VANS


@dataclass(frozen=True, slots=True)
class Task:
    """One territory to be searched by itself: everything it takes, so that another process can do it as well."""

    part: Table
    orders: Orders
    seed: int
    most: int
    found: bool

    def search(self, stop: Stop, on_best: OnBest) -> "Found":
        """Searches from what stands until `stop(iterations)`, at most `most` iterations."""
        if not any(self.part.runs_for) or stop(0):
            return Found(self.orders, 0)
        until = _until(stop, 0, self.most)
        return Found(*search_on(self.part, self.orders, self.seed, until, on_best, self.found))


@dataclass(frozen=True, slots=True)
class Found:
    """What was found in a territory, in its own numbers, and the iterations that it took."""

    orders: Orders
    iterations: int


Hands = Callable[[Sequence[Task], Stop, Callable[[int], OnBest]], Iterator[Found]]
"""Does the tasks of one round and gives what each found, in their order.

`stop` counts the iterations of the whole round; `listen(done)` is asked, task after task, for who hears of the best.
"""


def one_by_one(tasks: Sequence[Task], stop: Stop, listen: Callable[[int], OnBest]) -> Iterator[Found]:
    """The tasks one after the other, in this process."""
    done = 0
    for task in tasks:
        found = task.search(_until(stop, done), listen(done))
        done += found.iterations
        yield found


def search_in_territories(
    table: Table, start: Orders, seed: int, stop: Stop, on_best: OnBest | None = None, hands: Hands = one_by_one
) -> tuple[Orders, int]:
    """As `search`, round after round of territories, each with other borders, until `stop(iterations done)`.

    `hands` do the territories of a round; whoever does them, the same iterations give the same orders.
    """
    borders, told = _Borders(table), _Told(on_best)
    orders, done, round_ = [list(order) for order in start], 0, 0
    while not stop(done):
        began = done
        parted = [territory for territory in borders.territories(orders, round_) if territory.visits]
        tasks = [_task(table, one, orders, seed + n, round_ > 0) for n, one in enumerate(parted, 1)]
        seed += len(tasks)
        for territory, found in zip(parted, hands(tasks, _until(stop, began), told.from_(began)), strict=True):
            for r, order in zip(territory.runs, found.orders, strict=True):
                orders[r] = [v if v < 0 else territory.visits[v] for v in order]
            done += found.iterations
        told.round_ends(len(parted))
        round_ += 1
        if done == began:
            break
    return [[v for v in order if v >= 0] for order in orders], done


def _until(stop: Stop, done: int, most: int | None = None) -> Stop:
    return lambda now: (most is not None and now >= most) or stop(done + now)


def _task(table: Table, territory: Territory, orders: Orders, seed: int, found: bool) -> Task:
    number = {v: i for i, v in enumerate(territory.visits)}
    own = [[v if v < 0 else number[v] for v in orders[r]] for r in territory.runs]
    return Task(part_of(table, territory), own, seed, SHARE * len(territory.visits), found)


def part_of(table: Table, territory: Territory) -> Table:
    """The table of one territory: its own runs, visits and places only, and no ties beyond the dates allowed."""
    problem = table.problem
    runs = tuple(problem.runs[r] for r in territory.runs)
    visits = tuple(replace(problem.visits[v], follows=None) for v in territory.visits)
    ids = {run.start_place for run in runs} | {run.end_place for run in runs} | {visit.place for visit in visits}
    ids |= {refill.place for run in runs for refill in run.refills}
    kept = [i for i, place in enumerate(problem.places) if place.id in ids]
    assert problem.travel is not None
    travel = Travel(_cut(problem.travel.seconds, kept), _cut(problem.travel.metres, kept))
    part = Table(Problem(problem.costs, tuple(problem.places[i] for i in kept), travel, runs, visits))
    number = {v: i for i, v in enumerate(territory.visits)}
    part.choices = [{number[v]: c for v, c in table.choices[r].items() if v in number} for r in territory.runs]
    return part


def _cut(rows: tuple[tuple[int, ...], ...], kept: list[int]) -> tuple[tuple[int, ...], ...]:
    return tuple(tuple(row[j] for j in kept) for row in (rows[i] for i in kept))


class _Borders:
    """Draws the borders: which visits lie near one another, and how often two vans were in one territory."""

    def __init__(self, table: Table) -> None:
        self.table = table
        self.names = list(dict.fromkeys(run.van for run in table.problem.runs))
        self.of_run = np.array([self.names.index(run.van) for run in table.problem.runs], dtype=np.int64)
        self.together = np.zeros((len(self.names), len(self.names)), dtype=np.int64)
        self.near = _nearest(table)

    def territories(self, orders: Orders, round_: int) -> list[Territory]:
        """Every run and every visit in one territory: spans of dates in even rounds, neighbouring vans in odd ones."""
        run_of = np.full(len(self.table.problem.visits), -1, dtype=np.int64)
        for r, order in enumerate(orders):
            run_of[[v for v in order if v >= 0]] = r
        territory_of = self._by_vans(run_of) if round_ % 2 else self._by_dates(half=round_ % 4 == 2)
        owner = np.where(run_of >= 0, territory_of[run_of], -1)
        for v in np.flatnonzero(owner < 0):
            owner[v] = self._owner(int(v), run_of, territory_of)
        return [
            Territory(
                tuple(np.flatnonzero(territory_of == g).tolist()),
                tuple(np.flatnonzero(owner == g).tolist()),
            )
            for g in np.unique(territory_of)
        ]

    def _by_dates(self, half: bool) -> Counts:
        """The territory of each run: spans of dates of equal length, moved by half a span every other time."""
        dates = sorted({run.date for run in self.table.problem.runs})
        count = max(1, round(len(self.table.problem.visits) / VISITS_A_SPAN))
        span = {date: (2 * i * count // len(dates) + half) // 2 for i, date in enumerate(dates)}
        return np.array([span[run.date] for run in self.table.problem.runs], dtype=np.int64)

    def _by_vans(self, run_of: Counts) -> Counts:
        """The territory of each run: vans whose visits lie close by, those seldom together before first."""
        van_of = np.where(run_of >= 0, self.of_run[run_of], -1)
        group_of = np.zeros(len(self.names), dtype=np.int64)
        for g, group in enumerate(_grouped(self._neighbours(van_of) / 4.0**self.together)):
            group_of[group] = g
            self.together[np.ix_(group, group)] += 1
        return group_of[self.of_run]

    def _neighbours(self, van_of: Counts) -> Counts:
        """For each two vans how often a visit of one is among the nearest of a visit of the other."""
        own, other = np.repeat(van_of, self.near.shape[1]), van_of[self.near].ravel()
        known = (own >= 0) & (other >= 0)
        counts = np.zeros((len(self.names), len(self.names)), dtype=np.int64)
        np.add.at(counts, (own[known], other[known]), 1)
        return counts + counts.T

    def _owner(self, v: int, run_of: Counts, territory_of: Counts) -> int:
        """The territory of a visit left out: of those with a run that may take it, the one with most visits nearby."""
        able = sorted({int(territory_of[r]) for r in self.table.runs_for[v]}) or [int(territory_of.min())]
        close = [int(territory_of[run_of[w]]) for w in self.near[v] if run_of[w] >= 0]
        return max(able, key=lambda g: (close.count(g), -g))


def _nearest(table: Table) -> Counts:
    """For each visit the NEAR visits that are reached soonest from it; row by row, so that memory stays small."""
    place = np.array(table.place_of, dtype=np.int64)
    near = np.zeros((len(place), min(NEAR, len(place) - 1)), dtype=np.int64)
    for v, own in enumerate(place):
        seconds = np.array(table.seconds[own], dtype=np.int64)[place]
        seconds[v] = np.iinfo(np.int64).max
        near[v] = np.argsort(seconds, kind="stable")[: near.shape[1]]
    return near


def _grouped(closeness: NDArray[np.float64]) -> list[list[int]]:
    """Vans in groups of about VANS_A_TERRITORY: the loneliest van first, with the vans closest to its group."""
    left = list(range(len(closeness)))
    count = max(1, round(len(left) / VANS_A_TERRITORY))
    groups = []
    for g in range(count):
        size = -(-len(left) // (count - g))
        group = [min(left, key=lambda van: (sum(closeness[van, w] for w in left if w != van), van))]
        left.remove(group[0])
        while len(group) < size:
            nearest = max(left, key=lambda van: (sum(closeness[van, w] for w in group), -van))
            group.append(nearest)
            left.remove(nearest)
        groups.append(sorted(group))
    return groups


class _Told:
    """Adds up what the territories tell: silent until all of a round told a cost, then the cost of them all."""

    def __init__(self, on_best: OnBest | None) -> None:
        self.on_best = on_best
        self.whole: int | None = None
        self.parts: list[tuple[int, int]] = []

    def from_(self, began: int) -> Callable[[int], OnBest]:
        """Listens to the territories of a round that begins after `began` iterations."""
        return lambda done: self.part(began + done)

    def part(self, done: int) -> OnBest:
        """Listens to the next territory, which begins after `done` iterations."""
        number = len(self.parts)
        gained = sum(first - last for first, last in self.parts)

        def heard(iterations: int, cents: int) -> None:
            first = self.parts[number][0] if number < len(self.parts) else cents
            self.parts[number:] = [(first, cents)]
            if self.on_best and self.whole is not None:
                self.on_best(done + iterations, self.whole - gained - first + cents)

        return heard

    def round_ends(self, territories: int) -> None:
        """Where every territory told its cost, the whole is their sum; else it is less by what was gained."""
        if self.whole is not None:
            self.whole -= sum(first - last for first, last in self.parts)
        if len(self.parts) == territories:
            whole = sum(last for _, last in self.parts)
            self.whole = whole if self.whole is None else min(self.whole, whole)
        self.parts = []

"""The first plan: greedy insertion by regret, every visit and every gap of a run at once with numpy.

It only has to be quick and roughly right; breaks and refills are allowed for by their length alone. The search
and the exact order come after it.
"""

from collections.abc import Callable, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from coatround.core.rounds.cost import UNIT
from coatround.core.rounds.table import Table

Array = NDArray[np.float64]
_NEVER = np.inf


class _Arrays:
    """The table as arrays, made once."""

    def __init__(self, table: Table) -> None:
        visits = table.problem.visits
        self.table = table
        self.seconds = np.array(table.seconds, dtype=np.float64)
        self.drive = np.array(table.drive, dtype=np.float64)
        self.place = np.array(table.place_of, dtype=np.int64)
        self.work = np.array([visit.seconds for visit in visits], dtype=np.float64)
        self.water = np.array([visit.water_l for visit in visits], dtype=np.float64)
        self.power = np.array([visit.power_wh for visit in visits], dtype=np.float64)
        self.noise = np.array([visit.noise_percent for visit in visits], dtype=np.float64)
        self.rank = np.array([visit.rank for visit in visits], dtype=np.int64)
        self.left_out = np.array(table.left_out_units, dtype=np.float64)


class _Day:
    """One run being filled: its visits so far and what each visit not yet planned would cost in each gap."""

    def __init__(self, arrays: _Arrays, r: int) -> None:
        table = arrays.table
        self.arrays, self.run, self.r = arrays, table.problem.runs[r], r
        self.order: list[int] = []
        self.able = np.array(sorted(table.choices[r]), dtype=np.int64)
        choices = [table.choices[r][v] for v in self.able]
        self.day_units = np.array([choice.day_units for choice in choices], dtype=np.float64)
        most = max((len(choice.starts) for choice in choices), default=0)
        self.starts = np.full((most, len(choices), 2), (1.0, 0.0))
        for i, choice in enumerate(choices):
            self.starts[: len(choice.starts), i] = choice.starts
        self.rest = self.run.break_.seconds if self.run.break_ else 0
        self.refill_seconds = min((seconds for _, seconds in table.taps_of[r]), default=0) + 600
        self.full = self.run.water_l if self.run.water_at_start_l is None else self.run.water_at_start_l

    def costs(self) -> tuple[Array, NDArray[np.int64]]:
        """For each able visit the least cost of putting it in, and the gap; infinite where it does not fit."""
        arrays, run = self.arrays, self.run
        places = [arrays.table.start_of[self.r], *arrays.place[self.order], arrays.table.end_of[self.r]]
        before, after = np.array(places[:-1]), np.array(places[1:])
        own = arrays.place[self.able]
        to, on = arrays.seconds[before][:, own], arrays.seconds[own][:, after].T
        detour = arrays.drive[before][:, own] + arrays.drive[own][:, after].T - arrays.drive[before, after][:, None]
        fits = self._in_time(to, on) & self._in_rank()
        longer = to + on - arrays.seconds[before, after][:, None] + arrays.work[self.able]
        spent = sum(arrays.work[self.order]) + arrays.seconds[before, after].sum() + self.rest
        refills = self._refills(arrays.water[self.order].sum() + arrays.water[self.able])
        out = spent + longer + refills * self.refill_seconds
        fits &= (out <= run.paid_seconds + run.max_overtime_seconds) & self._in_sums(refills)
        second = arrays.table.problem.costs.cents_per_overtime_hour * UNIT / 3600
        over = np.maximum(0, out - run.paid_seconds) - max(0, spent - run.paid_seconds)
        cost = detour + self.day_units + over * second
        if not self.order:
            cost += arrays.table.problem.costs.cents_per_run * UNIT + arrays.drive[before[0], after[0]]
        cost = np.where(fits, cost, _NEVER)
        gaps = cost.argmin(axis=0)
        return cost[gaps, np.arange(len(self.able))], gaps

    def _in_time(self, to: Array, on: Array) -> NDArray[np.bool_]:
        """Whether each visit fits each gap by the clock, in any of its windows."""
        ends, latest = self._slack()
        arrive = ends[:, None] + to
        fits = np.zeros(arrive.shape, dtype=bool)
        for window in self.starts:
            start = np.maximum(arrive, window[:, 0])
            done = start + self.arrays.work[self.able]
            fits |= (start <= window[:, 1]) & (done + on <= latest[:, None])
        return fits

    def _slack(self) -> tuple[Array, Array]:
        """When each stop can be done with at the earliest, and when the one after it must be reached at the latest."""
        arrays, table = self.arrays, self.arrays.table
        ends, latest = [float(self.run.open)], [float(self.run.close - self.rest)]
        here = table.start_of[self.r]
        for v in self.order:
            arrive = ends[-1] + table.seconds[here][table.place_of[v]]
            starts = table.choices[self.r][v].starts
            start = min((max(arrive, a) for a, b in starts if arrive <= b), default=arrive)
            ends.append(start + arrays.work[v])
            here = table.place_of[v]
        there = table.end_of[self.r]
        for v in reversed(self.order):
            start = latest[-1] - table.seconds[table.place_of[v]][there] - arrays.work[v]
            starts = table.choices[self.r][v].starts
            latest.append(max((min(start, b) for a, b in starts if a <= start), default=start))
            there = table.place_of[v]
        return np.array(ends), np.array(latest[::-1])

    def _in_rank(self) -> NDArray[np.bool_]:
        ranks = [-1, *self.arrays.rank[self.order], np.iinfo(np.int64).max]
        own = self.arrays.rank[self.able]
        return (np.array(ranks[:-1])[:, None] <= own) & (own <= np.array(ranks[1:])[:, None])

    def _refills(self, litres: Array) -> Array:
        return np.ceil(np.maximum(0, litres - self.full) / max(1, self.run.water_l))

    def _in_sums(self, refills: Array) -> NDArray[np.bool_]:
        arrays, run = self.arrays, self.run
        fits = refills <= (run.max_refills if run.refills else 0)
        if run.power_wh is not None:
            fits &= arrays.power[self.order].sum() + arrays.power[self.able] <= run.power_wh
        if run.noise_percent is not None:
            fits &= arrays.noise[self.order].sum() + arrays.noise[self.able] <= run.noise_percent
        return fits


def first_orders(
    table: Table, stop: Callable[[int], bool] = lambda _: False, standing: Mapping[str, Sequence[str]] | None = None
) -> list[list[int]]:
    """For each run its visits in order; the visit that would lose most by waiting goes in first.

    `standing` are visit ids in order by run id: what of it may still be there stays, and the others go in round it.
    `stop(0)` ends it early with what is planned so far.
    """
    arrays = _Arrays(table)
    days = [_Day(arrays, r) for r in range(len(table.problem.runs))]
    for day, order in zip(days, _kept(table, standing or {}), strict=True):
        day.order = order
        arrays.left_out[order] = -1
    costs = np.full((len(days), len(table.problem.visits)), _NEVER)
    gaps = np.zeros(costs.shape, dtype=np.int64)
    for r, day in enumerate(days):
        fresh, gaps[r, day.able] = day.costs()
        costs[r, day.able] = np.where(arrays.left_out[day.able] >= 0, fresh, _NEVER)
    while costs.size and not stop(0):
        v, r = _most_regretted(costs, arrays.left_out)
        if v is None:
            break
        days[r].order.insert(int(gaps[r, v]), v)
        costs[:, v], arrays.left_out[v] = _NEVER, -1
        waiting = arrays.left_out[days[r].able] >= 0
        fresh, gaps[r, days[r].able] = days[r].costs()
        costs[r, days[r].able] = np.where(waiting, fresh, _NEVER)
    return [day.order for day in days]


def _kept(table: Table, standing: Mapping[str, Sequence[str]]) -> list[list[int]]:
    """The standing visits of each run that are still to be done and may still be there, each once."""
    orders, seen = [], set[int]()
    for r, run in enumerate(table.problem.runs):
        numbers = (table.visit_number.get(id_, -1) for id_ in standing.get(run.id, ()))
        orders.append([v for v in dict.fromkeys(numbers) if v in table.choices[r] and v not in seen])
        seen.update(orders[-1])
    return orders


def _most_regretted(costs: Array, left_out: Array) -> tuple[int | None, int]:
    """The visit with the widest gap between its best run and its second best (or being left out), and that run."""
    best = costs.min(axis=0)
    # Equal to leaving it out still goes in: a visit that costs nothing either way is better done.
    worth = (best <= left_out) & (best < _NEVER)
    if not worth.any():
        return None, 0
    second = np.partition(costs, 1, axis=0)[1] if len(costs) > 1 else np.full(len(best), _NEVER)
    regret = np.where(worth, np.minimum(second, left_out) - np.where(worth, best, 0), -1)
    v = int(regret.argmax())
    return v, int(costs[:, v].argmin())

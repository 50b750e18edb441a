"""The round problem as PyVRP sees it: one profile for each date.

One client for each visit, one vehicle type for each run, one distance matrix for each date. Half of what a date
costs a visit lies on the leg to it and half on the leg from it, so a visit served pays exactly its day, and
moving it to another day is an ordinary move for the solver. What PyVRP cannot say (breaks, power and noise over
refills) is left to the exact order of each run.
"""

import datetime
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray
from pyvrp import (
    Activity,
    ActivityType,
    Client,
    ClientGroup,
    Depot,
    Location,
    ProblemData,
    Route,
    Solution,
    VehicleType,
)

from coatround.core.rounds.cost import UNIT
from coatround.core.rounds.problem import Break, Run, Window
from coatround.core.rounds.table import Table
from coatround.core.units import DAY, HOUR

MOST_WINDOWS = 3
"""More different windows than this over a visit's dates are narrowed together before the search."""
_FORBIDDEN = 1000
"""The load by which a run that may not take a visit would be over its capacity of none."""

Orders = list[list[int]]
"""For each run of the problem, its visits in order."""


@dataclass(frozen=True, slots=True)
class _Client:
    """One PyVRP client: a visit in one of its windows (for the start), and the dates on which it has it."""

    visit: int
    starts: Window
    dates: frozenset[int]


@dataclass(frozen=True)
class Formulation:
    """A round problem as PyVRP sees it, and the way back."""

    table: Table
    data: ProblemData
    clients: list[_Client]
    refill_depots: dict[tuple[int, int], int]
    scale: int

    def solution(self, orders: Orders, found: bool = False) -> Solution:
        """These orders as a PyVRP solution, with a refill put in wherever the tank would run dry.

        `found` orders come from `filled_orders`: they hold their refills, and a visit with several windows on one
        date goes into the first that can be reached.
        """
        filled = self._as_found if found else self._activities
        routes = [Route(self.data, filled(r, order), r) for r, order in enumerate(orders) if order]
        return Solution(self.data, routes)

    def orders(self, solution: Solution) -> Orders:
        """The visits of each run in the order of a PyVRP solution; refills are left for the exact order."""
        orders: Orders = [[] for _ in self.table.problem.runs]
        for route in solution.routes():
            orders[route.vehicle_type()] = [self.clients[a.idx].visit for a in route if a.is_client()]
        return orders

    def cents_uncounted(self) -> int:
        """What a plan costs beyond PyVRP's count, which misses visits with no client and charges extra clients."""
        clients = Counter(client.visit for client in self.clients)
        return sum(visit.left_out_cents * (1 - clients[v]) for v, visit in enumerate(self.table.problem.visits))

    def filled_orders(self, solution: Solution) -> Orders:
        """As `orders`, with a refill at the run's tap k written as ~k, so that a search can go on from there."""
        orders: Orders = [[] for _ in self.table.problem.runs]
        depots = {i: key for key, i in self.refill_depots.items()}
        for route in solution.routes():
            r = route.vehicle_type()
            taps = self.table.taps_of[r]
            inner = list(route)[1:-1]
            orders[r] = [self.clients[a.idx].visit if a.is_client() else ~taps.index(depots[a.idx]) for a in inner]
        return orders

    def _activities(self, r: int, order: Sequence[int]) -> list[Activity]:
        table, run = self.table, self.table.problem.runs[r]
        date = sorted({run.date for run in table.problem.runs}).index(run.date)
        water = run.water_l if run.water_at_start_l is None else run.water_at_start_l
        here, refills, activities = table.start_of[r], run.max_refills, []
        for v in order:
            visit, there = table.problem.visits[v], table.place_of[v]
            taps = table.taps(r, here, there) if refills else ()
            if water < visit.water_l and taps:
                refills -= 1
                depot = self.refill_depots[table.taps_of[r][taps[0].index]]
                activities.append(Activity(ActivityType.DEPOT, depot))
                water = run.water_l
            activities.append(Activity(ActivityType.CLIENT, self._client(v, date)))
            water, here = water - visit.water_l, there
        return activities

    def _as_found(self, r: int, order: Sequence[int]) -> list[Activity]:
        """The order with the refills that are written in it, each visit in the first of its windows it can reach."""
        table, run = self.table, self.table.problem.runs[r]
        date = self.dates.index(run.date)
        here, clock, activities = table.start_of[r], run.open, []
        for v in order:
            place, seconds = (table.place_of[v], table.problem.visits[v].seconds) if v >= 0 else table.taps_of[r][~v]
            clock += table.seconds[here][place]
            if v < 0:
                activities.append(Activity(ActivityType.DEPOT, self.refill_depots[place, seconds]))
            else:
                client = self._reached(v, date, clock)
                clock = max(clock, self.clients[client].starts[0])
                activities.append(Activity(ActivityType.CLIENT, client))
            here, clock = place, clock + seconds
        return activities

    def _reached(self, v: int, date: int, clock: int) -> int:
        """The client of a visit with the first window on this date that is not over yet."""
        own = [i for i in self.of_visit[v] if date in self.clients[i].dates and clock <= self.clients[i].starts[1]]
        return min(own, key=lambda i: self.clients[i].starts, default=self._client(v, date))

    @cached_property
    def dates(self) -> list[datetime.date]:
        """The dates in order; their numbers are PyVRP's profiles."""
        return sorted({run.date for run in self.table.problem.runs})

    @cached_property
    def of_visit(self) -> dict[int, list[int]]:
        """The clients that stand for each visit."""
        found: dict[int, list[int]] = {}
        for i, client in enumerate(self.clients):
            found.setdefault(client.visit, []).append(i)
        return found

    def _client(self, v: int, date: int) -> int:
        own = [i for i, client in enumerate(self.clients) if client.visit == v]
        return next((i for i in own if date in self.clients[i].dates), own[0])


def formulate(table: Table) -> Formulation:
    """The problem as PyVRP's data: locations, clients, depots, vehicle types and a matrix for each date."""
    problem = table.problem
    dates = sorted({run.date for run in problem.runs})
    squeeze = _Squeeze(problem.runs)
    clients = [client for v in range(len(problem.visits)) for client in _clients_of(table, v, squeeze)]
    depots = _depots(table)
    refill_depots = {key: i for i, key in enumerate(depots)}
    scale = _scale(table)
    places = np.array([place for place, _ in depots] + [table.place_of[c.visit] for c in clients])
    distances, durations = _matrices(table, clients, len(depots), places, len(dates), scale)
    loads = Loads(table)
    groups, group_of = _groups(clients)
    data = ProblemData(
        [Location(float(i), 0.0) for i in range(len(places))],
        [
            Client(
                location=len(depots) + i,
                pickup=loads.of_visit(client.visit),
                service_duration=problem.visits[client.visit].seconds,
                tw_early=client.starts[0],
                tw_late=client.starts[1],
                prize=problem.visits[client.visit].left_out_cents * scale,
                required=False,
                group=group_of.get(client.visit),
            )
            for i, client in enumerate(clients)
        ],
        [Depot(i, service_duration=seconds) for i, (_, seconds) in enumerate(depots)],
        [
            _vehicle(table, r, dates.index(run.date), refill_depots, loads, squeeze, scale)
            for r, run in enumerate(problem.runs)
        ],
        distances,
        durations,
        groups,
    )
    return Formulation(table, data, clients, refill_depots, scale)


class _Squeeze:
    """Clock times with the usual break cut out of the day, since PyVRP knows no breaks.

    Where most runs share a break, everything after it is moved forward by its length; the exact order of each
    run then puts the real break in.
    """

    def __init__(self, runs: Sequence[Run]) -> None:
        common = Counter(run.break_ for run in runs).most_common(1)
        self.rest: Break | None = common[0][0] if common and 2 * common[0][1] > len(runs) else None

    def __call__(self, clock: int) -> int:
        rest = self.rest
        if rest is None:
            return clock
        middle = (rest.from_ + max(rest.from_, rest.to - rest.seconds)) // 2
        return clock if clock <= middle else max(middle, clock - rest.seconds)

    def length(self, run: Run) -> int:
        """What is cut out of this run's paid time and hours."""
        return run.break_.seconds if run.break_ else 0


def _clients_of(table: Table, v: int, squeeze: _Squeeze) -> list[_Client]:
    """The clients that stand for one visit: one for each different window, at most MOST_WINDOWS of them."""
    runs = table.problem.runs
    dates = sorted({run.date for run in runs})
    opens, closes = min(run.open for run in runs), max(run.close for run in runs)
    work = table.problem.visits[v].seconds
    on: dict[Window, set[int]] = {}
    able = {runs[r].date for r in table.runs_for[v]}
    for day in table.problem.visits[v].days:
        if day.date not in able:
            continue
        for a, b in day.windows:
            starts = (max(a, opens), min(b, closes) - work)
            if starts[0] <= starts[1]:
                squeezed = (squeeze(starts[0]), squeeze(starts[1]))
                on.setdefault(squeezed, set()).add(dates.index(day.date))
    while len(on) > MOST_WINDOWS and _narrow(on):
        pass
    return [_Client(v, starts, frozenset(days)) for starts, days in sorted(on.items())]


def _narrow(on: dict[Window, set[int]]) -> bool:
    """Joins the two windows that lose least by being cut to what they share; False if no two share anything."""
    best = None
    windows = sorted(on)
    for i, one in enumerate(windows):
        for other in windows[i + 1 :]:
            both = (max(one[0], other[0]), min(one[1], other[1]))
            if both[0] <= both[1] and not on[one] & on[other]:
                length = both[1] - both[0]
                lost = (one[1] - one[0] - length) * len(on[one]) + (other[1] - other[0] - length) * len(on[other])
                best = min(best or (lost, one, other, both), (lost, one, other, both))
    if best is None:
        return False
    _, one, other, both = best
    days = on.pop(one) | on.pop(other)
    on.setdefault(both, set()).update(days)
    return True


def _depots(table: Table) -> list[tuple[int, int]]:
    """Every start, end and refill as (place, seconds there): PyVRP charges a depot's seconds at the start too."""
    depots = dict.fromkeys((place, 0) for place in [*table.start_of, *table.end_of])
    depots.update(dict.fromkeys(tap for taps in table.taps_of for tap in taps))
    return list(depots)


def _groups(clients: list[_Client]) -> tuple[list[ClientGroup], dict[int, int]]:
    """An optional group for each visit that several clients stand for: at most one of them is served."""
    members: dict[int, list[int]] = {}
    for i, client in enumerate(clients):
        members.setdefault(client.visit, []).append(i)
    several = {v: own for v, own in members.items() if len(own) > 1}
    return [ClientGroup(own, required=False) for own in several.values()], {v: g for g, v in enumerate(several)}


def _scale(table: Table) -> int:
    """Parts of a cent to count in: even, so that half a day's cost is whole, and kind to a second of overtime."""
    second = table.problem.costs.cents_per_overtime_hour
    return min((2, 4, 6, 8, 10, 12, 16, 20), key=lambda scale: (abs(_off(second * scale)), scale))


def _off(per_hour: int) -> float:
    """How far a cost an hour is from a whole number a second, against its size."""
    return 0.0 if per_hour == 0 else abs(round(per_hour / HOUR) * HOUR / per_hour - 1)


def _matrices(
    table: Table, clients: list[_Client], depots: int, places: NDArray[np.int64], dates: int, scale: int
) -> tuple[list[Any], list[Any]]:
    """For each date, what each leg costs and how long it takes; a date that is not allowed is a day away."""
    problem = table.problem
    drive = np.array(table.drive, dtype=np.int64)[np.ix_(places, places)]
    base = (drive * scale + UNIT // 2) // UNIT
    seconds = np.array(table.seconds, dtype=np.int64)[np.ix_(places, places)]
    far = scale * 2 * max([visit.left_out_cents for visit in problem.visits] + [1]) + int(base.max(initial=0))
    long = max([DAY] + [run.close + 1 for run in problem.runs])
    ranks = np.array([problem.visits[client.visit].rank for client in clients], dtype=np.int64)
    falls = np.zeros(base.shape, dtype=bool)
    falls[depots:, depots:] = ranks[:, None] > ranks[None, :]
    base, seconds = np.where(falls, base + far, base), np.where(falls, long, seconds)
    days = sorted({run.date for run in problem.runs})
    cents = [{day.date: day.cents for day in visit.days} for visit in problem.visits]
    distances: list[Any] = []
    durations: list[Any] = []
    for d in range(dates):
        half = np.zeros(len(places), dtype=np.int64)
        closed = np.zeros(len(places), dtype=bool)
        for i, client in enumerate(clients):
            closed[depots + i] = d not in client.dates
            half[depots + i] = far if closed[depots + i] else cents[client.visit][days[d]] * scale // 2
        distance = base + half[:, None] + half[None, :]
        duration = np.where(closed[:, None] | closed[None, :], long, seconds)
        np.fill_diagonal(distance, 0)
        np.fill_diagonal(duration, 0)
        distances.append(distance)
        durations.append(duration)
    return distances, durations


class Loads:
    """The load dimensions: water, power and noise where limited, then one for each kind of run that is barred.

    A refill empties them all, so power and noise over a refill are only bounded here, not held.
    """

    def __init__(self, table: Table) -> None:
        runs, visits = table.problem.runs, table.problem.visits
        self.has_power = any(run.power_wh is not None for run in runs)
        self.has_noise = any(run.noise_percent is not None for run in runs)
        self.table = table
        self.kinds: dict[tuple[str, tuple[str, ...]], list[int]] = {}
        for run in runs:
            key = (run.van, tuple(sorted(run.has)))
            if key not in self.kinds:
                self.kinds[key] = [
                    0
                    if (visit.vans is None or run.van in visit.vans) and set(visit.needs) <= set(run.has)
                    else _FORBIDDEN
                    for visit in visits
                ]
        self.kinds = {key: barred for key, barred in self.kinds.items() if any(barred)}

    def of_visit(self, v: int) -> list[int]:
        """What a visit loads, in every dimension."""
        visit = self.table.problem.visits[v]
        loads = [visit.water_l]
        loads += [visit.power_wh] if self.has_power else []
        loads += [visit.noise_percent] if self.has_noise else []
        return loads + [barred[v] for barred in self.kinds.values()]

    def of_run(self, run: Run) -> list[int]:
        """What a run holds, in every dimension."""
        plenty = 1 + sum(max(v.power_wh, v.noise_percent, _FORBIDDEN) for v in self.table.problem.visits)
        loads = [run.water_l]
        loads += [plenty if run.power_wh is None else run.power_wh] if self.has_power else []
        loads += [plenty if run.noise_percent is None else run.noise_percent] if self.has_noise else []
        own = (run.van, tuple(sorted(run.has)))
        return loads + [0 if key == own else plenty for key in self.kinds]

    def penalties(self, unit: float) -> list[float]:
        """What one unit over costs at first: `unit` a litre, the others in proportion to what visits draw."""
        visits = self.table.problem.visits
        litres = sum(visit.water_l for visit in visits) or 1
        penalties = [unit]
        if self.has_power:
            penalties.append(unit * litres / (sum(visit.power_wh for visit in visits) or litres))
        if self.has_noise:
            penalties.append(unit * litres / (sum(visit.noise_percent for visit in visits) or litres))
        return penalties + [unit for _ in self.kinds]


def _vehicle(
    table: Table,
    r: int,
    date: int,
    refill_depots: dict[tuple[int, int], int],
    loads: Loads,
    squeeze: _Squeeze,
    scale: int,
) -> VehicleType:
    run, costs = table.problem.runs[r], table.problem.costs
    capacity = loads.of_run(run)
    short = 0 if run.water_at_start_l is None else run.water_l - run.water_at_start_l
    cut = squeeze.length(run)
    refills = run.max_refills if run.refills else 0
    return VehicleType(
        capacity=capacity,
        start_depot=refill_depots[table.start_of[r], 0],
        end_depot=refill_depots[table.end_of[r], 0],
        fixed_cost=costs.cents_per_run * scale,
        tw_early=run.open,
        tw_late=max(run.open, run.close - cut),
        shift_duration=max(0, run.paid_seconds - cut),
        profile=date,
        initial_load=[short] + [0] * (len(capacity) - 1),
        reload_depots=[refill_depots[tap] for tap in table.taps_of[r]] if refills else [],
        max_reloads=refills,
        max_overtime=run.max_overtime_seconds,
        unit_overtime_cost=round(costs.cents_per_overtime_hour * scale / HOUR),
    )

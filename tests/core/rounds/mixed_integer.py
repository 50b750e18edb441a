"""The round problem as a mixed-integer model for HiGHS, written from the rules alone, to prove small plans optimal.

It shares nothing with the planner: arcs between stops, a start time and litres at each, and big constants.
"""

from dataclasses import dataclass, field

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from coatround.core.rounds.problem import Kept, Problem, Run


@dataclass
class Model:
    """Variables and rows as they come, for scipy's milp."""

    cost: list[float] = field(default_factory=list)
    low: list[float] = field(default_factory=list)
    high: list[float] = field(default_factory=list)
    whole: list[int] = field(default_factory=list)
    rows: list[dict[int, float]] = field(default_factory=list)
    row_low: list[float] = field(default_factory=list)
    row_high: list[float] = field(default_factory=list)

    def var(self, low: float, high: float, cost: float = 0, whole: bool = False) -> int:
        self.low.append(low)
        self.high.append(high)
        self.cost.append(cost)
        self.whole.append(int(whole))
        return len(self.cost) - 1

    def yes_no(self, cost: float = 0) -> int:
        return self.var(0, 1, cost, whole=True)

    def row(self, terms: list[tuple[int, float]], low: float = -np.inf, high: float = np.inf) -> None:
        summed: dict[int, float] = {}
        for var, factor in terms:
            summed[var] = summed.get(var, 0) + factor
        self.rows.append(summed)
        self.row_low.append(low)
        self.row_high.append(high)

    def least_cost(self) -> float:
        entries = [(i, var, factor) for i, row in enumerate(self.rows) for var, factor in row.items()]
        rows, columns, factors = zip(*entries, strict=True)
        matrix = csr_array((factors, (rows, columns)), shape=(len(self.rows), len(self.cost)))
        result = milp(
            np.array(self.cost),
            integrality=np.array(self.whole),
            bounds=Bounds(self.low, self.high),
            constraints=LinearConstraint(matrix, self.row_low, self.row_high),
            # With its presolve HiGHS lost the best plan on 2 of 200 problems: what it called the optimum was dearer
            # than a plan the checker passes. Without it all 200 agree.
            options={"mip_rel_gap": 0, "time_limit": 300, "presolve": False},
        )
        assert result.status == 0, result.message
        return float(result.fun)


@dataclass
class Node:
    """A stop that a run may make: a visit, or one copy of a refill place."""

    place: int
    seconds: int
    water: int
    rank: int | None = None
    visit: int | None = None
    cents: int = 0
    windows: tuple[tuple[int, int], ...] = ()
    more_cents: tuple[int, ...] = ()


def least_cost(problem: Problem) -> float:
    """The proven least cost of a problem in cents."""
    model = Model()
    planned: dict[int, list[tuple[int, int]]] = {v: [] for v in range(len(problem.visits))}
    for r, run in enumerate(problem.runs):
        for v, used in RunModel(problem, model, run).build().items():
            planned[v].append((r, used))
    for v, visit in enumerate(problem.visits):
        out = model.yes_no(visit.left_out_cents)
        model.row([(out, 1)] + [(used, 1) for _, used in planned[v]], 1, 1)
    for v, visit in enumerate(problem.visits):
        if visit.follows is None:
            continue
        first = next(i for i, other in enumerate(problem.visits) if other.id == visit.follows.visit)
        for own_run, own in planned[v]:
            for first_run, before in planned[first]:
                days = (problem.runs[own_run].date - problem.runs[first_run].date).days
                if not visit.follows.least_days <= days <= visit.follows.most_days:
                    model.row([(own, 1), (before, 1)], high=1)
    return model.least_cost()


class RunModel:
    """The part of the model that is one run's."""

    def __init__(self, problem: Problem, model: Model, run: Run) -> None:
        self.problem, self.model, self.run = problem, model, run
        assert problem.travel is not None
        self.seconds, self.metres = problem.travel.seconds, problem.travel.metres
        self.number = {place.id: i for i, place in enumerate(problem.places)}
        self.nodes = self._visit_nodes() + self._refill_nodes()

    def _visit_nodes(self) -> list[Node]:
        nodes = []
        for v, visit in enumerate(self.problem.visits):
            day = next((day for day in visit.days if day.date == self.run.date), None)
            barred = visit.vans is not None and self.run.van not in visit.vans
            if day is None or barred or not set(visit.needs) <= set(self.run.has):
                continue
            windows = [(a, b, 0) for a, b in day.windows if b - a >= visit.seconds]
            if day.kept:
                windows = [piece for a, b, _ in windows for piece in self._parted(a, b, visit.seconds, day.kept)]
            if windows:
                place, bare = self.number[visit.place], tuple((a, b) for a, b, _ in windows)
                more = tuple(cents for _, _, cents in windows)
                nodes.append(Node(place, visit.seconds, visit.water_l, visit.rank, v, day.cents, bare, more))
        return nodes

    @staticmethod
    def _parted(a: int, b: int, work: int, kept: Kept) -> list[tuple[int, int, int]]:
        """A window in up to three, each for the starts before, in and after what is kept."""
        parts = [
            (a, min(b, kept.from_ - 1 + work), kept.cents),
            (max(a, kept.from_), min(b, kept.to + work), 0),
            (max(a, kept.to + 1), b, kept.cents),
        ]
        return [(first, last, cents) for first, last, cents in parts if last - first >= work]

    def _refill_nodes(self) -> list[Node]:
        return [
            Node(self.number[refill.place], refill.seconds, 0)
            for _ in range(self.run.max_refills)
            for refill in self.run.refills
        ]

    def build(self) -> dict[int, int]:
        """Adds the run; gives the yes-or-no variable of each visit it may do."""
        model, run = self.model, self.run
        self.used = [model.yes_no(node.cents) for node in self.nodes]
        self.out = model.yes_no(self.problem.costs.cents_per_run)
        self.leave, self.back = model.var(run.open, run.close), model.var(run.open, run.close)
        self.bounds = [self._bounds(node) for node in self.nodes]
        self.start = [model.var(*bounds) for bounds in self.bounds]
        self._arcs()
        self._hours()
        self._windows()
        self._sums()
        self._tank()
        self._ranks()
        self._times()
        return {node.visit: self.used[i] for i, node in enumerate(self.nodes) if node.visit is not None}

    def _bounds(self, node: Node) -> tuple[int, int]:
        """The earliest and the latest that a stop may start."""
        if node.visit is None:
            return self.run.open, self.run.close
        return min(a for a, _ in node.windows), max(b for _, b in node.windows) - node.seconds

    def _arcs(self) -> None:
        """Each used node is entered and left once, the run leaves and comes back once; -1 is both ends."""
        ends, count = -1, len(self.nodes)
        self.arcs = {
            (a, b): self.model.yes_no(self._drive(a, b))
            for a in range(ends, count)
            for b in range(ends, count)
            if a != b and self._may_follow(a, b)
        }
        for i in range(count):
            self.model.row([(x, 1) for (a, _), x in self.arcs.items() if a == i] + [(self.used[i], -1)], 0, 0)
            self.model.row([(x, 1) for (_, b), x in self.arcs.items() if b == i] + [(self.used[i], -1)], 0, 0)
        self.model.row([(x, 1) for (a, _), x in self.arcs.items() if a == ends] + [(self.out, -1)], 0, 0)

    def _may_follow(self, a: int, b: int) -> bool:
        """Drops arcs that no best plan drives: ranks that fall, and refills with no visit after them."""
        if a < 0:
            return True
        if b < 0 or self.nodes[b].visit is None:
            return self.nodes[a].visit is not None
        before, after = self.nodes[a].rank, self.nodes[b].rank
        return before is None or after is None or before <= after

    def _place(self, i: int, leaving: bool) -> int:
        if i >= 0:
            return self.nodes[i].place
        return self.number[self.run.start_place if leaving else self.run.end_place]

    def _drive(self, a: int, b: int) -> float:
        costs, places = self.problem.costs, (self._place(a, True), self._place(b, False))
        seconds, metres = self.seconds[places[0]][places[1]], self.metres[places[0]][places[1]]
        return seconds * costs.cents_per_drive_hour / 3600 + metres * costs.cents_per_km / 1000

    def _hours(self) -> None:
        run, costs = self.run, self.problem.costs
        over = self.model.var(0, run.max_overtime_seconds, costs.cents_per_overtime_hour / 3600)
        self.model.row([(self.back, 1), (self.leave, -1), (over, -1)], high=run.paid_seconds)

    def _windows(self) -> None:
        for i, node in enumerate(self.nodes):
            if node.visit is None:
                continue
            choice = [self.model.yes_no(cents) for cents in node.more_cents or (0,) * len(node.windows)]
            self.model.row([(c, 1) for c in choice] + [(self.used[i], -1)], 0, 0)
            for c, (a, b) in zip(choice, node.windows, strict=True):
                self.model.row([(self.start[i], 1), (c, -a)], low=0)
                spare = self.bounds[i][1] - (b - node.seconds)
                self.model.row([(self.start[i], 1), (c, spare)], high=b - node.seconds + spare)

    def _sums(self) -> None:
        visits = self.problem.visits
        own = [(self.used[i], visits[n.visit]) for i, n in enumerate(self.nodes) if n.visit is not None]
        if self.run.power_wh is not None and own:
            self.model.row([(used, visit.power_wh) for used, visit in own], high=self.run.power_wh)
        if self.run.noise_percent is not None and own:
            self.model.row([(used, visit.noise_percent) for used, visit in own], high=self.run.noise_percent)
        refills = [(self.used[i], 1.0) for i, node in enumerate(self.nodes) if node.visit is None]
        if refills:
            self.model.row(refills, high=self.run.max_refills)

    def _tank(self) -> None:
        """Litres left after each stop; a refill is not bound by what came before."""
        full = self.run.water_l
        first = full if self.run.water_at_start_l is None else self.run.water_at_start_l
        left = [self.model.var(0, full) for _ in self.nodes]
        for (a, b), x in self.arcs.items():
            if b < 0 or self.nodes[b].visit is None:
                continue
            before = [] if a < 0 else [(left[a], -1.0)]
            # left[b] <= left[a] - water[b] when the arc is driven.
            limit = (first if a < 0 else 0) - self.nodes[b].water
            self.model.row([(left[b], 1), *before, (x, 2 * full)], high=limit + 2 * full)

    def _ranks(self) -> None:
        ranks = [
            self.model.var(0, 9) if node.rank is None else self.model.var(node.rank, node.rank) for node in self.nodes
        ]
        for (a, b), x in self.arcs.items():
            if a >= 0 and b >= 0:
                self.model.row([(ranks[b], 1), (ranks[a], -1), (x, -9)], low=-9)

    def _times(self) -> None:
        """Arrivals after ends plus travel, with the break between two stops where it is taken."""
        run, rest, model = self.run, self.run.break_, self.model
        rests = [model.yes_no() if rest else model.var(0, 0) for _ in self.nodes]
        begin = model.var(rest.from_, max(rest.from_, rest.to - rest.seconds)) if rest else model.var(0, 0)
        if rest:
            self._rest(rests, begin)
        for (a, b), x in self.arcs.items():
            travel = self.seconds[self._place(a, True)][self._place(b, False)]
            arrival, earliest = (self.back, run.open) if b < 0 else (self.start[b], self.bounds[b][0])
            before, gap = (self.leave, travel) if a < 0 else (self.start[a], self.nodes[a].seconds + travel)
            latest = run.close if a < 0 else self.bounds[a][1]
            big = max(0, gap + latest - earliest)
            model.row([(arrival, 1), (before, -1), (x, -big)], low=gap - big)
            if rest and a >= 0:
                gap = rest.seconds + travel
                big = max(0, gap + rest.to - earliest)
                model.row([(arrival, 1), (begin, -1), (x, -big), (rests[a], -big)], low=gap - 2 * big)

    def _rest(self, rests: list[int], begin: int) -> None:
        """The break is taken at one stop, or the run leaves after its `from`, or is back before its `to`."""
        model, rest = self.model, self.run.break_
        assert rest
        late, early = model.yes_no(), model.yes_no()
        model.row([(late, 1), (early, 1), (self.out, -1)] + [(q, 1) for q in rests], low=0)
        model.row([(q, 1) for q in rests], high=1)
        model.row([(self.leave, 1), (late, -(rest.from_ + 1))], low=0)
        model.row([(self.back, 1), (early, self.run.close)], high=rest.to - 1 + self.run.close)
        for i, q in enumerate(rests):
            model.row([(q, 1), (self.used[i], -1)], high=0)
            end = self.nodes[i].seconds
            big = end + self.bounds[i][1]
            model.row([(begin, 1), (self.start[i], -1), (q, -big)], low=end - big)

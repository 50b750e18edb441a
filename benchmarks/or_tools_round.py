"""A round problem given to OR-Tools' routing, to compare with: `or_tools_round.py PROBLEM ORDERS CPU_SECONDS [FIRST]`.

Set up as its guides show for such problems: one vehicle a run, a dropped visit pays what leaving it out costs, the
cost of a date lies on the arcs of that date's vehicles, a visit whose windows differ between dates is one of several
nodes of which one may be served, refills are optional nodes that empty a tank dimension (about one for each run,
spread over the places with a tap), a soft bound on the length of a run is its overtime. It starts with FIRST, its own
name for a way to a first solution, and goes on by guided local search until the CPU seconds are used up. Without FIRST
that is the best of those tried on one round of its size: with one van PATH_CHEAPEST_ARC, of five; with three that finds
nothing in a minute, and PARALLEL_CHEAPEST_INSERTION did best of four. Ranks, breaks, power, noise, needs and ties are
not given to it: the generated rounds have none.
"""

import json
import sys
import time
from dataclasses import dataclass
from itertools import count, pairwise
from pathlib import Path

from cpu_planning import most_kb
from ortools.constraint_solver import pywrapcp, routing_enums_pb2

from coatround.core.rounds.cost import UNIT
from coatround.core.rounds.fileformat import read_problem
from coatround.core.rounds.problem import Problem
from coatround.core.rounds.table import Table

PARTS = 10
"""Parts of a cent that costs are counted in, since it takes whole numbers only."""
RESERVE_SECONDS = 0.3
MANY_RUNS = 30
"""More runs than this and another first solution does better."""

Windows = tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class Node:
    """A place with work there: a visit with its start windows and the runs that have them, a refill, or an end."""

    place: int
    seconds: int = 0
    litres: int = 0
    visit: int | None = None
    starts: Windows = ()
    runs: tuple[int, ...] = ()


def nodes_of(table: Table) -> tuple[list[Node], list[Node], list[Node]]:
    """The ends of the runs, the visits, the refills."""
    ends = [Node(place) for place in dict.fromkeys((*table.start_of, *table.end_of))]
    visits = []
    for v, visit in enumerate(table.problem.visits):
        runs_with: dict[Windows, list[int]] = {}
        for r in table.runs_for[v]:
            runs_with.setdefault(tuple(table.choices[r][v].starts), []).append(r)
        for starts, runs in runs_with.items():
            visits.append(Node(table.place_of[v], visit.seconds, visit.water_l, v, starts, tuple(runs)))
    runs_at: dict[tuple[int, int], list[int]] = {}
    for r, taps in enumerate(table.taps_of):
        for tap in taps:
            runs_at.setdefault(tap, []).append(r)
    copies = -(-len(table.problem.runs) // max(1, len(runs_at)))
    refills = [Node(place, seconds, runs=tuple(runs)) for (place, seconds), runs in runs_at.items()] * copies
    return ends, visits, refills


class Model:
    """The routing model of one problem and the way back."""

    def __init__(self, problem: Problem) -> None:
        self.table, self.problem = Table(problem), problem
        self.ends, self.visits, self.refills = nodes_of(self.table)
        self.nodes = [*self.ends, *self.visits, *self.refills]
        number = {node.place: i for i, node in enumerate(self.ends)}
        starts, ends = ([number[place] for place in places] for places in (self.table.start_of, self.table.end_of))
        self.manager = pywrapcp.RoutingIndexManager(len(self.nodes), len(problem.runs), starts, ends)
        self.routing = pywrapcp.RoutingModel(self.manager)
        self._costs()
        self._clock()
        self._tank()
        self._may_drop()

    def _costs(self) -> None:
        """Driving, and on the way to a visit what the date costs: a matrix a date."""
        drive = [[self.table.drive[a.place][b.place] for b in self.nodes] for a in self.nodes]
        matrix_of: dict[object, int] = {}
        for r, run in enumerate(self.problem.runs):
            if run.date not in matrix_of:
                day = [self._day_units(node, r) for node in self.nodes]
                rows = [[round(PARTS * (d + own) / UNIT) for d, own in zip(row, day, strict=True)] for row in drive]
                matrix_of[run.date] = self.routing.RegisterTransitMatrix(rows)
            self.routing.SetArcCostEvaluatorOfVehicle(matrix_of[run.date], r)
            self.routing.SetFixedCostOfVehicle(PARTS * self.problem.costs.cents_per_run, r)

    def _day_units(self, node: Node, r: int) -> int:
        """What the date of run `r` costs at this node; all vans of a date cost the same."""
        if node.visit is None or node.visit not in self.table.choices[r]:
            return 0
        return self.table.choices[r][node.visit].day_units

    def _clock(self) -> None:
        rows = [[a.seconds + self.table.seconds[a.place][b.place] for b in self.nodes] for a in self.nodes]
        latest = max(run.close for run in self.problem.runs)
        transit = self.routing.RegisterTransitMatrix(rows)
        self.routing.AddDimension(transit, latest, latest, False, "clock")
        clock = self.routing.GetDimensionOrDie("clock")
        second = round(PARTS * self.problem.costs.cents_per_overtime_hour / 3600)
        for r, run in enumerate(self.problem.runs):
            for index in (self.routing.Start(r), self.routing.End(r)):
                clock.CumulVar(index).SetRange(run.open, run.close)
            clock.SetSpanUpperBoundForVehicle(run.paid_seconds + run.max_overtime_seconds, r)
            clock.SetSoftSpanUpperBoundForVehicle(pywrapcp.BoundCost(run.paid_seconds, second), r)
            self.routing.AddVariableMinimizedByFinalizer(clock.CumulVar(self.routing.End(r)))
        for i, node in enumerate(self.nodes):
            if node.starts:
                at = clock.CumulVar(self.manager.NodeToIndex(i))
                at.SetRange(node.starts[0][0], node.starts[-1][1])
                for (_, last), (first, _) in pairwise(node.starts):
                    at.RemoveInterval(last + 1, first - 1)
            if node.runs:
                self.routing.VehicleVar(self.manager.NodeToIndex(i)).SetValues([-1, *node.runs])

    def _tank(self) -> None:
        """What was drawn since the last refill, which takes all of it off again."""
        full = max(run.water_l for run in self.problem.runs)
        drawn = [-full if node.visit is None and node.runs else node.litres for node in self.nodes]
        transit = self.routing.RegisterUnaryTransitVector(drawn)
        tanks = [run.water_l for run in self.problem.runs]
        self.routing.AddDimensionWithVehicleCapacity(transit, full, tanks, True, "tank")
        tank = self.routing.GetDimensionOrDie("tank")
        for i, node in enumerate(self.nodes):
            if node.visit is not None:
                tank.SlackVar(self.manager.NodeToIndex(i)).SetValue(0)
        for r in range(len(self.problem.runs)):
            tank.SlackVar(self.routing.Start(r)).SetValue(0)

    def _may_drop(self) -> None:
        first = len(self.ends)
        of_visit: dict[int, list[int]] = {}
        for i, node in enumerate(self.visits):
            assert node.visit is not None
            of_visit.setdefault(node.visit, []).append(self.manager.NodeToIndex(first + i))
        for v, indices in of_visit.items():
            self.routing.AddDisjunction(indices, PARTS * self.problem.visits[v].left_out_cents, 1)
        for i in range(first + len(self.visits), len(self.nodes)):
            self.routing.AddDisjunction([self.manager.NodeToIndex(i)], 0)

    def solved(self, end: float, first_solution: str) -> list[list[int]]:
        """For each run the visits in order, as found until this process has used `end` CPU seconds."""
        search = pywrapcp.DefaultRoutingSearchParameters()
        search.first_solution_strategy = getattr(routing_enums_pb2.FirstSolutionStrategy, first_solution)
        search.local_search_metaheuristic = routing_enums_pb2.LocalSearchMetaheuristic.GUIDED_LOCAL_SEARCH
        search.time_limit.FromSeconds(24 * 3600)
        asked = count()

        def over() -> bool:
            # The clock is a call to the system, and this is asked tens of thousands of times a second.
            return next(asked) % 100 == 0 and time.process_time() >= end

        self.routing.AddSearchMonitor(self.routing.solver().CustomLimit(over))
        found = self.routing.SolveWithParameters(search)
        orders: list[list[int]] = [[] for _ in self.problem.runs]
        for r in range(len(orders) if found else 0):
            index = self.routing.Start(r)
            while not self.routing.IsEnd(index):
                node = self.nodes[self.manager.IndexToNode(index)]
                orders[r] += [] if node.visit is None else [node.visit]
                index = found.Value(self.routing.NextVar(index))
        return orders


def main(problem_file: str, out: str, cpu_seconds: str, first_solution: str = "") -> None:
    model = Model(read_problem(Path(problem_file).read_bytes()))
    usual = "PATH_CHEAPEST_ARC" if len(model.problem.runs) <= MANY_RUNS else "PARALLEL_CHEAPEST_INSERTION"
    orders = model.solved(float(cpu_seconds) - RESERVE_SECONDS, first_solution or usual)
    Path(out).write_text(json.dumps(orders), encoding="utf-8")
    print(most_kb())


if __name__ == "__main__":
    main(*sys.argv[1:])

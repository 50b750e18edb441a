"""How fast openings are found for a caller among twelve vans over four weeks, and whether they are the best there are.

    python benchmarks/openings.py --data FOLDER --callers 200

FOLDER (or COATROUND_BENCHDATA) holds rounds/make_rounds.py. A generated round of 12 vans is planned, one visit after
the other is taken for a caller's: it is taken out of its run, the index is made from the rest, and the ten best gaps
are asked for. Brute force puts the visit in every gap of every run it may go on, with each new refill beside it or
none, times the run by its own code and lets the checker judge; the best must cost the same.
"""

import argparse
import datetime as dt
import os
import random
import statistics
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

from cpu_planning import SOURCE, commit

sys.path.insert(0, str(SOURCE.parent))

from tests.core.rounds.test_gaps import brute_force

from coatround.core.rounds.by_hand import plan_of_runs, without
from coatround.core.rounds.fileformat import read_problem
from coatround.core.rounds.gaps import Gaps, way_of_place
from coatround.core.rounds.plan import Plan
from coatround.core.rounds.problem import Problem
from coatround.core.rounds.solve import after_iterations, solve

TARGET_MS = 5.0


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--data", metavar="FOLDER", help="the benchmark data; else COATROUND_BENCHDATA")
    parser.add_argument("--callers", type=int, default=200)
    parser.add_argument("--vans", type=int, default=12)
    parser.add_argument("--iterations", type=int, default=3000, help="of planning the round first (default 3000)")
    asked = parser.parse_args()
    maker = Path(asked.data or os.environ.get("COATROUND_BENCHDATA") or ".") / "rounds" / "make_rounds.py"
    if not maker.is_file():
        print(
            "no benchmark data: give --data FOLDER or set COATROUND_BENCHDATA (rounds/make_rounds.py)", file=sys.stderr
        )
        return 2
    command = [sys.executable, str(maker), "--vans", str(asked.vans), "--seed", "1"]
    problem = read_problem(subprocess.run(command, check=True, capture_output=True).stdout)
    plan = solve(problem, 1, after_iterations(asked.iterations))
    chance = random.Random(1)
    callers = chance.sample([visit.id for visit in problem.visits], asked.callers)
    makes, queries, same, found = [], [], 0, 0
    for caller in callers:
        rest, standing, new = _without(problem, plan, caller)
        way = way_of_place(rest, new.place)
        began = time.perf_counter()
        index = Gaps(rest, standing)
        makes.append(1000 * (time.perf_counter() - began))
        began = time.perf_counter()
        gaps = index.best(new, way)
        queries.append(1000 * (time.perf_counter() - began))
        near = _near(problem, standing, caller)
        same += (gaps[0].units if gaps else None) == near
        found += bool(gaps)
    p95 = sorted(queries)[int(0.95 * len(queries))]
    size = f"{asked.vans} vans, {len(problem.runs)} runs, {len(problem.visits)} visits"
    print(f"{dt.date.today()}, commit {commit()}: {size}")
    print(f"index: p50 {statistics.median(makes):.1f} ms, longest {max(makes):.1f} ms")
    usual = statistics.median(queries)
    print(f"a query: p50 {usual:.2f} ms, p95 {p95:.2f}, longest {max(queries):.2f} (target p95 {TARGET_MS})")
    print(f"equal to brute force: {same} of {len(callers)} callers, {found} of them with an opening")
    return 0 if p95 < TARGET_MS and same == len(callers) else 1


def _without(problem: Problem, plan: Plan, caller: str):  # type: ignore[no-untyped-def]
    new = next(visit for visit in problem.visits if visit.id == caller)
    rest = replace(problem, visits=tuple(visit for visit in problem.visits if visit.id != caller))
    return rest, plan_of_runs(rest, without(problem, plan, caller).runs), new


def _near(problem: Problem, standing: Plan, caller: str) -> int | None:
    """Brute force run by run: each run of a date that the visit may fall on, checked with only its own visits."""
    new = next(visit for visit in problem.visits if visit.id == caller)
    dates = {day.date for day in new.days}
    best = None
    known = {run.id: run for run in standing.runs}
    for run in (run for run in problem.runs if run.date in dates):
        own = set(known[run.id].visit_ids) if run.id in known else set()
        part = replace(problem, runs=(run,), visits=tuple(v for v in problem.visits if v.id in own or v.id == caller))
        more = brute_force(part, plan_of_runs(part, [known[run.id]] if run.id in known else []), new)
        best = more if best is None or (more is not None and more < best) else best
    return best


if __name__ == "__main__":
    raise SystemExit(main())

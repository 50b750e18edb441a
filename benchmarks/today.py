"""How long the rest of a late run takes to be looked at again: new times, a swap, one visit moved to another day.

    python benchmarks/today.py --data FOLDER --days 100

FOLDER (or COATROUND_BENCHDATA) holds rounds/make_rounds.py. Rounds of one van are planned once, half of the visits are
told half an hour round their planned arrival, and the van is late by 10 to 90 minutes at a random stop of a random
day. Seconds are CPU seconds of one look; `helps` says how often a way out left less lateness than pushing on.
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

from cpu_planning import commit

from coatround.core.rounds.by_hand import plan_of_runs
from coatround.core.rounds.check import check
from coatround.core.rounds.fileformat import read_problem
from coatround.core.rounds.plan import Plan, PlannedRun, VisitStop
from coatround.core.rounds.problem import Day, Problem, Visit
from coatround.core.rounds.solve import after_iterations, solve
from coatround.core.rounds.today import Here, ways_out

TARGET_SECONDS = 0.2
HALF_HOUR = 1800


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--data", metavar="FOLDER", help="the benchmark data; else COATROUND_BENCHDATA")
    parser.add_argument("--days", type=int, default=100)
    parser.add_argument("--instances", type=int, default=4)
    asked = parser.parse_args()
    maker = Path(asked.data or os.environ.get("COATROUND_BENCHDATA") or ".") / "rounds" / "make_rounds.py"
    if not maker.is_file():
        print(
            "no benchmark data: give --data FOLDER or set COATROUND_BENCHDATA (rounds/make_rounds.py)", file=sys.stderr
        )
        return 2
    chance = random.Random(1)
    seconds, helps, faults, planning = [], 0, 0, []
    for instance in range(1, asked.instances + 1):
        problem, plan, spent = _planned(maker, instance, chance)
        planning.append(spent)
        for _ in range(asked.days // asked.instances):
            run = chance.choice([run for run in plan.runs if len(run.visit_ids) > 2])
            rest, here = _late(problem, run, chance)
            standing = _from(problem, plan, run.id, rest)
            began = time.process_time()
            ways = ways_out(problem, standing, run.id, here)
            seconds.append(time.process_time() - began)
            helps += len(ways) > 1
            faults += sum("wrong_" in fault.code for way in ways for fault in check(way.problem, way.plan))
    seconds.sort()
    p95 = seconds[int(0.95 * len(seconds))]
    usual, first = 1000 * statistics.median(seconds), statistics.median(planning)
    print(f"{dt.date.today()}, commit {commit()}: {len(seconds)} late days, {asked.instances} rounds of one van")
    print(f"p50 {usual:.0f}, p95 {1000 * p95:.0f}, longest {1000 * seconds[-1]:.0f} ms, target {TARGET_SECONDS} s")
    print(f"planning such a round at first: {first:.1f} s, {first / p95:.0f} times the p95")
    print(f"a way out helps on {helps} of {len(seconds)}; wrong times or costs by the checker: {faults}")
    return 0 if seconds[-1] < TARGET_SECONDS and not faults else 1


def _planned(maker: Path, instance: int, chance: random.Random) -> tuple[Problem, Plan, float]:
    """One generated round, planned for 2,000 iterations; half of its visits told half an hour round their arrival."""
    command = [sys.executable, str(maker), "--vans", "1", "--seed", str(instance)]
    problem = read_problem(subprocess.run(command, check=True, capture_output=True).stdout)
    began = time.process_time()
    plan = solve(problem, 1, after_iterations(2000))
    spent = time.process_time() - began
    date = {run.id: run.date for run in problem.runs}
    starts = {
        one.visit: (date[run.id], one.start) for run in plan.runs for one in run.stops if isinstance(one, VisitStop)
    }
    visits = tuple(
        _told(one, *starts[one.id]) if one.id in starts and chance.random() < 0.5 else one for one in problem.visits
    )
    told = replace(problem, visits=visits)
    return told, plan_of_runs(told, plan.runs, plan.left_out), spent


def _told(visit: Visit, date: dt.date, start: int) -> Visit:
    window = max(0, start - HALF_HOUR), start + HALF_HOUR + visit.seconds
    return replace(visit, told=True, left_out_cents=1_000_000, days=(Day(date, 0, (window,)),))


def _late(problem: Problem, run: PlannedRun, chance: random.Random) -> tuple[list[str], Here]:
    """What is left of a run after some visits, and the van later than planned at the last of them, or at home."""
    places = {visit.id: visit.place for visit in problem.visits}
    stops = [stop for stop in run.stops if isinstance(stop, VisitStop)]
    done = chance.randrange(0, len(stops) - 1)
    late = chance.randrange(10, 91) * 60
    start = next(one.start_place for one in problem.runs if one.id == run.id)
    now = (stops[done - 1].end if done else run.leave) + late
    place = places[stops[done - 1].visit] if done else start
    return [stop.visit for stop in stops[done:]], Here(now, place, worked_seconds=now - run.leave)


def _from(problem: Problem, plan: Plan, run_id: str, rest: list[str]) -> Plan:
    """The plan with only the rest of one run in it."""
    runs = [
        replace(run, stops=tuple(one for one in run.stops if isinstance(one, VisitStop) and one.visit in rest))
        if run.id == run_id
        else run
        for run in plan.runs
    ]
    return plan_of_runs(problem, runs, plan.left_out)


if __name__ == "__main__":
    raise SystemExit(main())

"""The planner beside OR-Tools and beside the by-hand rule, on the same generated rounds in the same run.

    python benchmarks/against_others.py --data FOLDER --rounds 1:1-10 --cpu-seconds 20 --seed 1

A round is VANS:NUMBER of make_rounds.py in FOLDER (or COATROUND_BENCHDATA). The planner and OR-Tools, as
or_tools_round.py sets it up, each get the CPU seconds of one process of their own, start-up included. What OR-Tools
found is then put in each run's exact order and timed to the second by our own code, refills included, which only makes
it cheaper, and what it left out stays left out; the same checker costs both. By hand is diary_rule.py, for rounds of
one van, and takes no time. It ends with 1 when OR-Tools is not dearer on every round, when driving by the planner is
less than 20 % under that by hand with the nearest next in the mean, or when the checker finds a fault.

OR-Tools is needed for this alone: `pip install --require-hashes -r requirements/compare.txt`.
"""

import argparse
import datetime
import importlib.util
import json
import os
import subprocess
import sys
import tempfile
from itertools import pairwise
from pathlib import Path

from cpu_planning import Planned, commit, own_process, planned
from diary_rule import diary_plan

from coatround.core.rounds.check import check
from coatround.core.rounds.fileformat import read_problem, write_problem
from coatround.core.rounds.plan import BreakStop, Plan, RefillStop
from coatround.core.rounds.problem import Problem
from coatround.core.rounds.repair import drafted
from coatround.core.rounds.solve import plan_of
from coatround.core.rounds.table import Table

TARGET_PERCENT = 20.0
HEADINGS = (
    "round, vans:number",
    "visits",
    "planner, cents",
    "left out",
    "OR-Tools, cents",
    "left out",
    "OR-Tools / planner",
    "planner, drive min a visit",
    "nearest next, cents",
    "left out",
    "drive min a visit",
    "planner less by",
    "soonest next, cents",
    "left out",
    "drive min a visit",
    "planner less by",
)


def main() -> int:
    asked = _arguments()
    maker = Path(asked.data or os.environ.get("COATROUND_BENCHDATA") or ".") / "rounds" / "make_rounds.py"
    if not maker.is_file():
        print(
            "no benchmark data: give --data FOLDER or set COATROUND_BENCHDATA (rounds/make_rounds.py)", file=sys.stderr
        )
        return 2
    if importlib.util.find_spec("ortools") is None:
        print("no OR-Tools: pip install --require-hashes -r requirements/compare.txt", file=sys.stderr)
        return 2
    print(f"{asked.cpu_seconds:g} CPU s each, seed {asked.seed}, commit {commit()}, {datetime.date.today()}")
    print("| " + " | ".join(HEADINGS) + " |")
    print("|---|" + "---:|" * (len(HEADINGS) - 1), flush=True)
    found = [_one_round(maker, vans, number, asked) for vans, number in asked.rounds]
    return _verdict([one[0] for one in found], [one[1] for one in found if one[1]], sum(one[2] for one in found))


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--data", metavar="FOLDER", help="the benchmark data; else COATROUND_BENCHDATA")
    parser.add_argument("--rounds", type=_rounds, nargs="+", default=[_rounds("1:1-10")], help="default 1:1-10")
    parser.add_argument("--seed", type=int, default=1, help="seed of the planner (default 1)")
    parser.add_argument("--cpu-seconds", type=float, default=20.0)
    asked = parser.parse_args()
    asked.rounds = [one for several in asked.rounds for one in several]
    return asked


def _rounds(text: str) -> list[tuple[int, int]]:
    vans, _, numbers = text.partition(":")
    first, _, last = numbers.partition("-")
    return [(int(vans), number) for number in range(int(first), int(last or first) + 1)]


def _one_round(maker: Path, vans: int, number: int, asked: argparse.Namespace) -> tuple[float, tuple[float, ...], int]:
    """OR-Tools' cost against ours, by how many per cent we drive less than by hand, and the faults of all plans."""
    made = [sys.executable, str(maker), "--vans", str(vans), "--seed", str(number)]
    problem = read_problem(subprocess.run(made, check=True, capture_output=True).stdout)
    ours, theirs = planned(problem, asked.seed, asked.cpu_seconds), by_or_tools(problem, asked.cpu_seconds)
    ratio = theirs.plan.cost.total / ours.plan.cost.total
    faults = ours.faults + theirs.faults
    row = [f"{vans}:{number}", len(problem.visits), ours.plan.cost.total, len(ours.plan.left_out)]
    row += [theirs.plan.cost.total, len(theirs.plan.left_out), f"{ratio:.3f}"]
    less: tuple[float, ...] = ()
    if vans == 1:
        minutes, diaries = drive_minutes(problem, ours.plan), [diary_plan(problem), diary_plan(problem, soonest=True)]
        faults += sum(len(check(problem, diary)) for diary in diaries)
        by_hand = [drive_minutes(problem, diary) for diary in diaries]
        less = tuple(100 * (1 - minutes / one) for one in by_hand)
        row += [f"{minutes:.2f}"]
        for diary, one, share in zip(diaries, by_hand, less, strict=True):
            row += [diary.cost.total, len(diary.left_out), f"{one:.2f}", f"{share:.1f} %"]
    print("| " + " | ".join(map(str, row)) + (" |" if vans == 1 else " |" + " |" * 9), flush=True)
    return ratio, less, faults


def by_or_tools(problem: Problem, cpu_seconds: float) -> Planned:
    """What OR-Tools finds in so many CPU seconds, each run in its exact best order; nothing else is bettered."""
    with tempfile.TemporaryDirectory() as folder:
        asked, answer = Path(folder) / "problem.json", Path(folder) / "orders.json"
        asked.write_text(write_problem(problem), encoding="utf-8")
        program = Path(__file__).with_name("or_tools_round.py")
        used, kb = own_process([str(program), str(asked), str(answer), str(cpu_seconds)])
        orders = json.loads(answer.read_text(encoding="utf-8"))
    plan = plan_of(drafted(Table(problem), orders), 0, 0)
    return Planned(plan, len(check(problem, plan)), used, int(kb.split()[-1]) // 1024)


def drive_minutes(problem: Problem, plan: Plan) -> float:
    """Minutes on the road for each visit that is planned."""
    assert problem.travel is not None
    number = {place.id: i for i, place in enumerate(problem.places)}
    place_of = {visit.id: visit.place for visit in problem.visits}
    run_of = {run.id: run for run in problem.runs}
    seconds = visits = 0
    for planned_run in plan.runs:
        stops = [stop for stop in planned_run.stops if not isinstance(stop, BreakStop)]
        places = [stop.refill if isinstance(stop, RefillStop) else place_of[stop.visit] for stop in stops]
        run = run_of[planned_run.id]
        way = [number[place] for place in (run.start_place, *places, run.end_place)]
        seconds += sum(problem.travel.seconds[a][b] for a, b in pairwise(way))
        visits += len(planned_run.visit_ids)
    return seconds / 60 / max(1, visits)


def _verdict(ratios: list[float], less: list[tuple[float, ...]], faults: int) -> int:
    dearer = sum(ratio > 1 for ratio in ratios)
    print(f"OR-Tools is dearer on {dearer} of {len(ratios)} rounds, by {100 * (min(ratios) - 1):.1f} % at the least")
    nearest = TARGET_PERCENT
    if less:
        nearest, soonest = (sum(column) / len(less) for column in zip(*less, strict=True))
        print(f"driving a visit less than by hand, mean of {len(less)} rounds (target {TARGET_PERCENT:g} %):")
        print(f"{nearest:.2f} % with the nearest next, {soonest:.2f} % with the soonest next")
    print(f"the checker finds {faults} faults in all these plans")
    return 0 if dearer == len(ratios) and nearest >= TARGET_PERCENT and not faults else 1


if __name__ == "__main__":
    raise SystemExit(main())

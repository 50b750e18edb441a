"""How dear the planner's plans are against the best known, at a number of CPU seconds.

    python benchmarks/plan_quality.py --data FOLDER --vans 1 --instance 1-3 --seeds 1-5 --cpu-seconds 20

FOLDER (or COATROUND_BENCHDATA) holds rounds/make_rounds.py and rounds/best_known.csv. CPU seconds are those of the
whole planning process, start-up, check and writing included, so that a busy machine does not matter. `mb` is the
most memory that process had. A line a plan, then a table. It ends with 1 when a target is missed: the mean
over all instances, the memory, no visit left out, no fault.
"""

import argparse
import csv
import datetime
import json
import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

from cpu_planning import Planned, commit, planned

from coatround.core.rounds.fileformat import read_problem
from coatround.core.rounds.problem import Problem

TARGET_PERCENT = {(1, 20): 2.0, (1, 60): 1.5, (3, 20): 2.0, (3, 60): 0.7, (12, 60): 3.0}
MOST_MB = 1024


@dataclass(frozen=True, slots=True)
class Instance:
    """One generated round and what the planner made of it, a plan for each seed."""

    vans: int
    number: int
    best: int
    found: list[Planned]

    @property
    def above(self) -> list[float]:
        """Per cent above the best known."""
        return [100 * (one.plan.cost.total / self.best - 1) for one in self.found]


def main() -> int:
    asked = _arguments()
    folder = Path(asked.data or os.environ.get("COATROUND_BENCHDATA") or ".") / "rounds"
    if not (folder / "make_rounds.py").is_file():
        print(
            "no benchmark data: give --data FOLDER or set COATROUND_BENCHDATA (rounds/make_rounds.py)", file=sys.stderr
        )
        return 2
    best_known = read_best_known(folder / "best_known.csv")
    if unknown := [number for number in asked.instance if (asked.vans, number) not in best_known]:
        print(f"no best known for {asked.vans} van(s), instance {unknown[0]} in best_known.csv", file=sys.stderr)
        return 2
    measured = []
    for number in asked.instance:
        problem, best = make_round(folder, asked.vans, number), best_known[asked.vans, number]
        print(f"{asked.vans} van(s), instance {number}, {asked.cpu_seconds:g} CPU s, best known {best}")
        found = [one_seed(problem, seed, asked.cpu_seconds, best) for seed in asked.seeds]
        measured.append(Instance(asked.vans, number, best, found))
    return table(measured, asked)


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--data", metavar="FOLDER", help="the benchmark data; else COATROUND_BENCHDATA")
    parser.add_argument("--vans", type=int, default=1)
    parser.add_argument(
        "--instance", type=_numbers, default=[1], help="seeds of make_rounds.py, as 1 or 1-3 (default 1)"
    )
    parser.add_argument("--seeds", type=_numbers, default=[1, 2, 3, 4, 5], help="seeds of the planner (default 1-5)")
    parser.add_argument("--cpu-seconds", type=float, default=20.0)
    return parser.parse_args()


def _numbers(text: str) -> list[int]:
    first, _, last = text.partition("-")
    return list(range(int(first), int(last or first) + 1))


def read_best_known(file: Path) -> dict[tuple[int, int], int]:
    """The lowest cost found so far for each generated round, in cents."""
    with file.open(newline="") as rows:
        return {(int(row["vans"]), int(row["seed"])): int(row["best_known_cents"]) for row in csv.DictReader(rows)}


def make_round(folder: Path, vans: int, number: int) -> Problem:
    """The generated round with this number."""
    made = [sys.executable, str(folder / "make_rounds.py"), "--vans", str(vans), "--seed", str(number)]
    return read_problem(subprocess.run(made, check=True, capture_output=True).stdout)


def one_seed(problem: Problem, seed: int, cpu_seconds: float, best: int) -> Planned:
    """Plans with one seed in a process of its own, and tells of it."""
    found = planned(problem, seed, cpu_seconds)
    told = {
        "seed": seed,
        "cents": found.plan.cost.total,
        "left_out": len(found.plan.left_out),
        "ratio": round(found.plan.cost.total / best, 4),
        "check": found.checked,
        "cpu_seconds": round(found.cpu_seconds, 1),
        "iterations": found.plan.iterations,
        "mb": found.mb,
    }
    print("  " + json.dumps(told), flush=True)
    return found


def table(measured: list[Instance], asked: argparse.Namespace) -> int:
    """Prints a row an instance; 1 when a target is missed."""
    print(f"\n{asked.cpu_seconds:g} CPU s, seeds {asked.seeds}, commit {commit()}, {datetime.date.today()}")
    print("| vans | instance | best known | mean above | worst | left out, most | faults | MB, most |")
    print("|---:|---:|---:|---:|---:|---:|---:|---:|")
    for one in measured:
        left_out, faults, mb = most(one.found)
        mean = sum(one.above) / len(one.above)
        print(
            f"| {one.vans} | {one.number} | {one.best} | {mean:.2f} % | {max(one.above):.2f} % "
            f"| {left_out} | {faults} | {mb} |"
        )
    above = [percent for one in measured for percent in one.above]
    left_out, faults, mb = most([plan for one in measured for plan in one.found])
    mean, target = sum(above) / len(above), TARGET_PERCENT.get((asked.vans, round(asked.cpu_seconds)))
    print(f"mean of all {mean:.2f} %" + (f" (target {target} %)" if target else "") + f", worst {max(above):.2f} %")
    missed = target is not None and mean > target
    return 1 if missed or left_out or faults or mb >= MOST_MB else 0


def most(found: list[Planned]) -> tuple[int, int, int]:
    """The most left out, the most faults and the most memory of these plans."""
    return max(len(one.plan.left_out) for one in found), max(one.faults for one in found), max(one.mb for one in found)


if __name__ == "__main__":
    raise SystemExit(main())

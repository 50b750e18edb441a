"""How dear the planner's plans are against the best known, at a number of CPU seconds.

    python benchmarks/plan_quality.py --data FOLDER --vans 1 --instance 1 --seeds 1-5 --cpu-seconds 20

FOLDER (or COATROUND_BENCHDATA) holds rounds/make_rounds.py and rounds/best_known.csv. CPU seconds are those of the
whole planning process, start-up, check and writing included, so that a busy machine does not matter. `mb` is the
most memory that process had.
"""

import argparse
import csv
import json
import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

SOURCE = Path(__file__).resolve().parent.parent / "src"
sys.path.insert(0, str(SOURCE))


def main() -> int:
    asked = _arguments()
    if asked.one:
        return plan_one(Path(asked.one), Path(asked.out), asked.seed, asked.cpu_seconds)
    folder = asked.data or os.environ.get("COATROUND_BENCHDATA")
    maker = Path(folder or ".") / "rounds" / "make_rounds.py"
    if not folder or not maker.is_file():
        print(
            "no benchmark data: give --data FOLDER or set COATROUND_BENCHDATA (rounds/make_rounds.py)", file=sys.stderr
        )
        return 2
    for instance in asked.instance:
        report(maker, asked.vans, instance, asked.seeds, asked.cpu_seconds)
    return 0


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--data", metavar="FOLDER", help="the benchmark data; else COATROUND_BENCHDATA")
    parser.add_argument("--vans", type=int, default=1)
    parser.add_argument(
        "--instance", type=_numbers, default=[1], help="seeds of make_rounds.py, as 1 or 1-3 (default 1)"
    )
    parser.add_argument("--seeds", type=_numbers, default=[1, 2, 3, 4, 5], help="seeds of the planner (default 1-5)")
    parser.add_argument("--cpu-seconds", type=float, default=20.0)
    for hidden in ("--one", "--out"):
        parser.add_argument(hidden, help=argparse.SUPPRESS)
    parser.add_argument("--seed", type=int, default=1, help=argparse.SUPPRESS)
    return parser.parse_args()


def _numbers(text: str) -> list[int]:
    first, _, last = text.partition("-")
    return list(range(int(first), int(last or first) + 1))


def plan_one(problem_file: Path, out: Path, seed: int, cpu_seconds: float) -> int:
    """Plans one problem in this process until its own CPU seconds are used up; prints its most memory in kB."""
    from coatround.core.rounds.fileformat import read_problem
    from coatround.core.rounds.planfile import write_plan
    from coatround.core.rounds.solve import solve
    from coatround.plan_command import reserve_seconds

    problem = read_problem(problem_file.read_bytes())
    search_end = cpu_seconds - reserve_seconds(problem, cpu_seconds)
    plan = solve(
        problem,
        seed,
        lambda _: time.process_time() >= search_end,
        ends=lambda: time.process_time() >= cpu_seconds - 0.2,
    )
    out.write_text(write_plan(plan), encoding="utf-8")
    print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
    return 0


def report(maker: Path, vans: int, instance: int, seeds: list[int], cpu_seconds: float) -> None:
    """Prints a line a seed and the mean for one generated round."""
    best = best_known(maker.parent / "best_known.csv", vans, instance)
    with tempfile.TemporaryDirectory() as folder:
        problem_file = Path(folder) / "problem.json"
        made = [sys.executable, str(maker), "--vans", str(vans), "--seed", str(instance)]
        problem_file.write_bytes(subprocess.run(made, check=True, capture_output=True).stdout)
        print(f"{vans} van(s), instance {instance}, {cpu_seconds:g} CPU s, best known {best or 'unknown'}")
        costs = [one_seed(problem_file, Path(folder) / "plan.json", seed, cpu_seconds, best) for seed in seeds]
    mean = sum(costs) / len(costs)
    print(f"  mean {mean:.0f}" + (f", {100 * (mean / best - 1):+.2f} % of the best known" if best else ""), flush=True)


def one_seed(problem_file: Path, out: Path, seed: int, cpu_seconds: float, best: int | None) -> int:
    """Plans with one seed in a process of its own and checks the plan; its cost in cents."""
    from coatround.core.rounds.check import check
    from coatround.core.rounds.fileformat import read_problem
    from coatround.core.rounds.planfile import read_plan

    before = _children_seconds()
    command = [sys.executable, __file__, "--one", str(problem_file), "--out", str(out)]
    command += ["--seed", str(seed), "--cpu-seconds", str(cpu_seconds)]
    peak_kb = int(subprocess.run(command, check=True, capture_output=True, text=True).stdout)
    used = _children_seconds() - before
    plan = read_plan(out.read_bytes())
    faults = check(read_problem(problem_file.read_bytes()), plan)
    told = {
        "seed": seed,
        "cents": plan.cost.total,
        "left_out": len(plan.left_out),
        "ratio": round(plan.cost.total / best, 4) if best else None,
        "check": "passes" if not faults else f"{len(faults)} faults",
        "cpu_seconds": round(used, 1),
        "iterations": plan.iterations,
        "mb": peak_kb // 1024,
    }
    print("  " + json.dumps(told), flush=True)
    return plan.cost.total


def _children_seconds() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def best_known(file: Path, vans: int, instance: int) -> int | None:
    """The lowest cost found so far for this generated round, in cents."""
    with file.open(newline="") as rows:
        for row in csv.DictReader(rows):
            if (int(row["vans"]), int(row["seed"])) == (vans, instance):
                return int(row["best_known_cents"])
    return None


if __name__ == "__main__":
    raise SystemExit(main())

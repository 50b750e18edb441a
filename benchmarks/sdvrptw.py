"""How far the planner is from the best known on ten site-dependent vehicle routing problems with time windows.

    python benchmarks/sdvrptw.py --data FOLDER --seeds 1 --cpu-seconds 20

The problems are those of Cordeau and Laporte (2001); FOLDER (or COATROUND_BENCHDATA) holds sdvrptw/PRnn.vrp with
their best known solutions. A vehicle type may serve only some clients, as a visit may fall only on some days: a type
is read as a date, its vehicles as that date's runs. What else is different: nothing. A demand is litres, a tank is
never refilled, the longest route is the paid time of a day without overtime, a client that is not served costs
1,000,000 cents, and a metre costs a cent. Distances and times are Euclidean x 1000, rounded to the
nearest whole number: only then do the best known solutions cost what they say. It ends with 1 when the mean is over the
target of 1.0 % or a client is left out.
"""

import argparse
import datetime
import math
import os
import sys
from collections import defaultdict
from itertools import pairwise
from pathlib import Path

from cpu_planning import commit, planned

from coatround.core.rounds.problem import Costs, Day, Place, Problem, Run, Travel, Visit

NAMES = ("PR01", "PR02", "PR03", "PR04", "PR05", "PR06", "PR11", "PR12", "PR13", "PR14")
FIRST_DATE = datetime.date(2026, 3, 2)
TIMES = 1000
LEFT_OUT_CENTS = 1_000_000
TARGET_PERCENT = 1.0

Rows = dict[str, list[list[str]]]


def main() -> int:
    asked = _arguments()
    folder = Path(asked.data or os.environ.get("COATROUND_BENCHDATA") or ".") / "sdvrptw"
    if not all((folder / f"{name}{end}").is_file() for name in NAMES for end in (".vrp", ".sol")):
        print("no benchmark data: give --data FOLDER or set COATROUND_BENCHDATA (sdvrptw/PR01.vrp)", file=sys.stderr)
        return 2
    print(f"{asked.cpu_seconds:g} CPU s each, seeds {asked.seeds}, commit {commit()}, {datetime.date.today()}")
    print("| problem | clients | best known | seed | cost | above | left out | checker | CPU s | MB |")
    print("|---|---:|---:|---:|---:|---:|---:|---|---:|---:|")
    above, left_out = [], 0
    for name in asked.only or NAMES:
        problem, best = read_instance(folder / f"{name}.vrp"), best_known(folder / name)
        for seed in asked.seeds:
            found = planned(problem, seed, asked.cpu_seconds)
            above.append(100 * (found.plan.cost.total / best - 1))
            left_out += len(found.plan.left_out) + found.faults
            print(
                f"| {name} | {len(problem.visits)} | {best} | {seed} | {found.plan.cost.total} | {above[-1]:.2f} % "
                f"| {len(found.plan.left_out)} | {found.checked} | {found.cpu_seconds:.1f} | {found.mb} |",
                flush=True,
            )
    mean = sum(above) / len(above)
    print(f"mean {mean:.2f} % above the best known (target {TARGET_PERCENT} %), worst {max(above):.2f} %")
    return 1 if mean > TARGET_PERCENT or left_out else 0


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--data", metavar="FOLDER", help="the benchmark data; else COATROUND_BENCHDATA")
    parser.add_argument("--seeds", type=int, nargs="+", default=[1], help="seeds of the planner (default 1)")
    parser.add_argument("--only", choices=NAMES, nargs="+", help="some of the problems")
    parser.add_argument("--cpu-seconds", type=float, default=20.0)
    return parser.parse_args()


def read_instance(file: Path) -> Problem:
    """The problem of one .vrp file: its first point is the depot, all others are visits."""
    rows, longest = _sections(file)
    points = [(float(x), float(y)) for _, x, y in rows["NODE_COORD"]]
    apart = tuple(tuple(round(TIMES * math.hypot(a - c, b - d)) for c, d in points) for a, b in points)
    allowed = [frozenset(map(int, row[1:])) for row in rows["VEHICLES_ALLOWED_CLIENTS"]]
    date_of = {types: FIRST_DATE + datetime.timedelta(days=i) for i, types in enumerate(dict.fromkeys(allowed))}
    _, open_, close = rows["TIME_WINDOW"][0]
    runs = tuple(
        Run(
            id=f"run{number}",
            van=f"van{number}",
            date=date_of[types],
            start_place="p1",
            end_place="p1",
            open=TIMES * int(open_),
            close=TIMES * int(close),
            paid_seconds=TIMES * longest,
            max_overtime_seconds=0,
            water_l=int(rows["CAPACITY"][number][1]),
            max_refills=0,
        )
        for number, types in enumerate(allowed)
    )
    places = tuple(Place(f"p{i + 1}", 0.0, 0.0) for i in range(len(points)))
    visits = _visits(rows, date_of)
    return Problem(Costs(0, 1000, 0, 0), places, Travel(apart, apart), runs, visits)


def _visits(rows: Rows, date_of: dict[frozenset[int], datetime.date]) -> tuple[Visit, ...]:
    """Every client as a visit; the times of the file limit its start, those of a visit hold its whole work."""
    visits = []
    for i in range(1, len(rows["NODE_COORD"])):
        work = TIMES * int(rows["SERVICE_TIME"][i][1])
        first, last = (TIMES * int(value) for value in rows["TIME_WINDOW"][i][1:])
        days = tuple(Day(date, 0, ((first, last + work),)) for types, date in date_of.items() if i + 1 in types)
        litres = int(rows["DEMAND"][i][1])
        visits.append(Visit(f"v{i + 1}", f"p{i + 1}", work, litres, LEFT_OUT_CENTS, days))
    return tuple(visits)


def _sections(file: Path) -> tuple[Rows, int]:
    """The rows of each section by its name, and the longest a route may take."""
    rows: Rows = defaultdict(list)
    section, longest = "", 0
    for line in file.read_text(encoding="utf-8").splitlines():
        if line.endswith("_SECTION"):
            section = line.removesuffix("_SECTION")
        elif line.startswith("VEHICLES_MAX_DURATION"):
            longest = int(line.partition(":")[2])
        elif section and line and line != "EOF":
            rows[section].append(line.split())
    return rows, longest


def best_known(stem: Path) -> int:
    """The cost of the best known solution; its routes are added up again, which also proves the reading right."""
    travel = read_instance(stem.with_suffix(".vrp")).travel
    assert travel is not None
    total, said = 0, 0
    for line in stem.with_suffix(".sol").read_text(encoding="utf-8").splitlines():
        name, _, rest = line.partition(":")
        if name == "Cost":
            said = int(rest)
        else:
            way = [0, *map(int, rest.split()), 0]
            total += sum(travel.metres[a][b] for a, b in pairwise(way))
    if total != said:
        raise ValueError(f"{stem.name}: the routes of the best known solution come to {total}, not {said}")
    return said


if __name__ == "__main__":
    raise SystemExit(main())

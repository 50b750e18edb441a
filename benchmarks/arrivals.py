"""How often arrival windows hold: generated rounds are planned, and each run is driven many times over by plain chance.

    python benchmarks/arrivals.py --data FOLDER [--instance 1-2] [--seeds 1-5] [--days 100]

FOLDER (or COATROUND_BENCHDATA) holds rounds/make_rounds.py. The windows come from core/rounds/arrivals.py; what happens
comes from the loop below, which shares no code with it: it follows the plan's stops with `random.gauss`, drive by
drive. Ends with 1 when a window holds too seldom or too often. Hours are those of the plan: picking arrivals by the
hour in which they happened would pick out the late ones. All are counted, those too at which the van waits on four days
of five or more: their 80 % window is one instant, that of the door opening, and holds more than 80 %.
"""

import argparse
import json
import math
import os
import random
import subprocess
import sys
import time
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "src"))

if TYPE_CHECKING:
    from coatround.core.rounds.arrivals import Arrival
    from coatround.core.rounds.plan import Plan, PlannedRun
    from coatround.core.rounds.problem import Problem

HOUR = 3600
ITERATIONS = 300
WORK_SPREAD, DRIVE_SPREAD = 0.2, 0.25
BREAK = (1800, 11 * HOUR, 14 * HOUR)
LEAST = 10_000


@dataclass
class Tally:
    """How many arrivals were counted, and how many were inside."""

    count: int = 0
    inside: int = 0

    def add(self, is_inside: bool) -> None:
        self.count += 1
        self.inside += is_inside

    @property
    def percent(self) -> float:
        return 100 * self.inside / self.count if self.count else math.nan


@dataclass
class Tallies:
    """Everything that is counted; `hours` by the hour of the plan."""

    in_80: Tally = field(default_factory=Tally)
    in_95: Tally = field(default_factory=Tally)
    told: Tally = field(default_factory=Tally)
    instant_80: Tally = field(default_factory=Tally)
    hours: dict[int, Tally] = field(default_factory=lambda: defaultdict(Tally))
    hours_95: dict[int, Tally] = field(default_factory=lambda: defaultdict(Tally))
    hours_told: dict[int, Tally] = field(default_factory=lambda: defaultdict(Tally))
    wide_80: list[int] = field(default_factory=list)
    wide_told: list[int] = field(default_factory=list)
    reckoned: list[float] = field(default_factory=list)


def main() -> int:
    asked = _arguments()
    folder = asked.data or os.environ.get("COATROUND_BENCHDATA")
    maker = Path(folder or ".") / "rounds" / "make_rounds.py"
    if not folder or not maker.is_file():
        print(
            "no benchmark data: give --data FOLDER or set COATROUND_BENCHDATA (rounds/make_rounds.py)", file=sys.stderr
        )
        return 2
    tallies = Tallies()
    for instance in asked.instance:
        for with_break in (False, True):
            problem = problem_of(maker, instance, with_break)
            plan = planned(problem, instance)
            for seed in asked.seeds:
                drive_all(problem, plan, seed, asked.days, tallies)
    return report(tallies)


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--data", metavar="FOLDER", help="the benchmark data; else COATROUND_BENCHDATA")
    parser.add_argument("--instance", type=_numbers, default=[1, 2], help="seeds of make_rounds.py (default 1-2)")
    parser.add_argument("--seeds", type=_numbers, default=[1, 2, 3, 4, 5], help="seeds of the windows and the days")
    parser.add_argument("--days", type=int, default=100, help="how often each run is driven with each seed")
    return parser.parse_args()


def _numbers(text: str) -> list[int]:
    first, _, last = text.partition("-")
    return list(range(int(first), int(last or first) + 1))


def problem_of(maker: Path, instance: int, with_break: bool) -> "Problem":
    """A generated round with a spread of the work, and a break on every day or on none."""
    from coatround.core.rounds.fileformat import problem_of as read

    made = [sys.executable, str(maker), "--vans", "1", "--seed", str(instance)]
    value = json.loads(subprocess.run(made, check=True, capture_output=True).stdout)
    for visit in value["visits"]:
        visit["seconds_sd"] = round(WORK_SPREAD * visit["seconds"])
    if with_break:
        for run in value["runs"]:
            run["break"] = dict(zip(("seconds", "from", "to"), BREAK, strict=True))
    return read(value)


def planned(problem: "Problem", seed: int) -> "Plan":
    from coatround.core.rounds.solve import after_iterations, solve

    return solve(problem, seed, after_iterations(ITERATIONS))


def drive_all(problem: "Problem", plan: "Plan", seed: int, days: int, tallies: Tallies) -> None:
    """Reckons the windows of every run once, then drives it so many days."""
    from coatround.core.rounds.arrivals import arrivals, stops_ahead
    from coatround.core.rounds.plan import VisitStop

    for number, run in enumerate(plan.runs):
        stops = stops_ahead(problem, run, DRIVE_SPREAD)
        before = time.process_time()
        reckoned = {one.key: one for one in arrivals(run.leave, stops, seed)}
        tallies.reckoned.append(1000 * (time.process_time() - before))
        tallies.wide_80 += [one.window_80[1] - one.window_80[0] for one in reckoned.values()]
        tallies.wide_told += [one.told[1] - one.told[0] for one in reckoned.values()]
        chance = random.Random(f"{seed} {number} {run.id}")
        starts = {stop.visit: stop.start for stop in run.stops if isinstance(stop, VisitStop)}
        for _ in range(days):
            for visit, at in day(problem, run, chance):
                count(reckoned[visit], at, starts[visit] // HOUR, tallies)


def day(problem: "Problem", run: "PlannedRun", chance: random.Random) -> Iterator[tuple[str, float]]:
    """One day as it might go: each visit with the second at which the groomer is at the door."""
    from coatround.core.rounds.plan import BreakStop, RefillStop

    order = [place.id for place in problem.places]
    rules = next(one for one in problem.runs if one.id == run.id)
    clock, here = float(run.leave), rules.start_place
    for stop in run.stops:
        if isinstance(stop, BreakStop):
            clock = max(clock, rules.break_.from_ if rules.break_ else 0) + stop.seconds
            continue
        if isinstance(stop, RefillStop):
            clock += drive(problem, order.index(here), order.index(stop.refill), chance) + stop.end - stop.arrive
            here = stop.refill
            continue
        visit = next(visit for visit in problem.visits if visit.id == stop.visit)
        clock += drive(problem, order.index(here), order.index(visit.place), chance)
        here = visit.place
        opening = [w for d in visit.days if d.date == rules.date for w in d.windows if w[0] <= stop.start < w[1]]
        clock = max(clock, opening[-1][0])
        yield visit.id, clock
        ratio = 1 + ((visit.seconds_sd or 0) / visit.seconds) ** 2
        clock += visit.seconds / math.sqrt(ratio) * math.exp(chance.gauss(0, math.sqrt(math.log(ratio))))


def drive(problem: "Problem", here: int, there: int, chance: random.Random) -> float:
    assert problem.travel is not None
    return problem.travel.seconds[here][there] * math.exp(chance.gauss(0, DRIVE_SPREAD))


def count(arrival: "Arrival", at: float, hour: int, tallies: Tallies) -> None:
    in_80 = arrival.window_80[0] <= at <= arrival.window_80[1]
    in_95 = arrival.window_95[0] <= at <= arrival.window_95[1]
    is_told = arrival.told[0] <= at <= arrival.told[1]
    tallies.told.add(is_told)
    tallies.hours_told[hour].add(is_told)
    tallies.in_80.add(in_80)
    tallies.in_95.add(in_95)
    tallies.hours[hour].add(in_80)
    tallies.hours_95[hour].add(in_95)
    if arrival.waits >= 0.8:
        tallies.instant_80.add(in_80)


def report(tallies: Tallies) -> int:
    """Prints what held; 1 where it is not what was aimed at."""
    from coatround.core.rounds.held import exact_interval

    print(f"{tallies.told.count} arrivals of {len(tallies.wide_80)} visits reckoned")
    for name, tally in (("80 % window", tallies.in_80), ("95 % window", tallies.in_95), ("as told", tallies.told)):
        low, high = exact_interval(tally.inside, tally.count)
        print(f"{name} holds {tally.percent:.2f} % of {tally.count} ({100 * low:.2f} to {100 * high:.2f})")
    waited = tallies.instant_80
    print(
        f"  of them {waited.count} where the van waits on 80 % of days or more: {waited.inside} inside the 80 % window"
    )
    print("hour of the plan | arrivals | 80 % holds | 95 % holds | as told")
    for hour in sorted(tallies.hours_told):
        found = (tallies.hours[hour].percent, tallies.hours_95[hour].percent, tallies.hours_told[hour].percent)
        print(f"{hour:02d} | {tallies.hours_told[hour].count} | " + " | ".join(f"{percent:.1f} %" for percent in found))
    wide_80, wide_told = (_middle(wide) / 60 for wide in (tallies.wide_80, tallies.wide_told))
    print(f"the 80 % window is {wide_80:.0f} minutes wide in the median, the window told {wide_told:.0f}")
    print(
        f"reckoned in {_middle(tallies.reckoned):.1f} ms of CPU a run in the median, most {max(tallies.reckoned):.1f}"
    )
    missed = missed_targets(tallies)
    print("\n".join(f"MISSED: {words}" for words in missed) or "every target is met")
    return 1 if missed else 0


def missed_targets(tallies: Tallies) -> list[str]:
    """What does not hold as it should: overall, in each hour, and as told."""
    asked = [
        ("arrivals", tallies.told.count, LEAST, math.inf),
        ("80 % window", tallies.in_80.percent, 78, 82),
        ("95 % window", tallies.in_95.percent, 94, 96),
        ("as told, %", tallies.told.percent, 95, 100),
        *((f"80 % window, {hour:02d} h", tally.percent, 75, 85) for hour, tally in sorted(tallies.hours.items())),
    ]
    return [
        f"{name}: {value:.2f}, expected {low} to {high}" for name, value, low, high in asked if not low <= value <= high
    ]


def _middle(values: list[int] | list[float]) -> float:
    return sorted(values)[len(values) // 2]


if __name__ == "__main__":
    raise SystemExit(main())

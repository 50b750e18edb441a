"""Small random round problems with every rule in play, the same for the same seed.

Costs are chosen so that a second of driving and of overtime is a whole number of cents: then the total of a plan
is exact and can be compared to the cent.
"""

import datetime
import math
import random
from dataclasses import replace

from coatround.core.rounds.problem import (
    Break,
    Costs,
    Day,
    Follows,
    Kept,
    Place,
    Problem,
    Refill,
    Run,
    Travel,
    Visit,
    Window,
)

MONDAY = datetime.date(2026, 3, 2)
MINUTE, HOUR = 60, 3600


def small_problem(seed: int, visits: int | None = None, runs: int | None = None) -> Problem:
    """Up to 8 visits and 3 runs; odd rules come and go with the seed."""
    chance = random.Random(seed)
    visits = visits or chance.randint(5, 8)
    runs = runs or chance.randint(2, 3)
    points = [(chance.uniform(0, 14), chance.uniform(0, 14)) for _ in range(visits + 2)]
    for i in range(3, visits + 2):
        if chance.random() < 0.15:
            points[i] = points[i - 1]
    places = tuple(Place(f"p{i}", round(y / 111, 6), round(x / 95, 6)) for i, (x, y) in enumerate(points))
    made = [_run(chance, i) for i in range(runs)]
    keeping = random.Random(seed + 1)
    return Problem(
        Costs(3600, chance.choice([0, 1000]), 7200, chance.choice([0, 500])),
        places,
        _travel(points),
        tuple(made),
        tuple(_keeping(keeping, _visit(chance, i, made)) for i in range(visits)),
    )


def _keeping(chance: random.Random, visit: Visit) -> Visit:
    """Three in ten keep an hour on one of their days; the chances of all other rules stay what they were."""
    at, start, long = chance.random(), 8 * HOUR + chance.randint(0, 8) * HOUR, chance.choice([0, 30, 60]) * MINUTE
    kept = Kept(start, start + long, chance.choice([500, 2000, 6000]))
    if at >= 0.3 or visit.told or not visit.days:
        return visit
    days = list(visit.days)
    n = int(at / 0.3 * len(days))
    days[n] = replace(days[n], kept=kept)
    return replace(visit, days=tuple(days))


def _travel(points: list[tuple[float, float]]) -> Travel:
    """Whole minutes rounded up, so that no way round is ever shorter than the straight one."""
    km = [[math.dist(a, b) for b in points] for a in points]
    return Travel(
        tuple(tuple(MINUTE * (3 + math.ceil(2 * d)) if d else 0 for d in row) for row in km),
        tuple(tuple(math.ceil(13 * d) for d in row) for row in km),
    )


def _run(chance: random.Random, i: int) -> Run:
    rest = chance.random() < 0.5
    opens = 8 * HOUR + chance.choice([0, 30]) * MINUTE
    tap = chance.random() < 0.6
    return Run(
        id=f"r{i}",
        van=chance.choice("ab"),
        date=MONDAY + datetime.timedelta(days=chance.choice([i, i, i // 2])),
        start_place="p0",
        end_place="p1" if i == 1 and rest else "p0",
        open=opens,
        close=opens + chance.choice([360, 420, 510]) * MINUTE,
        paid_seconds=chance.choice([270, 330, 400]) * MINUTE,
        max_overtime_seconds=chance.choice([0, 45]) * MINUTE,
        water_l=chance.choice([60, 90]),
        max_refills=chance.choice([1, 1, 2]) if tap else chance.choice([0, 1]),
        refills=(Refill("p0", 900), Refill("p1", 600)) if tap else (),
        power_wh=chance.choice([None, 900]),
        noise_percent=chance.choice([None, 70]),
        break_=Break(30 * MINUTE, 11 * HOUR, 13 * HOUR) if rest else None,
        has=("two people",) if chance.random() < 0.5 else (),
        water_at_start_l=chance.choice([None, None, None, 40]),
    )


def _visit(chance: random.Random, i: int, runs: list[Run]) -> Visit:
    work = chance.choice([45, 60, 75, 90]) * MINUTE
    dates = sorted({run.date for run in runs})
    days = [Day(date, 2 * chance.randint(0, 900), _windows(chance, work)) for date in dates if chance.random() < 0.85]
    told = bool(days) and chance.random() < 0.12
    if told:
        start = 9 * HOUR + chance.choice([0, 60, 120]) * MINUTE
        days = [Day(days[0].date, 0, ((start, start + 30 * MINUTE + work),))]
    return Visit(
        id=f"v{i}",
        place=f"p{i + 2}",
        seconds=work,
        water_l=chance.randint(12, 40),
        left_out_cents=1_000_000 if told else chance.choice([3000, 9000, 18000]),
        days=tuple(days),
        power_wh=chance.choice([0, 200, 300]),
        noise_percent=chance.choice([10, 20, 30]),
        rank=chance.choice([0, 1, 1, 1, 1, 2]),
        vans=("a",) if chance.random() < 0.15 else None,
        needs=("two people",) if chance.random() < 0.12 else (),
        follows=Follows(f"v{i - 1}", 0, 1) if i and chance.random() < 0.12 else None,
        told=told,
    )


def _windows(chance: random.Random, work: int) -> tuple[Window, ...]:
    kind = chance.random()
    if kind < 0.5:
        return ((8 * HOUR, 18 * HOUR),)
    if kind < 0.7:
        return ((8 * HOUR, 11 * HOUR),)
    if kind < 0.74:
        return ((8 * HOUR, 8 * HOUR + work - MINUTE),)
    return ((8 * HOUR, 10 * HOUR + 30 * MINUTE), (12 * HOUR + 15 * MINUTE, 18 * HOUR))

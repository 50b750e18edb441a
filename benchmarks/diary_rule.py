"""The by-hand rule to compare with: weekday = suburb, nearest next; what does not fit is left out.

The rule of a paper diary. Households are parted into suburbs by where they live; suburbs side by side as seen from home
go on the same weekday, so that each weekday has about the same work. A visit falls on the date of its weekday that
costs least (nearest to when it is due) or, where that is full or the household cannot, on the next best date. A day is
driven nearest next: of those that can still be done, the one with the shortest drive; or, by the other reading, the
one where work can begin soonest, so that nobody waits long at a door. Overtime is taken as far as it may be. The tank
is filled at the nearest tap when it does not hold the next dog.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from coatround.core.rounds.cost import cost_of
from coatround.core.rounds.plan import LeftOut, Plan, PlannedRun, RefillStop, Stop, VisitStop
from coatround.core.rounds.problem import Problem
from coatround.core.rounds.table import Table, Tap

SUBURBS = 10
WEEKDAYS = 5

Points = NDArray[np.float64]


@dataclass
class Drive:
    """One day as it is driven: the stops so far, the places in order, the visits that found no room."""

    leave: int
    clock: int
    places: list[int]
    water: int
    refills: int = 0
    stops: list[Stop] = field(default_factory=list)
    done: list[int] = field(default_factory=list)
    no_room: list[int] = field(default_factory=list)


def diary_plan(problem: Problem, *, soonest: bool = False) -> Plan:
    """The plan of one groomer with a paper diary, who goes to the nearest next or to where work begins soonest."""
    table = Table(problem)
    dates = {v: _dates(table, v, weekday) for v, weekday in enumerate(_weekdays(table))}
    given: list[list[int]] = [[] for _ in problem.runs]
    days: dict[int, Drive] = {}
    left_out, waiting = [], list(dates)
    while waiting:
        for v in waiting:
            r = next(dates[v], None)
            if r is None:
                left_out.append(v)
            else:
                given[r].append(v)
        days = {r: driven(table, r, visits, soonest=soonest) for r, visits in enumerate(given) if visits}
        waiting = [v for day in days.values() for v in day.no_room]
        given = [days[r].done if r in days else [] for r in range(len(given))]
    return _plan(table, {r: day for r, day in days.items() if day.done}, sorted(left_out))


def _dates(table: Table, v: int, weekday: int) -> Iterator[int]:
    """The runs a visit may go on: its own weekday first, then those that cost least."""

    def worth(r: int) -> tuple[bool, int, int]:
        return table.problem.runs[r].date.weekday() != weekday, table.choices[r][v].day_units, r

    return iter(sorted(table.runs_for[v], key=worth))


def _weekdays(table: Table) -> list[int]:
    """The weekday of each visit's suburb: suburbs in the order of their direction from home, the work shared evenly."""
    places = table.problem.places
    flat = np.array([(p.lon * math.cos(math.radians(p.lat)), p.lat) for p in places])
    own, home = flat[table.place_of], flat[table.start_of[0]]
    suburb, centres = _suburbs(own)
    towards = np.arctan2(*(centres - home).T[::-1])
    work = np.array([visit.seconds for visit in table.problem.visits], dtype=float)
    weekday_of, before = {}, 0.0
    for s in np.argsort(towards):
        own_work = work[suburb == s].sum()
        weekday_of[int(s)] = min(WEEKDAYS - 1, int(WEEKDAYS * (before + own_work / 2) / work.sum()))
        before += own_work
    return [weekday_of[int(s)] for s in suburb]


def _suburbs(own: Points) -> tuple[NDArray[np.int64], Points]:
    """Parts the points into suburbs: first centres as far apart as can be, then each moved to its middle (k-means)."""
    chosen = [0]
    while len(chosen) < SUBURBS:
        chosen.append(int(_far(own, own[chosen]).min(axis=1).argmax()))
    centres = own[chosen]
    for _ in range(50):
        suburb = _far(own, centres).argmin(axis=1)
        centres = np.array(
            [own[suburb == s].mean(axis=0) if (suburb == s).any() else centres[s] for s in range(SUBURBS)]
        )
    return suburb, centres


def _far(one: Points, other: Points) -> Points:
    apart: Points = np.hypot(*(one[:, None] - other[None]).transpose(2, 0, 1))
    return apart


def driven(table: Table, r: int, visits: list[int], *, soonest: bool) -> Drive:
    """The day with these visits, nearest next, until none of the rest can still be done."""
    run = table.problem.runs[r]
    full = run.water_l if run.water_at_start_l is None else run.water_at_start_l
    day, rest = Drive(run.open, run.open, [table.start_of[r]], full), list(visits)
    while rest:
        able = [(*next_stop, v) for v in rest if (next_stop := _next(table, r, day, v))]
        if not able:
            break
        start, seconds, tap, v = min(able, key=lambda one: (one[0] if soonest else 0, one[1], one[3]))
        _go(table, r, day, v, start, seconds, tap)
        rest.remove(v)
    day.no_room = rest
    return day


def _next(table: Table, r: int, day: Drive, v: int) -> tuple[int, int, Tap | None] | None:
    """When work could begin, the seconds to get there, and the refill on the way; None if it cannot be done."""
    run, visit, here, there = table.problem.runs[r], table.problem.visits[v], day.places[-1], table.place_of[v]
    tap, seconds = None, table.seconds[here][there]
    if day.water < visit.water_l:
        if day.refills == run.max_refills or not table.taps(r, here, there) or run.water_l < visit.water_l:
            return None
        tap = min(table.taps(r, here, there), key=lambda one: one.seconds_there)
        seconds = tap.seconds_there + tap.seconds_filling + tap.seconds_on
    arrive = day.clock + seconds
    start = min((max(arrive, first) for first, last in table.choices[r][v].starts if arrive <= last), default=None)
    if start is None:
        return None
    back = start + visit.seconds + table.seconds[there][table.end_of[r]]
    leave = day.leave if day.done else start - seconds
    if back > run.close or back - leave > run.paid_seconds + run.max_overtime_seconds:
        return None
    return start, seconds, tap


def _go(table: Table, r: int, day: Drive, v: int, start: int, seconds: int, tap: Tap | None) -> None:
    visit = table.problem.visits[v]
    if not day.done:
        day.leave = day.clock = start - seconds
    arrive = day.clock + seconds
    if tap is not None:
        at_tap = day.clock + tap.seconds_there
        day.stops.append(RefillStop(table.problem.places[tap.place].id, at_tap, at_tap + tap.seconds_filling))
        day.places.append(tap.place)
        day.water, day.refills = table.problem.runs[r].water_l, day.refills + 1
    day.stops.append(VisitStop(visit.id, arrive, start, start + visit.seconds))
    day.places.append(table.place_of[v])
    day.done.append(v)
    day.clock, day.water = start + visit.seconds, day.water - visit.water_l


def _plan(table: Table, days: dict[int, Drive], left_out: list[int]) -> Plan:
    problem, travel = table.problem, table.problem.travel
    assert travel is not None
    runs, legs, over = [], [], []
    for r, day in sorted(days.items()):
        ways = [*zip(day.places, [*day.places[1:], table.end_of[r]], strict=True)]
        legs += [(travel.seconds[a][b], travel.metres[a][b]) for a, b in ways]
        back = day.clock + table.seconds[day.places[-1]][table.end_of[r]]
        over.append(max(0, back - day.leave - problem.runs[r].paid_seconds))
        runs.append(PlannedRun(problem.runs[r].id, day.leave, back, tuple(day.stops)))
    day_cents = [
        next(one.cents for one in problem.visits[v].days if one.date == problem.runs[r].date)
        for r, day in days.items()
        for v in day.done
    ]
    out_cents = [problem.visits[v].left_out_cents for v in left_out]
    words = tuple(LeftOut(problem.visits[v].id, "no_room", "The diary had no room.") for v in left_out)
    return Plan(cost_of(problem.costs, legs, over, day_cents, out_cents), tuple(runs), words)

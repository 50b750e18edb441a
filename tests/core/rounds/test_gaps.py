"""The index of gaps equals brute force: every gap, refill and window tried, timed here and judged by the checker."""

import datetime as dt
import os
import random
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

import pytest

from coatround.core.rounds.by_hand import plan_of_runs
from coatround.core.rounds.check import check
from coatround.core.rounds.cost import UNIT
from coatround.core.rounds.gaps import Gap, Gaps, way_of_place
from coatround.core.rounds.plan import BreakStop, Plan, PlannedRun, RefillStop, VisitStop
from coatround.core.rounds.problem import Day, Problem, Run, Visit
from coatround.core.rounds.solve import after_iterations, solve
from coatround.core.rounds.table import starts_on
from tests.core.rounds.small_problems import small_problem
from tests.core.rounds.test_by_hand import HOUR, MINUTE, MONDAY, TUESDAY, problem, visit

SEEDS = int(os.environ.get("COATROUND_CALLERS", "50"))
"""Callers tried here; the acceptance of openings is 200."""

Step = tuple[str, str, int, tuple[int, int], tuple[int, int] | None]
"""Kind, id, seconds, when it may start, and for a break nothing to drive to."""


def brute_force(whole: Problem, plan: Plan, new: Visit) -> int | None:
    """The least that any insertion adds in UNIT-ths of a cent, each judged by the checker; None where there is none."""
    best = None
    before = _exact_units(whole, plan)
    for run in whole.runs:
        planned = next((one for one in plan.runs if one.id == run.id), None)
        for made in _insertions(whole, run, planned, new):
            others = [one for one in plan.runs if one.id != run.id]
            known = {one.id: one for one in [*others, made]}
            after = plan_of_runs(whole, [known[one.id] for one in whole.runs if one.id in known], plan.left_out)
            if not check(whole, after):
                more = _exact_units(whole, after) - before
                best = more if best is None else min(best, more)
    return None if best is None else best


def _exact_units(whole: Problem, plan: Plan) -> int:
    """What a plan costs without what is left out, exactly: the checker's parts are rounded, so they are made anew."""
    assert whole.travel is not None
    at = {place.id: n for n, place in enumerate(whole.places)}
    visits = {one.id: one for one in whole.visits}
    units = 0
    for planned in plan.runs:
        run = next(one for one in whole.runs if one.id == planned.id)
        here = at[run.start_place]
        for stop in planned.stops:
            if isinstance(stop, BreakStop):
                continue
            there = at[stop.refill if isinstance(stop, RefillStop) else visits[stop.visit].place]
            units += _leg(whole, here, there)
            here = there
        units += _leg(whole, here, at[run.end_place])
        over = max(0, planned.back - planned.leave - run.paid_seconds)
        units += over * whole.costs.cents_per_overtime_hour * UNIT // 3600 + UNIT * whole.costs.cents_per_run
        for stop in (one for one in planned.stops if isinstance(one, VisitStop)):
            day = next(one for one in visits[stop.visit].days if one.date == run.date)
            is_off = day.kept is not None and not day.kept.from_ <= stop.start <= day.kept.to
            units += UNIT * (day.cents + (day.kept.cents if day.kept and is_off else 0))
    return units


def _parts(visit: Visit, day: Day | None, run: Run) -> Iterator[tuple[int, int]]:
    """When work may start that day, cut where what is kept begins and ends, for a start keeps what its hour costs."""
    for first, last in starts_on(visit, day.windows, run) if day else ():
        cuts = [first, last + 1]
        if day and day.kept and day.kept.cents:
            cuts += [cut for cut in (day.kept.from_, day.kept.to + 1) if first < cut <= last]
        cuts.sort()
        yield from ((a, b - 1) for a, b in pairwise(cuts))


def _leg(whole: Problem, a: int, b: int) -> int:
    assert whole.travel is not None
    seconds, metres = whole.travel.seconds[a][b], whole.travel.metres[a][b]
    return seconds * whole.costs.cents_per_drive_hour * UNIT // 3600 + metres * whole.costs.cents_per_km * UNIT // 1000


def _insertions(whole: Problem, run: Run, planned: PlannedRun | None, new: Visit) -> Iterator[PlannedRun]:
    """The run with the visit in each gap (not between a stop and its break), a new refill beside it or none."""
    stops = _steps(whole, run, planned)
    day = next((one for one in new.days if one.date == run.date), None)
    for window in _parts(new, day, run):
        own: Step = ("visit", new.id, new.seconds, window, None)
        fills: list[Step] = [("refill", tap.place, tap.seconds, (0, 10**9), None) for tap in run.refills]
        for at in range(len(stops) + 1):
            if at < len(stops) and stops[at][0] == "break":
                continue
            for beside in ([own], *([fill, own] for fill in fills), *([own, fill] for fill in fills)):
                if made := _timed(whole, run, [*stops[:at], *beside, *stops[at:]]):
                    yield from made


def _steps(whole: Problem, run: Run, planned: PlannedRun | None) -> list[Step]:
    visits = {one.id: one for one in whole.visits}
    found: list[Step] = []
    for stop in planned.stops if planned else ():
        if isinstance(stop, RefillStop):
            found.append(("refill", stop.refill, stop.end - stop.arrive, (0, 10**9), None))
        elif isinstance(stop, BreakStop):
            assert run.break_
            found.append(("break", "", stop.seconds, (run.break_.from_, run.break_.to - stop.seconds), None))
        else:
            day = next(day for day in visits[stop.visit].days if day.date == run.date)
            window = next(w for w in _parts(visits[stop.visit], day, run) if w[0] <= stop.start <= w[1])
            found.append(("visit", stop.visit, visits[stop.visit].seconds, window, None))
    return found


def _timed(whole: Problem, run: Run, steps: Sequence[Step]) -> list[PlannedRun]:
    """The steps driven as soon as can be, then pushed late without being back later; and leaving past the break."""
    assert whole.travel is not None
    at, visits = {place.id: n for n, place in enumerate(whole.places)}, {one.id: one for one in whole.visits}
    seconds, places, here = whole.travel.seconds, [], run.start_place
    for kind, id_, *_ in steps:
        here = here if kind == "break" else id_ if kind == "refill" else visits[id_].place
        places.append(here)
    legs = [seconds[at[a]][at[b]] for a, b in zip([run.start_place, *places], [*places, run.end_place], strict=True)]
    found = []
    for leave in (run.open, run.break_.from_ + 1 if run.break_ else run.open):
        starts, free = [], leave
        for leg, (_kind, _id, work, (early, late), _) in zip(legs, steps, strict=False):
            start = max(free + leg, early)
            if start > late:
                break
            starts.append(start)
            free = start + work
        if len(starts) < len(steps):
            continue
        back, latest = free + legs[-1], free
        for n in range(len(steps) - 1, -1, -1):
            starts[n] = min(steps[n][3][1], latest - steps[n][2])
            latest = starts[n] - legs[n]
        stops, free = [], latest
        for leg, start, (kind, id_, work, *_) in zip(legs, starts, steps, strict=False):
            arrive = free + leg
            free = start + work
            if kind == "visit":
                stops.append(VisitStop(id_, arrive, start, free))
            elif kind == "refill":
                free = arrive + work
                stops.append(RefillStop(id_, arrive, free))
            else:
                stops.append(BreakStop(work, start, free))
        found.append(PlannedRun(run.id, latest, max(back, free + legs[-1]), tuple(stops)))
    return found


@pytest.mark.parametrize("seed", range(SEEDS))
def test_the_best_gap_equals_brute_force(seed: int) -> None:
    """A random visit is taken out of a random problem with every rule, then looked for by index and by brute force."""
    whole = small_problem(seed + 1000)
    whole = replace(whole, visits=tuple(replace(one, follows=None) for one in whole.visits))
    caller = random.Random(seed).choice(whole.visits)
    rest = replace(whole, visits=tuple(one for one in whole.visits if one.id != caller.id))
    plan = solve(rest, 1, after_iterations(50))
    best = Gaps(rest, plan).best(caller, way_of_place(rest, caller.place))
    forced = brute_force(whole, plan, caller)
    assert (best[0].units if best else None) == forced
    assert [one.units for one in best] == sorted(one.units for one in best)
    for gap in best:
        assert check(whole, plan_with(whole, plan, caller, gap)) == []


def plan_with(whole: Problem, plan: Plan, caller: Visit, gap: Gap) -> Plan:
    """The plan with the visit in its gap, driven from the leave that the gap names."""
    run = next(one for one in whole.runs if one.id == gap.run)
    planned = next((one for one in plan.runs if one.id == gap.run), None)
    steps = _steps(whole, run, planned)
    day = next(one for one in caller.days if one.date == run.date)
    window = next(w for w in starts_on(caller, day.windows, run) if w[0] <= gap.start <= w[1])
    beside: list[Step] = [("visit", caller.id, caller.seconds, window, None)]
    if gap.refill:
        seconds = next(tap.seconds for tap in run.refills if tap.place == gap.refill)
        beside.insert(1 if gap.refill_after else 0, ("refill", gap.refill, seconds, (0, 10**9), None))
    at = [n for n, step in enumerate([*steps, ("end",)]) if step[0] != "break"][gap.at]
    made = _driven(whole, run, [*steps[:at], *beside, *steps[at:]], gap.leave)
    start = next(stop.start for stop in made.stops if isinstance(stop, VisitStop) and stop.visit == caller.id)
    assert (start, made.back) == (gap.start, gap.back)
    known = {one.id: one for one in [*plan.runs, made]}
    return plan_of_runs(whole, [known[one.id] for one in whole.runs if one.id in known], plan.left_out)


def _driven(whole: Problem, run: Run, steps: Sequence[Step], leave: int) -> PlannedRun:
    assert whole.travel is not None
    at, visits = {place.id: n for n, place in enumerate(whole.places)}, {one.id: one for one in whole.visits}
    here, free, stops = run.start_place, leave, []
    for kind, id_, work, (early, _late), _ in steps:
        there = here if kind == "break" else id_ if kind == "refill" else visits[id_].place
        arrive = free + whole.travel.seconds[at[here]][at[there]]
        start = arrive if kind == "refill" else max(arrive, early)
        free, here = start + work, there
        if kind == "visit":
            stops.append(VisitStop(id_, arrive, start, free))
        else:
            stops.append(RefillStop(id_, arrive, free) if kind == "refill" else BreakStop(work, start, free))
    return PlannedRun(run.id, leave, free + whole.travel.seconds[at[here]][at[run.end_place]], tuple(stops))


def test_a_gap_between_two_costs_the_way_round() -> None:
    """a and c stand on Monday, ten and thirty minutes out; b lies between: no drive more. On Tuesday it is 40."""
    whole = problem(visit("a"), visit("b"), visit("c"))
    monday = [Day(MONDAY, 0, ((8 * HOUR, 17 * HOUR),))]
    rest = replace(whole, visits=tuple(replace(one, days=tuple(monday)) for one in whole.visits if one.id != "b"))
    plan = solve(rest, 1, after_iterations(50))
    first, *others = Gaps(rest, plan).best(whole.visits[1], way_of_place(rest, "b"))
    assert (first.date, first.units, first.drive_seconds) == (MONDAY, 0, 0)
    tuesday = next(one for one in others if one.date == TUESDAY)
    assert (tuesday.at, tuesday.drive_seconds, tuesday.units) == (0, 40 * MINUTE, 40 * MINUTE * UNIT)
    assert [one.date for one in Gaps(rest, plan).best(whole.visits[1], way_of_place(rest, "b"), a_date=1)] == [
        MONDAY,
        TUESDAY,
    ]


def test_a_new_refill_is_tried() -> None:
    """Two baths of 60 litres and a tank of 100: the second only with a refill at home between them, 15 minutes."""
    thirsty = problem(visit("a", water_l=60), visit("b", water_l=60))
    monday = Day(MONDAY, 0, ((8 * HOUR, 17 * HOUR),))
    only = replace(thirsty, visits=tuple(replace(one, days=(monday,)) for one in thirsty.visits))
    rest = replace(only, visits=only.visits[:1])
    plan = solve(rest, 1, after_iterations(50))
    found = Gaps(rest, plan).best(only.visits[1], way_of_place(rest, "b"))
    assert {one.refill for one in found} == {"home"}
    assert found[0].drive_seconds == 2 * 20 * MINUTE
    assert isinstance(found[0].date, dt.date)

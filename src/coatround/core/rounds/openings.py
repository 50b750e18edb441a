"""Where one more visit fits into runs that stand, and what each place costs, with what others were told kept."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from coatround.core.rounds.order import Ordered, best_order
from coatround.core.rounds.plan import BreakStop, PlannedRun, RefillStop, VisitStop
from coatround.core.rounds.problem import Problem
from coatround.core.rounds.table import Table


@dataclass(frozen=True, slots=True)
class Opening:
    """A place in a run for one more visit: when its work would start, and what the run drives and works more for it.

    `units` is the whole extra cost in UNIT-ths of a cent, the day's own cost included; seconds may be below zero.
    `planned` is the whole run with it.
    """

    run: str
    van: str
    date: dt.date
    start: int
    units: int
    drive_seconds: int
    overtime_seconds: int
    planned: PlannedRun


def openings(problem: Problem, orders: Mapping[str, Sequence[str]], visit: str, most: int = 3) -> tuple[Opening, ...]:
    """The cheapest openings for a visit of the problem, one a date at most, cheapest first.

    `orders` are the visits that already stand on each run, in order; a run without any may be used too. Each opening
    is the exact best order of that run with the visit in it: windows, tank, break, ranks and overtime are kept.
    ValueError if `problem.travel` is None.
    """
    table = Table(problem)
    v = table.visit_number[visit]
    standing = {r: [table.visit_number[one] for one in orders.get(run.id, ())] for r, run in enumerate(problem.runs)}
    hopes = sorted((_least_units(table, r, standing[r], v), r) for r in table.runs_for[v])
    best: dict[dt.date, Opening] = {}
    for least, r in hopes:
        known = sorted(one.units for one in best.values())
        if len(known) >= most and known[most - 1] <= least:
            break
        found = _opening(table, r, standing[r], v)
        if found and (found.date not in best or found.units < best[found.date].units):
            best[found.date] = found
    return tuple(sorted(best.values(), key=lambda one: (one.units, one.date))[:most])


def _least_units(table: Table, r: int, order: Sequence[int], v: int) -> int:
    """A cost that no opening in this run can be below: the day's own, and the shortest way round by the visit.

    Taking the visit out of the best order with it leaves an order without it, so what it adds lies between two places.
    """
    here, taps = table.place_of[v], [place for place, _seconds in table.taps_of[r]]
    places = [*taps, *(table.place_of[one] for one in order)]
    drive = table.drive
    ways = (
        drive[a][here] + drive[here][b] - (drive[a][b] if order else 0)
        for a in {table.start_of[r], *places}
        for b in {table.end_of[r], *places}
    )
    return table.choices[r][v].day_units + max(0, min(ways))


def _opening(table: Table, r: int, order: Sequence[int], v: int) -> Opening | None:
    after = best_order(table, r, _nearest_first(table, r, order, v))
    if after is None:
        return None
    before = best_order(table, r, order) if order else None
    if order and before is None:
        return None
    run = table.problem.runs[r]
    start = next(
        stop.start
        for stop in after.planned.stops
        if isinstance(stop, VisitStop) and stop.visit == table.problem.visits[v].id
    )
    return Opening(
        run.id,
        run.van,
        run.date,
        start,
        after.units - (before.units if before else 0),
        _drive_seconds(table, r, after.planned) - (_drive_seconds(table, r, before.planned) if before else 0),
        _overtime(table, r, after) - _overtime(table, r, before),
        after.planned,
    )


def _nearest_first(table: Table, r: int, order: Sequence[int], v: int) -> list[int]:
    """The order with the visit where it lengthens the drive least: a good first guess for the exact order."""
    places = [table.start_of[r], *(table.place_of[one] for one in order), table.end_of[r]]
    here = table.place_of[v]
    more = [table.seconds[a][here] + table.seconds[here][b] - table.seconds[a][b] for a, b in pairwise(places)]
    at = more.index(min(more))
    return [*order[:at], v, *order[at:]]


def _overtime(table: Table, r: int, ordered: Ordered | None) -> int:
    if ordered is None:
        return 0
    return max(0, ordered.planned.back - ordered.planned.leave - table.problem.runs[r].paid_seconds)


def _drive_seconds(table: Table, r: int, planned: PlannedRun) -> int:
    number = {place.id: i for i, place in enumerate(table.problem.places)}
    places = [table.start_of[r]]
    for stop in planned.stops:
        if isinstance(stop, RefillStop):
            places.append(number[stop.refill])
        elif not isinstance(stop, BreakStop):
            places.append(table.place_of[table.visit_number[stop.visit]])
    return sum(table.seconds[a][b] for a, b in pairwise((*places, table.end_of[r])))

"""What a plan costs: one function for the planner and for openings. The checker has its own.

While planning, costs are kept exact as whole numbers of UNIT-ths of a cent, so that nothing is rounded before
the end; each part is then rounded half up once.
"""

from collections.abc import Iterable

from coatround.core.rounds.plan import Cost, PlannedRun, VisitStop
from coatround.core.rounds.problem import Costs, Problem
from coatround.core.units import rounded_half_up

UNIT = 18_000
"""Parts of a cent: the least number that 3,600 seconds an hour and 1,000 metres a kilometre both divide."""


def drive_units(costs: Costs, seconds: int, metres: int) -> int:
    """What driving costs, in UNIT-ths of a cent."""
    return UNIT // 3600 * seconds * costs.cents_per_drive_hour + UNIT // 1000 * metres * costs.cents_per_km


def overtime_units(costs: Costs, seconds: int) -> int:
    """What so many seconds of overtime cost, in UNIT-ths of a cent."""
    return UNIT // 3600 * seconds * costs.cents_per_overtime_hour


def run_units(costs: Costs) -> int:
    """What using one run costs, in UNIT-ths of a cent."""
    return UNIT * costs.cents_per_run


def cost_of(
    costs: Costs,
    legs: Iterable[tuple[int, int]],
    overtimes: Iterable[int],
    day_cents: Iterable[int],
    left_out_cents: Iterable[int],
) -> Cost:
    """The cost by part in cents.

    `legs` are the drives as (seconds, metres), `overtimes` one number of seconds for each run used.
    """
    over = list(overtimes)
    drive = rounded_half_up(sum(drive_units(costs, s, m) for s, m in legs), UNIT)
    overtime = rounded_half_up(sum(overtime_units(costs, s) for s in over), UNIT)
    runs, days, left_out = costs.cents_per_run * len(over), sum(day_cents), sum(left_out_cents)
    return Cost(drive + overtime + runs + days + left_out, drive, overtime, runs, days, left_out)


def day_cents(problem: Problem, planned: PlannedRun) -> list[int]:
    """What the date, and the hour on it, of each visit of a run costs; nothing on a date that is none of its own."""
    date = next(run.date for run in problem.runs if run.id == planned.id)
    starts = {stop.visit: stop.start for stop in planned.stops if isinstance(stop, VisitStop)}
    own = (visit for visit in problem.visits if visit.id in starts)
    return [day.cents_at(starts[visit.id]) for visit in own for day in visit.days if day.date == date]

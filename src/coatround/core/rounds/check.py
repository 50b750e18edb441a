"""The independent checker: everything about a plan recomputed from the problem and the plan alone.

It shares no code with the planner or its cost function, so that an error in one does not hide in the other.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import floor

from coatround.core.rounds.check_run import Tally, faults_of_run
from coatround.core.rounds.fault import Fault
from coatround.core.rounds.plan import REASONS, Plan
from coatround.core.rounds.problem import Problem, Run, Visit


@dataclass(frozen=True, slots=True)
class _Look:
    """The problem laid out for looking up by id."""

    problem: Problem
    runs: dict[str, Run]
    visits: dict[str, Visit]
    places: dict[str, int]


def check(problem: Problem, plan: Plan) -> list[Fault]:
    """What breaks in `plan`, in words and with a code; an empty list when nothing does.

    `problem.travel` must be there (ValueError if not). A person's own order is checked too, never refused.
    """
    if problem.travel is None:
        raise ValueError("problem.travel is None, expected the travel times between the places")
    look = _Look(
        problem,
        {run.id: run for run in problem.runs},
        {visit.id: visit for visit in problem.visits},
        {place.id: i for i, place in enumerate(problem.places)},
    )
    tally = Tally()
    faults: list[Fault] = []
    for planned in plan.runs:
        if planned.id in look.runs:
            run = look.runs[planned.id]
            faults += faults_of_run(problem, run, planned, look.visits, look.places, tally)
        else:
            faults.append(Fault("unknown_run", planned.id, f"the problem has no run {planned.id}"))
    faults += _faults_of_counts(look, plan)
    faults += _faults_of_left_out(look, plan)
    faults += _faults_of_follows(look, plan)
    faults += _faults_of_cost(look, plan, tally)
    return faults


def _faults_of_counts(look: _Look, plan: Plan) -> Iterator[Fault]:
    runs = Counter(planned.id for planned in plan.runs)
    for run, times in runs.items():
        if times > 1:
            yield Fault("run_twice", run, f"run {run} stands {times} times in the plan")
    planned = Counter(visit for run in plan.runs for visit in run.visit_ids)
    out = Counter(left.visit for left in plan.left_out)
    for visit, times in planned.items():
        if times > 1:
            yield Fault("visit_twice", visit, f"visit {visit} is planned {times} times, expected once")
    for visit in look.visits:
        if planned[visit] and out[visit]:
            yield Fault("planned_and_left_out", visit, f"visit {visit} is both planned and left out")
        if not planned[visit] and not out[visit]:
            yield Fault("visit_missing", visit, f"visit {visit} is neither planned nor left out")
        if out[visit] > 1:
            yield Fault("left_out_twice", visit, f"visit {visit} is left out {out[visit]} times")


def _faults_of_left_out(look: _Look, plan: Plan) -> Iterator[Fault]:
    for left in plan.left_out:
        visit = look.visits.get(left.visit)
        if visit is None:
            yield Fault("unknown_visit", left.visit, f"left out: the problem has no visit {left.visit}")
            continue
        if left.reason not in REASONS:
            yield Fault("reason_unknown", visit.id, f"{left.reason} is none of {', '.join(REASONS)}")
        elif visit.told and left.reason != "told_broken":
            yield Fault("told_broken", visit.id, f"{visit.id} was told a time: its reason must be told_broken")
        elif not visit.told and left.reason == "told_broken":
            yield Fault("reason_untrue", visit.id, f"{visit.id} was told no time, so none is broken")
        elif left.reason == "no_day" and not visit.follows and _has_a_day(look.problem, visit):
            yield Fault("reason_untrue", visit.id, f"{visit.id} has a day on which a run is out")


def _has_a_day(problem: Problem, visit: Visit) -> bool:
    dates = {run.date for run in problem.runs}
    return any(day.date in dates for day in visit.days)


def _faults_of_follows(look: _Look, plan: Plan) -> Iterator[Fault]:
    dates = {visit: look.runs[run.id].date for run in plan.runs if run.id in look.runs for visit in run.visit_ids}
    for visit in look.visits.values():
        link = visit.follows
        if link is None or visit.id not in dates or link.visit not in dates:
            continue
        days = (dates[visit.id] - dates[link.visit]).days
        if not link.least_days <= days <= link.most_days:
            yield Fault(
                "follows",
                visit.id,
                f"{visit.id} is {days} days after {link.visit}, expected {link.least_days} to {link.most_days}",
            )


def _rounded(exact: Fraction) -> int:
    return floor(exact + Fraction(1, 2))


def _cost_by_part(look: _Look, plan: Plan, tally: Tally) -> dict[str, int]:
    costs = look.problem.costs
    drive = Fraction(tally.drive_seconds * costs.cents_per_drive_hour, 3600)
    drive += Fraction(tally.drive_metres * costs.cents_per_km, 1000)
    out = {left.visit for left in plan.left_out}
    parts = {
        "drive": _rounded(drive),
        "overtime": _rounded(Fraction(tally.overtime_seconds * costs.cents_per_overtime_hour, 3600)),
        "runs": tally.runs * costs.cents_per_run,
        "days": tally.day_cents,
        "left_out": sum(look.visits[visit].left_out_cents for visit in out if visit in look.visits),
    }
    parts["total"] = sum(parts.values())
    return parts


def _faults_of_cost(look: _Look, plan: Plan, tally: Tally) -> Iterator[Fault]:
    for part, cents in _cost_by_part(look, plan, tally).items():
        said = getattr(plan.cost, part)
        if said != cents:
            yield Fault(f"wrong_{part}", "cost", f"the plan says {part} {said} cents, it is {cents}")

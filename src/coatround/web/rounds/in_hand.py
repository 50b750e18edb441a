"""A plan in a person's hand, with its problem: the one that stands or a new one; and writing down what became of it."""

import datetime as dt
import json
import uuid
from collections.abc import Collection
from dataclasses import dataclass, replace
from typing import Any

from coatround.core.rounds.by_hand import plan_of_runs
from coatround.core.rounds.fileformat import problem_of
from coatround.core.rounds.plan import BreakStop, Plan, PlannedRun, RefillStop, VisitStop
from coatround.core.rounds.plan import Stop as PlanStop
from coatround.core.rounds.planfile import plan_value, read_plan
from coatround.core.rounds.problem import Day, Problem
from coatround.web.base.models import Worker
from coatround.web.records.models import Place, Van
from coatround.web.rounds.accepting import Chosen, rewrite_runs
from coatround.web.rounds.acts import act_on_round, standing_row
from coatround.web.rounds.gather import gather, run_id
from coatround.web.rounds.models import Proposal, Run, Stop
from coatround.web.rounds.openings import GIVE_SECONDS
from coatround.web.rounds.propose import totals_of
from coatround.web.rounds.travel import Travelled


@dataclass(frozen=True, slots=True)
class InHand:
    """A plan and its problem, what their ids stand for, and the proposal it is; None for the plan that stands."""

    problem: Problem
    plan: Plan
    names: dict[str, Any]
    proposal: Proposal | None = None

    def run_of(self, visit: str) -> PlannedRun | None:
        """The run that a visit is on."""
        return next((run for run in self.plan.runs if visit in run.visit_ids), None)

    def date_of(self, run: str) -> dt.date:
        return next(one.date for one in self.problem.runs if one.id == run)

    def household(self, visit: str) -> str:
        return str(self.names["visits"][visit]["household_name"])

    def dogs(self, visit: str) -> list[str]:
        return [dog["name"] for dog in self.names["visits"][visit]["dogs"]]


def in_hand_standing(
    first: dt.date,
    last: dt.date,
    *,
    today: dt.date,
    van: Van | None = None,
    with_begun: bool = False,
    also: Collection[Place] = (),
    holding: bool = False,
) -> InHand:
    """The plan that stands between two dates as planning sees it; visits due and on no run are left out of it.

    What is done is not in it. Raises CannotPlan when something is missing.
    """
    found = gather(first, last, today=today, van=van, with_begun=with_begun, also=also, holding=holding)
    runs = {run.id for run in found.problem.runs}
    known = {visit.id for visit in found.problem.visits}
    rows = Run.objects.filter(date__range=(first, last)).prefetch_related("stops")
    rows = rows.filter(van=van) if van else rows
    standing = {run_id(row.van_id, row.date): row for row in rows}
    planned = [_planned(id_, standing[id_], known) for id_ in (run.id for run in found.problem.runs) if id_ in standing]
    plan = plan_of_runs(found.problem, [run for run in planned if run.id in runs and run.visit_ids])
    names = found.names | {"estimated": estimated_legs(found.travelled)}
    return InHand(found.problem, plan, names)


def _planned(id_: str, row: Run, known: Collection[str]) -> PlannedRun:
    stops = [stop for stop in (_stop(one) for one in row.stops.all()) if getattr(stop, "visit", None) in (None, *known)]
    return PlannedRun(id_, row.leave_seconds, row.back_seconds, tuple(stops))


def _stop(row: Stop) -> PlanStop:
    if row.kind == "refill":
        return RefillStop(str(row.place_id), row.arrive_seconds, row.end_seconds)
    if row.kind == "break":
        return BreakStop(row.end_seconds - row.start_seconds, row.start_seconds, row.end_seconds)
    return VisitStop(str(row.visit_id), row.arrive_seconds, row.start_seconds, row.end_seconds)


def estimated_legs(travelled: Travelled) -> list[tuple[str, str]]:
    """The drives between places of the problem that are not known by road; none are named where there are no roads."""
    if not travelled.stamp:
        return []
    ids = [place.id for place in travelled.problem.places]
    return [(a, b) for i, a in enumerate(ids) for j, b in enumerate(ids) if i != j and not travelled.by_road[i, j]]


def in_hand_proposal(proposal: Proposal) -> InHand:
    """A new plan that waits to be accepted."""
    return InHand(problem_of(proposal.problem), read_plan(json.dumps(proposal.plan)), proposal.names, proposal)


def frozen_problem(hand: InHand) -> Problem:
    """The problem in which what stands gives a little to make room and no more; what was told is kept as it is."""
    starts = {one.visit: (run.id, one) for run in hand.plan.runs for one in run.stops if isinstance(one, VisitStop)}
    runs = {run.id: run for run in hand.problem.runs}
    visits = []
    for visit in hand.problem.visits:
        if visit.id in starts and not visit.told:
            run, stop = starts[visit.id]
            window = max(0, stop.start - GIVE_SECONDS), stop.end + GIVE_SECONDS
            visit = replace(visit, days=(Day(runs[run].date, 0, (window,)),), vans=(runs[run].van,))
        visits.append(visit)
    return replace(hand.problem, visits=tuple(visits))


def keep(hand: InHand, after: Plan, who: Worker, *, about: str = "", pinned: str = "") -> None:
    """Makes what a person did to a plan so: its runs that differ are written anew, one visit may be pinned.

    A visit that was told a time and falls on another day now is only pencilled in: that promise is gone.
    """
    if hand.proposal is not None:
        _keep_proposal(hand.proposal, hand, after, pinned)
        return
    before = {run.id: run for run in hand.plan.runs}
    changed = {run.id: run for run in after.runs if before.get(run.id) != run}
    touched = {*changed, *(before.keys() - {run.id for run in after.runs})}
    chosen = Chosen(hand.problem, after, hand.names, frozenset(hand.date_of(run) for run in touched))
    visits = [
        uuid.UUID(one) for run in (*before.values(), *changed.values()) if run.id in touched for one in run.visit_ids
    ]
    with act_on_round(who, chosen.dates, visits, about=about):
        rewrite_runs(chosen, touched, who, standing_row().version + 1, pinned=pinned)


def _keep_proposal(proposal: Proposal, hand: InHand, after: Plan, pinned: str) -> None:
    """A new plan keeps the one it was before, so that the last change by hand can be taken back."""
    names = dict(hand.names)
    names["by_hand"] = [*names.get("by_hand", ()), {"plan": plan_value(hand.plan), "pinned": _pinned(names)}]
    if pinned:
        names["visits"] = names["visits"] | {pinned: names["visits"][pinned] | {"pinned": True}}
    _save(proposal, hand.problem, after, names)


def take_back(hand: InHand) -> bool:
    """Takes the last change by hand of a new plan back; False when there is none."""
    changes = list(hand.names.get("by_hand", ()))
    if hand.proposal is None or not changes:
        return False
    last = changes.pop()
    names = hand.names | {"by_hand": changes}
    names["visits"] = {id_: one | {"pinned": id_ in last["pinned"]} for id_, one in names["visits"].items()}
    _save(hand.proposal, hand.problem, read_plan(json.dumps(last["plan"])), names)
    return True


def _save(proposal: Proposal, problem: Problem, plan: Plan, names: dict[str, Any]) -> None:
    names["totals"] = totals_of(problem, plan, names)
    proposal.plan = plan_value(replace(plan, seed=proposal.seed))
    proposal.names = names
    proposal.save(update_fields=["plan", "names"])


def _pinned(names: dict[str, Any]) -> list[str]:
    return [id_ for id_, one in names["visits"].items() if one.get("pinned")]

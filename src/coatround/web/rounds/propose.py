"""Making a plan: gather, solve, check, keep it as a proposal that nobody has accepted yet."""

import datetime as dt
import os
import subprocess
import sys
import threading
import time
import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Any

from django.conf import settings
from django.db import DatabaseError
from django.utils import timezone
from django.utils.translation import gettext as _

from coatround.core.rounds.check import check
from coatround.core.rounds.fileformat import problem_value
from coatround.core.rounds.plan import BreakStop, Plan, PlannedRun, RefillStop
from coatround.core.rounds.planfile import plan_value
from coatround.core.rounds.problem import Problem
from coatround.core.rounds.solve import solve
from coatround.hands import Together
from coatround.web.base.firm import firm_today
from coatround.web.base.models import Worker
from coatround.web.base.writing import writing
from coatround.web.records.models import Van
from coatround.web.rounds.gather import CannotPlan, Gathered, gather
from coatround.web.rounds.models import Proposal
from coatround.web.rounds.queries import standing_totals, standing_version
from coatround.web.rounds.supposed import Supposed
from coatround.web.rounds.travel import Leg, Travelled, engine_seconds

SECONDS = 20
SILENT = dt.timedelta(seconds=20)
"""A process that plans says so about once a second; after so long in silence it is taken for dead."""


@dataclass
class Pulse:
    """How far a planning has come, and whether someone has asked it to stop."""

    seconds: float | None = None
    iterations: int | None = None
    began: float = field(default_factory=time.monotonic)
    asked: threading.Event = field(default_factory=threading.Event)
    done: int = 0
    cents: int | None = None

    def stop(self, done: int) -> bool:
        """Whether the search is to end; given to the planner."""
        self.done = done
        if self.asked.is_set():
            return True
        return done >= self.iterations if self.iterations is not None else self.spent >= (self.seconds or SECONDS)

    def ends(self) -> bool:
        """Whether the last polish is to be cut short; given to the planner."""
        return self.asked.is_set() or (self.iterations is None and self.spent >= 1.5 * (self.seconds or SECONDS))

    def heard(self, done: int, cents: int) -> None:
        """The best so far; given to the planner."""
        self.done, self.cents = done, cents

    @property
    def spent(self) -> float:
        return time.monotonic() - self.began

    @property
    def percent(self) -> int:
        share = self.done / self.iterations if self.iterations else self.spent / (self.seconds or SECONDS)
        return min(99, int(100 * share))


def plan_now(
    first: dt.date,
    last: dt.date,
    *,
    who: Worker | None,
    seconds: int | None = None,
    iterations: int | None = None,
    seed: int = 1,
    van: Van | None = None,
) -> Proposal:
    """Plans these dates here and now; the same seed and iterations give the same plan every time.

    Raises CannotPlan, with words, when something is missing.
    """
    proposal = ask(first, last, who=who, seconds=seconds or SECONDS, seed=seed, van=van)
    return plan_into(proposal, Pulse(None if iterations is not None else seconds or SECONDS, iterations))


def ask(
    first: dt.date,
    last: dt.date,
    *,
    who: Worker | None,
    seconds: int = SECONDS,
    seed: int = 1,
    van: Van | None = None,
    called: str = "",
    supposed: dict[str, Any] | None = None,
) -> Proposal:
    """A proposal that waits to be planned; what was asked for before and not accepted is dropped, what-ifs are not."""
    with writing():
        if supposed is None:
            before = Proposal.objects.filter(state__in=("waiting", "planning", "ready", "failed"))
            before.filter(supposed__isnull=True).update(state="dropped", problem=None)
        return Proposal.objects.create(
            asked_by=who,
            first_date=max(first, firm_today()),
            last_date=last,
            base_version=standing_version(),
            seconds=seconds,
            seed=seed,
            names={"van": str(van.pk) if van else ""},
            called=called,
            supposed=supposed,
        )


def plan_into(proposal: Proposal, pulse: Pulse) -> Proposal:
    """Gathers, plans, checks and keeps the answer in the proposal; CannotPlan leaves it failed, with the reason."""
    _set(proposal, ("waiting",), state="planning", heard_at=timezone.now())
    try:
        van = Van.objects.get(pk=uuid.UUID(proposal.names["van"])) if proposal.names.get("van") else None
        supposed = None if proposal.supposed is None else Supposed.of(proposal.supposed)
        found = gather(
            proposal.first_date, proposal.last_date, today=firm_today(), van=van, supposed=supposed, holding=True
        )
        plan = _solved(found, proposal.seed, pulse)
    except CannotPlan as error:
        _set(proposal, ("planning",), state="failed", failed_why=str(error)[:300])
        raise
    except Exception:
        _set(proposal, ("planning",), state="failed", failed_why=_("The planner broke off. Plan again."))
        raise
    names = found.names | {"estimated": _estimated(found.travelled, plan) if found.travelled.stamp else []}
    names |= {"totals": totals_of(found.problem, plan, names), "before": _before(found.problem)}
    _keep(proposal, problem=problem_value(found.problem), plan=plan_value(plan), names=names)
    proposal.refresh_from_db()
    return proposal


def _keep(proposal: Proposal, **values: Any) -> None:
    """Writes the answer; where that fails there may still be room for the words why."""
    try:
        _set(proposal, ("planning",), state="ready", progress_percent=100, heard_at=timezone.now(), **values)
    except DatabaseError:
        why = _("The plan could not be written down. Is the disk full? Make room, then plan again.")
        _set(proposal, ("planning",), state="failed", failed_why=why)
        raise


def _solved(found: Gathered, seed: int, pulse: Pulse) -> Plan:
    """The plan, sought from the one that stands and seen by the checker once more; none that breaks is kept."""
    with Together() as hands:
        plan = solve(found.problem, seed, pulse.stop, pulse.heard, pulse.ends, found.standing(), hands)
    if faults := check(found.problem, plan):
        raise RuntimeError(f"the plan breaks: {faults[0].words}")
    return plan if pulse.iterations is not None else replace(plan, seconds=round(pulse.spent))


def _set(proposal: Proposal, states: tuple[str, ...], **values: Any) -> None:
    with writing():
        Proposal.objects.filter(pk=proposal.pk, state__in=states).update(**values)


def way_of(problem: Problem, planned: PlannedRun) -> list[tuple[str, str]]:
    """The drives of a planned run from place to place, one to each visit and refill and one home."""
    place_of = {visit.id: visit.place for visit in problem.visits}
    run = next(run for run in problem.runs if run.id == planned.id)
    places = [run.start_place]
    for stop in planned.stops:
        if not isinstance(stop, BreakStop):
            places.append(stop.refill if isinstance(stop, RefillStop) else place_of[stop.visit])
    return list(pairwise((*places, run.end_place)))


def legs_of(problem: Problem, planned: PlannedRun, names: Mapping[str, Any], *, with_engine: bool = False) -> list[Leg]:
    """The same drives with their seconds and metres; the names say which of them are an estimate."""
    assert problem.travel is not None
    number = {place.id: i for i, place in enumerate(problem.places)}
    has_roads, estimated = bool(names.get("roads")), {tuple(pair) for pair in names.get("estimated", ())}
    ways = way_of(problem, planned)
    said = engine_seconds(problem, ways) if with_engine else [0] * len(ways)
    return [
        Leg(
            problem.travel.seconds[number[start]][number[end]],
            problem.travel.metres[number[start]][number[end]],
            has_roads and (start, end) not in estimated,
            engine,
        )
        for (start, end), engine in zip(ways, said, strict=True)
    ]


def _estimated(travelled: Travelled, plan: Plan) -> list[tuple[str, str]]:
    """The drives of a plan for which no road is known."""
    ways = sorted({way for planned in plan.runs for way in way_of(travelled.problem, planned)})
    return [(start, end) for start, end in ways if not travelled.is_by_road(start, end)]


def totals_of(problem: Problem, plan: Plan, names: Mapping[str, Any]) -> dict[str, int]:
    """What the plan drives and works in all: seconds, metres, runs, visits."""
    legs = [leg for planned in plan.runs for leg in legs_of(problem, planned, names)]
    paid = {run.id: run.paid_seconds for run in problem.runs}
    return {
        "drive_seconds": sum(leg.seconds for leg in legs),
        "drive_metres": sum(leg.metres for leg in legs),
        "overtime_seconds": sum(max(0, run.back - run.leave - paid[run.id]) for run in plan.runs),
        "runs": len(plan.runs),
        "visits": sum(len(run.visit_ids) for run in plan.runs),
    }


def _before(problem: Problem) -> dict[str, int]:
    """The same of the plan that stands, on the same vans and dates."""
    return standing_totals({(run.van, run.date) for run in problem.runs})


def start(proposal: Proposal) -> None:
    """Plans a proposal in a process of its own, so that the page stays quick."""
    environment = os.environ | {"COATROUND_HOME": str(settings.HOME), "PYTHONPATH": os.pathsep.join(sys.path)}
    subprocess.Popen(  # noqa: S603 - our own module with our own id
        [sys.executable, "-m", "coatround.web.rounds.planning", str(proposal.pk)],
        env=environment,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )


def is_silent(proposal: Proposal) -> bool:
    """Whether the process that should be planning has not been heard for too long."""
    if proposal.state not in ("waiting", "planning"):
        return False
    return timezone.now() - (proposal.heard_at or proposal.made_at) > SILENT

"""A lost day: a run called off in one step, its visits spread over coming runs, who can wait least first."""

import datetime as dt
import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from coatround.core.day_table import Setting
from coatround.core.due_visits import visit_near
from coatround.core.rounds.by_hand import plan_of_runs
from coatround.core.rounds.openings import openings
from coatround.core.rounds.order import best_order
from coatround.core.rounds.plan import Plan, VisitStop
from coatround.core.rounds.problem import Problem
from coatround.core.rounds.problem import Visit as PlannerVisit
from coatround.core.rounds.table import Table
from coatround.web.base.firm import firm_today, the_firm
from coatround.web.base.models import Worker
from coatround.web.base.templatetags.coatround import day
from coatround.web.due.visits import core_dogs, setting_for, work_days_of
from coatround.web.notes.actions import draft
from coatround.web.records.models import DayOff
from coatround.web.roads.map import names_in_words
from coatround.web.rounds.accepting import Chosen, rewrite_runs
from coatround.web.rounds.acts import act_on_round, standing_row
from coatround.web.rounds.arriving import Window
from coatround.web.rounds.in_hand import InHand, frozen_problem, in_hand_standing
from coatround.web.rounds.models import Run, Stop
from coatround.web.rounds.to_tell import planned_windows
from coatround.web.runs.can_wait import can_wait_words, who_can_wait
from coatround.web.runs.now import moved_words
from coatround.web.visits.models import Fit, Groom, HandingBack, Visit

AHEAD = dt.timedelta(days=28)
"""So far ahead room is looked for: our own default."""


@dataclass(frozen=True, slots=True)
class Spread:
    """Where one visit of a lost day goes: its new date and start, or nowhere; and how long it can wait."""

    visit: uuid.UUID
    dogs: tuple[str, ...]
    household: str
    was_told: bool
    waits: str
    date: dt.date | None = None
    start: int | None = None


@dataclass(frozen=True, slots=True)
class Lost:
    """A lost day reckoned: its visits in the order in which they can wait least, and the plan with them spread."""

    hand: InHand
    plan: Plan
    spread: tuple[Spread, ...]
    touched: tuple[str, ...]


class PreviewOver(Exception):
    """Ends a look ahead: everything that was written for it is rolled back."""


def lost_preview(run: Run, last: dt.date, why: str) -> Lost:
    """What losing a run's van from its date to `last` would come to; nothing is written. Raises CannotPlan."""
    found: list[Lost] = []
    try:
        with transaction.atomic():
            found.append(_reckoned(run, last, _write_off(run, last, why)))
            raise PreviewOver
    except PreviewOver:
        return found[0]


def lose(run: Run, last: dt.date, why: str, who: Worker) -> Lost:
    """Calls the runs of a van off from a run's date to `last`, spreads their visits, drafts the notes; one act."""
    rows = lost_visits(run, last)
    dates = {row.date for row in rows} | {run.date}
    van, start = run.van_id, run.date
    off = DayOff.objects.filter(van=van, first=start, last=last)
    ahead = Visit.objects.filter(date__range=(start, last + AHEAD)).values_list("pk", flat=True)
    with act_on_round(who, dates, [*ahead], more=lambda: off.all(), about=why) as batch:
        lost = _reckoned(run, last, _write_off(run, last, why))
        chosen = Chosen(lost.hand.problem, lost.plan, lost.hand.names, _dates(lost))
        rewrite_runs(chosen, lost.touched, who, standing_row().version + 1)
        windows = _windows(lost)
        for one in lost.spread:
            about, words = "off", _off_words(one, start)
            if one.date is not None and str(one.visit) in windows:
                about, words = "moved", moved_words(lost.hand, str(one.visit), one.date, windows[str(one.visit)])
            draft(Visit.objects.get(pk=one.visit), about, words, who, batch)
    return lost


def _windows(lost: Lost) -> dict[str, Window]:
    """The windows to tell on the runs that visits are spread over."""
    found: dict[str, Window] = {}
    for run in lost.plan.runs:
        if run.id in lost.touched:
            found |= {visit: one.told for visit, one in planned_windows(lost.hand.problem, run).items()}
    return found


def _dates(lost: Lost) -> frozenset[dt.date]:
    return frozenset(lost.hand.date_of(run) for run in lost.touched)


def lost_visits(run: Run, last: dt.date) -> list[Visit]:
    """The visits on the runs of that van from the run's date to `last` that nothing was recorded of yet."""
    stops = Stop.objects.filter(run__van=run.van_id, run__date__range=(run.date, last), visit__isnull=False)
    rows = Visit.objects.filter(stops__in=stops).exclude(state="CANCELLED").select_related("household")
    found = list(rows.distinct().order_by("date", "pk"))
    begun: set[uuid.UUID] = set()
    for table in (Fit, Groom, HandingBack):
        begun |= set(table.objects.filter(visit__in=[row.pk for row in found]).values_list("visit", flat=True))
    return [row for row in found if row.pk not in begun]


def _write_off(run: Run, last: dt.date, why: str) -> list[Visit]:
    """The van is off on these days, its runs there are gone, and their visits promise nothing any more.

    A date agreed at the door is void too: the plan says from now on when these visits are.
    """
    rows = lost_visits(run, last)
    DayOff.objects.create(van=run.van, first=run.date, last=last, words=why[:120])
    for own in Run.objects.filter(van=run.van_id, date__range=(run.date, last)):
        own.stops.filter(visit__in=rows).delete()
        own.stops.exclude(kind="visit").delete()
        if not own.stops.exists():
            own.delete()
    Visit.objects.filter(pk__in=[row.pk for row in rows]).update(
        state="TENTATIVE",
        answer="NEEDS-ACTION",
        told_from=None,
        told_until=None,
        pinned_seconds=None,
        source="plan",
    )
    return rows


def _reckoned(run: Run, last: dt.date, rows: Sequence[Visit]) -> Lost:
    hand = in_hand_standing(run.date, last + AHEAD, today=firm_today(), van=run.van)
    known = {visit.id for visit in hand.problem.visits}
    by_id = {str(row.pk): row for row in rows}
    frozen = frozen_problem(hand)
    orders = {one.id: list(one.visit_ids) for one in hand.plan.runs}
    spread, touched, setting = [], dict[str, None](), _setting(hand, run)
    for waits in who_can_wait(rows, hand, firm_today()):
        row = by_id[waits.id]
        found = openings(frozen, orders, waits.id, most=1) if waits.id in known else ()
        if not found:
            wide = _any_later_day(row, run, setting)
            frozen = replace(frozen, visits=(*(one for one in frozen.visits if one.id != wide.id), wide))
            found = openings(frozen, orders, wide.id, most=1)
        about = Spread(row.pk, _dogs(hand, row), row.household.name, row.is_told, can_wait_words(waits))
        if not found:
            spread.append(about)
            continue
        best = found[0]
        orders.setdefault(best.run, []).append(str(row.pk))
        orders[best.run] = _ordered(frozen, best.run, orders[best.run])
        touched[best.run] = None
        spread.append(replace(about, date=best.date, start=best.start))
    plan = _plan(frozen, hand, orders, list(touched))
    return Lost(hand, plan, tuple(_at(one, plan) for one in spread), tuple(touched))


def _setting(hand: InHand, run: Run) -> Setting:
    firm, first, last = the_firm(), hand.problem.runs[0].date, hand.problem.runs[-1].date
    return setting_for(firm, [run.van], first, last, work_days_of([run.van], firm, first, last))


def _any_later_day(row: Visit, run: Run, setting: Setting) -> PlannerVisit:
    """The visit on any day to come on which the household is free, the sooner the better: past what is settled too."""
    rows = [link.dog for link in row.visit_dogs.select_related("dog")]
    dogs = core_dogs(rows, firm_today(), place=row.place_id)
    return replace(visit_near(str(row.pk), dogs, row.date, set(), setting), vans=(str(run.van_id),))


def _ordered(problem: Problem, run: str, visits: Sequence[str]) -> list[str]:
    table = Table(problem)
    r = next(r for r, one in enumerate(problem.runs) if one.id == run)
    ordered = best_order(table, r, [table.visit_number[one] for one in visits])
    return list(ordered.planned.visit_ids) if ordered else list(visits)


def _plan(problem: Problem, hand: InHand, orders: Mapping[str, Sequence[str]], touched: Sequence[str]) -> Plan:
    table = Table(problem)
    number = {run.id: r for r, run in enumerate(problem.runs)}
    known = {run.id: run for run in hand.plan.runs}
    for run in touched:
        ordered = best_order(table, number[run], [table.visit_number[one] for one in orders[run]])
        assert ordered is not None
        known[run] = ordered.planned
    return plan_of_runs(hand.problem, [known[run.id] for run in problem.runs if run.id in known], hand.plan.left_out)


def _at(one: Spread, plan: Plan) -> Spread:
    """With the start that the whole spread plan has for it."""
    stops = (stop for run in plan.runs for stop in run.stops if isinstance(stop, VisitStop))
    start = next((stop.start for stop in stops if stop.visit == str(one.visit)), None)
    return replace(one, start=start)


def _dogs(hand: InHand, row: Visit) -> tuple[str, ...]:
    if str(row.pk) in hand.names["visits"]:
        return tuple(hand.dogs(str(row.pk)))
    return tuple(link.dog.name for link in row.visit_dogs.select_related("dog"))


def _off_words(one: Spread, date: dt.date) -> str:
    return _(
        "Hello, this is %(firm)s. We cannot be with %(dogs)s on %(day)s as planned, and are sorry. "
        "We will ask you about another day soon."
    ) % {"firm": the_firm().name, "dogs": names_in_words(one.dogs), "day": day(date)}


def spread_words(lost: Lost) -> str:
    """What was done, in a sentence."""
    placed = sum(one.date is not None for one in lost.spread)
    count = len(lost.spread)
    words = ngettext(
        "%(n)d visit is called off that day; %(placed)d has another day.",
        "%(n)d visits are called off that day; %(placed)d have another day.",
        count,
    )
    return words % {"n": count, "placed": placed}

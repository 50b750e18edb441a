"""A lost day: a run called off in one step, its visits spread over coming runs, who can wait least first."""

import datetime as dt
import uuid
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

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
from coatround.web.rounds.in_hand import InHand, frozen_problem, in_hand_standing
from coatround.web.rounds.models import Run, Stop
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
    rows = list(lost_visits(run, last))
    dates = {row.date for row in rows} | {run.date}
    van, start = run.van_id, run.date
    off = DayOff.objects.filter(van=van, first=start, last=last)
    ahead = Visit.objects.filter(date__range=(start, last + AHEAD)).values_list("pk", flat=True)
    with act_on_round(who, dates, [*ahead], more=lambda: off.all(), about=why) as batch:
        lost = _reckoned(run, last, _write_off(run, last, why))
        chosen = Chosen(lost.hand.problem, lost.plan, lost.hand.names, _dates(lost))
        rewrite_runs(chosen, lost.touched, who, standing_row().version + 1)
        for one in lost.spread:
            about, words = "off", _off_words(one, start)
            if one.date is not None and one.start is not None:
                about, words = "moved", moved_words(lost.hand, str(one.visit), one.date, one.start)
            draft(Visit.objects.get(pk=one.visit), about, words, who, batch)
    return lost


def _dates(lost: Lost) -> frozenset[dt.date]:
    return frozenset(lost.hand.date_of(run) for run in lost.touched)


def lost_visits(run: Run, last: dt.date) -> Iterator[Visit]:
    """The visits on the runs of that van from the run's date to `last` that nothing was recorded of yet."""
    stops = Stop.objects.filter(run__van=run.van_id, run__date__range=(run.date, last), visit__isnull=False)
    rows = Visit.objects.filter(stops__in=stops).exclude(state="CANCELLED").select_related("household")
    for row in rows.distinct().order_by("date", "pk"):
        if not any(table.objects.filter(visit=row.pk).exists() for table in (Fit, Groom, HandingBack)):
            yield row


def _write_off(run: Run, last: dt.date, why: str) -> list[Visit]:
    """The van is off on these days, its runs there are gone, and their visits promise nothing any more."""
    rows = list(lost_visits(run, last))
    DayOff.objects.create(van=run.van, first=run.date, last=last, words=why[:120])
    for own in Run.objects.filter(van=run.van_id, date__range=(run.date, last)):
        own.stops.filter(visit__in=rows).delete()
        own.stops.exclude(kind="visit").delete()
        if not own.stops.exists():
            own.delete()
    Visit.objects.filter(pk__in=[row.pk for row in rows]).update(
        state="TENTATIVE", answer="NEEDS-ACTION", told_from=None, told_until=None, pinned_seconds=None
    )
    return rows


def _reckoned(run: Run, last: dt.date, rows: Sequence[Visit]) -> Lost:
    hand = in_hand_standing(run.date, last + AHEAD, today=firm_today(), van=run.van)
    known = {visit.id: visit for visit in hand.problem.visits}
    waiting = sorted(rows, key=lambda row: _can_wait(row, known.get(str(row.pk))))
    frozen = frozen_problem(hand)
    orders = {one.id: list(one.visit_ids) for one in hand.plan.runs}
    spread, touched = [], dict[str, None]()
    for row in waiting:
        own = known.get(str(row.pk))
        wide = _any_later_day(row, hand, run)
        found = openings(frozen, orders, own.id, most=1) if own else ()
        if not found:
            frozen = replace(frozen, visits=(*(one for one in frozen.visits if one.id != wide.id), wide))
            found = openings(frozen, orders, wide.id, most=1)
        about = Spread(row.pk, _dogs(hand, row), row.household.name, row.is_told, _waits(row, own))
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


def _any_later_day(row: Visit, hand: InHand, run: Run) -> PlannerVisit:
    """The visit on any day to come on which the household is free, the sooner the better: past what is settled too."""
    firm, first, last = the_firm(), hand.problem.runs[0].date, hand.problem.runs[-1].date
    rows = [link.dog for link in row.visit_dogs.select_related("dog")]
    days = work_days_of([run.van], firm, first, last)
    setting = setting_for(firm, [run.van], first, last, days)
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


def _can_wait(row: Visit, own: PlannerVisit | None) -> tuple[dt.date, bool, dt.date, str]:
    """Who can wait least comes first: the last day it may fall on, then who was told, then who was to come first."""
    last = max((day.date for day in own.days), default=row.date) if own else row.date
    return last, not row.is_told, row.date, str(row.pk)


def _waits(row: Visit, own: PlannerVisit | None) -> str:
    if own is None or not own.days:
        return _("cannot wait inside what is settled")
    return _("can wait until %(day)s") % {"day": day(max(one.date for one in own.days))}


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

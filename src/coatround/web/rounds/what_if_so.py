"""Making a what-if so: what would be written down is listed first, and written as one act that can be undone."""

import datetime as dt
import uuid
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from django.contrib import messages
from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.dates import WEEKDAYS
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from coatround.web.base.changes import logged
from coatround.web.base.firm import firm_today, the_firm
from coatround.web.base.models import Worker
from coatround.web.base.money import money_text
from coatround.web.base.writing import writing
from coatround.web.records.models import RoutineStep, Usual, WorkingHours
from coatround.web.rounds.actions import worker_of
from coatround.web.rounds.models import Proposal
from coatround.web.rounds.queries import standing_version
from coatround.web.rounds.supposed import Supposed

SHOWN = 100
"""So many dogs are listed by name; the others are counted."""


@dataclass(frozen=True, slots=True)
class Line:
    """One thing that would be written down."""

    who: str
    words: str


@require_http_methods(["GET", "HEAD", "POST"])
def take(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Lists what would be written down; then writes it, and the what-if's plan is the new plan to accept."""
    proposal = get_object_or_404(Proposal, pk=pk, state="ready", supposed__isnull=False)
    supposed = Supposed.of(proposal.supposed or {})
    if not supposed.can_be_made_so:
        messages.error(
            request, _("A van or dogs that are only supposed are entered by hand first. Nothing was changed.")
        )
        return redirect("round:what-ifs")
    if proposal.base_version != standing_version():
        messages.error(request, _("The plan that stands was changed after this one was made. Drop it and ask again."))
        return redirect("round:what-ifs")
    if request.method == "POST":
        make_so(proposal, supposed, worker_of(request))
        messages.success(request, _("Written down. Its plan waits to be accepted."))
        return redirect("round:page")
    lines = list(would_write(supposed))
    given = {"proposal": proposal, "lines": lines[:SHOWN], "count": len(lines), "more": max(0, len(lines) - SHOWN)}
    return render(request, "rounds/what-if-so.html", given)


def would_write(supposed: Supposed) -> Iterator[Line]:
    """What making it so writes down, a line each."""
    firm = the_firm()
    for hours in _hours(supposed).select_related("van"):
        yield Line(str(hours.van), _("no longer works on %(day)s") % {"day": WEEKDAYS[hours.weekday]})
    for usual in _changing(supposed).select_related("dog", "dog__household"):
        weeks, cents = supposed.interval(usual.interval_weeks), supposed.priced(usual.price_cents)
        words = []
        if weeks != usual.interval_weeks:
            words.append(_("every %(new)d weeks, was %(old)d") % {"new": weeks, "old": usual.interval_weeks})
        if cents != usual.price_cents:
            both = {"new": money_text(cents, firm), "old": money_text(usual.price_cents, firm)}
            words.append(_("%(new)s, was %(old)s") % both)
        if words:
            yield Line(f"{usual.dog.name}, {usual.dog.household.name}", ", ".join(words))


def make_so(proposal: Proposal, supposed: Supposed, who: Worker) -> None:
    """Writes down what was supposed and puts its plan in the place of the new plan, all or nothing."""
    with writing():
        today = firm_today()
        with logged(who, lambda: _rows(supposed, today), about=_("what if: %(what)s") % {"what": proposal.called}):
            _hours(supposed).delete()
            _settle(supposed, today)
        there = Proposal.objects.filter(state__in=("waiting", "planning", "ready", "failed"))
        there.filter(Q(supposed__isnull=True) | Q(supposed={})).update(state="dropped", problem=None)
        Proposal.objects.filter(pk=proposal.pk).update(supposed=None)


def _rows(supposed: Supposed, today: dt.date) -> Iterable[WorkingHours | Usual]:
    """Every row that making it so may change, before and after."""
    yield from _hours(supposed).select_related("van")
    if supposed.weeks or supposed.percent:
        yesterday = today - dt.timedelta(days=1)
        yield from _of_dogs(supposed).filter(Q(valid_until__isnull=True) | Q(valid_until__gte=yesterday))


def _hours(supposed: Supposed) -> "QuerySet[WorkingHours]":
    rows = WorkingHours.objects.filter(van__closed_on__isnull=True).order_by("van__name", "pk")
    return rows.filter(weekday=supposed.weekday) if supposed.weekday is not None else rows.none()


def _of_dogs(supposed: Supposed) -> "QuerySet[Usual]":
    rows = Usual.objects.filter(closed_on__isnull=True, dog__closed_on__isnull=True)
    return rows.filter(dog__coat=supposed.coat) if supposed.coat else rows


def _changing(supposed: Supposed) -> "QuerySet[Usual]":
    """What is settled today or from a later day, of the dogs concerned."""
    if not supposed.weeks and not supposed.percent:
        return Usual.objects.none()
    rows = _of_dogs(supposed).filter(Q(valid_until__isnull=True) | Q(valid_until__gte=firm_today()))
    return rows.order_by("dog__name", "dog", "valid_from", "pk")


def _settle(supposed: Supposed, today: dt.date) -> None:
    """From today on; what was in force until yesterday stays as it was, what has not begun yet is changed itself."""
    ended: list[Usual] = []
    anew: list[Usual] = []
    made: dict[uuid.UUID, Usual] = {}
    for usual in _changing(supposed):
        weeks, cents = supposed.interval(usual.interval_weeks), supposed.priced(usual.price_cents)
        if (weeks, cents) == (usual.interval_weeks, usual.price_cents):
            continue
        if usual.valid_from >= today:
            row = usual
            anew.append(row)
        else:
            row = made[usual.pk] = _following(usual, today)
            usual.valid_until = today - dt.timedelta(days=1)
            ended.append(usual)
        row.interval_weeks, row.price_cents = weeks, cents
    Usual.objects.bulk_update(ended, ["valid_until"], batch_size=500)
    Usual.objects.bulk_update(anew, ["interval_weeks", "price_cents"], batch_size=500)
    Usual.objects.bulk_create(made.values(), batch_size=500)
    RoutineStep.objects.bulk_create(_steps_for(made), batch_size=500)


def _following(usual: Usual, today: dt.date) -> Usual:
    """The same again from today on, until when it would have ended."""
    same = {field.attname: getattr(usual, field.attname) for field in Usual._meta.concrete_fields}
    del same["id"], same["made_at"]
    return Usual(**same | {"valid_from": today})


def _steps_for(made: dict[uuid.UUID, Usual]) -> Iterator[RoutineStep]:
    """The routine of each row that was ended, for the row that follows it."""
    ids = list(made)
    for at in range(0, len(ids), 500):
        for step in RoutineStep.objects.filter(usual__in=ids[at : at + 500]).order_by("usual", "order"):
            yield RoutineStep(
                usual=made[step.usual_id],
                order=step.order,
                step=step.step,
                product_id=step.product_id,
                words=step.words,
            )

"""Today's run, any run's sheet, the page to print, the coming runs, and a look at keys."""

import datetime as dt
import uuid
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from coatround.web.base.firm import firm_now, firm_today, the_firm
from coatround.web.base.made import when_made
from coatround.web.base.models import Firm, Worker
from coatround.web.rounds.models import Run
from coatround.web.runs.actions import NotThatDay, look_at_keys
from coatround.web.runs.queries import coming_runs, run_sheet, runs_of
from coatround.web.runs.sheet import RunSheet
from coatround.web.runs.strip import paper_ribbon, ribbons
from coatround.web.runs.words import distance_words, late_words, time_words

RUNS_A_PAGE = 25


def the_moment(firm: Firm) -> dt.datetime:
    """Now on the firm's wall clock; where the date is held still, that date at this hour."""
    now = firm_now(firm)
    return now.replace(year=(held := firm_today(firm)).year, month=held.month, day=held.day)


def worker_of(request: HttpRequest) -> Worker:
    """Who is signed in."""
    if not isinstance(request.user, Worker):
        raise Http404
    return request.user


@require_safe
def today(request: HttpRequest) -> HttpResponse:
    """Today's run of the signed-in groomer's vans; else the next one; else what to do."""
    firm = the_firm()
    now = the_moment(firm)
    runs = runs_of(worker_of(request), now.date())
    if runs:
        return _show(request, "runs/sheet.html", run_sheet(runs[0].pk, now, firm), others=runs[1:])
    ahead = list(coming_runs(now.date())[:RUNS_A_PAGE])
    return render(request, "runs/none-today.html", {"next": ahead[0] if ahead else None, "coming": ahead[1:]})


@require_safe
def sheet(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """One run's sheet."""
    return _show(request, "runs/sheet.html", _sheet(pk))


@require_safe
def print_page(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """One run on one printed page: never with keys or codes."""
    sheet = _sheet(pk, as_planned=True)
    return _show(request, "runs/print.html", sheet, ribbon_paper=paper_ribbon(sheet))


def _sheet(pk: uuid.UUID, *, as_planned: bool = False) -> RunSheet:
    firm = the_firm()
    try:
        return run_sheet(pk, None if as_planned else the_moment(firm), firm)
    except Run.DoesNotExist as error:
        raise Http404(_("There is no such run; the round may have been planned anew.")) from error


def _show(request: HttpRequest, template: str, sheet: RunSheet, **more: Any) -> HttpResponse:
    phone, desk = ribbons(sheet)
    context = {
        "sheet": sheet,
        "on_page": when_made(),
        "late": late_words(sheet.day.late_seconds),
        "slack": time_words(sheet.day.slack_seconds),
        "distance": distance_words(sheet.metres, sheet.units),
        "ribbon_phone": phone,
        "ribbon_desk": desk,
        **more,
    }
    return render(request, template, context)


@require_safe
def coming(request: HttpRequest) -> HttpResponse:
    """The runs from today on."""
    yesterday = firm_today() - dt.timedelta(days=1)
    page = Paginator(coming_runs(yesterday), RUNS_A_PAGE).get_page(request.GET.get("page"))
    return render(request, "runs/coming.html", {"page": page})


@never_cache
@require_POST
def keys(request: HttpRequest, pk: uuid.UUID, place: uuid.UUID) -> HttpResponse:
    """Shows a place's keys and codes on the day of its run; the look is logged."""
    run = get_object_or_404(Run, pk=pk)
    try:
        found = look_at_keys(run, place, worker_of(request), today=firm_today())
    except NotThatDay:
        messages.error(request, _("Keys and codes show on that day's run only, and never on paper."))
        return redirect("runs:sheet", pk)
    name = "runs/keys.html#words" if request.headers.get("HX-Request") else "runs/keys.html"
    return render(request, name, {"run": run, "keys": found})

"""The round page: what stands, what is proposed, planning and accepting."""

import datetime as dt
import uuid
from typing import Any

from django.contrib import messages
from django.db import DatabaseError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from coatround.core.workdays import monday_of
from coatround.digits import whole_number
from coatround.web.base.firm import firm_today
from coatround.web.base.models import Worker
from coatround.web.records.models import Dog, Van
from coatround.web.rounds import actions
from coatround.web.rounds.by_hand_words import broken_by_hand
from coatround.web.rounds.changes import changes_of, rows_of
from coatround.web.rounds.forms import PlanForm
from coatround.web.rounds.models import Proposal, Run
from coatround.web.rounds.propose import is_silent
from coatround.web.rounds.queries import (
    open_proposal,
    open_vans_by_name,
    standing_runs,
    standing_version,
    van_asked_for,
    without_a_run,
)
from coatround.web.rounds.shown import off_road_rows, proposed_runs, weeks_of

NEW_SHOWN = 40
WEEK = dt.timedelta(days=7)


@require_GET
def page(request: HttpRequest) -> HttpResponse:
    """One van's round over a week or four: the proposal while one waits, else the plan that stands."""
    return _page(request, PlanForm(initial=_first_asked(request), today=firm_today()))


def _page(request: HttpRequest, form: PlanForm, status: int = 200) -> HttpResponse:
    today = firm_today()
    proposal = open_proposal()
    is_ready = proposal is not None and proposal.state == "ready"
    shows_proposal = is_ready and request.GET.get("show") != "standing"
    vans = open_vans_by_name()
    given: dict[str, Any] = {
        "form": form,
        "proposal": proposal,
        "is_silent": proposal is not None and is_silent(proposal),
        "is_ready": is_ready,
        "shows_proposal": shows_proposal,
        "vans": vans,
        "has_dogs": Dog.objects.filter(closed_on__isnull=True).exists(),
        "has_runs": Run.objects.exists(),
        **_frame(request, vans, today, proposal if shows_proposal else None),
    }
    if proposal is not None and shows_proposal:
        given |= _proposed(proposal, given)
    else:
        given |= _standing(given)
    return render(request, "rounds/page.html", given, status=status)


def _frame(request: HttpRequest, vans: list[Van], today: dt.date, proposal: Proposal | None) -> dict[str, Any]:
    """Which van and which weeks the page shows."""
    van = van_asked_for(request, vans)
    weeks = int(request.GET["weeks"]) if request.GET.get("weeks") in ("1", "4") else (4 if proposal else 1)
    first = _date(request.GET.get("week", "")) or (proposal.first_date if proposal else _first_standing(van, today))
    monday = monday_of(first)
    last = monday + weeks * WEEK - dt.timedelta(days=1)
    if proposal and weeks > 1 and first == proposal.first_date:
        last = max(last, min(proposal.last_date, last + WEEK))
    return {
        "van": van,
        "weeks_shown": weeks,
        "first": monday,
        "last": last,
        "before": monday - weeks * WEEK,
        "after": monday + weeks * WEEK,
        "here": request.get_full_path(),
    }


def _first_standing(van: Van | None, today: dt.date) -> dt.date:
    """The next day on which this van goes out, so that the page does not open on an empty week."""
    runs = Run.objects.filter(date__gte=today, van=van).order_by("date").values_list("date", flat=True)
    return runs.first() or today


def _date(typed: str) -> dt.date | None:
    try:
        return dt.date.fromisoformat(typed)
    except ValueError:
        return None


def _standing(given: dict[str, Any]) -> dict[str, Any]:
    runs = standing_runs(given["first"], given["last"], given["van"])
    weeks = weeks_of(runs, small=given["weeks_shown"] > 1, today=firm_today())
    return {
        "weeks": weeks,
        "drive_seconds": sum(week.drive_seconds for week in weeks),
        "by_road": all(week.by_road for week in weeks),
        "loose": without_a_run(max(given["first"], firm_today()), given["last"])[:20],
    }


def _proposed(proposal: Proposal, given: dict[str, Any]) -> dict[str, Any]:
    rows = rows_of(proposal)
    van = str(given["van"].pk) if given["van"] else ""
    runs = [
        run for run in proposed_runs(proposal, rows) if run.van == van and given["first"] <= run.date <= given["last"]
    ]
    totals, before = proposal.names["totals"], proposal.names["before"]
    return {
        "weeks": weeks_of(runs, small=given["weeks_shown"] > 1, today=firm_today(), accepted=proposal.accepted_dates),
        "changes": changes_of(proposal, rows),
        "new_shown": NEW_SHOWN,
        "totals": totals,
        "before_totals": before if before["runs"] else None,
        "saves_seconds": before["drive_seconds"] - totals["drive_seconds"],
        "costs_seconds": totals["drive_seconds"] - before["drive_seconds"],
        "is_stale": standing_version() != proposal.base_version,
        "off_road": off_road_rows(proposal),
        "by_hand_breaks": broken_by_hand(proposal) if proposal.names.get("by_hand") else [],
    }


def _first_asked(request: HttpRequest) -> dict[str, Any]:
    return {"first": firm_today() + dt.timedelta(days=1), "van": request.GET.get("van") or None}


@require_POST
def plan(request: HttpRequest) -> HttpResponse:
    """Starts planning in a process of its own."""
    form = PlanForm(request.POST, today=firm_today())
    if not form.is_valid():
        return _page(request, form, 422)
    who = _worker(request)
    asked = form.cleaned_data
    try:
        actions.start_planning(asked["first"], form.last, who=who, seconds=asked["seconds"], van=asked.get("van"))
    except DatabaseError:
        messages.error(request, _("Planning could not begin; nothing was changed. Is the disk full? Make room first."))
        return _page(request, form, 503)
    return _back(van=asked["van"].pk if asked.get("van") else None)


@require_GET
def progress(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """How far a planning has come; once it is over, the whole page is asked for again."""
    proposal = get_object_or_404(Proposal.objects.defer("problem", "plan"), pk=pk)
    silent = is_silent(proposal)
    if proposal.state not in ("waiting", "planning") or silent:
        answer = HttpResponse(status=200)
        answer["HX-Refresh"] = "true"
        return answer
    return render(request, "rounds/progress.html", {"proposal": proposal})


@require_POST
def stop(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Asks a planning to stop with the best so far."""
    actions.stop_planning(get_object_or_404(Proposal.objects.defer("problem", "plan"), pk=pk))
    messages.info(request, _("Stopping. The best plan so far is kept."))
    return redirect("round:what-ifs") if Proposal.objects.filter(pk=pk, supposed__isnull=False).exists() else _back()


@require_POST
def drop(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Throws a proposal away."""
    actions.drop(get_object_or_404(Proposal.objects.defer("problem", "plan"), pk=pk))
    messages.info(request, _("The new plan was dropped. The plan that stands was not touched."))
    return _back()


@require_POST
def accept(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Accepts a proposal, whole or the dates named."""
    proposal = get_object_or_404(Proposal.objects.defer("problem", "plan"), pk=pk)
    typed = request.POST.get("base_version", "")
    dates = [date for date in map(_date, request.POST.getlist("date")) if date]
    whole = not request.POST.getlist("date")
    try:
        version = whole_number(typed)
        actions.accept(
            proposal,
            _worker(request),
            base_version=-1 if version is None else version,
            dates=None if whole else dates,
            although=request.POST.get("although") == "yes",
        )
    except (actions.StandingChanged, actions.PlanBreaks) as error:
        messages.error(request, str(error))
        return redirect((request.POST.get("next_page") and _own(request)) or reverse("round:page"))
    messages.success(request, _("Accepted. It is the plan that stands.") if whole else _("Accepted this day."))
    return redirect(_own(request) or reverse("round:page"))


def _own(request: HttpRequest) -> str:
    """The page of ours that asked, or nothing."""
    asked = request.POST.get("next_page", "")
    return asked if asked.startswith("/") and not asked.startswith("//") and "\\" not in asked else ""


def _back(**query: Any) -> HttpResponse:
    named = {name: value for name, value in query.items() if value}
    return redirect(reverse("round:page") + (f"?{urlencode(named)}" if named else ""))


def _worker(request: HttpRequest) -> Worker:
    assert isinstance(request.user, Worker)
    return request.user

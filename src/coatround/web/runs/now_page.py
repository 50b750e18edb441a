"""The page for a run that is late, or may be: the rest from here and now, and three ways out."""

import datetime as dt
import uuid
from dataclasses import dataclass, replace
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django.views.decorators.http import require_GET, require_POST

from coatround.core.rounds.plan import VisitStop
from coatround.core.rounds.today import WayOut
from coatround.web.base.firm import firm_today, the_firm
from coatround.web.base.forms import Page, TimeInput
from coatround.web.base.money import money_text
from coatround.web.base.templatetags.coatround import clock, day, minutes
from coatround.web.due.facts import seconds_of
from coatround.web.roads.map import names_in_words
from coatround.web.rounds.by_hand_words import faults_in_words
from coatround.web.rounds.gather import CannotPlan
from coatround.web.rounds.in_hand import InHand
from coatround.web.rounds.models import Run, Stop
from coatround.web.rounds.queries import standing_version
from coatround.web.runs.done import run_seconds
from coatround.web.runs.now import Moment, go, moment_of, ways_from
from coatround.web.runs.views import the_moment, worker_of


class NowForm(Page):
    """Where the van is, and when it can go on."""

    at = forms.TypedChoiceField(label=gettext_lazy("Done so far"), coerce=int)
    free = forms.TimeField(label=gettext_lazy("Can go on at"), widget=TimeInput())

    def __init__(self, *args: Any, stops: list[Stop], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        at = self.fields["at"]
        assert isinstance(at, forms.TypedChoiceField)
        names = [(n, _("until %(name)s") % {"name": _name(stop)}) for n, stop in enumerate(stops, 1)]
        at.choices = [(0, _("nothing yet, at home")), *names]


def _name(stop: Stop) -> str:
    if stop.visit is None:
        return str(stop.get_kind_display())
    return names_in_words(tuple(link.dog.name for link in stop.visit.visit_dogs.all())) or stop.visit.household.name


@dataclass(frozen=True, slots=True)
class Row:
    """One visit that is ahead: when it was to be, when it will be, and how it stands to what was told."""

    names: str
    household: str
    planned: int
    arrive: int
    told: str
    outside: str


@dataclass(frozen=True, slots=True)
class Way:
    """A way out for people."""

    kind: str
    title: str
    rows: tuple[Row, ...]
    back: int
    lines: tuple[str, ...]
    breaks: tuple[str, ...]
    costs: str


@require_GET
def page(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """The rest of today's run from here and now."""
    run = get_object_or_404(Run.objects.select_related("van__home", "start_place", "end_place"), pk=pk)
    if run.date != firm_today():
        messages.error(request, _("From here and now is for a run of today."))
        return redirect("runs:sheet", pk)
    moment, form = _asked(request.GET, run)
    given = {"run": run, "form": form, "moment": moment, "base_version": standing_version()}
    try:
        hand, ways = ways_from(moment)
    except CannotPlan as error:
        given["cannot"] = str(error)
        return render(request, "runs/now.html", given)
    given["ways"] = [_way(hand, moment, way) for way in ways]
    return render(request, "runs/now.html", given)


def _asked(typed: QueryDict, run: Run) -> tuple[Moment, NowForm]:
    """The moment as recorded, or as a person says."""
    stops = list(run.stops.select_related("visit__household").prefetch_related("visit__visit_dogs__dog"))
    now = run_seconds(the_moment(the_firm()), run.date)
    form = NowForm(typed if "free" in typed else None, stops=stops)
    if form.is_bound and form.is_valid():
        free = seconds_of(form.cleaned_data["free"])
        assert free is not None
        return moment_of(run, free, at=form.cleaned_data["at"]), form
    moment = moment_of(run, now)
    if not form.is_bound:
        free = min(moment.here.now, 24 * 3600 - 60)
        initial = {"at": len(moment.behind), "free": dt.time(free // 3600, free % 3600 // 60)}
        form = NowForm(stops=stops, initial=initial)
    return moment, form


def _way(hand: InHand, moment: Moment, way: WayOut) -> Way:
    was = {str(stop.visit_id): stop for stop in moment.ahead}
    outside = {one.visit: one.seconds for one in way.outside}
    rows = tuple(
        Row(
            names_in_words(tuple(hand.dogs(stop.visit))),
            hand.household(stop.visit),
            was[stop.visit].arrive_seconds if stop.visit in was else stop.arrive,
            stop.arrive,
            _told_words(hand, stop.visit),
            _outside_words(outside.get(stop.visit, 0)),
        )
        for stop in (way.planned.stops if way.planned else ())
        if isinstance(stop, VisitStop)
    )
    lines = []
    if way.moved and way.opening is not None:
        words = _("%(names)s would come on %(day)s, work from %(clock)s.")
        about = {"day": day(way.opening.date), "clock": clock(way.opening.start)}
        lines.append(words % (about | {"names": names_in_words(tuple(hand.dogs(way.moved)))}))
    breaks = [one for one in way.faults if one.code != "outside_window" or one.visit not in outside]
    return Way(
        way.kind,
        _title(hand, way),
        rows,
        way.planned.back if way.planned else moment.here.now,
        tuple(lines),
        tuple(faults_in_words(replace(hand, problem=way.problem), way.plan, breaks)),
        _costs(way),
    )


def _title(hand: InHand, way: WayOut) -> str:
    if way.kind == "push on":
        return _("Push on")
    if way.kind == "swap":
        first = next(iter(way.planned.visit_ids), "") if way.planned else ""
        return _("Swap: %(names)s first") % {"names": names_in_words(tuple(hand.dogs(first)))}
    return _("Move %(names)s to another day") % {"names": names_in_words(tuple(hand.dogs(way.moved)))}


def _told_words(hand: InHand, visit: str) -> str:
    names = hand.names["visits"][visit]
    if not names["told"] or names["told_from"] is None:
        return ""
    until = names["told_until"]
    return f"{clock(names['told_from'])}-{clock(until)}" if until is not None else clock(names["told_from"])


def _outside_words(seconds: int) -> str:
    if abs(seconds) < 60:
        return ""
    words = _("%(minutes)s too late") if seconds > 0 else _("%(minutes)s too early")
    return words % {"minutes": minutes(abs(seconds))}


def _costs(way: WayOut) -> str:
    if way.kind == "push on" or not way.more_cents:
        return ""
    words = _("%(money)s dearer than pushing on") if way.more_cents > 0 else _("%(money)s cheaper than pushing on")
    return words % {"money": money_text(abs(way.more_cents), the_firm())}


@require_POST
def take(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Does what was chosen and drafts the notes."""
    run = get_object_or_404(Run.objects.select_related("van__home", "start_place", "end_place"), pk=pk)
    if run.date != firm_today() or request.POST.get("base_version") != str(standing_version()):
        messages.error(request, _("The run was changed meanwhile, so nothing was done. Look again."))
        return redirect("runs:now", pk)
    moment, form = _asked(request.POST, run)
    if not form.is_valid():
        messages.error(request, _("Say where you are and when you can go on, then choose again."))
        return redirect("runs:now", pk)
    try:
        hand, ways = ways_from(moment)
    except CannotPlan as error:
        messages.error(request, str(error))
        return redirect("runs:now", pk)
    way = next((one for one in ways if one.kind == request.POST.get("way")), None)
    if way is None:
        messages.error(request, _("That way out is not there any more, so nothing was done. Look again."))
        return redirect("runs:now", pk)
    count = go(moment, hand, way, worker_of(request))
    messages.success(request, _("%(title)s: done.") % {"title": capfirst(_title(hand, way))})
    if count:
        words = ngettext("%(n)d note is drafted.", "%(n)d notes are drafted.", count) % {"n": count}
        messages.info(request, words)
        return redirect("notes:page")
    return redirect("runs:sheet", pk)

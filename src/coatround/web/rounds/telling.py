"""A word with a household about one visit: the window told, what they said, calling it off."""

import datetime as dt
import uuid
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from coatround.web.base.firm import the_firm
from coatround.web.base.forms import Page
from coatround.web.base.models import Worker
from coatround.web.base.templatetags.coatround import clock
from coatround.web.due.facts import seconds_of
from coatround.web.due.visits import heat_cautions
from coatround.web.records.seasons import hot_times
from coatround.web.rounds import actions
from coatround.web.rounds.arriving import times_of
from coatround.web.rounds.changes import told_words
from coatround.web.rounds.forms import AnswerForm, CallOffForm, TellForm
from coatround.web.rounds.models import Stop
from coatround.web.rounds.to_tell import share_held, window_to_tell
from coatround.web.visits.models import Visit

HOLDS = 0.95
"""So often a window told is to hold, as the windows to tell are reckoned."""


@require_GET
def page(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """All that can be settled with the household about this visit."""
    return _page(request, _visit(pk), {})


def _visit(pk: uuid.UUID) -> Visit:
    rows = Visit.objects.select_related("household", "place", "van")
    return get_object_or_404(rows.prefetch_related("visit_dogs__dog", "household__people"), pk=pk)


def _page(
    request: HttpRequest, visit: Visit, forms: dict[str, Page], status: int = 200, not_met: str = ""
) -> HttpResponse:
    stop = _stop_of(visit)
    told = {"told_from": visit.told_from, "told_until": visit.told_until}
    windows = window_to_tell(stop) if stop else None
    if visit.told_from is None and windows:
        told = dict(zip(told, times_of(windows.told), strict=True))
    given = {
        "visit": visit,
        "stop": stop,
        "windows": windows,
        "dogs": [link.dog for link in visit.visit_dogs.all()],
        "people": [person for person in visit.household.people.all() if person.is_open],
        "told": told_words(visit) if visit.state == "CONFIRMED" else "",
        "not_met": not_met,
        "next_page": request.POST.get("next_page", "") if not_met else "",
        "tell": forms.get("tell") or TellForm(initial=told),
        "answer": forms.get("answer") or AnswerForm(initial={"answer": visit.answer}),
        "call_off": forms.get("call_off") or CallOffForm(),
    }
    return render(request, "rounds/visit.html", given, status=status)


@require_POST
def tell(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Writes the window down that the household was told; asks first where the plan that stands does not meet it."""
    visit, form = _visit(pk), TellForm(request.POST)
    if visit.state == "CANCELLED":
        return _over(request, visit)
    if not form.is_valid():
        return _page(request, visit, {"tell": form}, 422)
    from_, until = form.cleaned_data["told_from"], form.cleaned_data["told_until"]
    if not request.POST.get("all_the_same") and (not_met := _not_met(visit, from_, until)):
        return _page(request, visit, {"tell": form}, 422, not_met)
    actions.tell(visit, _worker(request), from_, until)
    messages.success(request, _("%(household)s: %(told)s.") % _words(visit))
    for words in _warnings(visit):
        messages.warning(request, words)
    return _back(request, visit)


def _not_met(visit: Visit, from_: dt.time, until: dt.time) -> str:
    """What is wrong with telling this window, as the plan stands; empty where the plan meets it or has no such stop."""
    stop = _stop_of(visit)
    begins, ends = seconds_of(from_), seconds_of(until)
    if stop is None or begins is None or ends is None or begins <= stop.start_seconds <= ends:
        return ""
    words = _("The plan comes at %(at)s, and this window ends at %(until)s.")
    if stop.start_seconds < begins:
        words = _("The plan comes at %(at)s, and this window begins only at %(from)s.")
    return words % {"at": clock(stop.start_seconds), "from": clock(begins), "until": clock(ends)}


def _stop_of(visit: Visit) -> Stop | None:
    return Stop.objects.filter(visit=visit).select_related("run").first()


def _warnings(visit: Visit) -> list[str]:
    """What speaks against what was just told: the heat, a plan that does not meet it, a window that seldom holds."""
    return [*_hot(visit), *_seldom(visit)]


def _hot(visit: Visit) -> list[str]:
    """Dogs with a caution for heat that may be on the table in the hot hours of a hot month."""
    firm, from_, until = the_firm(), visit.told_from, visit.told_until
    hot = hot_times(firm, visit.date)
    if hot is None or from_ is None or until is None or from_ >= hot[1] or until <= hot[0]:
        return []
    dogs = {link.dog_id: link.dog for link in visit.visit_dogs.all()}
    words = _("%(dog)s has a caution (%(kinds)s), and %(from)s to %(until)s are hot hours in this month.")
    hours = {"from": f"{hot[0]:%H:%M}", "until": f"{hot[1]:%H:%M}"}
    return [
        words % ({"dog": dogs[dog], "kinds": ", ".join(kinds)} | hours)
        for dog, kinds in heat_cautions(dogs, visit.date).items()
    ]


def _seldom(visit: Visit) -> list[str]:
    """What to do where the plan does not meet the window, and how often a short one would hold."""
    stop = _stop_of(visit)
    from_, until = seconds_of(visit.told_from), seconds_of(visit.told_until)
    windows = window_to_tell(stop) if stop else None
    if stop is None or windows is None or from_ is None or until is None:
        return []
    if not from_ <= stop.start_seconds <= until:
        words = _("The plan comes at %(at)s, outside what was told. Move the visit, plan again, or tell another time.")
        return [words % {"at": clock(stop.start_seconds)}]
    share = share_held(stop, (from_, until))
    if share is None or share >= HOLDS:
        return []
    words = _("This window would hold on %(count)d days of 100; one that holds on 95 is %(from)s to %(until)s.")
    told = {"from": clock(windows.told[0]), "until": clock(windows.told[1])}
    return [words % {"count": int(100 * share), **told}]


@require_POST
def answer(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Writes down what the household said."""
    visit, form = _visit(pk), AnswerForm(request.POST)
    if visit.state == "CANCELLED":
        return _over(request, visit)
    if not form.is_valid():
        return _page(request, visit, {"answer": form}, 422)
    actions.write_answer(visit, _worker(request), form.cleaned_data["answer"])
    said = {"household": visit.household.name, "answer": visit.get_answer_display()}
    messages.success(request, _("%(household)s: %(answer)s.") % said)
    return _back(request, visit)


@require_POST
def call_off(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Calls the visit off, with the reason."""
    visit, form = _visit(pk), CallOffForm(request.POST)
    if visit.state == "CANCELLED":
        return _over(request, visit)
    if not form.is_valid():
        return _page(request, visit, {"call_off": form}, 422)
    actions.call_off(visit, _worker(request), form.cleaned_data["why"])
    messages.success(request, _("Called off. Its run goes on without it."))
    return _back(request, visit)


def _words(visit: Visit) -> dict[str, Any]:
    return {"household": visit.household.name, "told": told_words(visit)}


def _over(request: HttpRequest, visit: Visit) -> HttpResponse:
    messages.error(request, _("This visit was called off already, so nothing was changed."))
    return redirect("round:visit", visit.pk)


def _back(request: HttpRequest, visit: Visit) -> HttpResponse:
    asked = request.POST.get("next_page", "")
    ours = asked.startswith("/") and not asked.startswith("//") and "\\" not in asked
    return redirect(asked if ours else reverse("round:visit", args=[visit.pk]))


def _worker(request: HttpRequest) -> Worker:
    assert isinstance(request.user, Worker)
    return request.user

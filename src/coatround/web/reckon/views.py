"""Reckon: the trade's figures as pages, the same as `coatround reckon`."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from coatround.core.checking import Refused
from coatround.core.reckon import RECKONERS
from coatround.core.reckon.asked import Reckoner
from coatround.core.reckon.measures import System
from coatround.web.base.firm import the_firm
from coatround.web.reckon import form
from coatround.web.reckon.shown import Shown, shown


def page(request: HttpRequest) -> HttpResponse:
    """All that can be reckoned."""
    return render(request, "reckon/page.html", {"reckoners": RECKONERS.values()})


def reckoner(request: HttpRequest, name: str) -> HttpResponse:
    """One reckoner: its form, filled with an example until something is typed, and the answer."""
    found = RECKONERS.get(name)
    if found is None:
        raise Http404
    system: System = "us" if the_firm().units == "us" else "metric"
    typed = form.read(found, request.GET, system) if request.GET else form.example(found, system)
    answer = _answer(found, typed, system)
    given = {"reckoner": found, "form": typed, "shown": answer, "is_example": not request.GET, "units": system}
    return render(request, "reckon/reckoner.html", given, status=200 if answer else 422)


def _answer(found: Reckoner, typed: form.Form, system: System) -> Shown | None:
    try:
        return shown(found.name, typed.asked, found.answer(typed.asked), system)
    except Refused as refused:
        labels = {value.name: value.words for value in found.values}
        labels |= {part.name: part.words for value in found.values for part in value.of}
        typed.blame(refused.refusal.path, form.in_words(refused.refusal.words, labels))
        return None

"""Incidents as they were recorded at the visits; here they are read."""

import uuid

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from coatround.web.desk.queries import incidents as all_incidents
from coatround.web.records.models import Dog
from coatround.web.visits.words import INCIDENTS

A_PAGE = 25


def incidents(request: HttpRequest) -> HttpResponse:
    """The latest first; `kind` and `dog` narrow it."""
    kind, dog = request.GET.get("kind", ""), dog_asked(request.GET.get("dog", ""))
    rows = all_incidents()
    if kind in dict(INCIDENTS):
        rows = rows.filter(kind=kind)
    if dog is not None:
        rows = rows.filter(dog=dog)
    page = Paginator(rows, A_PAGE).get_page(request.GET.get("page"))
    return render(request, "desk/incidents.html", {"page": page, "kinds": INCIDENTS, "kind": kind, "dog": dog})


def dog_asked(words: str) -> Dog | None:
    try:
        return Dog.objects.filter(pk=uuid.UUID(words)).first()
    except ValueError:
        return None

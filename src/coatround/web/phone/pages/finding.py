"""The visit that a page of recording is about, and the run that it stands on."""

import uuid

from django.shortcuts import get_object_or_404
from django.urls import reverse

from coatround.web.rounds.models import Stop
from coatround.web.visits.models import Visit
from coatround.web.visits.queries import visits_with_people


def find_visit(visit_id: uuid.UUID) -> Visit:
    return get_object_or_404(visits_with_people(), pk=visit_id)


def run_address(visit: Visit) -> str:
    """The run that the visit stands on, or the visit itself."""
    run = Stop.objects.filter(visit=visit.pk).values_list("run_id", flat=True).first()
    return reverse("runs:sheet", args=[run]) if run else reverse("phone:visit", args=[visit.pk])

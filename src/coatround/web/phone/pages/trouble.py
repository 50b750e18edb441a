"""What is needed in trouble, with or without signal: stop and refer, a lost dog, what the labels say."""

import uuid

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from coatround.core.trade.stop_and_refer import ALWAYS, HANDLING, REFER
from coatround.web.records.models import Dog, Product, Vet
from coatround.web.visits.models import Photo

MOST_VETS = 12


@require_safe
def stop(request: HttpRequest) -> HttpResponse:
    """When the work stops and a vet is rung, by what is seen."""
    return render(request, "phone/stop.html", {"refer": REFER, "always": ALWAYS, "handling": HANDLING, "vets": _vets()})


@require_safe
def lost(request: HttpRequest, dog_id: uuid.UUID) -> HttpResponse:
    """A dog that got away: what it looks like, its chip, whom to ring."""
    dog = get_object_or_404(Dog.objects.select_related("household", "vet"), pk=dog_id)
    people = dog.household.people.filter(closed_on__isnull=True).exclude(phone="").order_by("made_at")
    photo = Photo.objects.filter(dog=dog).order_by("-id").first()
    cautions = dog.cautions.filter(closed_on__isnull=True, kind__in=("escape", "bite", "catching", "heart", "airway"))
    shown = {"dog": dog, "people": people, "photo": photo, "vets": _vets(), "cautions": cautions}
    return render(request, "phone/lost.html", shown)


@require_safe
def labels(request: HttpRequest) -> HttpResponse:
    """What every product's label and safety sheet say."""
    return render(request, "phone/labels.html", {"products": Product.objects.filter(closed_on__isnull=True)})


def _vets() -> list[Vet]:
    """The vets that can be rung, by name."""
    return list(Vet.objects.filter(closed_on__isnull=True).exclude(phone="").order_by("name")[:MOST_VETS])

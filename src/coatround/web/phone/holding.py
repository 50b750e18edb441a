"""Which pages a phone holds: those of the next three runs, what is needed in trouble, and no more."""

import uuid
from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Q
from django.urls import reverse

from coatround.web.base.firm import firm_today
from coatround.web.base.models import Worker
from coatround.web.rounds.models import Run, Stop
from coatround.web.visits.models import Photo, VisitDog

MOST_RUNS = 3
ALWAYS = ("runs:today", "runs:coming", "phone:waiting", "phone:no-signal", "phone:stop", "phone:labels")


@dataclass(frozen=True)
class ToHold:
    """The runs a phone holds, soonest first, and the address of every page of them."""

    runs: tuple[Run, ...]
    pages: tuple[str, ...]


def next_runs(worker: Worker) -> list[Run]:
    """The next three runs of this groomer's vans from today on; of all vans for someone who has none."""
    runs = (
        Run.objects.filter(date__gte=firm_today()).select_related("van").order_by("date", "leave_seconds", "van__name")
    )
    if worker.vans.filter(closed_on__isnull=True).exists() or runs.filter(groomer=worker).exists():
        runs = runs.filter(Q(groomer=worker) | Q(groomer__isnull=True, van__groomer=worker))
    return list(runs[:MOST_RUNS])


def to_hold(worker: Worker) -> ToHold:
    """What a phone of this worker fetches in the morning, in a fixed number of questions."""
    runs = next_runs(worker)
    stops = list(
        Stop.objects.filter(run__in=runs, visit__isnull=False)
        .exclude(visit__state="CANCELLED")
        .order_by("run__date", "order")
        .values_list("run", "visit")
    )
    dogs_of: dict[uuid.UUID, list[uuid.UUID]] = {}
    rows = VisitDog.objects.filter(visit__in=[visit for _run, visit in stops]).order_by("order", "id")
    for visit, dog in rows.values_list("visit", "dog"):
        dogs_of.setdefault(visit, []).append(dog)
    pages = [reverse(name) for name in ALWAYS]
    for run in runs:
        pages.append(reverse("runs:sheet", args=[run.pk]))
        for visit in (visit for of, visit in stops if of == run.pk):
            pages += _of_visit(visit, dogs_of.get(visit, []))
    pages += _photos(runs, {dog for dogs in dogs_of.values() for dog in dogs})
    return ToHold(tuple(runs), tuple(dict.fromkeys(pages)))


def _of_visit(visit: uuid.UUID, dogs: Sequence[uuid.UUID]) -> list[str]:
    names = ("visit", "door", "handing-back", "openings", "incident", "called-off")
    pages = [reverse(f"phone:{name}", args=[visit]) for name in names]
    for dog in dogs:
        pages += [reverse("phone:groom", args=[visit, dog]), reverse("phone:lost", args=[dog])]
    return pages


def _photos(runs: Sequence[Run], dogs: set[uuid.UUID]) -> list[str]:
    """The last photo of each dog of these runs, as its lost-dog page shows it."""
    if not runs:
        return []
    last: dict[uuid.UUID, uuid.UUID] = {}
    for dog, photo in Photo.objects.filter(dog__in=dogs).order_by("id").values_list("dog", "id"):
        assert dog is not None
        last[dog] = photo
    return [reverse("visits:photo", args=[photo]) for photo in last.values()]

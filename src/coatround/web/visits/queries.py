"""Reads visits and what happened at them; a fact that was corrected is left out unless it is asked for."""

import datetime as dt
import statistics
import uuid
from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Exists, OuterRef, Prefetch, QuerySet

from coatround.web.records.models import Dog, Household
from coatround.web.visits.models import (
    Finding,
    Fit,
    Groom,
    HandingBack,
    Incident,
    Measure,
    Photo,
    Record,
    Visit,
    VisitDog,
)
from coatround.web.visits.phrases import cut_words, finding_words

PAST_GROOMS = 6
RECENT_FINDINGS = 4
PAGE_ROWS = 25


@dataclass(frozen=True, slots=True)
class DogPast:
    """What is worth knowing of a dog before the work: the last groom, how long it takes, findings, and bites first."""

    last: dt.date | None = None
    last_cut: str = ""
    last_stood: str = ""
    last_notes: str = ""
    median_seconds: int | None = None
    findings: tuple[tuple[dt.date, str], ...] = ()
    bites: tuple[tuple[dt.datetime, str], ...] = ()


def pasts_of(dog_ids: Collection[uuid.UUID], before: dt.date | None = None) -> dict[uuid.UUID, DogPast]:
    """The past of these dogs, in three queries; with `before`, only what was before that date."""
    grooms = Groom.objects.filter(dog_id__in=dog_ids, corrected=False, state="COMPLETED").order_by("-date", "-id")
    if before:
        grooms = grooms.filter(date__lt=before)
    by_dog: dict[uuid.UUID, list[Groom]] = defaultdict(list)
    for groom in grooms:
        if len(by_dog[groom.dog_id]) < PAST_GROOMS:
            by_dog[groom.dog_id].append(groom)
    findings = _findings([groom for some in by_dog.values() for groom in some])
    bites = defaultdict(list)
    for bite in Incident.objects.filter(dog_id__in=dog_ids, kind="bite", corrected=False).order_by("-happened_at"):
        bites[bite.dog_id].append((bite.happened_at, bite.words))
    return {dog: _past(by_dog[dog], findings, tuple(bites[dog])) for dog in dog_ids}


def _findings(grooms: list[Groom]) -> dict[uuid.UUID, list[tuple[dt.date, str]]]:
    dates = {groom.pk: groom.date for groom in grooms}
    found: dict[uuid.UUID, list[tuple[dt.date, str]]] = defaultdict(list)
    for row in Finding.objects.filter(groom_id__in=dates, grade__gte=1).order_by("id"):
        said = finding_words(row.part, row.kind, row.grade, row.words)
        found[row.groom_id].append((dates[row.groom_id], said))
    return found


def _past(
    grooms: list[Groom],
    findings: dict[uuid.UUID, list[tuple[dt.date, str]]],
    bites: tuple[tuple[dt.datetime, str], ...],
) -> DogPast:
    if not grooms:
        return DogPast(bites=bites)
    seconds = [groom.work_seconds for groom in grooms if groom.work_seconds]
    found = [finding for groom in grooms for finding in findings.get(groom.pk, [])]
    return DogPast(
        last=grooms[0].date,
        last_cut=cut_words(grooms[0].cut),
        last_stood=str(grooms[0].get_stood_display()) if grooms[0].stood else "",
        last_notes=grooms[0].notes,
        median_seconds=int(statistics.median(seconds)) if seconds else None,
        findings=tuple(found[:RECENT_FINDINGS]),
        bites=bites,
    )


@dataclass(frozen=True)
class VisitFacts:
    """One visit and all that was recorded of it; corrected rows stand apart."""

    visit: Visit
    dogs: tuple[Dog, ...]
    fits: dict[uuid.UUID, Fit]
    grooms: dict[uuid.UUID, Groom]
    handing_back: HandingBack | None
    incidents: tuple[Incident, ...]
    photos: tuple[Photo, ...]
    records: tuple[Record, ...] = ()
    replaced: tuple[Groom | Fit | HandingBack, ...] = field(default=())
    rivals: tuple[tuple[Groom | Fit | HandingBack, ...], ...] = field(default=())
    """Rows that stand beside each other and are about the same: two devices said it, and a person has to choose."""

    @property
    def is_begun(self) -> bool:
        return bool(self.fits or self.grooms or self.handing_back)


def visits_with_people() -> QuerySet[Visit]:
    """Visits with what their pages always show."""
    dogs = VisitDog.objects.select_related("dog")
    return Visit.objects.select_related("household", "place", "van").prefetch_related(Prefetch("visit_dogs", dogs))


def visit_facts(visit: Visit) -> VisitFacts:
    """What was recorded of a visit; a dog that was done without being planned stands among its dogs."""
    grooms = list(_grooms_of(visit))
    fits = list(Fit.objects.filter(visit=visit.pk).select_related("dog", "who").order_by("at", "id"))
    handed = list(HandingBack.objects.filter(visit=visit.pk).select_related("who").order_by("at", "id"))
    dogs = {row.dog_id: row.dog for row in visit.visit_dogs.all()}
    done: list[Fit | Groom] = [*fits, *grooms]
    dogs |= {fact.dog_id: fact.dog for fact in done if fact.dog_id not in dogs}
    said: list[Fit | Groom | HandingBack] = [*done, *handed]
    live_handed = [row for row in handed if not row.corrected]
    return VisitFacts(
        visit=visit,
        dogs=tuple(dogs.values()),
        fits={fit.dog_id: fit for fit in fits if not fit.corrected},
        grooms={groom.dog_id: groom for groom in grooms if not groom.corrected},
        handing_back=live_handed[-1] if live_handed else None,
        incidents=tuple(
            Incident.objects.filter(visit=visit.pk, corrected=False)
            .select_related("dog", "who")
            .order_by("happened_at")
        ),
        photos=tuple(Photo.objects.filter(visit=visit.pk).select_related("dog").order_by("id")),
        records=tuple(Record.objects.filter(visit=visit.pk).select_related("who").order_by("received_at", "id")),
        replaced=tuple(row for row in said if row.corrected),
        rivals=_rivals(said),
    )


def _rivals(said: list[Fit | Groom | HandingBack]) -> tuple[tuple[Fit | Groom | HandingBack, ...], ...]:
    about: dict[tuple[type, uuid.UUID | None], list[Fit | Groom | HandingBack]] = defaultdict(list)
    for row in said:
        if not row.corrected:
            about[type(row), getattr(row, "dog_id", None)].append(row)
    return tuple(tuple(rows) for rows in about.values() if len(rows) > 1)


def _grooms_of(visit: Visit) -> QuerySet[Groom]:
    rows = Groom.objects.filter(visit=visit.pk).select_related("dog", "who").order_by("at", "id")
    return rows.prefetch_related("steps__product", "findings", Prefetch("measures", Measure.objects.order_by("id")))


def recent_visits(today: dt.date, household: str = "") -> QuerySet[Visit]:
    """Visits up to today, the latest first, with whether anything was recorded of them."""
    rows = visits_with_people().filter(date__lte=today).order_by("-date", "-id")
    if household:
        rows = rows.filter(household__in=Household.objects.filter(name__icontains=household).values("pk"))
    groom = Groom.objects.filter(visit=OuterRef("pk"), corrected=False)
    handed = HandingBack.objects.filter(visit=OuterRef("pk"), corrected=False)
    return rows.annotate(
        is_done=Exists(groom.filter(state="COMPLETED")),
        is_not_done=Exists(groom.filter(state="CANCELLED")),
        is_handed_back=Exists(handed),
    )


def facts_to_show(facts: VisitFacts) -> list[dict[str, Any]]:
    """Each dog of a visit with its fit and groom, in the order they are done."""
    return [{"dog": dog, "fit": facts.fits.get(dog.pk), "groom": facts.grooms.get(dog.pk)} for dog in facts.dogs]

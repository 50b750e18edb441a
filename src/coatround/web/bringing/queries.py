"""The households that are there already, as the frozen records that a file is held against."""

from __future__ import annotations

import uuid
from collections.abc import Iterable

from django.db.models import Prefetch

from coatround.intake import Known
from coatround.intake.cells import Interval
from coatround.intake.found import Appointment, Caution, Dog, Household, Person, Place, Usual, folded
from coatround.web.records import models as records
from coatround.web.visits.models import Visit

NO_ADDRESS = "address not told"
NO_INTERVAL = "no interval was told"


def known_households() -> tuple[Known, ...]:
    """Every household that was not erased, oldest first; the closed ones too, so that none is made twice."""
    told: dict[uuid.UUID, list[Appointment]] = {}
    for household, date, start in Visit.objects.values_list("household_id", "date", "told_from"):
        told.setdefault(household, []).append(Appointment(date, start, None))
    usuals = records.Usual.objects.filter(closed_on__isnull=True, valid_until__isnull=True)
    dogs = records.Dog.objects.select_related("vet").prefetch_related("cautions", Prefetch("usuals", usuals))
    rows = records.Household.objects.filter(erased_at__isnull=True).order_by("made_at", "id")
    rows = rows.prefetch_related("people", "places__keys", Prefetch("dogs", dogs.order_by("made_at", "id")))
    return tuple(Known(str(row.pk), _household(row, told.get(row.pk, []))) for row in rows)


def _household(row: records.Household, told: Iterable[Appointment]) -> Household:
    return Household(
        name=row.name,
        persons=_persons(row.people.all()),
        place=_place(main_place(row)),
        dogs=tuple(_dog(dog) for dog in row.dogs.all()),
        notes=tuple(row.notes.splitlines()),
        told=tuple(told),
        to_be_named=row.to_be_named,
    )


def main_place(row: records.Household) -> records.Place | None:
    """The place that a file may add to: the household's first open one."""
    places = sorted(row.places.all(), key=lambda place: (place.closed_on is not None, place.made_at, place.pk))
    return places[0] if places else None


def _persons(rows: Iterable[records.Person]) -> tuple[Person, ...]:
    """Rows of one name are one person with several phones."""
    by_name: dict[str, list[records.Person]] = {}
    for row in sorted(rows, key=lambda row: (row.made_at, row.pk)):
        by_name.setdefault(folded(row.name), []).append(row)
    return tuple(
        Person(
            same[0].name,
            tuple(dict.fromkeys(row.phone for row in same if row.phone)),
            tuple(dict.fromkeys(row.email.lower() for row in same if row.email)),
        )
        for same in by_name.values()
    )


def _place(row: records.Place | None) -> Place | None:
    if row is None:
        return None
    return Place(
        street="" if row.line == NO_ADDRESS else row.line,
        suburb=row.suburb,
        postcode=row.postcode,
        latitude=None if row.lat is None else float(row.lat),
        longitude=None if row.lon is None else float(row.lon),
        gate=row.gate,
        parking=row.parking,
        keys=tuple(key.words for key in row.keys.all()),
    )


def _dog(row: records.Dog) -> Dog:
    return Dog(
        name=row.name,
        breed=row.breed,
        coat="" if row.coat == "mixed" else row.coat,
        size="" if row.size == "medium" else row.size,
        grams=row.weight_grams,
        born=row.born.isoformat() if row.born else "",
        sex=row.sex,
        microchip=row.microchip,
        vet=row.vet.name if row.vet else "",
        vaccinated_until=row.vaccinated_until,
        vaccination_told=row.vaccination_known in ("told", "seen"),
        cautions=tuple(Caution(one.kind, one.words) for one in row.cautions.all()),
        last_groom=row.last_groomed_before,
        usual=_usual(standing_usual(row)),
    )


def standing_usual(row: records.Dog) -> records.Usual | None:
    """The usual that is settled without an end, the latest first."""
    return next(iter(row.usuals.all()), None)


def _usual(row: records.Usual | None) -> Usual:
    if row is None:
        return Usual()
    known = not row.worked_out.startswith(NO_INTERVAL)
    return Usual(
        interval=Interval(row.interval_weeks, row.days_early, row.days_late) if known else None,
        price=row.price_cents or None,
        weekday=row.usual_weekday,
        hour=row.usual_time,
    )

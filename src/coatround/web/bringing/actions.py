"""Accepting a file: everything it says is written in one transaction, logged as one act that can be undone."""

from __future__ import annotations

import datetime as dt
import uuid
from collections.abc import Iterable, Sequence
from decimal import Decimal

from django.db import connection, models
from django.utils import timezone

from coatround.ids import uuid7
from coatround.intake import Landed, Outcome, Reading, reconcile
from coatround.intake.found import Appointment, Dog, Household, Person, Place, Usual, folded
from coatround.web.base import changes
from coatround.web.base.models import Change, Worker
from coatround.web.base.writing import writing
from coatround.web.bringing import queries
from coatround.web.records import models as records
from coatround.web.records.routines import first_routine
from coatround.web.visits.models import Visit, VisitDog

TOLD_MINUTES = 30  # our own default: the window that an hour in a diary is read as
CHUNK = 500


def accept(reading: Reading, who: Worker | None, left_out: frozenset[int] = frozenset()) -> Outcome:
    """Hold a file against what is there now and bring it in; raises DatesUnsettled. Twice changes nothing."""
    with writing():
        outcome = reconcile(reading, queries.known_households(), left_out=left_out)
        bring_in(outcome, who, reading.today, about=reading.name)
    return outcome


def bring_in(outcome: Outcome, who: Worker | None, today: dt.date, about: str = "") -> None:
    """Write every household of an outcome that changes."""
    with writing():
        bringing = _Bringing(who, today, f"brought in: {about}"[:200])
        for landed in outcome.households:
            if landed.changes:
                bringing.household(landed)
        bringing.write()


class _Bringing:
    """New rows are gathered and written together; rows that are there are saved one by one."""

    def __init__(self, who: Worker | None, today: dt.date, about: str) -> None:
        self.who, self.today, self.about, self.batch = who, today, about, uuid7()
        self.fresh: dict[type[models.Model], list[models.Model]] = {}
        self.vets = {folded(vet.name): vet for vet in records.Vet.objects.filter(closed_on__isnull=True)}

    def add(self, row: models.Model) -> None:
        self.fresh.setdefault(type(row), []).append(row)

    def keep(self, row: models.Model) -> None:
        changes.save(row, self.who, batch=self.batch, about=self.about)

    def write(self) -> None:
        for model in _ORDER:
            rows = self.fresh.get(model, [])
            if model is records.RoutineStep:
                _write_plainly(model, rows)
                continue
            model._default_manager.bulk_create(rows, batch_size=CHUNK)
            if model not in _PARTS:
                logged = [self._change(row) for row in rows]
                Change.objects.bulk_create(logged, batch_size=CHUNK)

    def _change(self, row: models.Model) -> Change:
        return Change(
            batch=self.batch,
            who=self.who,
            table=row._meta.label,
            row=row.pk,
            about=self.about,
            old=None,
            new=changes.row_values(row),
        )

    def household(self, landed: Landed) -> None:
        before, after = landed.before or Household(""), landed.household
        if landed.id is None:
            row = records.Household(name=after.name, to_be_named=after.to_be_named, notes="\n".join(after.notes))
            self.add(row)
        else:
            row = records.Household.objects.get(pk=uuid.UUID(landed.id))
            row.name, row.to_be_named, row.notes = after.name, after.to_be_named, "\n".join(after.notes)
            self.keep(row)
        self._persons(row, before.persons, after.persons)
        place = self._place(row, before.place, after.place)
        dogs = self._dogs(row, before.dogs, after.dogs)
        if place is not None:
            self._told(row, place, dogs, after.told[len(before.told) :])

    def _persons(self, row: records.Household, before: Sequence[Person], after: Sequence[Person]) -> None:
        """What is new of each person; a person's second phone is a second row of the same name."""
        for at, person in enumerate(after):
            had = before[at] if at < len(before) else Person("")
            phones = [phone for phone in person.phones if phone not in had.phones]
            emails = [email for email in person.emails if email not in had.emails]
            if at < len(before) and not (phones or emails):
                continue
            for place in range(max(1, len(phones), len(emails))):
                self.add(
                    records.Person(
                        household=row,
                        name=person.name or row.name[:120],
                        phone=phones[place] if place < len(phones) else "",
                        email=emails[place] if place < len(emails) else "",
                    )
                )

    def _place(self, row: records.Household, before: Place | None, after: Place | None) -> records.Place | None:
        if after is None:
            return None
        place = queries.main_place(row) if before is not None else None
        is_new = place is None
        place = place or records.Place(household=row)
        if before != after:
            place.line = after.street or queries.NO_ADDRESS
            place.suburb = ", ".join(part for part in (after.suburb, after.region) if part)
            place.postcode, place.gate, place.parking = after.postcode, after.gate, after.parking
            place.lat, place.lon = _degrees(after.latitude), _degrees(after.longitude)
            self.add(place) if is_new else self.keep(place)
        had = before.keys if before else ()
        for words in after.keys:
            if words not in had:
                self.add(records.PlaceKey(place=place, words=words))
        return place

    def _dogs(self, row: records.Household, before: Sequence[Dog], after: Sequence[Dog]) -> list[records.Dog]:
        have = list(row.dogs.order_by("made_at", "id")) if before else []
        rows = []
        for at, dog in enumerate(after):
            known = have[at] if at < len(before) else None
            dog_row = known or records.Dog(household=row)
            had = before[at] if known else Dog("")
            if known is None or had != dog:
                self._fill_dog(dog_row, dog)
                self.keep(dog_row) if known else self.add(dog_row)
                for caution in dog.cautions[len(had.cautions) :]:
                    self.add(records.Caution(dog=dog_row, kind=caution.kind, words=caution.words, since=self.today))
                self._usual(dog_row, had.usual if known else None, dog)
            rows.append(dog_row)
        return rows

    def _fill_dog(self, row: records.Dog, dog: Dog) -> None:
        row.name, row.breed, row.sex, row.microchip = dog.name, dog.breed, dog.sex, dog.microchip
        row.coat, row.size, row.weight_grams = dog.coat or "mixed", dog.size or "medium", dog.grams
        row.born = dt.date.fromisoformat(f"{dog.born}-01-01"[:10]) if dog.born else None
        row.vaccinated_until = dog.vaccinated_until
        if dog.vaccination_told and row.vaccination_known == "unknown":
            row.vaccination_known = "told"
        row.last_groomed_before = dog.last_groom
        if dog.vet and row.vet is None:
            row.vet = self._vet(dog.vet)

    def _vet(self, name: str) -> records.Vet:
        vet = self.vets.get(folded(name))
        if vet is None:
            vet = self.vets[folded(name)] = records.Vet(name=name)
            vet.save(force_insert=True)
            Change.objects.bulk_create([self._change(vet)])
        return vet

    def _usual(self, dog_row: records.Dog, had: Usual | None, dog: Dog) -> None:
        """Every dog that is brought in gets a usual, so that it can fall due; what was not told is said to be so."""
        row = queries.standing_usual(dog_row) if had is not None else None
        if row is not None and had == dog.usual:
            return
        is_new = row is None
        row = row or records.Usual(dog=dog_row, valid_from=self.today, worked_out=_NOT_TOLD)
        usual = dog.usual
        if usual.interval and (had is None or had.interval is None):
            row.interval_weeks, row.worked_out = usual.interval.weeks, (usual.interval.remark or self.about)[:160]
            row.days_early = 7 if usual.interval.days_early is None else usual.interval.days_early
            row.days_late = 7 if usual.interval.days_late is None else usual.interval.days_late
        row.price_cents = usual.price or 0
        row.usual_weekday, row.usual_time = usual.weekday, usual.hour
        if not is_new:
            self.keep(row)
            return
        self.add(row)
        for order, step in enumerate(first_routine(dog_row.coat)):
            self.add(records.RoutineStep(usual=row, order=order, step=step))

    def _told(
        self, row: records.Household, place: records.Place, dogs: Sequence[records.Dog], told: Iterable[Appointment]
    ) -> None:
        """A date to come becomes a visit that the household was told; a whole day has no window."""
        for one in told:
            visit = Visit(household=row, place=place, date=one.date, state="CONFIRMED", source="list")
            visit.told_at = timezone.now()
            visit.wanted = one.summary[:200]
            if one.start is not None:
                visit.told_from, visit.told_until = one.start, _later(one.start, TOLD_MINUTES)
            self.add(visit)
            meant = [dog for dog in dogs if f" {folded(dog.name)} " in f" {folded(one.summary)} "] or dogs
            for order, dog in enumerate(dog for dog in meant if dog.closed_on is None):
                self.add(VisitDog(visit=visit, dog=dog, order=order))


_NOT_TOLD = f"{queries.NO_INTERVAL}; six weeks until you settle it"
_ORDER: tuple[type[models.Model], ...] = (
    records.Household,
    records.Person,
    records.Place,
    records.PlaceKey,
    records.Dog,
    records.Caution,
    records.Usual,
    records.RoutineStep,
    Visit,
    VisitDog,
)
_PARTS = (records.RoutineStep, VisitDog)  # they come and go with the row that they are part of, and so does an undo


def _write_plainly(model: type[models.Model], rows: Sequence[models.Model]) -> None:
    """Insert rows by one prepared statement: a long list has twenty steps a dog, and building SQL for each is slow."""
    fields = model._meta.concrete_fields
    quoted = [connection.ops.quote_name(field.column or "") for field in fields]
    table, marks = connection.ops.quote_name(model._meta.db_table), ", ".join(["%s"] * len(fields))
    values = ([field.get_db_prep_save(getattr(row, field.attname), connection) for field in fields] for row in rows)
    with connection.cursor() as cursor:
        statement = f"INSERT INTO {table} ({', '.join(quoted)}) VALUES ({marks})"  # noqa: S608  our own names
        cursor.executemany(statement, list(values))


def _degrees(value: float | None) -> Decimal | None:
    return None if value is None else Decimal(str(value)).quantize(Decimal("0.000001"))


def _later(start: dt.time, minutes: int) -> dt.time:
    """A wall-clock time so many minutes later, but on the same day."""
    whole = min(start.hour * 60 + start.minute + minutes, 24 * 60 - 1)
    return dt.time(whole // 60, whole % 60)

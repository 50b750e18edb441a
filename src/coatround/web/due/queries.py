"""Which dogs are due: gathered in a few queries, reckoned by the core."""

import datetime as dt
import uuid
from collections.abc import Collection
from dataclasses import dataclass

from django.db import models
from django.db.models import OuterRef

from coatround.core import due as core
from coatround.web.due.facts import done_dates, parts, past_of, usuals_of, visits_ahead
from coatround.web.due.order import dogs_by_due, due_order
from coatround.web.due.visits import due_visits
from coatround.web.due.words import reason_words
from coatround.web.records.models import Dog, Usual

__all__ = ["DueDog", "dogs_by_due", "dogs_without_usual", "due_dogs", "due_order", "due_visits", "visits_ahead"]


@dataclass(frozen=True, slots=True)
class DueDog:
    """A dog's next due date, the window settled round it (`first` to `last`), and the reason in words."""

    dog_id: uuid.UUID
    household_id: uuid.UUID
    dog_name: str
    household_name: str
    due: dt.date
    first: dt.date
    last: dt.date
    last_done: dt.date | None
    reason: str
    days_over: int


def due_dogs(
    dog_ids: Collection[uuid.UUID] | None = None, *, today: dt.date, until: dt.date | None = None
) -> list[DueDog]:
    """The next due date of these dogs (all when None), soonest first; those after `until` are left out."""
    dogs = Dog.objects.filter(closed_on__isnull=True, household__closed_on__isnull=True)
    if dog_ids is None:
        dogs = dogs.filter(pk__in=dogs_by_due(today, until).order_by().values("pk"))
        rows = list(dogs.select_related("household"))
    else:
        rows = [row for part in parts(dog_ids) for row in dogs.filter(pk__in=part).select_related("household")]
    found = _due(rows, today)
    return [dog for dog in found if until is None or dog.due <= until]


def _due(rows: list[Dog], today: dt.date) -> list[DueDog]:
    ids = [row.pk for row in rows]
    usuals, pasts = usuals_of(ids), past_of(ids)
    found = []
    for row in rows:
        done = done_dates(row, pasts)
        due = core.next_due(usuals.get(row.pk, ()), done, today)
        if due is not None:
            found.append(_due_dog(row, due, max(done, default=None), today))
    return sorted(found, key=lambda dog: (dog.due, dog.household_name, dog.dog_name, dog.dog_id))


def _due_dog(row: Dog, due: core.Due, last_done: dt.date | None, today: dt.date) -> DueDog:
    return DueDog(
        row.pk,
        row.household_id,
        row.name,
        row.household.name,
        due.date,
        due.first,
        due.last,
        last_done,
        reason_words(due.reason, today),
        due.days_over(today),
    )


def dogs_without_usual() -> "models.QuerySet[Dog]":
    """Open dogs for which nothing is settled, so that they never fall due."""
    settled = Usual.objects.filter(closed_on__isnull=True, dog=OuterRef("pk"))
    return Dog.objects.filter(
        ~models.Exists(settled), closed_on__isnull=True, household__closed_on__isnull=True
    ).order_by("household__name", "name", "pk")

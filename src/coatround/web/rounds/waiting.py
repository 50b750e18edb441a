"""The waiting list: who waits for an opening, for which dogs, and when they are free."""

import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from urllib.parse import urlencode

from django.urls import reverse
from django.utils import timezone

from coatround.ids import uuid7
from coatround.web.base.changes import save
from coatround.web.base.firm import firm_today
from coatround.web.base.models import Worker
from coatround.web.base.templatetags.coatround import clock
from coatround.web.base.writing import writing
from coatround.web.due.facts import seconds_of
from coatround.web.records.models import Dog
from coatround.web.rounds.caller import Wanted
from coatround.web.rounds.models import Waiting
from coatround.web.visits.models import Visit


@dataclass(frozen=True, slots=True)
class Waits:
    """One that waits, with its dogs that are still here, and the address that looks for openings for them."""

    row: Waiting
    dogs: tuple[Dog, ...]

    @property
    def wanted(self) -> Wanted:
        """What they wait for, as a caller asks for it."""
        row = self.row
        hours = seconds_of(row.hours_from) or 0, seconds_of(row.hours_until) or 24 * 3600
        return Wanted(row.household, self.dogs, max(row.first, firm_today()), tuple(row.weekdays), hours)

    @property
    def address(self) -> str:
        row = self.row
        asked: list[tuple[str, object]] = [("first", self.wanted.first.isoformat())]
        asked += [("dogs", dog.pk) for dog in self.dogs] + [("weekdays", number) for number in row.weekdays]
        for name, time in (("hours_from", row.hours_from), ("hours_until", row.hours_until)):
            asked += [(name, clock(seconds_of(time) or 0))] if time else []
        return reverse("round:caller-openings", args=[row.household_id]) + "?" + urlencode(asked)


def who_waits() -> list[Waits]:
    """Everyone on the list, who asked first first; dogs that are no longer here are left out."""
    rows = list(Waiting.objects.filter(state="waiting", household__closed_on__isnull=True).select_related("household"))
    ids = {uuid.UUID(dog) for row in rows for dog in row.dogs}
    dogs = {str(dog.pk): dog for dog in Dog.objects.filter(pk__in=ids, closed_on__isnull=True)}
    waits = [Waits(row, tuple(dogs[dog] for dog in row.dogs if dog in dogs)) for row in rows]
    return [one for one in waits if one.dogs]


def put_on_list(wanted: Wanted, hours: tuple[object, object], words: str, who: Worker) -> Waiting:
    """Writes down who waits; a household that waits for the same dogs already is asked for anew, not twice."""
    ids = sorted(str(dog.pk) for dog in wanted.dogs)
    with writing():
        there = Waiting.objects.filter(household=wanted.household, state="waiting")
        row = next((one for one in there if sorted(one.dogs) == ids), None) or Waiting(household=wanted.household)
        row.dogs, row.first, row.weekdays, row.words = ids, wanted.first, list(wanted.weekdays), words
        row.hours_from, row.hours_until = hours  # type: ignore[assignment]
        save(row, who)
    return row


def take_off_list(rows: Iterable[Waiting], state: str, who: Worker, visit: Visit | None = None) -> None:
    """Those that were placed, or wait no longer."""
    batch = uuid7()
    with writing():
        for row in rows:
            row.state, row.visit, row.settled_at = state, visit, timezone.now()
            save(row, who, batch=batch)


def placed_by(wanted: Wanted, visit: Visit, who: Worker) -> None:
    """Takes the household off the list for the dogs that have a visit now."""
    ids = {str(dog.pk) for dog in wanted.dogs}
    rows = Waiting.objects.filter(household=wanted.household, state="waiting")
    take_off_list([row for row in rows if set(row.dogs) <= ids], "placed", who, visit)

"""What due dates follow from: grooms, what is settled, visits ahead; each a few queries for any number of dogs."""

import datetime as dt
import uuid
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from django.db import models

from coatround.core import due as core
from coatround.web.records.models import Dog, Usual
from coatround.web.visits.models import Groom, Visit, VisitDog

PAST_GROOMS = 9
CHUNK = 5000


@dataclass(frozen=True, slots=True)
class Past:
    """A dog's grooms that count, latest first: (date, seconds of work, litres), at most PAST_GROOMS of them."""

    grooms: tuple[tuple[dt.date, int | None, int | None], ...] = ()

    @property
    def dates(self) -> tuple[dt.date, ...]:
        return tuple(date for date, _seconds, _litres in self.grooms)

    @property
    def seconds(self) -> tuple[int, ...]:
        return tuple(seconds for _date, seconds, _litres in self.grooms if seconds)


def counted_grooms() -> "models.QuerySet[Groom]":
    """The grooms that were done and that no later row replaces."""
    return Groom.objects.filter(state="COMPLETED", corrected=False)


def done_dates(row: Dog, pasts: Mapping[uuid.UUID, Past]) -> tuple[dt.date, ...]:
    """When a dog was groomed; before its first groom here, what was said about the time before."""
    past = pasts.get(row.pk, Past())
    if past.grooms:
        return past.dates
    return (row.last_groomed_before,) if row.last_groomed_before else ()


def usuals_of(dog_ids: Iterable[uuid.UUID]) -> dict[uuid.UUID, tuple[core.Usual, ...]]:
    """What is settled for each dog, now and then, for the core."""
    found: dict[uuid.UUID, list[core.Usual]] = defaultdict(list)
    for part in parts(dog_ids):
        for row in Usual.objects.filter(dog__in=part, closed_on__isnull=True).order_by("valid_from", "id"):
            found[row.dog_id].append(_usual(row))
    return {dog: tuple(rows) for dog, rows in found.items()}


def _usual(row: Usual) -> core.Usual:
    return core.Usual(
        valid_from=row.valid_from,
        valid_until=row.valid_until,
        interval_weeks=max(1, row.interval_weeks),
        days_early=row.days_early,
        days_late=row.days_late,
        weekdays=tuple(row.weekdays or ()),
        hours_from=seconds_of(row.hours_from),
        hours_until=seconds_of(row.hours_until),
        usual_weekday=row.usual_weekday,
        usual_start=seconds_of(row.usual_time),
        work_seconds=row.work_seconds,
        price_cents=row.price_cents,
        body_cut=body_cut(row.cut),
    )


def body_cut(cut: Mapping[str, Mapping[str, object]]) -> str:
    """How the body is done in a cut; "" where it is not said."""
    return str((cut or {}).get("body", {}).get("how", ""))


def past_of(dog_ids: Iterable[uuid.UUID]) -> dict[uuid.UUID, Past]:
    """The latest grooms of each dog."""
    found: dict[uuid.UUID, list[tuple[dt.date, int | None, int | None]]] = defaultdict(list)
    for part in parts(dog_ids):
        grooms = counted_grooms().filter(dog__in=part).order_by("dog", "-date", "-id")
        for dog, date, seconds, litres in grooms.values_list("dog", "date", "work_seconds", "water_l"):
            if len(found[dog]) < PAST_GROOMS:
                found[dog].append((date, seconds, litres))
    return {dog: Past(tuple(rows)) for dog, rows in found.items()}


def visits_ahead(dog_ids: Iterable[uuid.UUID], today: dt.date) -> dict[uuid.UUID, Visit]:
    """The next visit of each dog that is pencilled in or told."""
    ahead: dict[uuid.UUID, Visit] = {}
    for part in parts(dog_ids):
        links = (
            VisitDog.objects.filter(dog__in=part, visit__date__gte=today)
            .exclude(visit__state="CANCELLED")
            .select_related("visit")
            .order_by("visit__date")
        )
        for link in links:
            ahead.setdefault(link.dog_id, link.visit)
    return ahead


def seconds_of(time: dt.time | None) -> int | None:
    """A wall-clock time as seconds after midnight."""
    return None if time is None else time.hour * 3600 + time.minute * 60 + time.second


def parts(ids: Iterable[uuid.UUID]) -> Iterable[list[uuid.UUID]]:
    """Ids in lists short enough for one query."""
    whole = list(ids)
    return (whole[start : start + CHUNK] for start in range(0, len(whole), CHUNK))

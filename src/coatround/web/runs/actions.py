"""What changes something on a run sheet: a look at keys and codes, which is written down."""

import datetime as dt
import uuid
from collections.abc import Sequence

from coatround.web.base.models import Worker
from coatround.web.base.writing import writing
from coatround.web.records.models import KeyLook, PlaceKey
from coatround.web.rounds.models import Run


class NotThatDay(Exception):
    """Keys and codes show on that day's run only."""


def give_keys(runs: Sequence[Run], who: Worker, *, today: dt.date) -> dict[str, list[str]]:
    """The open keys and codes of today's places, to be shown on a phone without signal; written down once a day.

    What is looked at there is written down as a look when the phone has signal again.
    """
    places = {
        place
        for run in runs
        if run.date == today
        for place in run.stops.exclude(visit__state="CANCELLED").values_list("visit__place", flat=True)
        if place
    }
    with writing():
        keys = list(PlaceKey.objects.filter(place__in=places, closed_on__isnull=True).order_by("made_at"))
        given = set(KeyLook.objects.filter(who=who, run_date=today, how="given").values_list("key", flat=True))
        KeyLook.objects.bulk_create(
            KeyLook(key=key, who=who, run_date=today, how="given") for key in keys if key.pk not in given
        )
    found: dict[str, list[str]] = {}
    for key in keys:
        found.setdefault(str(key.place_id), []).append(key.words)
    return found


def look_at_keys(run: Run, place_id: uuid.UUID, who: Worker, *, today: dt.date) -> list[PlaceKey]:
    """The open keys and codes of a place of this run, each look logged; NotThatDay on another date or place."""
    with writing():
        if run.date != today:
            raise NotThatDay
        if not run.stops.filter(visit__place_id=place_id).exclude(visit__state="CANCELLED").exists():
            raise NotThatDay
        keys = list(PlaceKey.objects.filter(place_id=place_id, closed_on__isnull=True).order_by("made_at"))
        KeyLook.objects.bulk_create(KeyLook(key=key, who=who, run_date=run.date) for key in keys)
    return keys

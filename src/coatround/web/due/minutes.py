"""How long grooms take, learnt from the firm's own: gathered, learnt in the core, kept until the next day."""

import datetime as dt
import uuid
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from pathlib import Path

from django.conf import settings
from django.db.models import Count, Q

from coatround.core.due import Usual
from coatround.core.due_work import expected_seconds
from coatround.core.learn.durations import Durations, PastGroom, learn, table
from coatround.web.base.firm import firm_today
from coatround.web.due.facts import body_cut, counted_grooms, parts
from coatround.web.records.models import Dog, RoutineStep

LOOK_BACK = dt.timedelta(days=730)
MOST_GROOMS = 20_000
AHEAD = dt.timedelta(days=14)
"""The middle of four planned weeks: its month counts for a coat that is blown."""
WASHES = ("first wash", "second wash")


@dataclass(frozen=True, slots=True)
class GroomThen:
    """A groom that was timed: its day, and what goes into learning."""

    date: dt.date
    groom: PastGroom


@dataclass(frozen=True)
class Minutes:
    """What grooms are expected to take on a day, for dogs with so many washes."""

    today: dt.date
    washes: Mapping[uuid.UUID, int]

    @cached_property
    def learnt(self) -> Durations | None:
        return learnt_now(self.today)

    def of(self, row: Dog, settled: Sequence[Usual], default: int) -> tuple[int, int, bool]:
        """Seconds, their spread, and whether they were learnt from grooms like it; `default` where nothing was."""
        seconds = settled_seconds(settled, self.today)
        if self.learnt is None:
            return (*expected_seconds(seconds, None, 0.2, default), False)
        month = (self.today + AHEAD).month
        cut = next((one.body_cut for one in reversed(settled) if one.valid_from <= self.today), "")
        washes = self.washes.get(row.pk, 1)
        given = table(row.coat, row.size, month, cut=cut, two_people=row.two_people, washes=washes)
        knows = self.learnt.knows(row.pk, given)
        expected = self.learnt.expect(row.pk, given) if knows else None
        found = expected_seconds(seconds, expected, self.learnt.within_share, default)
        return (*found, expected is not None and not seconds)


def settled_seconds(settled: Sequence[Usual], today: dt.date) -> int | None:
    """The seconds of work that are settled for a dog now; None where none are."""
    return next((one.work_seconds for one in reversed(settled) if one.valid_from <= today and one.work_seconds), None)


def learnt_now(today: dt.date | None = None) -> Durations | None:
    """What the grooms up to yesterday teach; looked at anew the next day, or when one of before comes in."""
    today = today or firm_today()
    last = counted_grooms().filter(date__lt=today).order_by("-pk").values_list("pk", flat=True).first()
    return _kept(settings.HOME, last, today)


@lru_cache(maxsize=2)
def _kept(_home: Path, _last: uuid.UUID | None, today: dt.date) -> Durations | None:
    return learn([one.groom for one in timed_grooms(today)])


def timed_grooms(today: dt.date) -> list[GroomThen]:
    """The grooms of the two years before today that were timed, the latest first."""
    rows = counted_grooms().filter(date__lt=today, date__gte=today - LOOK_BACK, work_seconds__gt=0)
    columns = "dog_id", "date", "work_seconds", "cut", "dog__coat", "dog__size", "dog__two_people"
    found = list(rows.order_by("-date", "-id").values_list(*columns)[:MOST_GROOMS])
    washes = washes_of({row[0] for row in found}, today)
    grooms = []
    for dog, date, seconds, cut, coat, size, two_people in found:
        given = table(coat, size, date.month, cut=body_cut(cut), two_people=two_people, washes=washes.get(dog, 1))
        grooms.append(GroomThen(date, PastGroom(dog, given, seconds)))
    return grooms


def washes_of(ids: Iterable[uuid.UUID], today: dt.date) -> dict[uuid.UUID, int]:
    """How many washes each dog's routine has; a dog without a written routine is not here, and one is taken for it."""
    washes: dict[uuid.UUID, int] = {}
    for part in parts(ids):
        steps = RoutineStep.objects.filter(
            usual__dog__in=part, usual__closed_on__isnull=True, usual__valid_from__lte=today
        )
        steps = steps.filter(Q(usual__valid_until__isnull=True) | Q(usual__valid_until__gte=today))
        rows = steps.values_list("usual__dog", "usual").order_by("usual__valid_from", "usual")
        washes |= {dog: count for dog, _usual, count in rows.annotate(count=Count("pk", filter=Q(step__in=WASHES)))}
    return washes

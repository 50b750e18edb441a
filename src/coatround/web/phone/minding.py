"""What stands on top of every page of the work: cautions, bites, handling, and what has to be read anew."""

import datetime as dt
import uuid
from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from django.db.models import Max, Q
from django.utils import formats
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from coatround.web.base.models import Change, Worker
from coatround.web.records.models import Caution, Dog, Usual
from coatround.web.records.usual import in_force
from coatround.web.runs.baths import against, baths_of
from coatround.web.runs.sheet import SheetBath
from coatround.web.runs.words import ago_words, at_the_work, handling, not_for_words, vaccination_words
from coatround.web.visits.grooms import ASKED_BATH_L
from coatround.web.visits.models import Groom, Record, Visit
from coatround.web.visits.queries import DogPast, pasts_of


@dataclass(frozen=True, slots=True)
class Minded:
    """One caution in words; `why_read` says why it has to be tapped, or nothing."""

    kind: str
    words: str
    caution: uuid.UUID | None = None
    why_read: str = ""


@dataclass(frozen=True)
class DogBefore:
    """A dog before the work: what to mind, the last time, what is settled."""

    dog: Dog
    minded: tuple[Minded, ...]
    handling: tuple[str, ...]
    usual: Usual | None
    past: DogPast
    last_words: str
    baths: tuple[SheetBath, ...] = ()

    @property
    def to_read(self) -> tuple[Minded, ...]:
        """Cautions that are new, changed, or this groomer's first time with the dog."""
        return tuple(minded for minded in self.minded if minded.why_read)


def before_the_work(visit: Visit, dogs: Sequence[Dog], who: Worker) -> list[DogBefore]:
    """What to mind of each dog of a visit, in a fixed number of queries."""
    ids = [dog.pk for dog in dogs]
    cautions = _cautions(ids, visit.date)
    usuals = {
        usual.dog_id: usual
        for usual in in_force(visit.date)
        .filter(dog_id__in=ids)
        .order_by("valid_from", "id")
        .prefetch_related("steps__product")
    }
    pasts = pasts_of(ids, visit.date)
    read = _why_read([caution for some in cautions.values() for caution in some], ids, visit, who)
    return [_before(dog, cautions[dog.pk], usuals.get(dog.pk), pasts[dog.pk], read, visit) for dog in dogs]


def _cautions(dogs: Collection[uuid.UUID], date: dt.date) -> dict[uuid.UUID, list[Caution]]:
    lasting = Q(until__isnull=True) | Q(until__gte=date)
    found: dict[uuid.UUID, list[Caution]] = defaultdict(list)
    for caution in Caution.objects.filter(lasting, dog_id__in=dogs, closed_on__isnull=True):
        found[caution.dog_id].append(caution)
    return found


def _why_read(cautions: list[Caution], dogs: Collection[uuid.UUID], visit: Visit, who: Worker) -> dict[uuid.UUID, str]:
    """Why each caution has to be read: first time with the dog, new, or changed since this groomer last did it."""
    if not cautions:
        return {}
    grooms = Groom.objects.filter(who=who, dog_id__in=dogs, state="COMPLETED").exclude(visit=visit.pk)
    last = dict(grooms.values_list("dog").annotate(last=Max("at")))
    changed = dict(
        Change.objects.filter(table="records.Caution", row__in=[one.pk for one in cautions], old__isnull=False)
        .values_list("row")
        .annotate(last=Max("made_at"))
    )
    read = _read_here(visit, who)
    found = {}
    for caution in cautions:
        since = last.get(caution.dog_id)
        if str(caution.pk) in read:
            continue
        if since is None:
            found[caution.pk] = _("your first time with this dog")
        elif (caution.since or caution.made_at.date()) > since.date():
            found[caution.pk] = _("new")
        elif caution.pk in changed and changed[caution.pk] > since:
            found[caution.pk] = _("changed")
    return found


def _read_here(visit: Visit, who: Worker) -> set[str]:
    bodies = Record.objects.filter(visit=visit.pk, who=who, kind="caution-seen").values_list("body", flat=True)
    return {caution for body in bodies for caution in body.get("cautions", [])}


def _before(
    dog: Dog, cautions: list[Caution], usual: Usual | None, past: DogPast, read: dict[uuid.UUID, str], visit: Visit
) -> DogBefore:
    kinds = {caution.kind for caution in cautions} | ({"bite"} if past.bites else set())
    steps = list(usual.steps.all()) if usual else []
    minded = [Minded(_("Bite"), _bite_words(at, words)) for at, words in past.bites]
    minded += [
        Minded(capfirst(str(one.get_kind_display())), one.words, one.pk, read.get(one.pk, "")) for one in cautions
    ]
    minded += [Minded(_("Product"), not_for_words(each)) for each in against(steps, cautions)]
    if words := vaccination_words(dog, visit.date):
        minded.append(Minded(_("Catching"), words))
    rules = (*handling(kinds), *at_the_work({step.step for step in steps}))
    baths = baths_of(steps, visit.van.bath_l if visit.van else ASKED_BATH_L)
    return DogBefore(dog, tuple(minded), rules, usual, past, _last_words(past, visit.date), baths)


def _bite_words(at: dt.datetime, words: str) -> str:
    return _("Bit on %(date)s. %(words)s") % {"date": formats.date_format(at, "j F Y"), "words": words}


def _last_words(past: DogPast, date: dt.date) -> str:
    if past.last is None:
        return _("First time with us.")
    said = [_("Last time %(ago)s.") % {"ago": ago_words(past.last, date)}]
    if past.last_cut:
        said.append(capfirst(past.last_cut) + ".")
    if past.median_seconds:
        said.append(_("Usually %(count)d minutes.") % {"count": round(past.median_seconds / 60)})
    if past.last_stood:
        said.append(_("Stood: %(how)s.") % {"how": past.last_stood})
    return " ".join(said)


def cautions_read(said: Iterable[Minded]) -> list[str]:
    """The ids of the cautions that a groomer says were read."""
    return [str(minded.caution) for minded in said if minded.caution]

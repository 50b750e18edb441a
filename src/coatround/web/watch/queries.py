"""What has changed for a dog against its own past, found in the database; nothing here diagnoses."""

import datetime as dt
import uuid
from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass

from django.db.models import Exists, F, Max, Min, OuterRef, Q, QuerySet, Subquery
from django.db.models.expressions import CombinedExpression
from django.utils.translation import gettext as _

from coatround.core import watch_for
from coatround.web.base.firm import the_firm
from coatround.web.base.templatetags.coatround import weight_text
from coatround.web.due.facts import counted_grooms, parts
from coatround.web.letters.models import Letter
from coatround.web.records.models import Dog
from coatround.web.visits.models import Finding, Measure

LATELY = dt.timedelta(days=56)  # our own default: a dog last groomed before that is no longer under watch
WEIGHT_LOOK_BACK = dt.timedelta(days=365)  # our own default: against the most it weighed in the year before
NEW_FROM = 2  # our own default: a finding that was not there the time before shows from this grade
GRADED = ("left ear", "right ear", "skin")


@dataclass(frozen=True, slots=True)
class Changed:
    """One thing that changed: weight lost, a finding again on a part, a grade that rose, a finding that is new."""

    dog_id: uuid.UUID
    date: dt.date
    visit: uuid.UUID
    kind: str  # weight, again, rising, new, graded
    part: str
    finding: str
    grade: int
    before: int

    @property
    def lost_percent(self) -> int:
        return (self.before - self.grade) * 100 // self.before if self.kind == "weight" else 0

    @property
    def urgency(self) -> int:
        """How soon a vet is to be asked; lost weight comes with what cannot wait."""
        if self.kind == "weight":
            return watch_for.TODAY
        kind = "red" if self.kind == "graded" else self.finding
        return watch_for.urgency(self.part, kind, self.grade)

    def vet_words(self, dog: str) -> str:
        """What the owner would be asked, always with "see a vet if"."""
        if self.kind == "weight":
            return _(watch_for.WEIGHT_LOST) % {"dog": dog}
        if self.kind == "graded":
            return watch_for.graded_words(self.part, self.grade, dog, _)
        return watch_for.vet_words(self.part, self.finding, self.grade, dog, _)

    def words(self, units: str) -> str:
        """What changed, as one sentence."""
        grades = {"before": self.before, "now": self.grade}
        if self.kind == "weight":
            weights = {"before": weight_text(self.before, units), "now": weight_text(self.grade, units)}
            words = _("Weight down %(percent)d %% against the most of the year before: %(before)s, now %(now)s.")
            return words % {"percent": self.lost_percent, **weights}
        if self.kind == "graded":
            part = _(watch_for.MEASURED[self.part])
            return _("%(part)s: grade %(before)d, then %(now)d.") % {"part": part, **grades}
        seen = watch_for.place_words(self.part, self.finding, _)
        if self.kind == "new":
            return _("%(seen)s: new, grade %(now)d.") % {"seen": seen, **grades}
        if self.kind == "rising":
            return _("%(seen)s: grade %(before)d, then %(now)d.") % {"seen": seen, **grades}
        return _("%(seen)s: again, two grooms running, grade %(now)d.") % {"seen": seen, **grades}


def changed(today: dt.date, dogs: Collection[uuid.UUID] | None = None) -> list[Changed]:
    """All that changed lately, or for some dogs whenever they were last groomed."""
    only = Q() if dogs is None else Q(groom__dog__in=dogs)
    since = today - LATELY if dogs is None else dt.date.min
    lately = Q(groom__date__gte=since, groom__corrected=False, groom__state="COMPLETED") & only
    lately &= Q(groom__dog__closed_on__isnull=True)
    measured = lately & Q(date__gte=since) & (Q() if dogs is None else Q(dog__in=dogs))
    return [*_lost_weight(measured, today - WEIGHT_LOOK_BACK), *_findings(lately), *_graded(measured)]


def by_dog(changes: Iterable[Changed]) -> list[tuple[uuid.UUID, list[Changed]]]:
    """What changed, dog by dog: what can wait least first, then the latest."""
    found: dict[uuid.UUID, list[Changed]] = defaultdict(list)
    for change in changes:
        found[change.dog_id].append(change)
    for some in found.values():
        some.sort(key=lambda change: -change.urgency)
    return sorted(
        found.items(), key=lambda one: (-one[1][0].urgency, -max(c.date.toordinal() for c in one[1]), str(one[0]))
    )


def _findings(lately: Q) -> list[Changed]:
    """Findings of each dog's latest groom against the groom before."""
    earlier = counted_grooms().filter(dog=OuterRef("groom__dog"), date__lt=OuterRef("groom__date")).order_by("-date")
    later = counted_grooms().filter(dog=OuterRef("groom__dog"), date__gt=OuterRef("groom__date"))
    found = Finding.objects.filter(lately, ~Exists(later), grade__gte=1).order_by()
    rows = found.annotate(previous=Subquery(earlier.values("pk")[:1])).values_list(
        "groom__dog", "groom__date", "groom__visit", "part", "kind", "grade", "previous"
    )
    told = [row for row in rows if row[-1]]
    worst = _worst_of({previous for *_others, previous in told})
    changes = []
    for dog, date, visit, part, kind, grade, previous in told:
        before = worst.get((previous, part), 0)
        if before or grade >= NEW_FROM:
            changes.append(Changed(dog, date, visit, _how(grade, before), part, kind, grade, before))
    return changes


def _worst_of(grooms: Collection[uuid.UUID]) -> dict[tuple[uuid.UUID, str], int]:
    """The highest grade found on each part at some grooms."""
    worst: dict[tuple[uuid.UUID, str], int] = {}
    for some in parts(grooms):
        for groom, part, grade in Finding.objects.filter(groom__in=some).values_list("groom", "part", "grade"):
            worst[groom, part] = max(grade, worst.get((groom, part), 0))
    return worst


def _how(grade: int, before: int) -> str:
    if not before:
        return "new"
    return "rising" if grade > before else "again"


def _measures(lately: Q, kinds: Collection[str]) -> QuerySet[Measure]:
    """Each dog's latest measure of some kinds."""
    later = Measure.objects.filter(
        dog=OuterRef("dog"), kind=OuterRef("kind"), date__gt=OuterRef("date"), groom__corrected=False
    )
    return Measure.objects.filter(lately, ~Exists(later), kind__in=kinds).order_by()


def _before() -> QuerySet[Measure]:
    return Measure.objects.filter(
        dog=OuterRef("dog"), kind=OuterRef("kind"), date__lt=OuterRef("date"), groom__corrected=False
    )


def _graded(lately: Q) -> list[Changed]:
    """Grades of ears and skin that are higher than the time before."""
    rows = (
        _measures(lately, GRADED)
        .filter(value__gte=1)
        .annotate(before=Subquery(_before().order_by("-date").values("value")[:1]))
        .filter(value__gt=F("before"))
        .values_list("dog", "date", "groom__visit", "kind", "value", "before")
    )
    return [
        Changed(dog, date, visit, "graded", kind, "", value, before) for dog, date, visit, kind, value, before in rows
    ]


def _lost_weight(lately: Q, since: dt.date) -> list[Changed]:
    """Dogs that weigh at least a tenth less than the most of the year before.

    First the dogs whose weights lie that far apart at all, from one index; few are left to look at closely.
    """
    year = Measure.objects.filter(kind="weight", date__gte=since).order_by().values("dog")
    apart = year.annotate(most=Max("value"), least=Min("value")).filter(least__lte=_less(F("most"))).values("dog")
    most = _before().filter(date__gte=since).order_by().values("dog").annotate(most=Max("value")).values("most")
    rows = (
        _measures(lately & Q(dog__in=apart), ["weight"])
        .annotate(before=Subquery(most))
        .filter(value__lte=_less(F("before")))
        .values_list("dog", "date", "groom__visit", "value", "before")
    )
    return [Changed(dog, date, visit, "weight", "", "", value, before) for dog, date, visit, value, before in rows]


def _less(grams: F) -> CombinedExpression:
    """So many whole grams and fewer are a tenth less, or more than that."""
    return grams * (100 - watch_for.LOSS_PERCENT) / 100


@dataclass(frozen=True, slots=True)
class WatchedChange:
    """One change in words, with the words about the vet and the letter that told of it."""

    change: Changed
    words: str
    vet_words: str
    letter: Letter | None


@dataclass(frozen=True, slots=True)
class Watched:
    """A dog with what changed."""

    dog: Dog
    changes: tuple[WatchedChange, ...]


def watched(found: Iterable[tuple[uuid.UUID, list[Changed]]]) -> list[Watched]:
    """Dogs with what changed, ready to be shown; a few queries for any number."""
    pairs = list(found)
    dogs = Dog.objects.select_related("household").in_bulk([dog for dog, _changes in pairs])
    visits = {change.visit for _dog, changes in pairs for change in changes}
    letters = {letter.visit: letter for letter in Letter.objects.filter(visit__in=visits).defer("body")}
    units = the_firm().units

    def shown(dog: Dog, change: Changed) -> WatchedChange:
        return WatchedChange(change, change.words(units), change.vet_words(dog.name), letters.get(change.visit))

    return [Watched(dogs[dog], tuple(shown(dogs[dog], change) for change in changes)) for dog, changes in pairs]


def series(dog: Dog) -> dict[str, list[tuple[dt.date, int]]]:
    """What was measured of a dog over time, by kind, the earliest first."""
    found: dict[str, list[tuple[dt.date, int]]] = defaultdict(list)
    rows = Measure.objects.filter(dog=dog, groom__corrected=False).order_by("date", "id")
    for kind, date, value in rows.values_list("kind", "date", "value"):
        found[kind].append((date, value))
    return found


def findings(dog: Dog) -> QuerySet[Finding]:
    """What was found on a dog, the latest first."""
    rows = Finding.objects.filter(groom__dog=dog, groom__corrected=False, groom__state="COMPLETED")
    return rows.select_related("groom").order_by("-groom__date", "id")

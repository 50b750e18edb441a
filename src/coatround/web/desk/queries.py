"""What the desk's pages read: one household, one dog, what needs a hand."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.db.models import Count, Prefetch, Q, QuerySet, Sum

from coatround.web.books.models import Charge, Payment
from coatround.web.due.queries import DueDog, due_dogs
from coatround.web.letters.models import Letter
from coatround.web.records import words as record_words
from coatround.web.records.models import Caution, Consent, Dog, Household, Person, Place, RoutineStep, Usual
from coatround.web.records.usual import in_force, usual_history, usual_on_or_next
from coatround.web.roads.map import MapShown, MapStop
from coatround.web.visits.models import Groom, Incident, Photo, Visit, VisitDog
from coatround.web.visits.phrases import cut_words, finding_words

LAST_VISITS = 6
NEXT_VISITS = 8
LAST_LETTERS = 3
LAST_GROOMS = 8
PHOTOS = 12


@dataclass(frozen=True)
class DogLine:
    """A dog as its household's page shows it."""

    dog: Dog
    cautions: Sequence[Caution]
    usual: Usual | None
    due: DueDog | None


@dataclass(frozen=True)
class ConsentLine:
    """What was said last about one kind of consent, for all dogs or for one."""

    kind: str
    word: str
    said: Sequence[Consent]


def cautions_now(today: dt.date) -> QuerySet[Caution]:
    """Open cautions that hold today; a bite stands first."""
    rows = Caution.objects.filter(closed_on__isnull=True).filter(Q(until__isnull=True) | Q(until__gte=today))
    return rows.order_by("made_at", "id")


def bites_first(cautions: Sequence[Caution]) -> list[Caution]:
    return sorted(cautions, key=lambda caution: caution.kind != "bite")


def dog_lines(household: Household, today: dt.date) -> list[DogLine]:
    """The open dogs of a household with cautions, the usual and when each is due."""
    cautions, usuals = Prefetch("cautions", cautions_now(today), "now"), Prefetch("usuals", in_force(today), "in_force")
    dogs = list(household.dogs.filter(closed_on__isnull=True).prefetch_related(cautions, usuals))
    due = {line.dog_id: line for line in due_dogs([dog.pk for dog in dogs], today=today)} if dogs else {}
    return [DogLine(dog, bites_first(dog.now), next(iter(dog.in_force), None), due.get(dog.pk)) for dog in dogs]


def people_of(household: Household) -> QuerySet[Person]:
    return household.people.order_by("closed_on", "second_contact", "made_at", "id")


def places_of(household: Household) -> QuerySet[Place]:
    """Places with how many keys and codes are kept for each; never their words."""
    kept = Count("keys", filter=Q(keys__closed_on__isnull=True))
    return household.places.annotate(keys_kept=kept).order_by("closed_on", "made_at", "id")


def places_shown(dogs: Sequence[str], places: Iterable[Place]) -> MapShown:
    """The household's pins on a map: one bears the dogs' names, more of them what each is called."""
    pinned = [place for place in places if place.is_pinned and not place.closed_on]
    return MapShown(
        tuple(
            MapStop(
                place.lat,
                place.lon,
                tuple(dogs) if dogs and len(pinned) == 1 else (place.name or place.line,),
                str(place),
            )
            for place in pinned
            if place.lat is not None and place.lon is not None
        )
    )


def visits_of(household: Household) -> QuerySet[Visit]:
    dogs = Prefetch("visit_dogs", VisitDog.objects.select_related("dog"))
    return household.visits.select_related("van").prefetch_related(dogs)


def balance_cents(household: Household) -> int:
    """What the household owes: charges less payments; below zero it has paid ahead."""
    charged = Charge.objects.filter(household=household).aggregate(all=Sum("cents"))["all"] or 0
    paid = Payment.objects.filter(household=household).aggregate(all=Sum("cents"))["all"] or 0
    return int(charged - paid)


def consent_lines(household: Household) -> list[ConsentLine]:
    """The nine kinds with the latest answer for all dogs and for each dog that has one of its own."""
    latest: dict[str, dict[object, Consent]] = {}
    for row in household.consents.select_related("dog", "written_by").order_by("-at", "-id"):
        latest.setdefault(row.kind, {}).setdefault(row.dog_id, row)
    return [ConsentLine(kind, str(word), list(latest.get(kind, {}).values())) for kind, word in record_words.CONSENTS]


def incidents() -> QuerySet[Incident]:
    """Incidents that no later row replaces, the latest first."""
    rows = Incident.objects.filter(corrected=False).select_related("dog__household", "who")
    return rows.order_by("-happened_at", "-id")


def household_page(household: Household, today: dt.date) -> dict[str, object]:
    """Everything the page of one household shows."""
    visits = visits_of(household)
    to_come = visits.filter(date__gte=today).exclude(state="CANCELLED").order_by("date", "told_from")
    return {
        "household": household,
        "dogs": (dogs := dog_lines(household, today)),
        "closed_dogs": household.dogs.filter(closed_on__isnull=False),
        "people": people_of(household),
        "places": (places := places_of(household)),
        "shown": places_shown([line.dog.name for line in dogs], places),
        "to_come": list(to_come[:NEXT_VISITS]),
        "past": list(visits.filter(date__lt=today).order_by("-date")[:LAST_VISITS]),
        "balance": (balance := balance_cents(household)),
        "ahead": -balance,
        "letters": list(Letter.objects.filter(household=household)[:LAST_LETTERS]),
        "consents": consent_lines(household),
        "incidents": list(incidents().filter(dog__household=household)[:10]),
    }


@dataclass(frozen=True)
class GroomLine:
    """One past groom in words."""

    groom: Groom
    cut: str
    found: tuple[str, ...]


def groom_lines(dog: Dog) -> list[GroomLine]:
    rows = dog.grooms.filter(corrected=False).select_related("who").prefetch_related("findings")
    return [
        GroomLine(
            groom,
            cut_words(groom.cut),
            tuple(finding_words(row.part, row.kind, row.grade, row.words) for row in groom.findings.all() if row.grade),
        )
        for groom in rows.order_by("-date", "-at")[:LAST_GROOMS]
    ]


def dog_page(dog: Dog, today: dt.date) -> dict[str, object]:
    """Everything the page of one dog shows."""
    cautions = list(cautions_now(today).filter(dog=dog))
    steps = Prefetch("steps", RoutineStep.objects.select_related("product").order_by("order"))
    usual = usual_on_or_next(dog)
    history = list(usual_history(dog).prefetch_related(steps)[:12])
    happened = list(incidents().filter(dog=dog)[:20])
    return {
        "dog": dog,
        "today": today,
        "cautions": bites_first(cautions),
        "past_cautions": dog.cautions.exclude(pk__in=[row.pk for row in cautions]).order_by("-made_at"),
        "bites": [row for row in happened if row.kind == "bite"],
        "incidents": happened,
        "usual": next((row for row in history if usual and row.pk == usual.pk), None),
        "history": [row for row in history if not usual or row.pk != usual.pk],
        "due": next(iter(due_dogs([dog.pk], today=today)), None),
        "next_visit": dog.visits.filter(date__gte=today).exclude(state="CANCELLED").order_by("date").first(),
        "grooms": groom_lines(dog),
        "photos": Photo.objects.filter(dog=dog).order_by("-id")[:PHOTOS],
        "age": age_of(dog, today),
    }


def age_of(dog: Dog, today: dt.date) -> tuple[int, int] | None:
    """Whole years and months since a dog was born."""
    if dog.born is None or dog.born > today:
        return None
    months = 12 * (today.year - dog.born.year) + today.month - dog.born.month - (today.day < dog.born.day)
    return divmod(months, 12)

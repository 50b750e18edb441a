"""Erasing a household on request: what names or reaches people goes, what the books must keep stays without them."""

import uuid
from dataclasses import dataclass
from typing import Any

from django.db import transaction
from django.db.models import Model, Q, QuerySet
from django.utils import timezone
from django.utils.translation import gettext as _

from coatround.ids import uuid7
from coatround.web.base.firm import firm_today
from coatround.web.base.models import Change, Worker
from coatround.web.base.writing import writing
from coatround.web.books.models import Charge, Payment
from coatround.web.letters.models import Letter
from coatround.web.notes.models import Note
from coatround.web.records.models import (
    Caution,
    Consent,
    Dog,
    Food,
    Household,
    Person,
    Place,
    PlaceKey,
    RoutineStep,
    Usual,
)
from coatround.web.rounds.models import Proposal, Waiting
from coatround.web.shelf.models import Movement
from coatround.web.visits.models import (
    Finding,
    Fit,
    Groom,
    GroomStep,
    HandingBack,
    Incident,
    Photo,
    Record,
    Visit,
)
from coatround.web.visits.photos import photo_path

ERASED = "erased"
ERASED_BODY = {"greeting": ERASED, "parts": [], "closing": []}


@dataclass(frozen=True)
class Counted:
    """How much there is of what goes, and of what stays."""

    people: int
    places: int
    dogs: int
    photos: int
    letters: int
    visits_to_come: int
    grooms: int
    money: int


@dataclass(frozen=True)
class Whole:
    """The ids of everything that hangs on a household."""

    household: Household
    dogs: list[uuid.UUID]
    places: list[uuid.UUID]
    people: list[uuid.UUID]
    visits: list[uuid.UUID]

    @classmethod
    def of(cls, household: Household) -> "Whole":
        dogs, places = ids(household.dogs), ids(household.places)
        grooms = set(Groom.objects.filter(dog__in=dogs).values_list("visit", flat=True))
        return cls(household, dogs, places, ids(household.people), list({*ids(household.visits), *grooms}))


def ids(rows: Any) -> list[uuid.UUID]:
    return list(rows.values_list("pk", flat=True))


def what_there_is(household: Household) -> Counted:
    """What the page says before anything is done."""
    charges, payments = Charge.objects.filter(household=household), Payment.objects.filter(household=household)
    to_come = household.visits.filter(date__gte=firm_today()).exclude(state="CANCELLED")
    return Counted(
        people=household.people.count(),
        places=household.places.count(),
        dogs=household.dogs.count(),
        photos=photos_of(Whole.of(household)).count(),
        letters=Letter.objects.filter(household=household).count(),
        visits_to_come=to_come.count(),
        grooms=Groom.objects.filter(dog__household=household).count(),
        money=charges.count() + payments.count(),
    )


def erase_household(household: Household, who: Worker) -> None:
    """Overwrites everything personal in one transaction, then removes the photos that nothing names any more."""
    whole = Whole.of(household)
    with writing():
        _erase_visits(whole)
        _erase_work(whole)
        _erase_papers(whole)
        digests = _erase_photos(whole)
        _erase_proposals(whole)
        _erase_log(whole)
        _erase_dogs(whole)
        _erase_people(whole)
        _log(household, who)
        transaction.on_commit(lambda: remove_unnamed(digests))


def _erase_people(whole: Whole) -> None:
    """Who they are, where they live, how they are reached; the household keeps a number for the books."""
    household, today = whole.household, firm_today()
    Person.objects.filter(pk__in=whole.people).update(name=ERASED, phone="", email="", notes="")
    PlaceKey.objects.filter(place__in=whole.places).update(words=ERASED, closed_on=today, closed_why=ERASED)
    Place.objects.filter(pk__in=whole.places).update(
        name="", line=ERASED, suburb="", postcode="", lat=None, lon=None, gate="", parking="", notes=""
    )
    household.consents.update(person=ERASED, words="", photo=None)
    household.name = _("erased household %(number)d") % {"number": next_number()}
    household.how_found = household.notes = ""
    household.to_be_named = False
    household.erased_at = timezone.now()
    household.closed_on, household.closed_why = household.closed_on or today, ERASED
    household.save()


def next_number() -> int:
    return Household.objects.filter(erased_at__isnull=False).count() + 1


def _erase_dogs(whole: Whole) -> None:
    """Their names, chips and notes; coat, size and dates of grooms stay, for they name nobody."""
    today = firm_today()
    rows = Dog.objects.filter(pk__in=whole.dogs)
    for number, pk in enumerate(sorted(whole.dogs), 1):
        rows.filter(pk=pk).update(name=_("erased dog %(number)d") % {"number": number})
    rows.update(breed="", microchip="", notes="", born=None, vet=None, closed_why=ERASED)
    rows.filter(closed_on__isnull=True).update(closed_on=today)
    Caution.objects.filter(dog__in=whole.dogs).update(words=ERASED)
    Food.objects.filter(dog__in=whole.dogs).update(words=ERASED)
    Usual.objects.filter(dog__in=whole.dogs).update(worked_out="")
    RoutineStep.objects.filter(usual__dog__in=whole.dogs).update(words="")


def _erase_visits(whole: Whole) -> None:
    """Visits to come are called off; what was written about any visit goes."""
    visits = Visit.objects.filter(household=whole.household)
    visits.filter(date__gte=firm_today()).update(state="CANCELLED")
    visits.update(wanted="", called_off_why="")


def _erase_work(whole: Whole) -> None:
    """Free words of the work and the plain records as they were sent; grades, minutes and litres stay."""
    facts: list[QuerySet[Any]] = [
        Fit.objects.filter(dog__in=whole.dogs),
        Groom.objects.filter(dog__in=whole.dogs),
        Incident.objects.filter(dog__in=whole.dogs),
        HandingBack.objects.filter(household=whole.household),
    ]
    known = [pk for rows in facts for pk in ids(rows)]
    Record.objects.filter(Q(visit__in=whole.visits) | Q(pk__in=known)).update(body={}, device="")
    fits, grooms, incidents, handed = facts
    fits.update(reason="")
    grooms.update(notes="", why_not="")
    incidents.update(words=ERASED, what_was_done="")
    handed.update(notes="")
    GroomStep.objects.filter(groom__dog__in=whole.dogs).update(words="")
    Movement.objects.filter(groom__in=ids(grooms)).update(words="")
    Finding.objects.filter(groom__dog__in=whole.dogs).update(words="")


def _erase_papers(whole: Whole) -> None:
    """Letters lose their text and their links; money keeps date, amount and tax."""
    for letter in Letter.objects.filter(Q(household=whole.household) | Q(visit__in=whole.visits)):
        letter.body, letter.link_ends_at, letter.link_number = dict(ERASED_BODY), None, letter.link_number + 1
        letter.state = "sent"
        letter.save()
    Note.objects.filter(household=whole.household).update(words=ERASED, state="CANCELLED")
    Waiting.objects.filter(household=whole.household).update(words="", state="gone")
    Payment.objects.filter(household=whole.household).update(words="")
    Charge.objects.filter(household=whole.household).update(words=_("groom"))


def photos_of(whole: Whole) -> QuerySet[Photo]:
    return Photo.objects.filter(Q(household=whole.household) | Q(dog__in=whole.dogs) | Q(visit__in=whole.visits))


def _erase_photos(whole: Whole) -> set[str]:
    rows = photos_of(whole)
    digests = set(rows.values_list("sha256", flat=True))
    rows.delete()
    return digests


def remove_unnamed(digests: set[str]) -> None:
    """Removes the files that no photo names any more; the same picture may belong to someone else."""
    still = set(Photo.objects.filter(sha256__in=digests).values_list("sha256", flat=True))
    for digest in digests - still:
        photo_path(digest).unlink(missing_ok=True)


def _erase_proposals(whole: Whole) -> None:
    """Plans that nobody accepted are thrown away; accepted ones forget what their visits stood for."""
    about = [str(pk) for pk in (whole.household.pk, *whole.dogs, *whole.visits)]
    for proposal in Proposal.objects.exclude(state="planning"):
        said = f"{proposal.names}{proposal.problem}{proposal.plan}"
        if not any(pk in said for pk in about):
            continue
        if proposal.state == "accepted":
            proposal.names, proposal.problem, proposal.plan = {}, None, None
            proposal.save()
        else:
            proposal.delete()


def _erase_log(whole: Whole) -> None:
    """The log keeps who and when; what stood in the rows goes, so that nothing can be put back."""
    related: list[tuple[type[Model], dict[str, Any]]] = [
        (Caution, {"dog__in": whole.dogs}),
        (Food, {"dog__in": whole.dogs}),
        (Usual, {"dog__in": whole.dogs}),
        (RoutineStep, {"usual__dog__in": whole.dogs}),
        (Consent, {"household": whole.household}),
        (PlaceKey, {"place__in": whole.places}),
        (Letter, {"household": whole.household}),
        (Charge, {"household": whole.household}),
        (Payment, {"household": whole.household}),
    ]
    rows = [whole.household.pk, *whole.dogs, *whole.places, *whole.people, *whole.visits]
    rows += [pk for model, about in related for pk in ids(model._default_manager.filter(**about))]
    of_them = Change.objects.filter(row__in=rows)
    of_them.filter(old__isnull=False).update(old={})
    of_them.update(new={}, about="")


def _log(household: Household, who: Worker) -> None:
    Change.objects.create(
        batch=uuid7(),
        who=who,
        table="records.Household",
        row=household.pk,
        about=_("erased on request"),
        old={},
        new={},
    )

"""Erasing a household: what names or reaches people is gone everywhere, the money stays."""

import datetime as dt
import uuid
from pathlib import Path

import pytest
from django.apps import apps
from django.core.serializers import serialize
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coatround.web.base.firm import firm_today
from coatround.web.base.models import Change, Worker
from coatround.web.books.models import Charge, Payment
from coatround.web.desk.erasing import erase_household
from coatround.web.letters.models import Letter
from coatround.web.records import actions
from coatround.web.records.models import Consent, Household, PlaceKey, Product
from coatround.web.rounds.models import Proposal
from coatround.web.shelf.models import Movement
from coatround.web.visits.models import Incident, Photo, Record
from coatround.web.visits.photos import photo_path, write_once
from tests.web.people_of_the_ford import caution, groomed, settled, the_quills, visit_on

pytestmark = pytest.mark.django_db(transaction=True)

PERSONAL = ("quill", "odo", "412345678", "tannery", "biscuit", "900123000000045", "4417", "weir flat", "2999", "150.3")


def filled(worker: Worker) -> Household:
    """A household with something personal in every table that can hold it."""
    household = the_quills()
    dog, place, person = household.dogs.get(), household.places.get(), household.people.get()
    dog.microchip, dog.notes = "900123000000045", "Odo says he bites"
    actions.keep(dog, worker)
    person.notes = "Odo rings after six"
    actions.keep(person, worker)
    actions.keep_key(place, "gate 4417#", None, worker)
    caution(dog, "bite", "Odo holds Biscuit")
    settled(dog)
    past = visit_on(household, dt.date(2026, 1, 12), "CONFIRMED")
    groom = groomed(dog, past, worker)
    Record.objects.create(
        id=groom.pk, kind="groom", body={"notes": "Odo was home"}, said_at=timezone.now(), received_at=timezone.now(),
        who=worker, visit=past.pk,
    )  # fmt: skip
    wash = Product.objects.create(name="Plain wash")
    Movement.objects.create(product=wash, date=past.date, kind="used", ml=-364, groom=groom.pk, words="Biscuit")
    Incident.objects.create(
        id=uuid.uuid4(),
        at=timezone.now(),
        who=worker,
        dog=dog,
        kind="bite",
        happened_at=timezone.now(),
        words="Biscuit bit",
    )
    visit_on(household, firm_today() + dt.timedelta(days=9), "CONFIRMED")
    Letter.objects.create(household=household, visit=past.pk, date=past.date, body={"greeting": "Dear Odo"})
    Charge.objects.create(
        household=household, dog=dog, date=past.date, words="Groom: Biscuit", cents=8500, tax_cents=773
    )
    Payment.objects.create(household=household, date=past.date, way="cash", cents=8500, words="from Odo")
    Consent.objects.create(
        household=household, kind="muzzle", agreed=True, person="Odo Quill", at=timezone.now(), words="for Biscuit"
    )
    Proposal.objects.create(
        first_date=past.date,
        last_date=past.date,
        state="ready",
        names={"v1": {"household": "Quill", "id": str(household.pk)}},
    )
    return household


def everything() -> str:
    """Every row of every table of ours, as text."""
    models = [model for model in apps.get_models() if model._meta.app_label not in ("contenttypes", "sessions")]
    return "\n".join(serialize("json", model._default_manager.all()) for model in models).lower()


def test_it_works(signed_in: Client, worker: Worker) -> None:
    """The name is typed; then nothing personal is left in any table, and the money adds up as before."""
    household = filled(worker)
    before = everything()
    assert all(words in before for words in PERSONAL)
    page = signed_in.get(reverse("erase", args=[household.pk])).content.decode()
    assert "1 visit to come is called off" in page
    assert "books must be kept by law" in page
    assert signed_in.post(reverse("erase", args=[household.pk]), {"name": "Quill"}).status_code == 302
    left = everything()
    for words in PERSONAL:
        assert words not in left, left[max(0, left.index(words) - 200) : left.index(words) + 80]
    assert list(Charge.objects.values_list("cents", "tax_cents", "date")) == [(8500, 773, dt.date(2026, 1, 12))]
    assert Payment.objects.get().cents == 8500
    household.refresh_from_db()
    assert household.name == "erased household 1"
    assert not household.is_open
    assert "Erased on request" in signed_in.get(reverse("household", args=[household.pk])).content.decode()
    assert "Erased on request" in signed_in.get(reverse("dog", args=[household.dogs.get().pk])).content.decode()


def test_a_wrong_name_erases_nothing(signed_in: Client, worker: Worker) -> None:
    household = filled(worker)
    before = everything()
    answer = signed_in.post(reverse("erase", args=[household.pk]), {"name": "Quil"})
    assert answer.status_code == 422
    assert everything() == before


def test_the_log_tells_that_it_was_done_and_undo_refuses(signed_in: Client, worker: Worker) -> None:
    household = filled(worker)
    erase_household(household, worker)
    assert Change.objects.filter(row=household.pk, about="erased on request").count() == 1
    said = signed_in.post(reverse("undo"), follow=True).content.decode()
    assert "is not kept" in said
    household.refresh_from_db()
    assert household.erased_at is not None
    assert PlaceKey.objects.get().words == "erased"
    assert signed_in.get(reverse("changes")).status_code == 200


def test_photos_go_with_their_files_unless_someone_else_has_the_same(worker: Worker, firm: object, home: Path) -> None:
    household, other = filled(worker), the_quills("Sorrel", "+61293744000")
    for digest, owner in (("aa" * 32, household), ("bb" * 32, household), ("bb" * 32, other)):
        write_once(photo_path(digest), b"picture")
        Photo.objects.create(sha256=digest, bytes=7, width=1, height=1, household=owner, who=worker)
    erase_household(household, worker)
    assert not photo_path("aa" * 32).exists()
    assert photo_path("bb" * 32).exists()
    assert Photo.objects.get().household == other


def test_others_are_left_alone(worker: Worker, firm: object) -> None:
    household = filled(worker)
    other = the_quills("Sorrel", "+61293744000", "3 Cooper's Rise")
    dog = other.dogs.get()
    dog.notes = "likes the towel"
    actions.keep(dog, worker)
    erase_household(household, worker)
    other.refresh_from_db()
    assert (other.name, other.dogs.get().notes) == ("Sorrel", "likes the towel")
    assert Change.objects.get(row=dog.pk).new == {"notes": "likes the towel"}


def test_a_second_one_gets_the_next_number(worker: Worker, firm: object) -> None:
    erase_household(filled(worker), worker)
    other = the_quills("Sorrel", "+61293744000")
    erase_household(other, worker)
    other.refresh_from_db()
    assert other.name == "erased household 2"

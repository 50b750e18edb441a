"""The log of changes, and undoing."""

import datetime as dt

import pytest
from django.test import Client
from django.urls import reverse

from coatround.web.base.models import Change, Worker
from coatround.web.records import actions
from coatround.web.records.models import Dog, Place, RoutineStep, Usual, Van, WorkingHours
from tests.web.people_of_the_ford import the_quills

pytestmark = pytest.mark.django_db


def test_it_works(signed_in: Client, worker: Worker) -> None:
    """Who, when, old and new, in words; and only one row when asked."""
    household = the_quills()
    dog = household.dogs.get()
    dog.coat = "wire"
    actions.keep(dog, worker)
    household.notes = "rings back"
    actions.keep(household, worker)
    page = signed_in.get(reverse("changes")).content.decode()
    for words in ("Wren Ashby", "<del>curly</del>", "<ins>wire</ins>", "rings back"):
        assert words in page
    only = signed_in.get(reverse("changes"), {"row": str(dog.pk)}).content.decode()
    assert "wire" in only
    assert "rings back" not in only
    assert signed_in.get(reverse("changes"), {"row": "no id"}).status_code == 200


def test_the_log_reads_as_words_not_as_kept(signed_in: Client, worker: Worker) -> None:
    """It showed ids for vans and households, 4 for Friday and 08:00:00 for eight."""
    household = the_quills()
    van = Van.objects.create(name="Otter", home=Place.objects.create(line="1 Depot Yard"))
    actions.keep(WorkingHours(van=van, weekday=4, open=dt.time(8), close=dt.time(17)), worker)
    actions.keep(Dog(name="Pip", household=household), worker)
    usual = Usual(dog=household.dogs.first(), price_cents=8550, weekdays=[1, 3], valid_from=dt.date(2026, 3, 2))
    actions.keep(usual, worker)
    actions.keep(RoutineStep(usual=usual, order=1, step="nails"), worker)
    page = signed_in.get(reverse("changes")).content.decode()
    for words in (
        "<dd>Otter</dd>",
        "<dd>Friday</dd>",
        "<dd>8:00</dd>",
        household.name,
        "85.50",
        "Tuesday, Thursday",
        "2 Mar 2026",
    ):
        assert words in page
    for kept in (van.pk, household.pk, usual.pk):
        assert f"<dd>{kept}" not in page


def test_undoing_is_a_change_of_its_own(signed_in: Client, worker: Worker) -> None:
    dog = the_quills().dogs.get()
    dog.name = "Bisquit"
    actions.keep(dog, worker)
    signed_in.post(reverse("undo"))
    dog.refresh_from_db()
    assert dog.name == "Biscuit"
    assert Change.objects.count() == 2
    assert "undone" in signed_in.get(reverse("changes")).content.decode()
    again = signed_in.post(reverse("undo"), follow=True)
    assert "nothing of yours to undo" in again.content.decode()


def test_what_was_changed_since_is_not_undone(signed_in: Client, worker: Worker) -> None:
    other = Worker.objects.create(name="Teal Marsh", sign_in_name="teal")
    dog = the_quills().dogs.get()
    dog.name = "Bisquit"
    actions.keep(dog, worker)
    dog.name = "Biskit"
    actions.keep(dog, other)
    said = signed_in.post(reverse("undo"), follow=True).content.decode()
    assert "changed again since then" in said
    assert Dog.objects.get().name == "Biskit"


def test_each_undoes_their_own(signed_in: Client, worker: Worker) -> None:
    other = Worker.objects.create(name="Teal Marsh", sign_in_name="teal")
    household = the_quills()
    household.notes = "by Teal"
    actions.keep(household, other)
    signed_in.post(reverse("undo"))
    household.refresh_from_db()
    assert household.notes == "by Teal"


def test_the_log_has_pages(signed_in: Client, worker: Worker, django_assert_max_num_queries: object) -> None:
    dog = the_quills().dogs.get()
    for number in range(45):
        dog.notes = f"note {number}"
        actions.keep(dog, worker)
    with django_assert_max_num_queries(10):  # type: ignore[operator]
        page = signed_in.get(reverse("changes")).content.decode()
    assert "Page 1 of 2" in page

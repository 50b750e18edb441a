"""Notes to households: drafted once, changed, written down as sent; erased with the household."""

import pytest
from django.test import Client
from django.urls import reverse

from coatround.web.base.changes import undo_last
from coatround.web.base.models import Firm, Worker
from coatround.web.desk.erasing import erase_household
from coatround.web.notes.actions import draft
from coatround.web.notes.models import Note
from coatround.web.records.models import Person
from coatround.web.visits.models import Visit
from tests.web.small_town import a_dog, a_household, a_visit

pytestmark = pytest.mark.django_db


@pytest.fixture
def visit(worker: Worker, firm: Firm) -> Visit:
    household = a_household("Quill's people")
    Person.objects.create(household=household, name="Ada", phone="+61491570156", email="ada@example.com")
    return a_visit(a_dog(household, "Quill"), 1)


def test_the_same_about_the_same_visit_is_one_draft(visit: Visit, worker: Worker) -> None:
    draft(visit, "moved", "Thursday instead.", worker)
    draft(visit, "moved", "Friday instead.", worker)
    draft(visit, "off", "Not this week.", worker)
    assert sorted(Note.objects.values_list("about", "words")) == [
        ("moved", "Friday instead."),
        ("off", "Not this week."),
    ]
    undo_last(worker)
    assert Note.objects.count() == 1


def test_the_page_opens_the_persons_own_phone_and_mail(visit: Visit, worker: Worker, signed_in: Client) -> None:
    draft(visit, "new time", "We are late: about 10:20 & no sooner?", worker)
    page = signed_in.get(reverse("notes:page")).content.decode()
    assert "sms:+61491570156?body=We%20are%20late%3A%20about%2010%3A20%20%26%20no%20sooner%3F" in page
    assert "mailto:ada%40example.com?body=We%20are" in page
    assert "1 note to send" in signed_in.get(reverse("desk")).content.decode()


def test_a_note_is_kept_as_it_was_sent(visit: Visit, worker: Worker, signed_in: Client) -> None:
    note = draft(visit, "moved", "Thursday instead.", worker)
    address = reverse("notes:settled", args=[note.pk])
    empty = signed_in.post(address, {"words": ""})
    assert empty.status_code == 422
    signed_in.post(address, {"words": "Thursday at ten instead."})
    note.refresh_from_db()
    assert (note.state, note.words) == ("FINAL", "Thursday at ten instead.")
    again = signed_in.post(address, {"words": "x"}, follow=True).content.decode()
    assert "settled already" in again
    note.refresh_from_db()
    assert note.words == "Thursday at ten instead."


def test_a_note_is_dropped_and_erased(visit: Visit, worker: Worker, signed_in: Client) -> None:
    note = draft(visit, "moved", "Thursday instead.", worker)
    signed_in.post(reverse("notes:settled", args=[note.pk]), {"drop": "yes"})
    note.refresh_from_db()
    assert note.state == "CANCELLED"
    erase_household(visit.household, worker)
    note.refresh_from_db()
    assert "Thursday" not in note.words

"""The desk: the next run, what needs a hand, and what to do first."""

import datetime as dt

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coatround.web.base.firm import firm_today
from coatround.web.books.models import Charge
from coatround.web.letters.models import Letter
from coatround.web.records.models import Household, Place
from coatround.web.rounds.models import Proposal, Run
from tests.web.people_of_the_ford import otter, settled, the_quills, visit_on

pytestmark = pytest.mark.django_db


def test_it_works(signed_in: Client) -> None:
    """An empty installation says what to do first, in order; what is done is said."""
    page = signed_in.get(reverse("desk")).content.decode()
    order = [
        page.index(words) for words in ("Set up your van", "Bring your people in", "Settle the usual", "Plan the first")
    ]
    assert order == sorted(order)
    otter()
    assert "Set up your van and its hours: done" in signed_in.get(reverse("desk")).content.decode()


def test_the_next_run_stands_in_a_line(signed_in: Client) -> None:
    van = otter()
    settled(the_quills().dogs.get())
    date = firm_today() + dt.timedelta(days=2)
    run = Run.objects.create(
        van=van, date=date, start_place=van.home, end_place=van.home, leave_seconds=29000, back_seconds=58200,
        accepted_at=timezone.now(),
    )  # fmt: skip
    page = signed_in.get(reverse("desk")).content.decode()
    assert "Next run" in page
    assert "Van Otter leaves 8:03, back 16:10." in page
    assert str(run.pk) in page
    assert "What to do first" not in page


def test_what_needs_a_hand(signed_in: Client) -> None:
    """Each line is there only while something waits, with where it is seen to."""
    assert "Nothing waits" in signed_in.get(reverse("desk")).content.decode()
    household = the_quills()
    settled(household.dogs.get(), dt.date(2025, 1, 6))
    visit = visit_on(household, firm_today() + dt.timedelta(days=3), "CONFIRMED")
    visit.answer = "TENTATIVE"
    visit.save()
    Letter.objects.create(
        household=household, visit=visit.pk, date=visit.date, body={"greeting": "", "parts": [], "closing": []}
    )
    Household.objects.create(name="Pip, 4 Ash", to_be_named=True)
    Place.objects.update(lat=None, lon=None)
    Charge.objects.create(household=household, date=visit.date, words="Groom", cents=8500)
    Proposal.objects.create(first_date=visit.date, last_date=visit.date, state="ready")
    page = signed_in.get(reverse("desk")).content.decode()
    for words in (
        "1 household asked for another time", "1 plan waits to be accepted", "1 dog is overdue",
        "1 letter to read through",
        "1 household owes money", "1 household to be named", "1 address without a pin",
    ):  # fmt: skip
        assert words in page


def test_few_queries(signed_in: Client, django_assert_max_num_queries: object) -> None:
    with django_assert_max_num_queries(25):  # type: ignore[operator]
        signed_in.get(reverse("desk"))

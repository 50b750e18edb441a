"""What is due: the rows behind it, the reason in words, the page."""

import datetime as dt
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from coatround.core.due import Reason
from coatround.web.base.models import Firm, Worker
from coatround.web.due.holidays import public_holidays
from coatround.web.due.queries import dogs_by_due, due_dogs, due_visits
from coatround.web.due.words import over_words, reason_words
from coatround.web.records.models import Dog, Usual
from coatround.web.visits.models import Finding, Groom
from tests.web.small_town import TODAY, a_dog, a_household, a_van, a_visit, day

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def today(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COATROUND_TODAY", TODAY.isoformat())


@pytest.fixture
def mop(worker: Worker, firm: Firm) -> Dog:
    """Every 6 weeks since last May; groomed 40 days ago, four days late."""
    return a_dog(a_household("Ashdown"), "Mop", done=(-40, -86), worker=worker, since=-294)


def test_it_works(mop: Dog) -> None:
    (found,) = due_dogs(today=TODAY)
    assert (found.dog_id, found.household_name) == (mop.pk, "Ashdown")
    assert (found.due, found.first, found.last, found.last_done) == (day(2), day(-5), day(9), day(-40))
    assert found.reason == "every 6 weeks since 12 May 2025, last done 4 days late"


def test_only_the_dogs_asked_for_and_only_until_a_date(mop: Dog, worker: Worker) -> None:
    fig = a_dog(a_household("Birch"), "Fig", done=(-1,), worker=worker)
    assert [dog.dog_id for dog in due_dogs(today=TODAY)] == [mop.pk, fig.pk]
    assert [dog.dog_id for dog in due_dogs([fig.pk], today=TODAY)] == [fig.pk]
    assert [dog.dog_id for dog in due_dogs(today=TODAY, until=day(30))] == [mop.pk]
    assert due_dogs([fig.pk], today=TODAY, until=day(30)) == []


def test_what_is_closed_or_corrected_does_not_count(mop: Dog) -> None:
    Groom.objects.filter(dog=mop, date=day(-40)).update(corrected=True)
    assert due_dogs(today=TODAY)[0].last_done == day(-86)
    mop.household.closed_on = TODAY
    mop.household.save()
    assert due_dogs(today=TODAY) == []


@pytest.mark.parametrize(
    ("since", "until", "before"),
    [(-300, None, None), (-300, None, -45), (5, None, -45), (-300, -1, -45), (9, 40, None)],
)
def test_the_database_reckons_the_same_date_as_the_core(
    firm: Firm, since: int, until: int | None, before: int | None
) -> None:
    """Never groomed here, groomed before, a usual still to come, one that is over, one that ends."""
    dog = a_dog(a_household("Birch"), "Fig", since=since)
    Usual.objects.filter(dog=dog).update(valid_until=None if until is None else day(until))
    Dog.objects.filter(pk=dog.pk).update(last_groomed_before=None if before is None else day(before))
    by_core = [found.due for found in due_dogs([dog.pk], today=TODAY)]
    assert list(dogs_by_due(TODAY).values_list("due_on", flat=True)) == by_core


def test_of_two_usuals_the_later_one_in_force_counts(mop: Dog) -> None:
    Usual.objects.create(dog=mop, valid_from=day(-10), interval_weeks=8)
    Usual.objects.create(dog=mop, valid_from=day(30), interval_weeks=2)
    assert list(dogs_by_due(TODAY).values_list("due_on", flat=True)) == [day(-40 + 56)]
    assert due_dogs(today=TODAY)[0].due == day(-40 + 56)


@pytest.mark.parametrize(
    ("reason", "words"),
    [
        (Reason(1, day(-60), None), "every week since 1 January, not groomed here yet"),
        (Reason(6, day(-60), day(-40)), "every 6 weeks since 1 January, last done 21 January"),
        (Reason(6, day(-60), day(-40), 0), "every 6 weeks since 1 January, last done on the day"),
        (Reason(6, day(-60), day(-40), -1), "every 6 weeks since 1 January, last done 1 day early"),
        (Reason(2, day(-60), day(14), None, True), "every 2 weeks, counted from the visit on 16 March"),
    ],
)
def test_reasons_in_words(reason: Reason, words: str) -> None:
    assert reason_words(reason, TODAY) == words


def test_over_in_words() -> None:
    assert [over_words(1), over_words(9)] == ["1 day over", "9 days over"]


def test_holidays_are_those_of_the_country() -> None:
    """New Year's Day, in the library's own list; a country it does not know has none."""
    first, last = dt.date(2025, 12, 31), dt.date(2026, 1, 2)
    assert list(public_holidays("AU", first, last)) == [dt.date(2026, 1, 1)]
    assert public_holidays("ZZ", first, last) == {}


def test_due_visits_keep_what_was_told_and_share_a_household(worker: Worker, firm: Firm) -> None:
    a_van(worker)
    home = a_household("Ashdown")
    mop = a_dog(home, "Mop", done=(-40,), worker=worker)
    a_dog(home, "Quill", done=(-38,), worker=worker)
    fig = a_dog(a_household("Birch"), "Fig", done=(-40,), worker=worker)
    told = a_visit(fig, 3, state="CONFIRMED", told_from=dt.time(9), told_until=dt.time(9, 30))
    found = {visit.visit.id: visit for visit in due_visits(day(1), day(28), today=TODAY)}
    assert found[str(told.pk)].visit.told
    (both,) = [visit for visit in found.values() if str(mop.pk) in visit.dogs]
    assert len(both.dogs) == 2
    assert both.visit.seconds == 2 * 3600 + firm.setting_up_seconds + firm.packing_up_seconds


def test_fleas_seen_last_time_put_a_dog_last(mop: Dog, worker: Worker) -> None:
    a_van(worker)
    last, before = Groom.objects.filter(dog=mop).order_by("-date")
    Finding.objects.create(groom=before, part="back", kind="flea", grade=2)
    assert due_visits(day(1), day(28), today=TODAY)[0].visit.rank == 1
    Finding.objects.create(groom=last, part="back", kind="flea", grade=1)
    assert due_visits(day(1), day(28), today=TODAY)[0].visit.rank == 2


def test_a_household_that_said_no_is_not_put_on_that_day_again(mop: Dog, worker: Worker) -> None:
    a_van(worker)
    visit = a_visit(mop, 3, answer="DECLINED")
    (found,) = due_visits(day(1), day(28), today=TODAY)
    assert found.visit.id == str(visit.pk)
    assert day(3) not in {one.date for one in found.visit.days}
    assert day(2) in {one.date for one in found.visit.days}


def test_the_page_groups_by_week_with_the_overdue_first(signed_in: Client, mop: Dog, worker: Worker) -> None:
    a_dog(a_household("Birch"), "Fig", done=(-50,), worker=worker)
    a_dog(a_household("Denby"), "Dot", done=(-25,), worker=worker)
    a_visit(mop, 3)
    answer = signed_in.get(reverse("due:page"))
    assert [name for name, _lines in answer.context["groups"]] == ["Overdue", "This week", "Week of 16 March"]
    body = answer.content.decode()
    assert "8 days over" in body
    assert "pencilled in Thu 5 Mar" in body
    assert "not in the round yet" in body


def test_the_page_shows_as_many_weeks_as_asked(signed_in: Client, worker: Worker) -> None:
    a_dog(a_household("Denby"), "Dot", done=(-25,), worker=worker)
    assert "Dot" not in signed_in.get(reverse("due:page"), {"weeks": "2"}).content.decode()
    assert "Dot" in signed_in.get(reverse("due:page"), {"weeks": "4"}).content.decode()
    assert signed_in.get(reverse("due:page"), {"weeks": "9999", "page": "x"}).status_code == 200


def test_an_empty_page_says_what_to_do_next(signed_in: Client) -> None:
    body = signed_in.get(reverse("due:page")).content.decode()
    assert reverse("bringing:page") in body


def test_dogs_with_nothing_settled_are_named(signed_in: Client) -> None:
    Dog.objects.create(household=a_household("Vale"), name="Fern")
    body = signed_in.get(reverse("due:page")).content.decode()
    assert "1 dog has no interval yet" in body
    assert "Fern" in body


def test_the_number_of_queries_does_not_grow_with_the_dogs(
    signed_in: Client, worker: Worker, django_assert_max_num_queries: Any
) -> None:
    for number in range(12):
        a_visit(a_dog(a_household(f"H{number}"), f"D{number}", done=(-40,), worker=worker), 3)
    with django_assert_max_num_queries(16):
        signed_in.get(reverse("due:page"))

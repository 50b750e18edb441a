"""The books: a month, who owes since when, a payment taken, a row turned round; nothing is rubbed out."""

import datetime as dt
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from coatround.web.base.models import Firm, Worker
from coatround.web.books import actions, queries
from coatround.web.books.models import Charge, Payment
from coatround.web.records.models import Household
from tests.web.done import DAY, Quinces, quinces

pytestmark = pytest.mark.django_db


@pytest.fixture
def at_home(worker: Worker, firm: Firm, monkeypatch: pytest.MonkeyPatch) -> Quinces:
    monkeypatch.setenv("COATROUND_TODAY", DAY.isoformat())
    return quinces(worker)


def charge(at_home: Quinces, cents: int, days_ago: int = 0, tax_cents: int = 0) -> Charge:
    date = DAY - dt.timedelta(days=days_ago)
    given = {"household": at_home.household, "date": date, "words": "Groom, Pip", "who": at_home.worker}
    return Charge.objects.create(cents=cents, tax_cents=tax_cents, **given)


def owed(at_home: Quinces) -> int:
    return queries.owed_by(at_home.household)


def said(client: Client, name: str, *args: Any, **get: str) -> str:
    answer = client.get(reverse(name, args=args), get)
    assert answer.status_code == 200
    return answer.content.decode()


def test_it_works(signed_in: Client, at_home: Quinces) -> None:
    """Charged 85.00 with 7.73 in it, 50.00 received and 5.00 tip: 35.00 is owed."""
    charge(at_home, 8500, tax_cents=773)
    actions.add_payment(at_home.household, 5000, at_home.worker, date=DAY, way="cash", tip_cents=500)
    month = queries.month(DAY)
    assert (month.charged, month.tax, month.charged_without_tax) == (8500, 773, 7727)
    assert (month.received, month.tips, month.ways) == (5000, 500, (("cash", 5000, 500),))
    page = said(signed_in, "books:page")
    for words in ("March 2026", "$85.00", "$7.73", "$77.27", "$50.00", "$5.00", "$35.00", "Quince"):
        assert words in page, words


def test_another_month_is_its_own(signed_in: Client, at_home: Quinces) -> None:
    charge(at_home, 8500, days_ago=20)
    assert queries.month(DAY).charged == 0
    assert queries.month(DAY - dt.timedelta(days=20)).charged == 8500
    assert "February 2026" in said(signed_in, "books:page", month="2026-02")
    assert "March 2026" in said(signed_in, "books:page", month="nonsense")
    assert "March 2026" in said(signed_in, "books:page", month="2030-01")


def test_age_counts_from_the_oldest_that_is_open(at_home: Quinces) -> None:
    """85.00 of 60 days ago is paid; 40.00 of 20 days ago is half paid."""
    charge(at_home, 8500, days_ago=60)
    charge(at_home, 4000, days_ago=20)
    actions.add_payment(at_home.household, 10500, at_home.worker, date=DAY, way="card")
    (owing,) = queries.with_age(queries.owing_households(), DAY)
    assert (owing.household, owing.cents, owing.days) == (at_home.household, 2000, 20)


def test_who_owes_most_comes_first_and_the_list_pages(signed_in: Client, at_home: Quinces) -> None:
    for number in range(30):
        household = Household.objects.create(name=f"House {number:02}")
        Charge.objects.create(household=household, date=DAY, words="x", cents=100 + number)
    page = said(signed_in, "books:page")
    assert "House 29" in page
    assert "House 01" not in page
    assert "Page 1 of 2" in page
    assert "House 01" in said(signed_in, "books:page", page="2")


def test_a_payment_is_taken(signed_in: Client, at_home: Quinces) -> None:
    charge(at_home, 8500)
    address = reverse("books:household", args=[at_home.household.pk])
    assert 'value="85.00"' in signed_in.get(address).content.decode()
    typed = {"cents": "85", "tip_cents": "2.50", "way": "transfer", "date": "2026-03-03", "words": "by bank"}
    assert signed_in.post(address, typed).status_code == 302
    payment = Payment.objects.get()
    assert (payment.cents, payment.tip_cents, payment.way) == (8500, 250, "transfer")
    assert owed(at_home) == 0


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"cents": "eighty"}, "is not an amount"),
        ({"cents": "-5"}, "below zero"),
        ({"cents": "0"}, "Nothing was received"),
        ({"date": "2026-04-01"}, "has not come yet"),
        ({"way": "cheese"}, "cheese"),
    ],
)
def test_a_slip_loses_nothing_that_was_typed(
    change: dict[str, str], words: str, signed_in: Client, at_home: Quinces
) -> None:
    typed = {"cents": "85", "way": "cash", "date": "2026-03-03", "words": "left on the table", **change}
    page = signed_in.post(reverse("books:household", args=[at_home.household.pk]), typed).content.decode()
    assert words in page
    assert "left on the table" in page
    assert not Payment.objects.exists()


def test_a_charge_is_put_right_by_a_row_turned_round(signed_in: Client, at_home: Quinces) -> None:
    wrong = charge(at_home, 8500, days_ago=5, tax_cents=773)
    address = reverse("books:charge", args=[wrong.pk])
    assert signed_in.post(address, {"words": "wrong dog", "right_cents": "60"}).status_code == 302
    rows = Charge.objects.order_by("made_at").values_list("cents", "tax_cents", "corrects")
    assert list(rows) == [(8500, 773, None), (-8500, -773, wrong.pk), (6000, 545, None)]
    assert owed(at_home) == 6000
    page = said(signed_in, "books:household", at_home.household.pk)
    assert "wrong dog" in page
    assert "turned round" in page


def test_a_row_is_turned_round_once(signed_in: Client, at_home: Quinces) -> None:
    wrong = charge(at_home, 8500)
    actions.correct_charge(wrong, None, "not done", at_home.worker, date=DAY)
    answer = signed_in.post(reverse("books:charge", args=[wrong.pk]), {"words": "again"}, follow=True)
    assert "turned round already" in answer.content.decode()
    turned = Charge.objects.get(corrects=wrong.pk)
    with pytest.raises(actions.CannotTurnRound, match="correction itself"):
        actions.correct_charge(turned, None, "x", at_home.worker, date=DAY)
    assert owed(at_home) == 0


def test_a_payment_is_turned_round(signed_in: Client, at_home: Quinces) -> None:
    paid = actions.add_payment(at_home.household, 8500, at_home.worker, date=DAY, way="card", tip_cents=100)
    assert "Put a payment right" in said(signed_in, "books:payment", paid.pk)
    signed_in.post(reverse("books:payment", args=[paid.pk]), {"words": "never came"})
    assert owed(at_home) == 0
    assert queries.month(DAY).tips == 0


def test_the_balance_runs_down_the_page(at_home: Quinces) -> None:
    charge(at_home, 8500, days_ago=10)
    actions.add_payment(at_home.household, 5000, at_home.worker, date=DAY, way="cash")
    assert [moved.balance for moved in queries.moved(at_home.household)] == [3500, 8500]


def test_the_empty_books_say_what_to_do(signed_in: Client, at_home: Quinces) -> None:
    page = said(signed_in, "books:page")
    assert "Nobody owes anything" in page
    assert "Nothing received in this month" in page
    assert "Nothing was charged or paid yet" in said(signed_in, "books:household", at_home.household.pk)


def test_a_currency_without_decimals(signed_in: Client, at_home: Quinces, firm: Firm) -> None:
    firm.currency, firm.currency_decimals = "JPY", 0
    firm.save()
    signed_in.post(
        reverse("books:household", args=[at_home.household.pk]), {"cents": "8500", "way": "cash", "date": "2026-03-03"}
    )
    assert Payment.objects.get().cents == 8500
    assert "8,500" in said(signed_in, "books:household", at_home.household.pk)


def test_few_queries_however_many_owe(signed_in: Client, at_home: Quinces, django_assert_max_num_queries: Any) -> None:
    for number in range(40):
        household = Household.objects.create(name=f"House {number:02}")
        Charge.objects.create(household=household, date=DAY, words="x", cents=100 + number)
    with django_assert_max_num_queries(20):
        signed_in.get(reverse("books:page"))

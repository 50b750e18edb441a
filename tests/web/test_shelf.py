"""The shelf: bought, used, counted, spilt; what is left is their fold, and the planned runs say what they take."""

import datetime as dt
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from coatround.web.base.models import Firm, Worker
from coatround.web.records.models import Product
from coatround.web.shelf import actions, queries
from coatround.web.shelf.models import Movement
from tests.web.done import DAY, Quinces, quinces

pytestmark = pytest.mark.django_db


@pytest.fixture
def at_home(worker: Worker, firm: Firm, monkeypatch: pytest.MonkeyPatch) -> Quinces:
    monkeypatch.setenv("COATROUND_TODAY", DAY.isoformat())
    return quinces(worker)


def send(client: Client, at_home: Quinces, act: str, **typed: str) -> Any:
    fields = {f"{act}-{name}": value for name, value in {"date": "2026-03-03", "words": "", **typed}.items()}
    return client.post(reverse("shelf:product", args=[at_home.wash.pk]), {"act": act, **fields})


def test_it_works(signed_in: Client, at_home: Quinces) -> None:
    """Two bottles bought, one bath (12 litres at 1 in 16: 750 ml), 50 ml spilt, 1,150 ml found: a difference of -50."""
    assert send(signed_in, at_home, "bought", bottles="2", bottle_ml="1000").status_code == 302
    groom = at_home.groom(at_home.visit(), steps=[{"step": "first wash", "product": at_home.wash}])
    actions.use_for(groom, at_home.worker)
    send(signed_in, at_home, "spilt", spilt_ml="50")
    assert queries.left_ml(at_home.wash) == 1200
    send(signed_in, at_home, "counted", full="1", begun_ml="150")
    assert sorted(Movement.objects.values_list("kind", "ml")) == [
        ("bought", 2000),
        ("counted", -50),
        ("spilt", -50),
        ("used", -750),
    ]
    assert queries.left_ml(at_home.wash) == 1150
    page = signed_in.get(reverse("shelf:page")).content.decode()
    for words in ("Oat wash", "1,150 ml", "1.2 bottles", "750 ml"):
        assert words in page, words
    product = signed_in.get(reverse("shelf:product", args=[at_home.wash.pk])).content.decode()
    assert "counted 1150 ml, reckoned 1200 ml" in product


def test_millilitres_of_the_step_go_before_the_label(at_home: Quinces) -> None:
    steps = [{"step": "first wash", "product": at_home.wash, "product_ml": 400}]
    actions.use_for(at_home.groom(at_home.visit(), steps=steps), at_home.worker)
    assert queries.left_ml(at_home.wash) == -400


def test_a_step_left_out_uses_nothing(at_home: Quinces) -> None:
    steps = [{"step": "first wash", "product": at_home.wash, "done": False}]
    actions.use_for(at_home.groom(at_home.visit(), steps=steps), at_home.worker)
    assert not Movement.objects.exists()


def test_what_does_not_go_into_the_bath_is_not_guessed(at_home: Quinces) -> None:
    ears = Product.objects.create(name="Ear drops", kind="ears")
    actions.use_for(at_home.groom(at_home.visit(), steps=[{"step": "hygiene", "product": ears}]), at_home.worker)
    assert not Movement.objects.exists()


def test_a_count_that_agrees_is_a_row_too(at_home: Quinces) -> None:
    actions.buy(at_home.wash, 1000, at_home.worker, date=DAY)
    assert actions.count(at_home.wash, 1000, at_home.worker, date=DAY).ml == 0


def test_what_the_planned_visits_take(signed_in: Client, at_home: Quinces) -> None:
    """Two visits in the coming fortnight at 750 ml; one called off, one past and one later count nothing."""
    for days, state in ((2, "TENTATIVE"), (9, "CONFIRMED"), (5, "CANCELLED"), (-3, "TENTATIVE"), (30, "TENTATIVE")):
        at_home.visit(DAY + dt.timedelta(days=days), state=state)
    actions.buy(at_home.wash, 1000, at_home.worker, date=DAY)
    (shelved,) = queries.shelf(DAY)
    assert (shelved.wanted_ml, shelved.is_short, shelved.lacking_ml) == (1500, True, 500)
    assert "500 ml more than there is" in signed_in.get(reverse("shelf:page")).content.decode()


def test_used_counts_four_weeks_and_what_was_put_back(at_home: Quinces) -> None:
    steps = [{"step": "first wash", "product": at_home.wash}]
    for days in (40, 10):
        visit = at_home.visit(DAY - dt.timedelta(days=days))
        actions.use_for(at_home.groom(visit, steps=steps), at_home.worker)
    assert queries.shelf(DAY)[0].used_ml == 750


def test_less_than_nothing_is_said(signed_in: Client, at_home: Quinces) -> None:
    actions.spill(at_home.wash, 200, at_home.worker, date=DAY)
    page = signed_in.get(reverse("shelf:page")).content.decode()
    assert "Reckoned 200 ml below nothing" in page


@pytest.mark.parametrize(
    ("act", "typed", "words"),
    [
        ("bought", {"bottles": "0", "bottle_ml": "500"}, "greater than or equal to 1"),
        ("counted", {"full": "-1", "begun_ml": "10"}, "greater than or equal to 0"),
        ("spilt", {"spilt_ml": "many"}, "whole number"),
        ("spilt", {"spilt_ml": "10", "date": "2026-03-09"}, "has not come yet"),
    ],
)
def test_a_slip_loses_nothing_that_was_typed(
    act: str, typed: dict[str, str], words: str, signed_in: Client, at_home: Quinces
) -> None:
    answer = send(signed_in, at_home, act, **typed, **{"words": "by the back door"})
    assert answer.status_code == 200
    page = answer.content.decode()
    assert words in page
    assert "by the back door" in page
    assert not Movement.objects.exists()


def test_the_empty_shelf_says_what_to_do(signed_in: Client, firm: Firm) -> None:
    page = signed_in.get(reverse("shelf:page")).content.decode()
    assert "no product yet" in page
    assert reverse("product-new") in page


def test_few_queries(signed_in: Client, at_home: Quinces, django_assert_max_num_queries: Any) -> None:
    for number in range(20):
        Product.objects.create(name=f"Wash {number}")
    with django_assert_max_num_queries(15):
        signed_in.get(reverse("shelf:page"))

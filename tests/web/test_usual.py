"""The usual: a change ends the old row and begins a new one; the routine is moved by buttons; the cut is by part."""

import datetime as dt
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from coatround.web.base.firm import firm_today
from coatround.web.records.models import Dog, Usual
from coatround.web.records.usual import in_force
from tests.web.people_of_the_ford import oatmeal, settled, the_quills

pytestmark = pytest.mark.django_db


@pytest.fixture
def biscuit(db: None) -> Dog:
    return the_quills().dogs.get()


def typed(**more: Any) -> dict[str, Any]:
    return {
        "day": "2026-03-02", "interval_weeks": "8", "days_early": "7", "days_late": "10", "weekdays": ["1", "3"],
        "hours_from": "09:00", "hours_until": "12:30", "usual_weekday": "1", "usual_time": "09:30",
        "work_minutes": "70",
        "price": "92.50", "routine-step": ["check-over", "first wash", "clip"], "routine-product": ["", "", ""],
        "routine-how": ["", "lukewarm", ""], "cut-body-how": "comb", "cut-body-mm": "9.5", "cut-ears-how": "left alone",
        **more,
    }  # fmt: skip


def test_it_works(signed_in: Client, biscuit: Dog) -> None:
    """The first usual is offered a routine by coat, and kept as typed."""
    address = reverse("usual", args=[biscuit.pk])
    assert '<option value="clip" selected>' in signed_in.get(address).content.decode()
    oat = oatmeal()
    product = ["", str(oat.pk), ""]
    assert signed_in.post(address, typed(**{"routine-product": product})).status_code == 302
    usual = Usual.objects.get()
    assert (usual.interval_weeks, usual.weekdays, usual.usual_weekday) == (8, [1, 3], 1)
    assert (usual.work_seconds, usual.price_cents) == (4200, 9250)
    assert usual.cut == {"body": {"how": "comb", "mm": 9.5}, "ears": {"how": "left alone", "mm": None}}
    assert [(step.step, step.product, step.words) for step in usual.steps.all()] == [
        ("check-over", None, ""),
        ("first wash", oat, "lukewarm"),
        ("clip", None, ""),
    ]


def test_a_change_is_dated_and_the_old_can_be_read(signed_in: Client, biscuit: Dog) -> None:
    old = settled(biscuit, dt.date(2025, 6, 2))
    signed_in.post(reverse("usual", args=[biscuit.pk]), typed())
    old.refresh_from_db()
    assert old.valid_until == dt.date(2026, 3, 1)
    assert [row.interval_weeks for row in in_force(dt.date(2026, 3, 1)).filter(dog=biscuit)] == [6]
    assert [row.interval_weeks for row in in_force(dt.date(2026, 3, 2)).filter(dog=biscuit)] == [8]
    page = signed_in.get(reverse("dog", args=[biscuit.pk])).content.decode()
    assert "2 June 2025 to 1 March 2026" in page
    assert "body 9.5 mm comb, ears left alone" in page


def test_undo_puts_the_old_one_back(signed_in: Client, biscuit: Dog) -> None:
    old = settled(biscuit, dt.date(2025, 6, 2))
    signed_in.post(reverse("usual", args=[biscuit.pk]), typed())
    signed_in.post(reverse("undo"))
    assert Usual.objects.get() == old
    assert Usual.objects.get().valid_until is None
    assert old.steps.count() == 3


def test_twice_on_one_day_leaves_one_in_force(signed_in: Client, biscuit: Dog) -> None:
    address = reverse("usual", args=[biscuit.pk])
    signed_in.post(address, typed())
    signed_in.post(address, typed(interval_weeks="5"))
    for day in (dt.date(2026, 3, 2), dt.date(2026, 9, 1)):
        assert [row.interval_weeks for row in in_force(day).filter(dog=biscuit)] == [5]
    signed_in.post(reverse("undo"))
    assert [row.interval_weeks for row in in_force(dt.date(2026, 3, 2)).filter(dog=biscuit)] == [8]


def test_one_for_later_stands_beside_the_one_now(signed_in: Client, biscuit: Dog) -> None:
    later = firm_today() + dt.timedelta(days=60)
    address = reverse("usual", args=[biscuit.pk])
    signed_in.post(address, typed())
    signed_in.post(address, typed(day=later.isoformat(), interval_weeks="4"))
    assert [row.interval_weeks for row in in_force(later - dt.timedelta(days=1))] == [8]
    assert [row.interval_weeks for row in in_force(later)] == [4]
    assert "can&#x27;t begin before it" in signed_in.post(address, typed()).content.decode()


def steps_shown(page: str) -> list[str]:
    return [
        part.split('"')[0]
        for part in page.split('<option value="')[1:]
        if " selected>" in part[:40] and part[0].isalpha()
    ]


@pytest.mark.parametrize(
    ("button", "expected"),
    [
        ("up-1", ["first wash", "check-over", "clip"]),
        ("down-1", ["check-over", "clip", "first wash"]),
        ("remove-0", ["first wash", "clip"]),
        ("up-0", ["check-over", "first wash", "clip"]),
        ("down-9", ["check-over", "first wash", "clip"]),
    ],
)
def test_buttons_move_steps_and_save_nothing(signed_in: Client, biscuit: Dog, button: str, expected: list[str]) -> None:
    """Everything else that was typed stays, even what is still wrong, and nothing is told off."""
    answer = signed_in.post(reverse("usual", args=[biscuit.pk]), typed(do=button, price="lots"))
    page = answer.content.decode()
    assert answer.status_code == 200
    shown = [step for step in steps_shown(page) if step in ("check-over", "first wash", "clip")]
    assert shown == expected
    assert 'value="lots"' in page
    assert "is not an amount" not in page
    assert not Usual.objects.exists()


def test_a_step_is_added(signed_in: Client, biscuit: Dog) -> None:
    page = signed_in.post(reverse("usual", args=[biscuit.pk]), typed(do="add")).content.decode()
    assert 'for="step-3"' in page


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"price": "lots"}, "is not an amount"),
        ({"interval_weeks": "0"}, "write 1 to 104"),
        ({"days_late": "80"}, "longer than the interval itself"),
        ({"hours_until": "08:00"}, "is not after"),
        ({"usual_weekday": "5"}, "not one of the days they can do"),
        ({"cut-body-mm": ""}, "how many millimetres"),
        ({"cut-body-mm": "thick"}, "are no millimetres"),
        ({"cut-head-mm": "12"}, "but how?"),
        ({"routine-step": ["check-over", "", "clip"]}, "Step 2 has no step chosen"),
        ({"routine-product": ["", "no such", ""]}, "Step 2 uses a product"),
    ],
)
def test_a_failed_form_keeps_every_field(signed_in: Client, biscuit: Dog, wrong: dict[str, Any], words: str) -> None:
    answer = signed_in.post(reverse("usual", args=[biscuit.pk]), typed(**wrong))
    page = answer.content.decode()
    assert answer.status_code == 422
    assert words in page
    assert 'value="lukewarm"' in page
    assert 'name="work_minutes" value="70"' in page
    assert '<option value="left alone" selected>' in page
    assert not Usual.objects.exists()

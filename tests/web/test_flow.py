"""What follows from accepted records: charge, stock, letter, payment, next visit, next due date; each once."""

import datetime as dt
from typing import Any

import pytest

from coatround.ids import uuid7
from coatround.web.base.models import Firm, Worker
from coatround.web.books.models import Charge, Payment
from coatround.web.books.queries import owed_by
from coatround.web.due.queries import due_dogs
from coatround.web.flow import accept_records, what_follows
from coatround.web.letters.body import as_text
from coatround.web.letters.models import Letter
from coatround.web.shelf.models import Movement
from coatround.web.shelf.queries import left_ml
from coatround.web.visits.models import Groom, HandingBack, Record, Visit, VisitDog
from tests.web.done import DAY, NOON, Quinces, quinces

pytestmark = pytest.mark.django_db
USUAL = {"usual_done": True}


@pytest.fixture
def at_home(worker: Worker, firm: Firm) -> Quinces:
    return quinces(worker, two=True)


def record(kind: str, visit: Visit, body: dict[str, Any], corrects: Any = None) -> dict[str, Any]:
    raw = {"id": str(uuid7()), "kind": kind, "version": 1, "said_at": NOON.isoformat(), "visit": str(visit.pk)}
    return {**raw, "body": body, **({"corrects": str(corrects)} if corrects else {})}


def groom(at_home: Quinces, visit: Visit, name: str = "Pip", corrects: Any = None, **body: Any) -> dict[str, Any]:
    return record("groom", visit, {"dog": str(at_home.dogs[name].pk), **body}, corrects)


def back(visit: Visit, corrects: Any = None, **body: Any) -> dict[str, Any]:
    given = {"price_cents": 14500, "paid": "card", "next": {"how": "none"}, **body}
    return record("handing-back", visit, given, corrects)


def send(at_home: Quinces, *raws: dict[str, Any]) -> None:
    answers = accept_records(raws, at_home.worker, "phone", now=NOON)
    assert [answer.status for answer in answers] == ["accepted"] * len(raws), answers


def everything() -> tuple[Any, ...]:
    """All that a record may bring about, as rows."""
    models = (Charge, Payment, Movement, Letter, Visit, VisitDog)
    return tuple(sorted(map(repr, model._default_manager.values_list())) for model in models)


def owed(at_home: Quinces) -> int:
    return owed_by(at_home.household)


def charges() -> list[int]:
    return list(Charge.objects.order_by("made_at").values_list("cents", flat=True))


def test_it_works(at_home: Quinces) -> None:
    """Two dogs done as usual, 145.00 paid by card with 5.00 on top, the next date told: the circle closes."""
    visit = at_home.visit()
    following = {"how": "opening", "date": "2026-04-14", "from": "09:00", "until": "10:30"}
    send(
        at_home,
        groom(at_home, visit, "Pip", **USUAL),
        groom(at_home, visit, "Fig", **USUAL),
        back(visit, tip_cents=500, next=following),
    )
    assert charges() == [8500, 6000]
    assert [charge.tax_cents for charge in Charge.objects.order_by("made_at")] == [773, 545]  # one eleventh
    payment = Payment.objects.get()
    assert (payment.cents, payment.tip_cents, payment.way) == (14500, 500, "card")
    assert owed(at_home) == 0
    assert left_ml(at_home.wash) == -2 * 750  # 12 litres, 1 in 16, twice
    letter = Letter.objects.get(visit=visit.pk)
    assert "We come again on Tuesday 14 April, and arrive between 9:00 and 10:30." in as_text(letter.body)
    told = Visit.objects.exclude(pk=visit.pk).get()
    assert (told.date, told.state, told.source) == (dt.date(2026, 4, 14), "CONFIRMED", "door")
    assert (told.told_from, told.told_until) == (dt.time(9), dt.time(10, 30))
    assert set(told.dogs.all()) == set(at_home.dogs.values())
    pip = at_home.dogs["Pip"].pk
    assert [due.due for due in due_dogs([pip], today=DAY)] == [DAY + dt.timedelta(weeks=6)]


def test_the_same_record_twice_changes_nothing(at_home: Quinces) -> None:
    visit = at_home.visit()
    raws = [groom(at_home, visit, **USUAL), back(visit, next={"how": "usual", "date": "2026-04-14"})]
    send(at_home, *raws)
    before = everything()
    again = accept_records(raws, at_home.worker, "phone", now=NOON + dt.timedelta(hours=1))
    assert [answer.status for answer in again] == ["already there", "already there"]
    assert everything() == before


def test_what_follows_said_twice_changes_nothing(at_home: Quinces) -> None:
    """Even when it is called again by hand, past the record's own once."""
    visit = at_home.visit()
    send(at_home, groom(at_home, visit, **USUAL), back(visit, next={"how": "usual", "date": "2026-04-14"}))
    before = everything()
    for fact in (Groom.objects.get(), HandingBack.objects.get()):
        what_follows(fact)
    assert everything() == before


def test_a_groom_corrected_turns_its_charge_and_its_stock_round(at_home: Quinces) -> None:
    """Used 300 ml, not 750: the old rows stay, turned round, and new ones stand."""
    visit = at_home.visit()
    first = groom(at_home, visit, **USUAL)
    send(at_home, first)
    wash = {"step": "first wash", "product": str(at_home.wash.pk), "product_ml": 300}
    send(at_home, groom(at_home, visit, corrects=first["id"], usual_done=True, steps=[wash]))
    assert charges() == [8500, -8500, 8500]
    assert owed(at_home) == 8500
    assert sorted(Movement.objects.values_list("ml", flat=True)) == [-750, -300, 750]
    assert left_ml(at_home.wash) == -300


def test_a_groom_corrected_to_not_done_charges_nothing(at_home: Quinces) -> None:
    visit = at_home.visit()
    first = groom(at_home, visit, **USUAL)
    send(at_home, first)
    send(at_home, groom(at_home, visit, corrects=first["id"], state="CANCELLED", why_not="lame"))
    assert owed(at_home) == 0
    assert left_ml(at_home.wash) == 0
    assert "Not groomed this time. Why: lame." in as_text(Letter.objects.get().body)


def test_not_done_charges_nothing(at_home: Quinces) -> None:
    send(at_home, groom(at_home, at_home.visit(), state="CANCELLED", why_not="coughing"))
    assert not Charge.objects.exists()
    assert not Movement.objects.exists()


def test_the_price_in_force_on_that_date_is_charged(at_home: Quinces) -> None:
    usual = at_home.dogs["Pip"].usuals.get()
    usual.valid_until = DAY
    usual.save()
    at_home.dogs["Pip"].usuals.create(valid_from=DAY, price_cents=9000)
    earlier = at_home.visit(DAY - dt.timedelta(weeks=6))
    send(at_home, groom(at_home, earlier, **USUAL), groom(at_home, at_home.visit(), **USUAL))
    assert charges() == [8500, 9000]


@pytest.mark.parametrize("order", ["groom first", "handing back first"])
def test_the_charges_come_to_the_price_agreed_in_any_order(order: str, at_home: Quinces) -> None:
    """Agreed 75.00 instead of 85.00; a phone may send the two the other way round."""
    visit = at_home.visit()
    raws = [groom(at_home, visit, **USUAL), back(visit, price_cents=7500, paid="not paid")]
    send(at_home, *(raws if order == "groom first" else raws[::-1]))
    assert sum(charges()) == 7500
    assert sum(row.tax_cents for row in Charge.objects.all()) == 682  # 7500 / 11 = 681.8
    assert owed(at_home) == 7500
    assert not Payment.objects.exists()


def test_part_paid_leaves_the_rest_owing(at_home: Quinces) -> None:
    visit = at_home.visit()
    send(at_home, groom(at_home, visit, **USUAL), back(visit, price_cents=8500, paid="cash", paid_cents=5000))
    assert owed(at_home) == 3500


def test_a_handing_back_corrected_turns_its_payment_round(at_home: Quinces) -> None:
    """Paid by card, then put right: it was 80.00 in cash, and the price 80.00."""
    visit = at_home.visit()
    first = back(visit, price_cents=8500)
    send(at_home, groom(at_home, visit, **USUAL), first)
    send(at_home, back(visit, corrects=first["id"], price_cents=8000, paid="cash"))
    rows = Payment.objects.order_by("made_at").values_list("way", "cents")
    assert list(rows) == [("card", 8500), ("card", -8500), ("cash", 8000)]
    assert sum(charges()) == 8000
    assert owed(at_home) == 0


def test_a_dog_is_charged_once_a_visit(at_home: Quinces) -> None:
    """Two phones recorded the same dog."""
    visit = at_home.visit()
    send(at_home, groom(at_home, visit, **USUAL), groom(at_home, visit, **USUAL))
    assert charges() == [8500]


def test_a_date_without_a_window_is_pencilled_in(at_home: Quinces) -> None:
    send(at_home, back(at_home.visit(), next={"how": "usual", "date": "2026-04-14"}))
    visit = Visit.objects.get(date=dt.date(2026, 4, 14))
    assert (visit.state, visit.told_from) == ("TENTATIVE", None)


def test_a_pencilled_in_visit_becomes_the_one_agreed(at_home: Quinces) -> None:
    """No second visit is made; earlier pencilled-in ones are called off, told ones are left alone."""
    visit = at_home.visit()
    early = at_home.visit(dt.date(2026, 4, 1))
    near = at_home.visit(dt.date(2026, 4, 13))
    promised = at_home.visit(dt.date(2026, 3, 20), state="CONFIRMED", told_from=dt.time(9), told_until=dt.time(10))
    send(at_home, back(visit, next={"how": "usual", "date": "2026-04-14"}))
    early.refresh_from_db()
    near.refresh_from_db()
    promised.refresh_from_db()
    assert (early.state, near.date, near.state) == ("CANCELLED", dt.date(2026, 4, 14), "TENTATIVE")
    assert (promised.state, promised.date) == ("CONFIRMED", dt.date(2026, 3, 20))
    assert Visit.objects.count() == 4


def test_another_next_date_calls_the_first_off(at_home: Quinces) -> None:
    visit = at_home.visit()
    told = {"how": "opening", "from": "09:00", "until": "10:00"}
    first = back(visit, next={**told, "date": "2026-04-14"})
    send(at_home, first)
    send(at_home, back(visit, corrects=first["id"], next={**told, "date": "2026-05-05"}))
    states = Visit.objects.filter(date__gt=DAY).order_by("date").values_list("date", "state")
    assert list(states) == [(dt.date(2026, 4, 14), "CANCELLED"), (dt.date(2026, 5, 5), "CONFIRMED")]


def test_an_incident_gets_into_the_letter(at_home: Quinces) -> None:
    visit = at_home.visit()
    body = {"dog": str(at_home.dogs["Pip"].pk), "kind": "nick", "happened_at": NOON.isoformat(), "words": "left pad"}
    send(at_home, groom(at_home, visit, **USUAL), record("incident", visit, {**body, "owner_told": True}))
    assert "Pip was nicked. Left pad." in as_text(Letter.objects.get().body)


def test_a_dog_turned_away_at_the_door_gets_into_the_letter(at_home: Quinces) -> None:
    visit = at_home.visit()
    send(
        at_home,
        groom(at_home, visit, **USUAL),
        record(
            "fit", visit, {"dog": str(at_home.dogs["Fig"].pk), "answer": "vet", "signs": ["vomit"], "reason": "sick"}
        ),
    )
    assert "Fig: Not groomed this time. Why: sick. Please see a vet first" in as_text(Letter.objects.get().body)


def test_nothing_follows_when_something_in_it_fails(at_home: Quinces, monkeypatch: pytest.MonkeyPatch) -> None:
    """The record, its fact and what follows are one transaction: all of it, or none."""
    from coatround.web import flow

    def fails(*_args: object) -> None:
        raise RuntimeError("no room on the disk")

    monkeypatch.setattr(flow, "refresh", fails)
    answers = accept_records([groom(at_home, at_home.visit(), **USUAL)], at_home.worker, "phone", now=NOON)
    assert [answer.status for answer in answers] == ["refused"]
    assert not Charge.objects.exists()
    assert not Movement.objects.exists()
    assert not Groom.objects.exists()
    assert not Record.objects.exists()


def test_a_refused_record_does_not_stop_the_others(at_home: Quinces) -> None:
    visit = at_home.visit()
    answers = accept_records([{"id": "x"}, groom(at_home, visit, **USUAL)], at_home.worker, "phone", now=NOON)
    assert [answer.status for answer in answers] == ["refused", "accepted"]


def test_no_tax_for_a_firm_that_is_not_registered(at_home: Quinces, firm: Firm) -> None:
    firm.tax_registered = False
    firm.save()
    send(at_home, groom(at_home, at_home.visit(), **USUAL))
    assert Charge.objects.get().tax_cents == 0

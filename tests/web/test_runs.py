"""Today's run, the run sheet, the printed page and a look at keys."""

import datetime as dt
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from coatround.ids import uuid7
from coatround.web.base.models import Firm, Worker
from coatround.web.records.models import Caution, KeyLook, Product
from coatround.web.rounds.models import Run
from coatround.web.runs import views
from coatround.web.runs.baths import baths_of, label
from coatround.web.runs.queries import coming_runs, run_sheet, runs_of
from coatround.web.runs.words import late_words
from coatround.web.visits.models import Fit, Groom, HandingBack, Incident
from tests.web.run_of_five import CODE, TUESDAY, RunOfFive, at, make_run

SYDNEY = ZoneInfo("Australia/Sydney")


@pytest.fixture
def five(worker: Worker, firm: Firm) -> RunOfFive:
    return make_run(worker)


@pytest.fixture
def on_tuesday(monkeypatch: pytest.MonkeyPatch) -> None:
    """It is 9:52 on that Tuesday."""
    monkeypatch.setenv("COATROUND_TODAY", TUESDAY.isoformat())
    monkeypatch.setattr(views, "firm_now", lambda firm=None: moment("9:52"))


@pytest.fixture
def on_monday(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COATROUND_TODAY", (TUESDAY - dt.timedelta(days=1)).isoformat())


def moment(clock: str, date: dt.date = TUESDAY) -> dt.datetime:
    seconds = at(clock)
    return dt.datetime.combine(date, dt.time(seconds // 3600, seconds % 3600 // 60), SYDNEY)


def handed_back(five: RunOfFive, worker: Worker, dog: str, started: str, ended: str) -> None:
    """A visit that was fit, done and handed back."""
    visit = five.visits[dog]
    common = {"who": worker, "visit": visit.pk}
    Fit.objects.create(id=uuid7(), at=moment(started), dog=five.dogs[dog], answer="go", **common)
    Groom.objects.create(
        id=uuid7(),
        at=moment(ended),
        dog=five.dogs[dog],
        date=TUESDAY,
        started_at=moment(started),
        ended_at=moment(ended),
        **common,
    )
    HandingBack.objects.create(
        id=uuid7(), at=moment(ended), household=visit.household, price_cents=9000, paid="cash", **common
    )


def page(client: Client, name: str, *args: Any) -> str:
    response = client.get(reverse(name, args=args))
    assert response.status_code == 200
    return response.content.decode()


def test_it_works(signed_in: Client, five: RunOfFive, on_tuesday: None) -> None:
    shown = page(signed_in, "runs:today")
    for name in ("Mop", "Biscuit", "Quill and Fig", "Odette", "Bramble"):
        assert name in shown
    assert "ribbon-phone" in shown
    assert "ribbon-desk" in shown


def test_a_stranger_sees_nothing(client: Client, five: RunOfFive) -> None:
    for name in ("runs:sheet", "runs:print"):
        assert client.get(reverse(name, args=[five.run.pk])).status_code == 302


def test_a_run_that_is_gone_is_not_found(signed_in: Client) -> None:
    assert signed_in.get(reverse("runs:sheet", args=[uuid7()])).status_code == 404


def test_what_is_next_and_how_early(signed_in: Client, worker: Worker, five: RunOfFive, on_tuesday: None) -> None:
    handed_back(five, worker, "Mop", "8:12", "9:41")
    shown = page(signed_in, "runs:today")
    assert "Next: Biscuit, 10:01" in shown  # 9:41 and 20 minutes of driving
    assert "You are 4 minutes early." in shown
    assert "29 minutes in hand." in shown  # told until 10:30
    assert "Told 9:45 to 10:30. Said yes." in shown


def test_late_says_whom_to_ring(
    signed_in: Client, five: RunOfFive, on_tuesday: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(views, "firm_now", lambda firm=None: moment("8:50"))
    shown = page(signed_in, "runs:today")
    assert "You are 35 minutes late." in shown
    assert "20 minutes over what was told" in shown
    assert "It now looks like 8:50, after what they were told." in shown


def test_a_run_whose_hours_are_over_unrecorded_keeps_its_times(
    signed_in: Client, five: RunOfFive, on_tuesday: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In the evening, times reckoned from now would help nobody; what was done can still be recorded."""
    monkeypatch.setattr(views, "firm_now", lambda firm=None: moment("22:10"))
    shown = page(signed_in, "runs:today")
    assert "The hours of this run are over and nothing of it is recorded." in shown
    assert "minutes late" not in shown
    assert "At the door" in shown


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (0, "You are on time."),
        (-119, "You are on time."),
        (-240, "You are 4 minutes early."),
        (121, "You are 2 minutes late."),
        (803 * 60, "You are 13 h 23 late."),
    ],
)
def test_late_in_words(seconds: int, words: str) -> None:
    assert late_words(seconds) == words


def test_all_done(signed_in: Client, worker: Worker, five: RunOfFive, on_tuesday: None) -> None:
    for dog, started, ended in (("Mop", "8:12", "9:41"), ("Biscuit", "10:00", "11:00"), ("Odette", "14:00", "15:00")):
        handed_back(five, worker, dog, started, ended)
    handed_back(five, worker, "Bramble", "15:20", "16:20")
    Fit.objects.create(
        id=uuid7(),
        at=moment("11:10"),
        who=worker,
        visit=five.visits["Quill"].pk,
        dog=five.dogs["Quill"],
        answer="not today",
    )
    Fit.objects.create(
        id=uuid7(), at=moment("11:12"), who=worker, visit=five.visits["Quill"].pk, dog=five.dogs["Fig"], answer="vet"
    )
    shown = page(signed_in, "runs:today")
    assert "All visits done" in shown
    assert "Not done today." in shown


def test_cautions_come_before_anything_else_of_a_dog(signed_in: Client, five: RunOfFive, on_tuesday: None) -> None:
    shown = page(signed_in, "runs:today")
    sheet = shown[shown.index('<ol class="stops">') :]
    biscuit = sheet[sheet.index("<h3>Biscuit</h3>") : sheet.index("<h3>Quill and Fig</h3>")]
    caution = biscuit.index("Cool dryer only, stop if the sound changes.")
    for later in ("Told 9:45", "4 Tannery Row", "Way there", "Body 10 mm", "Oat wash"):
        assert caution < biscuit.index(later)
    assert '<span class="care">Airway</span>' in biscuit
    assert "Body strap; nothing round the neck." in biscuit


def test_a_bite_shows_before_every_later_visit(
    signed_in: Client, worker: Worker, five: RunOfFive, on_tuesday: None
) -> None:
    long_ago = moment("11:00", dt.date(2023, 5, 2))
    Incident.objects.create(
        id=uuid7(),
        at=long_ago,
        who=worker,
        dog=five.dogs["Bramble"],
        kind="bite",
        happened_at=long_ago,
        words="Broke the skin of a thumb.",
    )
    for name in ("runs:sheet", "runs:print"):
        shown = page(signed_in, name, five.run.pk)
        assert "Bit on 2 May 2023. Broke the skin of a thumb." in shown
    first = run_sheet(five.run.pk, None).visits[-1].dogs[0].cautions[0]
    assert first.kind == "Bite"


def test_a_caution_that_is_closed_or_over_is_gone(five: RunOfFive) -> None:
    dog = five.dogs["Mop"]
    Caution.objects.create(dog=dog, kind="skin", words="Over.", until=TUESDAY - dt.timedelta(days=1))
    Caution.objects.create(dog=dog, kind="skin", words="Closed.", closed_on=TUESDAY)
    Caution.objects.create(dog=dog, kind="skin", words="Today still.", until=TUESDAY)
    assert [caution.words for caution in run_sheet(five.run.pk, None).visits[0].dogs[0].cautions] == ["Today still."]


def test_the_mix_in_millilitres(five: RunOfFive) -> None:
    baths = run_sheet(five.run.pk, None).visits[0].dogs[0].baths
    shown = [(bath.step, bath.litres, bath.pours[0].ml, bath.contact_minutes) for bath in baths]
    assert shown == [
        ("first wash", 12, 750, 5),  # 1 in 16 of 12 litres
        ("second wash", 12, 750, 5),
        ("condition", 12, 364, 3),  # 1 to 32 of water: 12000 / 33
        ("wipe", None, None, 0),
    ]


def test_two_products_of_one_step_share_its_bath(five: RunOfFive) -> None:
    usual = five.dogs["Mop"].usuals.get()
    steps = [step for step in usual.steps.select_related("product") if step.step == "first wash"]
    steps.append(type(steps[0])(usual=usual, order=99, step="first wash", product=five.products["herb"]))
    bath = baths_of(steps, 12)
    assert len(bath) == 1
    assert [pour.ml for pour in bath[0].pours] == [750, 1200]
    assert bath[0].contact_minutes == 10


def test_a_label_that_cannot_be_counts_as_undiluted(db: None) -> None:
    wrong = Product(name="Odd", ratio_product=3, ratio_other=1, ratio_rule="total")
    assert label(wrong).ratio.share == 1


def test_a_label_against_the_dog_is_a_caution(five: RunOfFive) -> None:
    odette = next(stop for stop in run_sheet(five.run.pk, None).visits if stop.title == "Odette").dogs[0]
    assert ("Product", "Herb wash: the label says not for whelping, heart") in [
        (caution.kind, caution.words) for caution in odette.cautions
    ]


def test_the_tank_line_per_stop(five: RunOfFive) -> None:
    levels = [(stop.now.water_before_l, stop.now.water_after_l) for stop in run_sheet(five.run.pk, None).stops]
    assert levels == [(110, 76), (76, 54), (54, 8), (8, 110), (110, 110), (110, 82), (82, 57)]


def test_what_to_load(five: RunOfFive) -> None:
    kit = run_sheet(five.run.pk, None).kit
    assert {line.name: line.expected_ml for line in kit.products} == {
        "Oat wash": 5 * 1500 + 750,
        "Herb wash": 1200,
        "Silk rinse": 6 * 364,
        "Ear drops": 60,
    }
    assert (kit.tools[0].mm, kit.tools[0].pieces, kit.tools[0].dogs) == (10, 2, 6)
    assert kit.water.holds_l == 220


def test_a_visit_called_off_needs_no_kit_and_no_time(five: RunOfFive) -> None:
    visit = five.visits["Quill"]
    visit.state, visit.called_off_why = "CANCELLED", "away"
    visit.save()
    sheet = run_sheet(five.run.pk, None)
    quill = next(stop for stop in sheet.stops if stop.visit == visit.pk)
    assert quill.now.state == "not done"
    assert {line.name: line.expected_ml for line in sheet.kit.products}["Silk rinse"] == 4 * 364


def test_another_day_shows_the_plan_and_no_door(signed_in: Client, five: RunOfFive, on_monday: None) -> None:
    shown = page(signed_in, "runs:sheet", five.run.pk)
    assert "Leaves 8:00, back 16:45" in shown
    assert "At the door" not in shown
    assert "10:05" in shown


def test_the_way_there_and_what_to_know_at_the_gate(signed_in: Client, five: RunOfFive, on_tuesday: None) -> None:
    shown = page(signed_in, "runs:today")
    assert 'href="geo:-31.010000,152.100000"' in shown
    for words in ("Gate: blue, lift the latch.", "Parking: on the verge.", "Tap: may be used."):
        assert words in shown


def test_the_sheet_never_holds_a_key(signed_in: Client, five: RunOfFive, on_tuesday: None) -> None:
    shown = page(signed_in, "runs:today")
    assert CODE not in shown
    assert "Show key or code for Biscuit" in shown
    assert not KeyLook.objects.exists()


def test_a_look_at_a_key_on_the_day_is_logged(
    signed_in: Client, worker: Worker, five: RunOfFive, on_tuesday: None
) -> None:
    address = reverse("runs:keys", args=[five.run.pk, five.visits["Biscuit"].place_id])
    response = signed_in.post(address)
    assert CODE in response.content.decode()
    assert "no-store" in response.headers["Cache-Control"]
    look = KeyLook.objects.get()
    assert (look.who, look.run_date, look.key.words) == (worker, TUESDAY, CODE)


def test_a_look_in_place_gives_the_words_alone(signed_in: Client, five: RunOfFive, on_tuesday: None) -> None:
    address = reverse("runs:keys", args=[five.run.pk, five.visits["Biscuit"].place_id])
    shown = signed_in.post(address, headers={"HX-Request": "true"}).content.decode()
    assert CODE in shown
    assert "<html" not in shown
    assert KeyLook.objects.count() == 1


def test_no_key_on_any_other_day(signed_in: Client, five: RunOfFive, on_monday: None) -> None:
    address = reverse("runs:keys", args=[five.run.pk, five.visits["Biscuit"].place_id])
    response = signed_in.post(address, follow=True)
    shown = response.content.decode()
    assert CODE not in shown
    assert "show on that day&#x27;s run only" in shown
    assert "it shows here on the day" in shown
    assert not KeyLook.objects.exists()


def test_no_key_of_a_place_that_is_not_on_the_run(signed_in: Client, five: RunOfFive, on_tuesday: None) -> None:
    place = five.visits["Biscuit"].place_id
    five.run.stops.filter(visit=five.visits["Biscuit"]).delete()
    assert CODE not in signed_in.post(reverse("runs:keys", args=[five.run.pk, place]), follow=True).content.decode()
    assert not KeyLook.objects.exists()


def test_a_key_is_not_got_by_reading(signed_in: Client, five: RunOfFive, on_tuesday: None) -> None:
    address = reverse("runs:keys", args=[five.run.pk, five.visits["Biscuit"].place_id])
    assert signed_in.get(address).status_code == 405


@pytest.mark.parametrize("day", ["on_tuesday", "on_monday"])
def test_print_holds_the_whole_run_and_no_key(
    signed_in: Client, five: RunOfFive, day: str, request: pytest.FixtureRequest
) -> None:
    request.getfixturevalue(day)
    shown = page(signed_in, "runs:print", five.run.pk)
    assert CODE not in shown
    assert "4711" not in shown
    for words in ("4 Tannery Row", "Noisy at rest.", "Oat wash 750 ml, 5 min", "tank 76 to 54 L", "Told 9:45 to 10:30"):
        assert words in shown


def test_print_is_the_plan_even_when_the_day_runs_late(
    signed_in: Client, worker: Worker, five: RunOfFive, on_tuesday: None
) -> None:
    handed_back(five, worker, "Mop", "9:00", "10:30")
    assert "10:05 – 11:05" in page(signed_in, "runs:print", five.run.pk)


def test_few_queries_however_many_stops(signed_in: Client, five: RunOfFive, on_tuesday: None) -> None:
    with CaptureQueriesContext(
        connection,
    ) as asked:
        page(signed_in, "runs:today")
    assert len(asked) <= 29
    with CaptureQueriesContext(connection) as gathered:
        run_sheet(five.run.pk, None)
    five.run.stops.filter(visit__isnull=False).exclude(visit=five.visits["Mop"]).delete()
    with CaptureQueriesContext(connection) as fewer:
        run_sheet(five.run.pk, None)
    assert len(gathered) == len(fewer)


def test_no_run_today_names_the_next(signed_in: Client, five: RunOfFive, on_monday: None) -> None:
    shown = page(signed_in, "runs:today")
    assert "No run today" in shown
    assert "The next one is Tuesday 3 March, van Otter, leaving 8:00." in shown


def test_nothing_planned_leads_to_planning(signed_in: Client) -> None:
    shown = page(signed_in, "runs:today")
    assert reverse("round:page") in shown
    assert "No day is planned yet." in shown
    assert reverse("round:page") in page(signed_in, "runs:coming")


def test_coming_runs(signed_in: Client, five: RunOfFive, on_monday: None) -> None:
    shown = page(signed_in, "runs:coming")
    assert "Tuesday 3 March, van Otter" in shown
    assert "5 visits" in shown
    assert list(coming_runs(TUESDAY)) == []


def test_a_groomer_sees_their_own_run_and_the_desk_sees_all(five: RunOfFive, worker: Worker) -> None:
    other = Worker.objects.create(name="Ash Lind", sign_in_name="ash")
    assert runs_of(worker, TUESDAY) == [five.run]
    assert runs_of(other, TUESDAY) == [five.run]  # has no van of their own: keeps the books
    five.van.pk, five.van._state.adding = uuid7(), True
    five.van.groomer = other
    five.van.save()
    assert runs_of(other, TUESDAY) == []


def test_an_empty_run_is_no_dead_end(signed_in: Client, five: RunOfFive, on_tuesday: None) -> None:
    Run.objects.get().stops.all().delete()
    assert "This run has no stops." in page(signed_in, "runs:sheet", five.run.pk)

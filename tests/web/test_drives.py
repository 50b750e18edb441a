"""Drives that happened: from which records, what is left out and why, what they teach, and their page."""

import datetime as dt
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from coatround.core.learn.drives import DriveSeen
from coatround.ids import uuid7
from coatround.web.base.models import Firm, Worker
from coatround.web.rounds import drives_seen as seen
from coatround.web.rounds.models import Run, Stop
from coatround.web.visits.models import Fit, Groom, HandingBack, Visit
from tests.web.run_of_five import TUESDAY, RunOfFive, at, make_run

SYDNEY = ZoneInfo("Australia/Sydney")
WEDNESDAY = TUESDAY + dt.timedelta(days=1)
TIMES = seen.FirmTimes("Australia/Sydney", dt.timedelta(minutes=8), dt.timedelta(minutes=7))


@pytest.fixture
def five(worker: Worker, firm: Firm) -> RunOfFive:
    """Mop 8:15 to 9:45, 20 minutes and 9 km to Biscuit 10:05 to 11:05, 13 to Quill 11:18; later halts; all by estimate.

    Windows told open long before the drives end, so that nobody waits.
    """
    return make_run(worker)


@pytest.fixture
def on_wednesday(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COATROUND_TODAY", WEDNESDAY.isoformat())


def moment(clock: str, date: dt.date = TUESDAY) -> dt.datetime:
    return dt.datetime.combine(date, dt.time(), SYDNEY) + dt.timedelta(seconds=at(clock))


def looked(five: RunOfFive, worker: Worker, dog: str, clock: str, **values: Any) -> Fit:
    given = {"id": uuid7(), "at": moment(clock), "who": worker, "visit": five.visits[dog].pk, "dog": five.dogs[dog]}
    return Fit.objects.create(**{**given, "answer": "go", **values})


def groomed(five: RunOfFive, worker: Worker, dog: str, begun: str, ended: str, **values: Any) -> Groom:
    given = {"id": uuid7(), "at": moment(ended), "who": worker, "visit": five.visits[dog].pk, "dog": five.dogs[dog]}
    clocks = {"date": TUESDAY, "started_at": moment(begun), "ended_at": moment(ended)}
    return Groom.objects.create(**{**given, **clocks, **values})


def handed(five: RunOfFive, worker: Worker, dog: str, clock: str, **values: Any) -> HandingBack:
    visit = five.visits[dog]
    given = {"id": uuid7(), "at": moment(clock), "who": worker, "visit": visit.pk, "household": visit.household}
    return HandingBack.objects.create(**{**given, "price_cents": 9000, "paid": "cash", **values})


def visited(five: RunOfFive, worker: Worker, dog: str, came: str, left: str) -> None:
    """Looked at the door, done, handed back."""
    looked(five, worker, dog, came)
    groomed(five, worker, dog, came, left)
    handed(five, worker, dog, left)


def look(today: dt.date = WEDNESDAY, *, by_road: bool = False) -> seen.DrivesSeen:
    return seen.drives_seen(today, TIMES, by_road=by_road)


def only(found: seen.DrivesSeen) -> DriveSeen:
    assert len(found.drives) == 1, found
    return found.drives[0].seen


def test_from_handing_back_to_the_look_at_the_door(five: RunOfFive, worker: Worker) -> None:
    """Left Mop at 9:45, at Biscuit's door at 10:10: 25 minutes, where 20 were expected."""
    visited(five, worker, "Mop", "8:15", "9:45")
    looked(five, worker, "Biscuit", "10:10")
    found = look()
    assert only(found) == DriveSeen(TUESDAY, 9, 1200, 9000, 1500, by_road=False)
    assert found.drives[0].run == five.run.pk
    assert found.learned.drives == 1
    assert found.left_out == {"unrecorded": 2, "halt": 1}


def test_without_those_the_grooms_and_the_firms_minutes(five: RunOfFive, worker: Worker) -> None:
    """Mop's groom ended 9:36, packed up 9:43; Biscuit's began 10:13, so the van came 10:05: 22 minutes."""
    groomed(five, worker, "Mop", "8:23", "9:36")
    groomed(five, worker, "Biscuit", "10:13", "11:00")
    assert only(look()).seconds_taken == 22 * 60


def test_a_handing_back_that_was_corrected_was_when_it_was(five: RunOfFive, worker: Worker) -> None:
    looked(five, worker, "Mop", "8:15")
    first = handed(five, worker, "Mop", "9:45", corrected=True)
    handed(five, worker, "Mop", "15:00", corrects=first.pk, price_cents=8000)
    looked(five, worker, "Biscuit", "10:10")
    assert only(look()).seconds_taken == 25 * 60


def test_parking_that_was_planned_is_no_drive(five: RunOfFive, worker: Worker) -> None:
    """Four of the 20 minutes planned were for parking: 16 expected, 21 taken."""
    place = five.visits["Biscuit"].place
    place.parking_seconds = 240
    place.save()
    visited(five, worker, "Mop", "8:15", "9:45")
    looked(five, worker, "Biscuit", "10:10")
    assert (only(look()).seconds_expected, only(look()).seconds_taken) == (16 * 60, 21 * 60)


def test_a_refill_or_a_break_between_is_left_out(five: RunOfFive, worker: Worker) -> None:
    visited(five, worker, "Quill", "11:18", "13:00")
    visited(five, worker, "Odette", "14:00", "15:06")
    found = look()
    assert found.drives == ()
    assert found.left_out["halt"] == 1


def test_another_order_than_planned_is_left_out(five: RunOfFive, worker: Worker) -> None:
    """Quill was done between Mop and Biscuit: neither drive is the one that was planned."""
    visited(five, worker, "Mop", "8:15", "9:45")
    visited(five, worker, "Quill", "10:00", "11:00")
    visited(five, worker, "Biscuit", "11:20", "12:00")
    found = look()
    assert found.drives == ()
    assert found.left_out["order"] == 2


def test_another_day_than_planned_is_left_out(five: RunOfFive, worker: Worker) -> None:
    handed(five, worker, "Mop", "9:45", at=moment("9:45", WEDNESDAY))
    looked(five, worker, "Mop", "8:15", at=moment("8:15", WEDNESDAY))
    looked(five, worker, "Biscuit", "10:10", at=moment("10:10", WEDNESDAY))
    assert look().left_out["order"] == 1


def test_written_down_in_the_evening_is_left_out(five: RunOfFive, worker: Worker) -> None:
    """Everything of Mop within nine minutes of the evening, and Biscuit's after it."""
    evening = {"started_at": None, "ended_at": None}
    looked(five, worker, "Mop", "19:00")
    groomed(five, worker, "Mop", "19:00", "19:04", **evening)
    handed(five, worker, "Mop", "19:09")
    looked(five, worker, "Biscuit", "19:20")
    found = look()
    assert found.drives == ()
    assert found.left_out["afterwards"] == 1


@pytest.mark.parametrize(("told", "counts"), [("10:01", False), ("10:00", True)])
def test_a_wait_for_the_window_told_is_left_out(five: RunOfFive, worker: Worker, told: str, counts: bool) -> None:
    """Left at 9:45, three quarters of the 20 minutes are over at 10:00: a door that opens later may make it a wait."""
    visit = five.visits["Biscuit"]
    visit.told_from = moment(told).time()
    visit.save()
    visited(five, worker, "Mop", "8:15", "9:45")
    looked(five, worker, "Biscuit", "10:05")
    found = look()
    assert len(found.drives) == counts
    assert found.left_out.get("waited", 0) == (not counts)


def test_a_planned_wait_is_left_out(five: RunOfFive, worker: Worker) -> None:
    Stop.objects.filter(visit=five.visits["Biscuit"]).update(start_seconds=at("10:30"))
    visited(five, worker, "Mop", "8:15", "9:45")
    looked(five, worker, "Biscuit", "10:30")
    assert look().left_out["waited"] == 1


@pytest.mark.parametrize(("came", "why"), [("9:46", None), ("9:45:59", "short"), ("12:45", None), ("12:46", "long")])
def test_under_a_minute_and_over_three_hours_is_left_out(
    five: RunOfFive, worker: Worker, came: str, why: str | None
) -> None:
    visited(five, worker, "Mop", "8:15", "9:45")
    hours, minutes, *seconds = (int(part) for part in came.split(":"))
    exactly = moment("0:00") + dt.timedelta(hours=hours, minutes=minutes, seconds=sum(seconds))
    looked(five, worker, "Biscuit", "10:10", at=exactly)
    found = look()
    assert len(found.drives) == (why is None)
    if why:
        assert found.left_out[why] == 1


def test_no_drive_to_speak_of_is_left_out(five: RunOfFive, worker: Worker) -> None:
    Stop.objects.filter(visit=five.visits["Biscuit"]).update(drive_seconds=40)
    visited(five, worker, "Mop", "8:15", "9:45")
    looked(five, worker, "Biscuit", "10:10")
    assert look().left_out["near"] == 1


def test_only_the_kind_in_use_teaches(five: RunOfFive, worker: Worker) -> None:
    visited(five, worker, "Mop", "8:15", "9:45")
    looked(five, worker, "Biscuit", "10:10")
    assert look(by_road=True).left_out["other"] == 1
    Stop.objects.filter(visit=five.visits["Biscuit"]).update(by_road=True)
    assert only(look(by_road=True)).by_road
    assert look().left_out["other"] == 1


def test_today_counts_from_tomorrow_and_old_ones_no_longer(five: RunOfFive, worker: Worker) -> None:
    visited(five, worker, "Mop", "8:15", "9:45")
    looked(five, worker, "Biscuit", "10:10")
    assert look(TUESDAY).drives == ()
    assert len(look(TUESDAY + seen.LOOK_BACK).drives) == 1
    assert look(TUESDAY + seen.LOOK_BACK + dt.timedelta(days=1)).drives == ()


def repeat_days(five: RunOfFive, worker: Worker, count: int, first: int = 1) -> None:
    """The drive from Mop to Biscuit on so many days before: 10 to 20 minutes expected, about 1.3 times that taken."""
    mop, biscuit = five.visits["Mop"], five.visits["Biscuit"]
    for number in range(first, first + count):
        expected = (1200, 900, 600)[number % 3]
        date = TUESDAY - dt.timedelta(days=number)
        run = Run.objects.create(
            van=five.van,
            date=date,
            start_place=five.van.home,
            end_place=five.van.home,
            leave_seconds=at("8:00"),
            back_seconds=at("16:45"),
            accepted_at=moment("7:00", date),
        )
        for order, (like, start, end, drive) in enumerate(
            ((mop, "8:15", "9:45", 900), (biscuit, "10:05", "11:05", expected))
        ):
            visit = Visit.objects.create(household=like.household, place=like.place, date=date, van=five.van)
            Stop.objects.create(
                run=run,
                order=order,
                kind="visit",
                visit=visit,
                arrive_seconds=at(start),
                start_seconds=at(start),
                end_seconds=at(end),
                drive_seconds=drive,
                drive_metres=drive * 7,
            )
            taken = dt.timedelta(seconds=expected * (1.3 + (number % 7 - 3) / 100))
            came = moment("9:45", date) + taken if order else moment(start, date)
            Fit.objects.create(id=uuid7(), at=came, who=worker, visit=visit.pk, dog=five.dogs["Mop"], answer="go")
            HandingBack.objects.create(
                id=uuid7(),
                at=moment(end, date),
                who=worker,
                visit=visit.pk,
                household=like.household,
                price_cents=1,
                paid="cash",
            )


def test_enough_drives_are_used(five: RunOfFive, worker: Worker, on_wednesday: None) -> None:
    """40 drives that took 1.27 to 1.33 times what was expected; over the whole day and before noon the same."""
    repeat_days(five, worker, 40)
    learned = seen.learned_now()
    factor = learned.factor("streets", None)
    assert factor.drives == 40
    assert factor.used
    assert factor.median == pytest.approx(1.3, abs=0.03)
    assert learned.factor("streets", 9).median == pytest.approx(factor.median, abs=0.02)


def test_looked_up_once_a_day_and_anew_when_a_record_of_before_comes(
    five: RunOfFive, worker: Worker, on_wednesday: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert seen.learned_now().drives == 0
    with CaptureQueriesContext(
        connection,
    ) as queries:
        seen.learned_now()
    assert len(queries) <= 2
    visited(five, worker, "Mop", "8:15", "9:45")
    looked(five, worker, "Biscuit", "10:10")
    assert seen.learned_now().drives == 1
    monkeypatch.setenv("COATROUND_TODAY", TUESDAY.isoformat())
    assert seen.learned_now().drives == 0


def test_few_queries_however_many_drives(five: RunOfFive, worker: Worker) -> None:
    repeat_days(five, worker, 3)
    with CaptureQueriesContext(connection) as few:
        look()
    repeat_days(five, worker, 5, first=4)
    with CaptureQueriesContext(connection) as many:
        found = look()
    assert len(found.drives) == 8
    assert len(few) == len(many) == 4


def test_the_page_without_any_drive(signed_in: Client, on_wednesday: None) -> None:
    shown = signed_in.get(reverse("runs:drives")).content.decode()
    assert "How long drives really take" in shown
    assert "Too few drives yet: none." in shown
    assert "<svg" not in shown


def test_the_page_with_too_few(signed_in: Client, five: RunOfFive, worker: Worker, on_wednesday: None) -> None:
    visited(five, worker, "Mop", "8:15", "9:45")
    looked(five, worker, "Biscuit", "10:10")
    shown = signed_in.get(reverse("runs:drives")).content.decode()
    assert "Too few drives yet: 1 of 30." in shown
    assert "too few yet" in shown
    assert "A refill or a break came in between." in shown
    assert "no roads are in use" in shown


def test_the_page_with_enough(signed_in: Client, five: RunOfFive, worker: Worker, on_wednesday: None) -> None:
    repeat_days(five, worker, 40)
    shown = signed_in.get(reverse("runs:drives")).content.decode()
    assert "% longer than expected." in shown
    assert "<svg" in shown
    assert "<title" in shown
    assert "<desc" in shown
    assert "?kind=streets&amp;hours=1#drives" in shown


def test_every_number_opens_its_drives(signed_in: Client, five: RunOfFive, worker: Worker, on_wednesday: None) -> None:
    repeat_days(five, worker, 30)
    url = reverse("runs:drives")
    first = signed_in.get(url, {"kind": "streets", "hours": "1"}).content.decode()
    second = signed_in.get(url, {"kind": "streets", "hours": "1", "page": "2"}).content.decode()
    assert first.count("left after 9:00") == 25
    assert second.count("left after 9:00") == 5
    assert "expected 20 min, taken 26 min" in first
    assert "There is none." in signed_in.get(url, {"kind": "open road"}).content.decode()
    for odd in ({"kind": "lane"}, {"kind": "streets", "hours": "99"}, {"kind": "streets", "page": "x"}):
        assert signed_in.get(url, odd).status_code == 200


def test_coming_runs_lead_to_it(signed_in: Client, on_wednesday: None) -> None:
    assert reverse("runs:drives") in signed_in.get(reverse("runs:coming")).content.decode()


def test_a_stranger_does_not_see_it(client: Client, firm: Firm) -> None:
    assert client.get(reverse("runs:drives")).status_code == 302

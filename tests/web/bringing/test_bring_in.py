"""What a file says is written once, in one act, and is there again when the same file comes a second time."""

import datetime as dt
from pathlib import Path

import pytest

from coatround.intake import DatesUnsettled, Outcome, Unreadable, reconcile
from coatround.web.base.changes import undo_last
from coatround.web.base.models import Change, Firm, Worker
from coatround.web.bringing.actions import accept
from coatround.web.bringing.queries import known_households
from coatround.web.records.models import Caution, Dog, Household, Person, Place, PlaceKey, Usual
from coatround.web.visits.models import Visit
from tests.intake.corpus import FILES, read_bytes, read_file

MOP = {
    "Name": "Ada Finch",
    "Phone": "0412 345 601 / 02 5550 1201",
    "Email": "ada@finch.example",
    "Address": "3 Mill Lane",
    "Suburb": "Hollow Ford",
    "Lat": "-33.71",
    "Lon": "150.31",
    "Gate code": "4471",
    "Dog": "Mop",
    "Breed": "Pug",
    "Coat": "short",
    "Born": "2019",
    "Every": "6 weeks",
    "Price": "$85",
    "Last groom": "2026-10-14",
    "Next visit": "2026-12-02",
    "Time": "9:30",
    "Warnings": "bites when nails are done",
}
REX = {"Name": "Ada Finch", "Phone": "0412 345 601", "Dog": "Rex"}
LINES = [list(MOP), list(MOP.values()), [REX.get(heading, "") for heading in MOP]]
TABLE = "\n".join(",".join(line) for line in LINES).encode()


@pytest.fixture
def brought(worker: Worker, firm: Firm) -> Outcome:
    return accept(read_bytes(TABLE), worker)


def test_it_works(brought: Outcome) -> None:
    assert (brought.made, brought.joined, brought.refused) == (1, 1, ())
    household = Household.objects.get()
    assert household.name == "Ada Finch"
    assert sorted(household.people.values_list("phone", flat=True)) == ["+61255501201", "+61412345601"]
    place = Place.objects.get()
    assert (place.line, place.suburb, float(place.lat or 0)) == ("3 Mill Lane", "Hollow Ford", -33.71)
    mop = Dog.objects.get(name="Mop")
    assert (mop.coat, mop.born, mop.last_groomed_before) == ("smooth", dt.date(2019, 1, 1), dt.date(2026, 10, 14))
    assert Caution.objects.get(dog=mop).kind == "bite"


def test_the_usual_is_settled_and_what_was_not_told_says_so(brought: Outcome) -> None:
    mop, rex = Usual.objects.get(dog__name="Mop"), Usual.objects.get(dog__name="Rex")
    assert (mop.interval_weeks, mop.days_early, mop.price_cents) == (6, 7, 8500)
    assert mop.steps.exists()
    assert rex.worked_out.startswith("no interval was told")


def test_a_date_to_come_is_a_window_told(brought: Outcome) -> None:
    visit = Visit.objects.get()
    assert (visit.state, visit.source, visit.date) == ("CONFIRMED", "list", dt.date(2026, 12, 2))
    assert (visit.told_from, visit.told_until) == (dt.time(9, 30), dt.time(10))
    assert [dog.name for dog in visit.dogs.all()] == ["Mop", "Rex"]


def test_a_code_is_kept_as_a_key_and_nowhere_else(brought: Outcome) -> None:
    assert PlaceKey.objects.get().words == "4471"
    assert "4471" not in Household.objects.get().notes + Place.objects.get().gate
    assert not [change for change in Change.objects.all() if "4471" in str(change.new)]


def test_every_change_is_logged_as_one_act_of_the_worker(brought: Outcome, worker: Worker) -> None:
    assert Change.objects.values("batch").distinct().count() == 1
    assert set(Change.objects.values_list("who", flat=True)) == {worker.pk}


def test_one_undo_takes_all_of_it_back(brought: Outcome, worker: Worker) -> None:
    undo_last(worker)
    assert not Household.objects.exists()
    assert not Dog.objects.exists()
    assert not Visit.objects.exists()


def test_a_second_time_adds_only_what_is_new(brought: Outcome, worker: Worker) -> None:
    more = b"Name,Phone,Dog,Breed,Every\nAda Finch,0412 345 601,Rex,Kelpie,8 weeks\nAda Finch,0412 345 601,Fig,,\n"
    outcome = accept(read_bytes(more), worker)
    assert (outcome.made, outcome.joined, outcome.changes) == (0, 2, 1)
    rex = Dog.objects.get(name="Rex")
    assert (rex.breed, Usual.objects.get(dog=rex).interval_weeks) == ("Kelpie", 8)
    assert Dog.objects.count() == 3
    assert Person.objects.count() == 2


def test_open_dates_write_nothing(worker: Worker, firm: Firm) -> None:
    path = next(path for path in FILES if path.name == "dates-unsettled.csv")
    with pytest.raises(DatesUnsettled):
        accept(read_file(path), worker)
    assert not Household.objects.exists()


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_any_file_twice_changes_nothing(path: Path, worker: Worker, firm: Firm) -> None:
    try:
        reading = read_file(path, dates="day-first")
    except Unreadable:
        return
    first = accept(reading, worker)
    logged = Change.objects.count()
    second = accept(reading, worker)
    assert (second.made, second.changes, second.joined) == (0, 0, first.made + first.joined)
    assert Change.objects.count() == logged


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_what_is_there_is_gathered_as_it_was_brought_in(path: Path, worker: Worker, firm: Firm) -> None:
    """All files into one home, whatever stands there already: the sum holds and a preview writes nothing."""
    accept(read_bytes(TABLE), worker)
    try:
        reading = read_file(path, dates="day-first")
    except Unreadable:
        return
    before = Change.objects.count()
    seen = reconcile(reading, known_households())
    assert Change.objects.count() == before
    assert accept(reading, worker).ends == seen.ends
    assert seen.rows == seen.made + seen.joined + len(seen.refused)

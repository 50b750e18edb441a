"""A late run from here and now, and a lost day spread; looked up in the database, and undone."""

import datetime as dt

import pytest
from django.test import Client
from django.urls import reverse

from coatround.web.base.changes import undo_last
from coatround.web.base.models import Firm, Worker
from coatround.web.notes.models import Note
from coatround.web.records.models import Caution, DayOff, Dog
from coatround.web.rounds import actions
from coatround.web.rounds.models import Run, Stop
from coatround.web.rounds.propose import plan_now
from coatround.web.rounds.queries import standing_version
from coatround.web.runs.queries import run_sheet
from coatround.web.runs.sheet import HotHours
from coatround.web.visits.models import Visit
from tests.web.small_town import TODAY, a_town, day
from tests.web.test_undo_round import everything

pytestmark = pytest.mark.django_db
HOUR = 3600


@pytest.fixture(autouse=True)
def today(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COATROUND_TODAY", TODAY.isoformat())


@pytest.fixture
def run(worker: Worker, firm: Firm, monkeypatch: pytest.MonkeyPatch) -> Run:
    """A run with at least three visits, on the day that is today from now on."""
    for dog in a_town(worker):
        dog.grooms.update(date=day(-40))
    proposal = plan_now(day(1), day(14), who=worker, iterations=200)
    actions.accept(proposal, worker, base_version=proposal.base_version)
    longest = max(Run.objects.all(), key=lambda one: one.stops.filter(kind="visit").count())
    monkeypatch.setenv("COATROUND_TODAY", longest.date.isoformat())
    assert longest.stops.filter(kind="visit").count() >= 3
    return longest


def visits_of(run: Run) -> list[Stop]:
    return list(run.stops.filter(kind="visit").select_related("visit"))


def tell(stop: Stop, worker: Worker) -> None:
    """Told a quarter of an hour either side of the planned start."""
    assert stop.visit
    start = stop.start_seconds
    actions.tell(stop.visit, worker, _time(start - 900), _time(start + 900))


def _time(seconds: int) -> dt.time:
    return dt.time(seconds // HOUR, seconds % HOUR // 60)


def test_two_hours_late_names_who_is_outside(run: Run, worker: Worker, signed_in: Client) -> None:
    stops = visits_of(run)
    tell(stops[1], worker)
    free = _time(stops[0].start_seconds + 2 * HOUR)
    page = signed_in.get(reverse("runs:now", args=[run.pk]), {"at": 0, "free": free.strftime("%H:%M")})
    words = page.content.decode()
    assert page.status_code == 200
    assert "Push on" in words
    assert "too late" in words


def test_pushing_on_writes_the_new_times_and_drafts_the_note(run: Run, worker: Worker, signed_in: Client) -> None:
    stops = visits_of(run)
    tell(stops[1], worker)
    before = everything()
    free = _time(stops[0].start_seconds + 2 * HOUR).strftime("%H:%M")
    asked = {"at": 0, "free": free, "way": "push on", "base_version": standing_version()}
    answer = signed_in.post(reverse("runs:take", args=[run.pk]), asked)
    assert answer.status_code == 302
    after = visits_of(Run.objects.get(pk=run.pk))
    assert [stop.visit_id for stop in after] == [stop.visit_id for stop in stops]
    assert after[0].start_seconds >= stops[0].start_seconds + 2 * HOUR
    note = Note.objects.get()
    assert (note.visit_id, note.about, note.state) == (stops[1].visit_id, "new time", "DRAFT")
    undo_last(worker)
    assert everything() == before
    assert not Note.objects.exists()


def test_what_is_behind_stays_as_it_was(run: Run, worker: Worker, signed_in: Client) -> None:
    """After the first stop, an hour late: its times stay, those after it move."""
    stops = visits_of(run)
    free = _time(stops[0].end_seconds + HOUR).strftime("%H:%M")
    asked = {"at": 1, "free": free, "way": "push on", "base_version": standing_version()}
    signed_in.post(reverse("runs:take", args=[run.pk]), asked)
    after = visits_of(Run.objects.get(pk=run.pk))
    assert (after[0].visit_id, after[0].start_seconds) == (stops[0].visit_id, stops[0].start_seconds)
    assert after[1].arrive_seconds >= stops[0].end_seconds + HOUR
    orders = list(Stop.objects.filter(run=run).values_list("order", flat=True))
    assert orders == list(range(len(orders)))


def test_a_stale_page_or_an_unknown_way_changes_nothing(run: Run, worker: Worker, signed_in: Client) -> None:
    before = everything()
    for asked in (
        {"at": 0, "free": "10:00", "way": "push on", "base_version": 99},
        {"at": 0, "free": "10:00", "way": "fly", "base_version": standing_version()},
        {"at": 77, "free": "x", "way": "push on", "base_version": standing_version()},
        {},
    ):
        assert signed_in.post(reverse("runs:take", args=[run.pk]), asked, follow=True).status_code == 200
    assert everything() == before


def test_a_lost_day_is_looked_at_before_anything_is_done(run: Run, worker: Worker, signed_in: Client) -> None:
    before = everything()
    page = signed_in.get(reverse("runs:lost", args=[run.pk])).content.decode()
    assert "Who can wait least comes first" in page
    assert everything() == before
    assert not DayOff.objects.exists()


def test_a_lost_day_is_spread_in_one_step_and_undone_in_one(run: Run, worker: Worker, signed_in: Client) -> None:
    stops = visits_of(run)
    tell(stops[0], worker)
    before, lost = everything(), run.date
    asked = {"why": "sick", "last": lost.isoformat(), "base_version": standing_version()}
    answer = signed_in.post(reverse("runs:lost", args=[run.pk]), asked)
    assert answer.status_code == 302
    assert not Run.objects.filter(date=lost).exists()
    assert DayOff.objects.get().first == lost
    moved = Visit.objects.filter(pk__in=[stop.visit_id for stop in stops])
    assert {visit.state for visit in moved} == {"TENTATIVE"}
    placed = [visit for visit in moved if visit.stops.exists()]
    assert placed
    assert all(visit.date > lost and visit.date.weekday() < 5 for visit in placed)
    assert Note.objects.filter(state="DRAFT").count() == len(stops)
    undo_last(worker)
    assert everything() == before
    assert not DayOff.objects.exists()
    assert not Note.objects.exists()


def test_who_has_a_sore_skin_can_wait_least_and_it_is_said(run: Run, signed_in: Client) -> None:
    last = visits_of(run)[-1].visit
    assert last
    dog = last.visit_dogs.get().dog
    Caution.objects.create(dog=dog, kind="skin", words="hot spot on the flank")
    page = signed_in.get(reverse("runs:lost", args=[run.pk])).content.decode()
    assert "caution: skin" in page
    assert "can wait until" in page
    others = [stop.visit.visit_dogs.get().dog.name for stop in visits_of(run)[:-1] if stop.visit]
    assert all(page.index(f"{dog.name}") < page.index(name) for name in others)


def test_the_sheet_says_when_the_groomer_is_likely_there(
    run: Run, signed_in: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The planned start lies in the window of four days of five, for every visit still to do."""
    monkeypatch.setenv("COATROUND_TODAY", (run.date - dt.timedelta(days=1)).isoformat())
    sheet = run_sheet(run.pk, None)
    for stop in sheet.stops:
        if stop.kind == "visit":
            assert stop.likely
            assert stop.likely[0] <= stop.now.start + 60
            assert stop.likely[1] >= stop.now.start
    page = signed_in.get(reverse("runs:sheet", args=[run.pk])).content.decode()
    assert page.count("On 4 of 5 days you are there between") == len(visits_of(run))


def test_a_day_that_ends_before_it_begins_keeps_what_was_typed(run: Run, signed_in: Client) -> None:
    early = (run.date - dt.timedelta(days=1)).isoformat()
    answer = signed_in.post(reverse("runs:lost", args=[run.pk]), {"why": "storm", "last": early})
    assert answer.status_code == 422
    assert early in answer.content.decode()


def test_the_sheet_of_today_leads_there(run: Run, town_dogs: None, signed_in: Client) -> None:
    page = signed_in.get(reverse("runs:sheet", args=[run.pk])).content.decode()
    assert reverse("runs:now", args=[run.pk]) in page
    assert reverse("runs:lost", args=[run.pk]) in page


@pytest.fixture
def town_dogs(run: Run) -> None:
    assert Dog.objects.exists()


def test_a_run_in_the_heat_says_whose_hours_are_closed(
    run: Run, firm: Firm, signed_in: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    """March is hot here from nine to five: the pug's planned start lies in it, so the ribbon and the sheet say so."""
    monkeypatch.setenv("COATROUND_TODAY", (run.date - dt.timedelta(days=1)).isoformat())
    firm.hot_months, firm.hot_from = [3], dt.time(9)
    firm.save()
    last = visits_of(run)[-1].visit
    assert last
    dog = last.visit_dogs.get().dog
    assert run_sheet(run.pk, None).hot is None
    Caution.objects.create(dog=dog, kind="airway", words="cool dryer only")
    sheet = run_sheet(run.pk, None)
    assert sheet.hot == HotHours(9 * HOUR, 17 * HOUR, (dog.name,))
    assert [stop.visit for stop in sheet.in_heat] == [last.pk]
    page = signed_in.get(reverse("runs:sheet", args=[run.pk])).content.decode()
    assert f"closed to {dog.name}" in page
    assert "ring a vet" in page
    firm.hot_months = [1]
    firm.save()
    assert run_sheet(run.pk, None).hot is None

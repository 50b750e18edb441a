"""Who must be told what after a plan is accepted: listed, drafted by one tap, and told once it is sent."""

import datetime as dt

import pytest
from django.test import Client
from django.urls import reverse

from coatround.web.base.changes import undo_last
from coatround.web.base.models import Firm, Worker
from coatround.web.due.facts import seconds_of
from coatround.web.notes.models import Note
from coatround.web.records.models import Dog
from coatround.web.rounds import actions
from coatround.web.rounds.models import Stop
from coatround.web.rounds.propose import plan_now
from coatround.web.visits.models import Visit
from tests.web.small_town import TODAY, a_town, day

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def today(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COATROUND_TODAY", TODAY.isoformat())


@pytest.fixture
def town(worker: Worker, firm: Firm) -> list[Dog]:
    """Six dogs on runs of the coming two weeks, nobody told."""
    dogs = a_town(worker)
    proposal = plan_now(day(1), day(14), who=worker, iterations=100)
    actions.accept(proposal, worker, base_version=proposal.base_version)
    return dogs


def test_everyone_is_listed_drafted_by_one_tap_and_taken_back_by_one(
    town: list[Dog], worker: Worker, signed_in: Client
) -> None:
    page = signed_in.get(reverse("round:to-tell"), {"days": 14})
    assert len(page.context["rows"]) == 6
    assert "Draft 6 notes" in page.content.decode()
    answer = signed_in.post(reverse("round:to-tell"), {"days": 14}, follow=True)
    assert "6 notes are drafted" in answer.content.decode()
    stops = {stop.visit_id: stop for stop in Stop.objects.filter(kind="visit")}
    for note in Note.objects.all():
        start = stops[note.visit_id].start_seconds
        from_, until = seconds_of(note.told_from), seconds_of(note.told_until)
        assert from_ is not None
        assert until is not None
        assert from_ <= start <= until
        assert from_ % 900 == until % 900 == 0
        assert f"{note.told_from:%-H:%M}" in note.words
    assert not Visit.objects.filter(state="CONFIRMED").exists()
    page = signed_in.get(reverse("round:to-tell"), {"days": 14})
    assert page.context["drafts"] == 0
    assert "A note is drafted" in page.content.decode()
    undo_last(worker)
    assert not Note.objects.exists()


def test_once_sent_they_are_told_what_was_written(town: list[Dog], worker: Worker, signed_in: Client) -> None:
    signed_in.post(reverse("round:to-tell"), {"days": 14})
    note = Note.objects.earliest("made_at")
    address = reverse("notes:settled", args=[note.pk])
    wrong = signed_in.post(address, {"words": "See you.", "told_from": "10:00", "told_until": "09:00"})
    assert wrong.status_code == 422
    assert "is before 10:00" in wrong.content.decode()
    words = signed_in.post(
        address, {"words": "See you at nine.", "told_from": "09:00", "told_until": "09:30"}, follow=True
    )
    assert "as told" in words.content.decode()
    visit = Visit.objects.get(pk=note.visit_id)
    assert (visit.state, visit.told_from, visit.told_until) == ("CONFIRMED", dt.time(9), dt.time(9, 30))
    assert len(signed_in.get(reverse("round:to-tell"), {"days": 14}).context["rows"]) in (5, 6)
    undo_last(worker)
    visit.refresh_from_db()
    note.refresh_from_db()
    assert (visit.state, note.state) == ("TENTATIVE", "DRAFT")


def test_a_note_about_another_day_tells_nothing(town: list[Dog], worker: Worker, signed_in: Client) -> None:
    """The visit was moved after the note was drafted: sent all the same, it is kept, and promises nothing."""
    signed_in.post(reverse("round:to-tell"), {"days": 14})
    note = Note.objects.earliest("made_at")
    Visit.objects.filter(pk=note.visit_id).update(date=day(20))
    typed = {"words": note.words, "told_from": f"{note.told_from:%H:%M}", "told_until": f"{note.told_until:%H:%M}"}
    signed_in.post(reverse("notes:settled", args=[note.pk]), typed)
    note.refresh_from_db()
    assert note.state == "FINAL"
    assert Visit.objects.get(pk=note.visit_id).state == "TENTATIVE"


def test_a_time_told_that_the_run_misses_is_listed_with_what_was_told(
    town: list[Dog], worker: Worker, signed_in: Client
) -> None:
    stop = Stop.objects.select_related("visit").filter(kind="visit").earliest("run__date", "order")
    assert stop.visit
    actions.tell(stop.visit, worker, dt.time(16), dt.time(16, 30))
    page = signed_in.get(reverse("round:to-tell"), {"days": 14}).content.decode()
    assert "They were told 16:00-16:30, and the run does not keep it." in page
    hour = dt.time(stop.start_seconds // 3600, stop.start_seconds % 3600 // 60)
    actions.tell(stop.visit, worker, hour, dt.time(hour.hour, 59))
    assert len(signed_in.get(reverse("round:to-tell"), {"days": 14}).context["rows"]) == 5

"""What a phone holds: the next three runs of its groomer, today's keys, and no more."""

import datetime as dt

import pytest
from django.test import Client
from django.urls import reverse

from coatround.web.base.models import Worker
from coatround.web.records.models import KeyLook, PlaceKey
from coatround.web.rounds.models import Run
from tests.web.run_of_five import CODE, TUESDAY, RunOfFive, make_run

pytestmark = pytest.mark.django_db


@pytest.fixture
def five(signed_in: Client, worker: Worker, monkeypatch: pytest.MonkeyPatch) -> RunOfFive:
    monkeypatch.setenv("COATROUND_TODAY", TUESDAY.isoformat())
    return make_run(worker)


def a_run(five: RunOfFive, days: int) -> Run:
    run = five.run
    return Run.objects.create(
        van=five.van,
        date=run.date + dt.timedelta(days=days),
        start_place=run.start_place,
        end_place=run.end_place,
        leave_seconds=run.leave_seconds,
        back_seconds=run.back_seconds,
        accepted_at=run.accepted_at,
    )


def test_three_runs_and_every_page_of_their_visits(signed_in: Client, five: RunOfFive) -> None:
    runs = [five.run, *(a_run(five, days) for days in (1, 3, 8))]
    a_run(five, -1)
    told = signed_in.get(reverse("phone:to-hold")).json()
    assert [run["id"] for run in told["runs"]] == [str(run.pk) for run in runs[:3]]
    assert reverse("phone:stop") in told["pages"]
    assert reverse("runs:sheet", args=[runs[3].pk]) not in told["pages"]
    biscuit = five.visits["Biscuit"].pk
    for name in ("visit", "door", "handing-back", "openings", "incident", "called-off"):
        assert reverse(f"phone:{name}", args=[biscuit]) in told["pages"]
    assert reverse("phone:groom", args=[biscuit, five.dogs["Biscuit"].pk]) in told["pages"]
    assert reverse("phone:lost", args=[five.dogs["Biscuit"].pk]) in told["pages"]
    for page in told["pages"]:
        answer = signed_in.get(page, headers={"X-Held": "yes"})
        assert answer.status_code == 200, page
        assert CODE not in answer.content.decode()


def test_keys_are_given_for_today_only_and_it_is_written_down_once(
    signed_in: Client, five: RunOfFive, monkeypatch: pytest.MonkeyPatch
) -> None:
    place = str(five.visits["Biscuit"].place_id)
    for _ in range(2):
        told = signed_in.post(reverse("phone:keys-today")).json()
        assert told == {"date": TUESDAY.isoformat(), "places": {place: [CODE]}}
    assert list(KeyLook.objects.values_list("how", flat=True)) == ["given"]
    monkeypatch.setenv("COATROUND_TODAY", (TUESDAY - dt.timedelta(days=1)).isoformat())
    assert signed_in.post(reverse("phone:keys-today")).json()["places"] == {}
    assert PlaceKey.objects.count() == 1


def test_a_held_page_does_not_swallow_what_is_said_to_a_person(signed_in: Client, five: RunOfFive) -> None:
    signed_in.post(reverse("undo"))  # says something on the next page
    held = signed_in.get(reverse("phone:waiting"), headers={"X-Held": "yes"}).content.decode()
    seen = signed_in.get(reverse("phone:waiting")).content.decode()
    assert 'class="said"' not in held
    assert 'class="said"' in seen

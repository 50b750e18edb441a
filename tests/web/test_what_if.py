"""What if: planned beside things as they are, nothing changed by looking; made so, and undone."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from coatround.web.base.changes import undo_last
from coatround.web.base.models import Change, Firm, Worker
from coatround.web.records.models import Dog, Usual, Van, WorkingHours
from coatround.web.rounds import actions, what_if
from coatround.web.rounds.models import Proposal, Run
from coatround.web.rounds.propose import Pulse, plan_into, plan_now
from coatround.web.rounds.queries import open_proposal
from coatround.web.rounds.supposed import Supposed
from tests.web.small_town import TODAY, a_town, day
from tests.web.test_undo_round import everything

pytestmark = pytest.mark.django_db

PLAIN: dict[str, Any] = {"weekday": 0, "coat": "", "weeks": 1, "percent": 10, "dogs": 4}


@pytest.fixture(autouse=True)
def today(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COATROUND_TODAY", TODAY.isoformat())
    monkeypatch.setattr(what_if, "start", lambda one: plan_into(one, Pulse(iterations=150)))


@pytest.fixture
def town(worker: Worker, firm: Firm) -> list[Dog]:
    dogs = a_town(worker)
    proposal = plan_now(day(1), day(28), who=worker, iterations=150)
    actions.accept(proposal, worker, base_version=proposal.base_version)
    return dogs


def asked(signed_in: Client, kind: str, **values: Any) -> Proposal:
    answer = signed_in.post(reverse("round:what-ifs"), PLAIN | {"kind": kind} | values)
    assert answer.status_code == 302
    newest = Proposal.objects.exclude(supposed={}).filter(supposed__isnull=False).order_by("-made_at").first()
    assert newest is not None
    assert newest.state == "ready"
    return newest


def facts() -> dict[str, Any]:
    return everything() | {
        "hours": list(WorkingHours.objects.order_by("pk").values()),
        "usuals": list(Usual.objects.order_by("pk").values()),
        "vans": list(Van.objects.values()),
        "changes": Change.objects.count(),
    }


@pytest.mark.parametrize("kind", ["weekday", "weeks", "percent", "second_van", "suburb"])
def test_looking_changes_nothing(kind: str, town: list[Dog], signed_in: Client) -> None:
    before = facts()
    asked(signed_in, kind, suburb="Hollow Ford")
    page = signed_in.get(reverse("round:what-ifs"))
    assert page.status_code == 200
    assert "Side by side" in page.content.decode()
    assert "as things are" in page.content.decode()
    assert facts() == before
    assert open_proposal() is None or open_proposal() != Proposal.objects.filter(supposed__isnull=False).first()


def test_nobody_goes_out_on_the_weekday_that_is_off(town: list[Dog], signed_in: Client) -> None:
    proposal = asked(signed_in, "weekday", weekday=2)
    assert proposal.problem is not None
    assert all(day(0).fromisoformat(run["date"]).weekday() != 2 for run in proposal.problem["runs"])


def test_a_longer_interval_is_fewer_visits_and_a_suburb_more(town: list[Dog], signed_in: Client) -> None:
    """Six dogs due in the first week: with eight weeks more none falls due; five dogs of a suburb come on top."""
    base = sum(len(run["stops"]) for run in asked(signed_in, "percent").plan["runs"])  # type: ignore[index]
    more = asked(signed_in, "suburb", suburb="Hollow Ford", dogs=5)
    assert more.plan is not None
    assert len({stop["visit"] for run in more.plan["runs"] for stop in run["stops"] if "visit" in stop}) > 6
    fewer = asked(signed_in, "weeks", weeks=8)
    assert fewer.plan is not None
    assert sum(len(run["stops"]) for run in fewer.plan["runs"]) < base


def test_a_second_van_has_runs_of_its_own(town: list[Dog], signed_in: Client) -> None:
    proposal = asked(signed_in, "second_van")
    assert proposal.problem is not None
    assert len({run["van"] for run in proposal.problem["runs"]}) == 2
    assert Van.objects.count() == 1


def test_a_weekday_off_is_made_so_accepted_and_undone(town: list[Dog], worker: Worker, signed_in: Client) -> None:
    proposal = asked(signed_in, "weekday", weekday=2)
    signed_in.post(reverse("round:what-if-take", args=[proposal.pk]))
    assert not WorkingHours.objects.filter(weekday=2).exists()
    waiting = open_proposal()
    assert waiting is not None
    assert waiting.pk == proposal.pk
    actions.accept(waiting, worker, base_version=waiting.base_version)
    assert all(run.date.weekday() != 2 for run in Run.objects.filter(date__gte=day(1)))
    undo_last(worker)
    undo_last(worker)
    assert WorkingHours.objects.filter(weekday=2).exists()


def test_a_price_is_made_so_for_its_coat(town: list[Dog], signed_in: Client) -> None:
    proposal = asked(signed_in, "percent", percent=10, coat="curly")
    signed_in.post(reverse("round:what-if-take", args=[proposal.pk]))
    assert set(Usual.objects.values_list("price_cents", flat=True)) == {9350}


@pytest.mark.parametrize(
    "wrong",
    [{"kind": "weeks", "weeks": 0}, {"kind": "percent", "percent": 900}, {"kind": "suburb", "suburb": "Nowhere"}, {}],
)
def test_what_cannot_be_is_said_and_kept(wrong: dict[str, Any], town: list[Dog], signed_in: Client) -> None:
    answer = signed_in.post(reverse("round:what-ifs"), PLAIN | {"dogs": 17} | wrong)
    assert answer.status_code == 422
    assert "17" in answer.content.decode()
    assert not Proposal.objects.filter(supposed__isnull=False).exists()


def test_what_is_kept_comes_back_the_same() -> None:
    for one in (Supposed(), Supposed(weekday=0), Supposed(coat="curly", weeks=-1), Supposed(second_van=True)):
        assert Supposed.of(one.values()) == one

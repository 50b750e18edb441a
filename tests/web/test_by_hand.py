"""Why a visit is where it is; moved and kept by hand, in the plan that stands and in a new one."""

import datetime as dt

import pytest
from django.test import Client
from django.urls import reverse

from coatround.web.base.changes import undo_last
from coatround.web.base.models import Firm, Worker
from coatround.web.records.models import Dog
from coatround.web.rounds import actions
from coatround.web.rounds.in_hand import in_hand_standing
from coatround.web.rounds.models import Proposal, Run, Stop
from coatround.web.rounds.propose import plan_now
from coatround.web.rounds.queries import standing_version
from coatround.web.visits.models import Visit
from tests.web.small_town import TODAY, a_town, day
from tests.web.test_undo_round import everything

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def today(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COATROUND_TODAY", TODAY.isoformat())


@pytest.fixture
def town(worker: Worker, firm: Firm) -> list[Dog]:
    """Six dogs, three of them due on the same day, so that one run has several visits."""
    dogs = a_town(worker)
    for dog in dogs:
        dog.grooms.update(date=day(-40))
    return dogs


def planned(worker: Worker) -> Proposal:
    return plan_now(day(1), day(14), who=worker, iterations=200)


def accepted(worker: Worker) -> Proposal:
    proposal = planned(worker)
    actions.accept(proposal, worker, base_version=proposal.base_version)
    return proposal


def longest() -> Run:
    return max(Run.objects.all(), key=lambda run: run.stops.filter(kind="visit").count())


def order_of(run: Run) -> list[str]:
    return [str(stop.visit_id) for stop in run.stops.filter(kind="visit")]


def test_the_plan_that_stands_is_in_hand_as_it_stands(town: list[Dog], worker: Worker) -> None:
    proposal = accepted(worker)
    hand = in_hand_standing(day(1), day(14), today=TODAY)
    assert proposal.plan is not None
    assert {run.visit_ids for run in hand.plan.runs} == {tuple(order_of(run)) for run in Run.objects.all()}
    assert hand.plan.cost.drive == proposal.plan["cost"]["drive"]


def test_the_page_says_why_and_offers_every_day(town: list[Dog], worker: Worker, signed_in: Client) -> None:
    accepted(worker)
    visit = Visit.objects.order_by("date", "pk").first()
    assert visit
    page = signed_in.get(reverse("round:why", args=[visit.pk])).content.decode()
    assert "Why " in page
    assert "as it is" in page
    assert page.count("Put it here") >= 5


def test_a_visit_goes_later_in_its_run_and_back(town: list[Dog], worker: Worker, signed_in: Client) -> None:
    accepted(worker)
    run = longest()
    before, rows = order_of(run), everything()
    assert len(before) > 1
    wanted = [before[1], before[0], *before[2:]]
    asked = {"run": f"{run.van_id}:{run.date}", "order": ",".join(wanted), "base_version": standing_version()}
    answer = signed_in.post(reverse("round:move", args=[before[0]]), asked, follow=True)
    assert answer.status_code == 200
    assert order_of(longest()) == wanted
    undo_last(worker)
    assert everything() == rows


def test_a_move_to_a_day_that_breaks_is_done_and_said(town: list[Dog], worker: Worker, signed_in: Client) -> None:
    """Told 9:00 to 9:30, then moved by hand to another day: done, said, and only pencilled in from then on."""
    accepted(worker)
    visit = Visit.objects.order_by("date", "pk").first()
    assert visit
    stop = Stop.objects.get(visit=visit)
    actions.tell(visit, worker, dt.time(stop.start_seconds // 3600), dt.time(stop.start_seconds // 3600 + 1))
    page = signed_in.get(reverse("round:why", args=[visit.pk])).content.decode()
    assert "were told another day" in page
    other = visit.date + dt.timedelta(days=1 if visit.date.weekday() < 4 else 3)
    there = Run.objects.filter(date=other).first()
    order = [*(order_of(there) if there else []), str(visit.pk)]
    asked = {"run": f"{visit.van_id}:{other}", "order": ",".join(order), "base_version": standing_version()}
    page = signed_in.post(reverse("round:move", args=[visit.pk]), asked, follow=True).content.decode()
    assert "moved to" in page
    assert "were told another day" in page
    visit.refresh_from_db()
    assert (visit.date, visit.state, visit.told_from) == (other, "TENTATIVE", None)
    undo_last(worker)
    visit.refresh_from_db()
    assert visit.state == "CONFIRMED"
    assert visit.date == stop.run.date


def test_what_is_kept_here_stays_when_planned_again(town: list[Dog], worker: Worker, signed_in: Client) -> None:
    """A visit put on the farthest day it has not, and kept there, is there after planning again."""
    accepted(worker)
    visit = Visit.objects.order_by("date", "pk").first()
    assert visit
    other = day(11)
    there = Run.objects.filter(date=other).first()
    order = [*(order_of(there) if there else []), str(visit.pk)]
    asked = {"run": f"{visit.van_id}:{other}", "order": ",".join(order), "base_version": standing_version()}
    signed_in.post(reverse("round:move", args=[visit.pk]), asked)
    signed_in.post(reverse("round:pin", args=[visit.pk]), {"pinned": "yes"})
    visit.refresh_from_db()
    start = visit.stops.get().start_seconds
    assert visit.pinned_seconds == start
    accepted(worker)
    visit.refresh_from_db()
    assert visit.date == other
    assert abs(visit.stops.get().start_seconds - start) <= 15 * 60
    signed_in.post(reverse("round:pin", args=[visit.pk]), {})
    visit.refresh_from_db()
    assert not visit.is_pinned


def test_a_new_plan_is_changed_by_hand_and_accepted_with_its_pin(
    town: list[Dog], worker: Worker, signed_in: Client
) -> None:
    proposal = planned(worker)
    assert proposal.plan is not None
    run = max(proposal.plan["runs"], key=lambda one: len(one["stops"]))
    before = [stop["visit"] for stop in run["stops"] if "visit" in stop]
    visit = before[0]
    move = reverse("round:move-proposed", args=[proposal.pk, visit])
    assert "Why " in signed_in.get(reverse("round:why-proposed", args=[proposal.pk, visit])).content.decode()
    signed_in.post(move, {"run": run["id"], "order": ",".join([*before[1:], visit])})
    signed_in.post(reverse("round:pin-proposed", args=[proposal.pk, visit]), {"pinned": "yes"})
    proposal.refresh_from_db()
    assert proposal.plan is not None
    now = next(one for one in proposal.plan["runs"] if one["id"] == run["id"])
    assert [stop["visit"] for stop in now["stops"] if "visit" in stop][-1] == visit
    signed_in.post(move, {"take_back": "yes"})
    proposal.refresh_from_db()
    assert proposal.plan is not None
    again = next(one for one in proposal.plan["runs"] if one["id"] == run["id"])
    assert again == run
    signed_in.post(reverse("round:pin-proposed", args=[proposal.pk, visit]), {"pinned": "yes"})
    proposal.refresh_from_db()
    actions.accept(proposal, worker, base_version=proposal.base_version)
    assert Visit.objects.filter(pinned_seconds__isnull=False).count() == 1


def test_a_new_plan_that_breaks_by_hand_is_accepted_only_although(
    town: list[Dog], worker: Worker, signed_in: Client
) -> None:
    proposal = planned(worker)
    hand_day = f"{proposal.problem['runs'][-1]['id']}" if proposal.problem else ""
    assert proposal.plan is not None
    visit = proposal.plan["runs"][0]["stops"][0]["visit"]
    signed_in.post(reverse("round:move-proposed", args=[proposal.pk, visit]), {"run": hand_day, "order": visit})
    page = signed_in.get(reverse("round:page")).content.decode()
    assert "By hand, and this breaks" in page
    proposal.refresh_from_db()
    with pytest.raises(actions.PlanBreaks):
        actions.accept(proposal, worker, base_version=proposal.base_version)
    signed_in.post(
        reverse("round:accept", args=[proposal.pk]), {"base_version": proposal.base_version, "although": "yes"}
    )
    assert Visit.objects.filter(date=dt.date.fromisoformat(hand_day.rsplit(":", 1)[1])).exists()


@pytest.mark.parametrize("asked", [{}, {"run": "x", "order": "y"}, {"run": "", "order": ",,"}])
def test_nonsense_moves_nothing(asked: dict[str, str], town: list[Dog], worker: Worker, signed_in: Client) -> None:
    accepted(worker)
    rows = everything()
    visit = Visit.objects.order_by("pk").first()
    assert visit
    answer = signed_in.post(
        reverse("round:move", args=[visit.pk]), asked | {"base_version": standing_version()}, follow=True
    )
    assert answer.status_code == 200
    assert everything() == rows

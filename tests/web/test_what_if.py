"""What if: planned beside things as they are, nothing changed by looking; made so, and undone."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from coatround.web.base.changes import undo_last
from coatround.web.base.models import Change, Firm, Worker
from coatround.web.records.models import Dog, RoutineStep, Usual, Van, WorkingHours
from coatround.web.rounds import actions, what_if
from coatround.web.rounds.models import Proposal, Run
from coatround.web.rounds.propose import Pulse, plan_into, plan_now
from coatround.web.rounds.queries import open_proposal
from coatround.web.rounds.supposed import Supposed
from coatround.web.rounds.what_if_beside import beside, what_ifs
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


def test_what_would_be_written_is_listed_first(town: list[Dog], signed_in: Client) -> None:
    proposal = asked(signed_in, "percent", percent=10, coat="curly")
    before = facts()
    words = signed_in.get(reverse("round:what-if-take", args=[proposal.pk])).content.decode()
    assert "6 changes would be written down" in words
    assert "93.50" in words
    assert "85.00" in words
    assert "Mop" in words
    assert facts() == before


def test_a_price_is_made_so_from_today_and_undone(town: list[Dog], worker: Worker, signed_in: Client) -> None:
    """85.00 and ten percent are 93.50 from today; until yesterday it was 85.00, with the same routine."""
    RoutineStep.objects.create(usual=town[0].usuals.get(), order=0, step="nails", words="hind feet last")
    before = facts()
    proposal = asked(signed_in, "percent", percent=10, coat="curly")
    signed_in.post(reverse("round:what-if-take", args=[proposal.pk]))
    for dog in town:
        old, new = dog.usuals.order_by("valid_from")
        assert (old.price_cents, old.valid_until) == (8500, day(-1))
        assert (new.price_cents, new.valid_from, new.valid_until) == (9350, TODAY, None)
        assert (new.interval_weeks, new.work_seconds) == (old.interval_weeks, old.work_seconds)
    steps = town[0].usuals.order_by("valid_from").last().steps  # type: ignore[union-attr]
    assert list(steps.values_list("step", "words")) == [("nails", "hind feet last")]
    undo_last(worker)
    assert facts() | {"changes": 0} == before | {"changes": 0}
    assert RoutineStep.objects.count() == 1


def test_what_has_not_begun_is_changed_itself_and_other_coats_stay(town: list[Dog], signed_in: Client) -> None:
    """Mop's new price of 90.00 from the tenth day on becomes 99.00; until then 93.50. Biscuit is no curly dog."""
    first = town[0].usuals.get()
    first.valid_until = day(9)
    first.save()
    Usual.objects.create(dog=town[0], valid_from=day(10), interval_weeks=6, price_cents=9000)
    Dog.objects.filter(pk=town[1].pk).update(coat="wire")
    proposal = asked(signed_in, "percent", percent=10, coat="curly")
    signed_in.post(reverse("round:what-if-take", args=[proposal.pk]))
    rows = town[0].usuals.order_by("valid_from").values_list("price_cents", "valid_from", "valid_until")
    assert list(rows) == [(8500, day(-300), day(-1)), (9350, TODAY, day(9)), (9900, day(10), None)]
    assert list(town[1].usuals.values_list("price_cents", "valid_until")) == [(8500, None)]


def test_an_interval_is_never_less_than_a_week(town: list[Dog], signed_in: Client) -> None:
    proposal = asked(signed_in, "weeks", weeks=-8)
    signed_in.post(reverse("round:what-if-take", args=[proposal.pk]))
    assert set(Usual.objects.filter(valid_until__isnull=True).values_list("interval_weeks", flat=True)) == {1}


@pytest.mark.parametrize("kind", ["second_van", "suburb"])
def test_what_is_only_supposed_never_becomes_the_new_plan(kind: str, town: list[Dog], signed_in: Client) -> None:
    proposal = asked(signed_in, kind, suburb="Hollow Ford")
    before = facts()
    answer = signed_in.post(reverse("round:what-if-take", args=[proposal.pk]), follow=True)
    assert "entered by hand" in answer.content.decode()
    proposal.refresh_from_db()
    assert proposal.supposed
    assert open_proposal() is None
    assert facts() == before


def test_a_what_if_of_another_plan_is_marked_and_not_made_so(
    town: list[Dog], worker: Worker, signed_in: Client
) -> None:
    """Another plan stands since: the old what-if is older, and things as they are get planned anew beside the next."""
    older = asked(signed_in, "weekday", weekday=2)
    assert "older" not in signed_in.get(reverse("round:what-ifs")).content.decode()
    proposal = plan_now(day(1), day(28), who=worker, iterations=50, seed=2)
    actions.accept(proposal, worker, base_version=proposal.base_version)
    assert ">older<" in signed_in.get(reverse("round:what-ifs")).content.decode()
    signed_in.post(reverse("round:what-if-take", args=[older.pk]))
    assert WorkingHours.objects.filter(weekday=2).exists()
    asked(signed_in, "percent")
    base = Proposal.objects.get(supposed={}, state="ready")
    assert base.base_version == older.base_version + 1
    columns = beside([one for one in what_ifs() if one.state == "ready"])
    assert [column.is_older for column in columns] == [False, True, False]


def test_a_bar_is_as_long_as_its_figure(town: list[Dog], signed_in: Client) -> None:
    """Six dogs at 85.00 earn 510.00, and 561.00 with ten percent more: bars of 91 and 100."""
    asked(signed_in, "percent", percent=10)
    earned = [column.cells[8] for column in beside([one for one in what_ifs() if one.state == "ready"])]
    assert [cell.width for cell in earned] == [91, 100]
    assert "510.00" in earned[0].words
    assert "561.00" in earned[1].words


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

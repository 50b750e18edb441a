"""A rush: regulars first, minutes held back from new callers, and the waiting list; looked up in the database."""

import datetime as dt

import pytest
from django.test import Client
from django.urls import reverse

from coatround.web.base.changes import undo_last
from coatround.web.base.models import Firm, Worker
from coatround.web.desk.erasing import erase_household
from coatround.web.due.queries import due_visits
from coatround.web.records.models import Dog, Household, Rush, Van
from coatround.web.rounds import actions
from coatround.web.rounds.caller import Wanted, is_regular, look
from coatround.web.rounds.gather import gather
from coatround.web.rounds.models import Run, Stop, Waiting
from coatround.web.rounds.propose import plan_now
from coatround.web.rounds.queries import standing_version
from coatround.web.visits.models import Visit
from tests.web.small_town import TODAY, a_dog, a_groom, a_household, a_town, a_visit, day

pytestmark = pytest.mark.django_db
HOUR = 3600


@pytest.fixture(autouse=True)
def today(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COATROUND_TODAY", TODAY.isoformat())


@pytest.fixture
def town(worker: Worker, firm: Firm) -> list[Dog]:
    return a_town(worker)


@pytest.fixture
def rush(firm: Firm) -> Rush:
    """Two weeks from the second Monday on; an hour of each day held until two days before."""
    return Rush.objects.create(name="before Lantern Day", first=day(7), last=day(20), held_minutes=60, open_days=2)


def paid(first: int, last: int, *, holding: bool) -> dict[int, int]:
    runs = gather(day(first), day(last), today=TODAY, holding=holding).problem.runs
    return {(run.date - TODAY).days: run.paid_seconds for run in runs}


def test_planning_leaves_an_hour_of_each_day_of_the_rush(town: list[Dog], rush: Rush) -> None:
    """An ordinary day is 8:30; Monday of the rush is planned with 7:30, the Friday before it with all of it."""
    Van.objects.update(paid_minutes=510)
    held, whole = paid(1, 14, holding=True), paid(1, 14, holding=False)
    assert (held[4], held[7], held[14]) == (510 * 60, 450 * 60, 450 * 60)
    assert set(whole.values()) == {510 * 60}
    rush.open_days = 7
    rush.save()
    assert paid(1, 14, holding=True)[7] == 510 * 60


def test_what_is_settled_is_never_left_out_for_it(town: list[Dog], worker: Worker, rush: Rush) -> None:
    """Told half past eight and half past three: from the first to the last are 8 hours 30, nothing is held."""
    for dog, from_ in ((town[0], "08:30"), (town[1], "15:30")):
        visit = a_visit(dog, 8, source="hand")
        actions.tell(visit, worker, *(dt.time.fromisoformat(one) for one in (from_, from_[:-2] + "45")))
    held = paid(1, 14, holding=True)
    assert held[8] == 510 * 60
    assert held[9] == 450 * 60
    plan = plan_now(day(1), day(14), who=worker, iterations=50).plan
    assert "told_broken" not in str(plan)


def test_a_regular_costs_more_to_leave_out_in_a_rush(town: list[Dog], worker: Worker, rush: Rush) -> None:
    """Three grooms make a regular: six hours of driving more, at 42.00 an hour 252.00; the reason says so."""
    for number in (-84, -126):
        a_groom(town[0], worker, number)
    visits = {visit.dogs[0]: visit for visit in due_visits(day(1), day(14), today=TODAY)}
    regular, other = visits[str(town[0].pk)], visits[str(town[1].pk)]
    assert regular.visit.left_out_cents - other.visit.left_out_cents == 25_200
    assert "rush" in {reason.name for reason in regular.because}
    assert "rush" not in {reason.name for reason in other.because}
    assert is_regular(town[0].household)
    assert not is_regular(town[1].household)


@pytest.fixture
def full(town: list[Dog], worker: Worker, rush: Rush) -> Household:
    """Only the second Monday is worked in the rush, and it has five visits."""
    for dog in town[:5]:
        a_visit(dog, 7, source="hand", van=Van.objects.get())
    Van.objects.get().hours.exclude(weekday=0).delete()
    proposal = plan_now(day(7), day(7), who=worker, iterations=100)
    actions.accept(proposal, worker, base_version=proposal.base_version)
    household = a_household("Denby", east=3)
    a_dog(household, "Dot")
    return household


def test_a_new_caller_is_not_offered_what_is_held(full: Household, worker: Worker, rush: Rush) -> None:
    """The Monday has 115 minutes for one more of 75, a refill and the road; only a regular is offered it."""
    run = Run.objects.get()
    Van.objects.update(max_overtime_minutes=0, paid_minutes=(run.back_seconds - run.leave_seconds) // 60 + 115)
    wanted = Wanted(full, tuple(full.dogs.all()), day(1))
    found = look(wanted)
    assert day(7) not in {gap.date for gap in found.found}
    assert [one.name for one in found.held] == ["before Lantern Day"]
    for number in (-42, -84, -126):
        a_groom(full.dogs.get(), worker, number)
    found = look(wanted)
    assert day(7) in {gap.date for gap in found.found}
    assert found.held == ()


def wait(signed_in: Client, household: Household, **more: object) -> str:
    asked = {"dogs": [str(dog.pk) for dog in household.dogs.all()], "first": day(1).isoformat(), "words": "mornings"}
    answer = signed_in.post(reverse("round:caller-wait", args=[household.pk]), asked | more, follow=True)
    return answer.content.decode()


def test_who_finds_nothing_waits_and_is_placed_by_an_opening(
    full: Household, worker: Worker, signed_in: Client
) -> None:
    page = signed_in.get(reverse("round:caller-openings", args=[full.pk])).content.decode()
    assert "held back for regulars" in page
    assert "Denby is on the waiting list" in wait(signed_in, full)
    wait(signed_in, full, words="any day", weekdays=["0"])
    row = Waiting.objects.get()
    assert (row.words, row.weekdays, row.state) == ("any day", [0], "waiting")
    page = signed_in.get(reverse("round:rush"))
    assert "Dot" in page.content.decode()
    address = page.context["waits"][0].address
    openings = signed_in.get(address)
    assert "weekdays=0" in address
    gap = openings.context["openings"][0].gap
    asked = {
        "dogs": [str(full.dogs.get().pk)], "first": day(1).isoformat(), "weekdays": ["0"],
        "run": gap.run, "at": gap.at, "base_version": standing_version(),
    }  # fmt: skip
    signed_in.post(reverse("round:caller-taken", args=[full.pk]), asked)
    row.refresh_from_db()
    assert row.state == "placed"
    assert row.visit == Visit.objects.get(household=full)
    assert signed_in.get(reverse("round:rush")).context["waits"] == []


def test_who_waits_comes_first_for_a_gap(full: Household, worker: Worker, signed_in: Client) -> None:
    wait(signed_in, full)
    stop = Stop.objects.select_related("visit").filter(kind="visit").last()
    assert stop
    assert stop.visit
    actions.call_off(stop.visit, worker, "they are away")
    page = signed_in.get(reverse("round:gap", args=[stop.visit.pk]))
    assert [one.dogs for one in page.context["waiting"]] == ["Dot"]
    assert "mornings" in page.content.decode()


def test_off_the_list_and_back_by_undo(full: Household, worker: Worker, signed_in: Client) -> None:
    wait(signed_in, full)
    row = Waiting.objects.get()
    signed_in.post(reverse("round:no-longer", args=[row.pk]))
    row.refresh_from_db()
    assert row.state == "gone"
    undo_last(worker)
    row.refresh_from_db()
    assert row.state == "waiting"


def test_erasing_a_household_takes_it_off_the_list(full: Household, worker: Worker, signed_in: Client) -> None:
    wait(signed_in, full)
    erase_household(full, worker)
    row = Waiting.objects.get()
    assert (row.words, row.state) == ("", "gone")


def test_a_rush_is_written_down_shown_and_taken_back(town: list[Dog], worker: Worker, signed_in: Client) -> None:
    """Six dogs of an hour and a quarter are due before the rush: they count in its first week."""
    typed = {
        "name": "before Lantern Day", "first": day(7).isoformat(), "last": day(20).isoformat(),
        "held_minutes": "60", "open_days": "2",
    }  # fmt: skip
    wrong = signed_in.post(reverse("round:rush"), typed | {"last": day(3).isoformat()})
    assert wrong.status_code == 422
    assert "before the first day" in wrong.content.decode()
    assert 'value="before Lantern Day"' in wrong.content.decode()
    signed_in.post(reverse("round:rush"), typed)
    page = signed_in.get(reverse("round:rush"))
    row, bars = page.context["rushes"][0]
    assert row.name == "before Lantern Day"
    assert [bar.load.works for bar in bars] == [5 * 510 * 60] * 2
    assert [bar.load.held for bar in bars] == [5 * HOUR] * 2
    assert bars[0].load.others == 6 * (4500 + 900)
    signed_in.post(reverse("round:rush-drop", args=[row.pk]))
    assert not Rush.objects.exists()
    undo_last(worker)
    assert Rush.objects.get().name == "before Lantern Day"

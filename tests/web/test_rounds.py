"""The round: a plan made, looked at, accepted whole or by day, refused in words; windows told are kept."""

import datetime as dt
import json
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coatround.core.rounds.check import check
from coatround.core.rounds.fileformat import problem_of
from coatround.core.rounds.planfile import read_plan
from coatround.web.base.models import Firm, Worker
from coatround.web.records.models import Caution, DayOff, Dog, Place, Usual, Van
from coatround.web.records.seasons import hot_months
from coatround.web.rounds import actions, planning
from coatround.web.rounds.arriving import times_of
from coatround.web.rounds.changes import changes_of, rows_of
from coatround.web.rounds.gather import CannotPlan, gather
from coatround.web.rounds.models import Proposal, Run, Standing, Stop
from coatround.web.rounds.openings import three_openings
from coatround.web.rounds.propose import Pulse, ask, is_silent, plan_into, plan_now
from coatround.web.rounds.queries import standing_runs, standing_version
from coatround.web.rounds.to_tell import window_to_tell
from coatround.web.visits.models import Visit
from tests.web.small_town import TODAY, a_dog, a_groom, a_household, a_town, a_van, a_visit, day

pytestmark = pytest.mark.django_db
HOUR = 3600


@pytest.fixture(autouse=True)
def today(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COATROUND_TODAY", TODAY.isoformat())


@pytest.fixture
def town(worker: Worker, firm: Firm) -> list[Dog]:
    return a_town(worker)


def planned(worker: Worker, days: int = 14) -> Proposal:
    return plan_now(day(1), day(days), who=worker, iterations=150)


def accepted(worker: Worker, days: int = 14) -> Proposal:
    proposal = planned(worker, days)
    actions.accept(proposal, worker, base_version=proposal.base_version)
    return proposal


def lines(proposal: Proposal, kind: str) -> list[tuple[str, str, str]]:
    changes = changes_of(proposal, rows_of(proposal))
    return [(change.dogs, change.told, change.words) for change in getattr(changes, kind)]


def test_it_works(town: list[Dog], worker: Worker) -> None:
    """Six dogs are planned, accepted, and stand on runs as pencilled-in visits; the checker finds nothing."""
    proposal = planned(worker)
    assert proposal.state == "ready"
    assert len(lines(proposal, "new")) == 6
    problem, plan = problem_of(proposal.problem), read_plan(json.dumps(proposal.plan))
    assert check(problem, plan) == []
    actions.accept(proposal, worker, base_version=0)
    assert (standing_version(), proposal.state) == (1, "accepted")
    assert {link.dog_id for visit in Visit.objects.all() for link in visit.visit_dogs.all()} == {d.pk for d in town}
    assert set(Visit.objects.values_list("state", "source")) == {("TENTATIVE", "plan")}
    assert Stop.objects.filter(kind="visit").count() == 6
    assert Run.objects.filter(accepted_by=worker, version=1).count() == Run.objects.count()


def test_stops_add_up_along_the_clock(town: list[Dog], worker: Worker) -> None:
    proposal = accepted(worker)
    total = 0
    for run in Run.objects.all():
        free = run.leave_seconds
        for stop in run.stops.all():
            assert stop.arrive_seconds == free + stop.drive_seconds
            assert stop.start_seconds >= stop.arrive_seconds
            free, total = stop.end_seconds, total + stop.drive_seconds
        total += run.back_seconds - free
    assert total == proposal.names["totals"]["drive_seconds"]


def test_the_same_seed_gives_the_same_plan(town: list[Dog], worker: Worker) -> None:
    assert planned(worker).plan == planned(worker).plan


def test_planning_again_moves_nobody(town: list[Dog], worker: Worker) -> None:
    """What is pencilled in stays, and so do its ids: the new plan says that nothing changes."""
    accepted(worker)
    before = set(Visit.objects.values_list("pk", "date"))
    again = planned(worker)
    assert changes_of(again, rows_of(again)).is_empty
    actions.accept(again, worker, base_version=1)
    assert set(Visit.objects.values_list("pk", "date")) == before


def test_a_window_told_is_kept(town: list[Dog], worker: Worker) -> None:
    told = a_visit(town[3], 4, state="CONFIRMED", told_from=dt.time(13), told_until=dt.time(13, 30))
    accepted(worker)
    stop = Stop.objects.get(visit=told)
    assert stop.run.date == day(4)
    assert 13 * HOUR <= stop.start_seconds <= 13 * HOUR + 1800
    told.refresh_from_db()
    assert (told.state, told.told_from) == ("CONFIRMED", dt.time(13))


def test_windows_told_that_clash_come_first_in_words(town: list[Dog], worker: Worker) -> None:
    """Two households told the same half hour with an hour of work each: one of them needs a word first."""
    for dog in town[:2]:
        a_visit(dog, 4, state="CONFIRMED", told_from=dt.time(9), told_until=dt.time(9, 30))
    ((_dogs, told, words),) = lines(planned(worker), "word_first")
    assert told == "Told Friday 6 March, 9:00 to 9:30"
    assert "Ring them" in words


def test_one_day_is_accepted_and_the_rest_waits(town: list[Dog], worker: Worker) -> None:
    proposal = planned(worker)
    dates = sorted({dt.date.fromisoformat(run["date"]) for run in proposal.names["runs"].values()})
    used = sorted({dt.date.fromisoformat(run["id"].rsplit(":", 1)[1]) for run in (proposal.plan or {})["runs"]})
    actions.accept(proposal, worker, base_version=0, dates=[used[0]])
    assert set(Run.objects.values_list("date", flat=True)) == {used[0]}
    assert (proposal.state, proposal.base_version, proposal.accepted_dates) == ("ready", 1, [used[0].isoformat()])
    with pytest.raises(actions.StandingChanged, match="accepted already"):
        actions.accept(proposal, worker, base_version=1, dates=[used[0]])
    actions.accept(proposal, worker, base_version=1)
    assert proposal.state == "accepted"
    assert proposal.accepted_dates == [date.isoformat() for date in dates]
    assert Stop.objects.filter(kind="visit").count() == 6


def test_a_visit_moved_by_one_accepted_day_leaves_its_old_run(town: list[Dog], worker: Worker) -> None:
    """Mop said no to the day; the new plan has another; accepting only that day takes Mop out of the old run."""
    accepted(worker)
    visit = Visit.objects.get(dogs=town[0])
    old = visit.date
    actions.write_answer(visit, worker, "DECLINED")
    proposal = planned(worker)
    ((dogs, *_),) = [line for line in lines(proposal, "moved") if line[0] == "Mop"]
    assert dogs == "Mop"
    where = {
        stop["visit"]: run["id"] for run in (proposal.plan or {})["runs"] for stop in run["stops"] if "visit" in stop
    }
    new = dt.date.fromisoformat(where[str(visit.pk)].rsplit(":", 1)[1])
    assert new != old
    actions.accept(proposal, worker, base_version=1, dates=[new])
    visit.refresh_from_db()
    assert (visit.date, visit.answer) == (new, "NEEDS-ACTION")
    assert Stop.objects.get(visit=visit).run.date == new


def test_accepting_the_day_a_visit_leaves_lets_it_wait_on_its_new_day(town: list[Dog], worker: Worker) -> None:
    accepted(worker)
    visit = Visit.objects.get(dogs=town[0])
    old = visit.date
    actions.write_answer(visit, worker, "DECLINED")
    proposal = planned(worker)
    actions.accept(proposal, worker, base_version=1, dates=[old])
    visit.refresh_from_db()
    assert visit.date != old
    assert not Stop.objects.filter(visit=visit).exists()


def test_a_plan_made_against_another_standing_plan_is_refused_in_words(town: list[Dog], worker: Worker) -> None:
    proposal = planned(worker)
    Standing.objects.create(version=4, changed_at=timezone.now(), changed_by=worker)
    with pytest.raises(actions.StandingChanged, match="changed by Wren Ashby"):
        actions.accept(proposal, worker, base_version=0)
    assert not Visit.objects.exists()
    assert Standing.objects.get().version == 4


def test_the_version_seen_must_be_the_version_accepted(town: list[Dog], worker: Worker) -> None:
    proposal = planned(worker)
    with pytest.raises(actions.StandingChanged):
        actions.accept(proposal, worker, base_version=7)


def test_a_window_told_after_the_plan_was_made_is_not_broken(town: list[Dog], worker: Worker) -> None:
    accepted(worker)
    visit = Visit.objects.get(dogs=town[0])
    proposal = planned(worker)
    late = dt.time(16)
    actions.tell(visit, worker, late, late)
    with pytest.raises(actions.StandingChanged, match="Mop's people was told a time"):
        actions.accept(proposal, worker, base_version=1)


def test_a_window_told_that_the_plan_keeps_anyway_is_no_bar(town: list[Dog], worker: Worker) -> None:
    accepted(worker)
    stop = Stop.objects.filter(kind="visit").first()
    assert stop is not None
    assert stop.visit is not None
    proposal = planned(worker)
    windows = window_to_tell(stop)
    assert windows is not None
    actions.tell(stop.visit, worker, *times_of(windows.told))
    actions.accept(proposal, worker, base_version=1)
    stop.visit.refresh_from_db()
    assert stop.visit.state == "CONFIRMED"


def test_a_broken_plan_is_never_accepted(town: list[Dog], worker: Worker) -> None:
    proposal = planned(worker)
    plan: Any = proposal.plan
    plan["runs"][0]["back"] += 60
    Proposal.objects.filter(pk=proposal.pk).update(plan=plan)
    with pytest.raises(actions.PlanBreaks):
        actions.accept(proposal, worker, base_version=0)
    assert not Run.objects.exists()


def test_who_falls_out_is_removed_or_called_off(town: list[Dog], worker: Worker) -> None:
    """Once the van works on no day, both fall out: the one only pencilled in goes, the one once told is called off."""
    accepted(worker)
    told, pencilled = Visit.objects.get(dogs=town[0]), Visit.objects.get(dogs=town[1])
    actions.tell(told, worker, dt.time(6), dt.time(6, 15))
    Usual.objects.filter(dog=town[1]).update(weekdays=[6])
    proposal = planned(worker)
    assert [line[0] for line in lines(proposal, "word_first")] == ["Mop"]
    assert [line[0] for line in lines(proposal, "left_out")] == ["Biscuit"]
    actions.accept(proposal, worker, base_version=1)
    told.refresh_from_db()
    assert (told.state, bool(told.called_off_why)) == ("CANCELLED", True)
    assert not Visit.objects.filter(pk=pencilled.pk).exists()


def test_calling_off_mends_the_run_and_outdates_the_proposal(town: list[Dog], worker: Worker) -> None:
    accepted(worker)
    run = max(Run.objects.all(), key=lambda run: run.stops.count())
    count = run.stops.count()
    assert count > 1
    proposal = planned(worker)
    visit = run.stops.first().visit  # type: ignore[union-attr]
    assert visit is not None
    starts = dict(run.stops.values_list("visit", "start_seconds"))
    actions.call_off(visit, worker, "away that week")
    assert (visit.state, visit.called_off_why) == ("CANCELLED", "away that week")
    assert run.stops.count() == count - 1
    assert all(starts[stop.visit_id] == stop.start_seconds for stop in run.stops.all())
    with pytest.raises(actions.StandingChanged):
        actions.accept(proposal, worker, base_version=1)


def test_the_last_visit_called_off_takes_its_run_with_it(worker: Worker, firm: Firm) -> None:
    a_town(worker, 1)
    accepted(worker)
    actions.call_off(Visit.objects.get(), worker, "ill")
    assert not Run.objects.exists()


def test_who_said_no_holds_no_promise(town: list[Dog], worker: Worker) -> None:
    visit = a_visit(town[0], 4)
    actions.tell(visit, worker, dt.time(9), dt.time(9, 30))
    assert visit.is_told
    actions.write_answer(visit, worker, "ACCEPTED")
    assert (visit.state, visit.answer) == ("CONFIRMED", "ACCEPTED")
    actions.write_answer(visit, worker, "DECLINED")
    assert (visit.state, visit.told_from, visit.answer) == ("TENTATIVE", None, "DECLINED")


def test_left_out_says_why_and_what_to_do(town: list[Dog], worker: Worker) -> None:
    """No pin; needs two people with one groomer and one van; longer than its hours."""
    a_dog(a_household("Denby", pinned=False), "Dot", done=(-40,), worker=worker)
    Dog.objects.filter(pk=town[0].pk).update(two_people=True)
    Usual.objects.filter(dog=town[1]).update(hours_from=dt.time(9), hours_until=dt.time(9, 30))
    words = {dogs: words for dogs, _told, words in lines(planned(worker), "left_out")}
    assert set(words) == {"Dot", "Mop", "Biscuit"}
    assert "no pin" in words["Dot"]
    assert "two people" in words["Mop"]
    assert "Ask for wider hours" in words["Biscuit"] or "Allow more" in words["Biscuit"]


def test_off_the_usual_weekday_is_offered(town: list[Dog], worker: Worker) -> None:
    """Usually on Wednesdays, but the van is off on every one of them."""
    Usual.objects.filter(dog=town[0]).update(usual_weekday=2)
    for number in (2, 9, 16, 23):
        DayOff.objects.create(first=day(number), last=day(number))
    ((dogs, _told, words),) = lines(planned(worker), "off_usual")
    assert dogs == "Mop"
    assert words.endswith("Their usual day is Wednesday.")


def test_the_usual_weekday_and_hour_are_kept(town: list[Dog], worker: Worker) -> None:
    Usual.objects.filter(dog=town[0]).update(usual_weekday=3, usual_time=dt.time(14))
    accepted(worker)
    stop = Stop.objects.get(visit__dogs=town[0])
    assert stop.run.date.weekday() == 3
    assert 13 * HOUR <= stop.start_seconds <= 15 * HOUR


def test_a_day_under_way_is_not_planned_again(town: list[Dog], worker: Worker) -> None:
    a_groom(town[0], worker, 0)
    proposal = plan_now(day(0), day(7), who=worker, iterations=50)
    assert TODAY.isoformat() not in {run["date"] for run in proposal.names["runs"].values()}


def test_what_is_missing_is_said_before_planning(worker: Worker, firm: Firm) -> None:
    with pytest.raises(CannotPlan, match="no van"):
        planned(worker)
    van = a_van(worker)
    Place.objects.filter(pk=van.home_id).update(lat=None)
    with pytest.raises(CannotPlan, match="no pin"):
        planned(worker)
    assert Proposal.objects.first().state == "failed"  # type: ignore[union-attr]
    van.hours.all().delete()
    Place.objects.filter(pk=van.home_id).update(lat="-31")
    with pytest.raises(CannotPlan, match="No van works"):
        planned(worker)


def test_a_household_stays_with_its_van(town: list[Dog], worker: Worker) -> None:
    other = a_van(worker, "Heron")
    a_visit(town[2], -42, van=other, state="CONFIRMED")
    accepted(worker)
    assert Stop.objects.get(visit__dogs=town[2], visit__date__gte=TODAY).run.van == other


def test_one_van_is_planned_without_touching_the_other(town: list[Dog], worker: Worker) -> None:
    other, first = a_van(worker, "Heron"), Van.objects.get(name="Otter")
    a_visit(town[2], -42, van=other, state="CONFIRMED")
    proposal = plan_now(day(1), day(14), who=worker, iterations=100, van=first)
    actions.accept(proposal, worker, base_version=0)
    assert set(Run.objects.values_list("van", flat=True)) == {first.pk}
    assert not Stop.objects.filter(visit__dogs=town[2]).exists()


# Openings.


def test_openings_fit_beside_what_was_told(town: list[Dog], worker: Worker) -> None:
    told = a_visit(town[0], 4, state="CONFIRMED", told_from=dt.time(9), told_until=dt.time(9, 15))
    accepted(worker)
    fig = a_dog(a_household("Birch", east=2), "Fig")
    found = three_openings(fig.household, [fig.pk], around=day(4))
    assert len(found) == 3
    assert len({opening.date for opening in found}) == 3
    assert found[0].words.startswith(f"{found[0].date:%A} {found[0].date.day} March, ")
    assert all(opening.from_time < opening.until_time for opening in found)
    assert told.told_from == dt.time(9)


def test_openings_keep_to_the_dogs_weekdays_and_visits(town: list[Dog], worker: Worker) -> None:
    fig = a_dog(a_household("Birch", east=2), "Fig", weekdays=[1])
    a_visit(fig, 8)
    found = three_openings(fig.household, [fig.pk], around=day(8))
    assert {opening.date for opening in found} == {day(1), day(15)}


def test_a_dog_with_an_airway_is_planned_outside_the_heat_and_the_page_says_so(
    town: list[Dog], worker: Worker, firm: Firm, signed_in: Client
) -> None:
    """March is hot here, eleven to five: every start of the pug lies before, and telling it noon is warned of."""
    firm.hot_months = [3]
    firm.save()
    Caution.objects.create(dog=town[0], kind="airway", words="cool dryer only")
    proposal = planned(worker)
    actions.accept(proposal, worker, base_version=0)
    stop = Stop.objects.select_related("visit").get(visit__visit_dogs__dog=town[0])
    assert stop.visit
    assert stop.end_seconds <= 11 * HOUR or stop.start_seconds >= 17 * HOUR
    page = signed_in.get(reverse("round:why", args=[stop.visit.pk])).content.decode()
    assert "not between 11:00 and 17:00 in the hot months (caution: airway)" in page
    assert "No van works on" in page
    told = {"told_from": "12:00", "told_until": "12:30", "all_the_same": "yes"}
    words = signed_in.post(reverse("round:tell", args=[stop.visit.pk]), told, follow=True).content.decode()
    assert "are hot hours in this month" in words


def test_summer_is_that_of_the_vans_half_of_the_world(town: list[Dog], firm: Firm) -> None:
    assert hot_months(firm) == (1, 2, 12)
    Place.objects.filter(vans__isnull=False).update(lat="51.0")
    assert hot_months(firm) == (6, 7, 8)
    firm.hot_months = []
    assert hot_months(firm) == ()


def test_a_battery_limits_a_run_and_big_dogs_need_a_big_tub(town: list[Dog], worker: Worker) -> None:
    """An hour on the table draws 240 Wh: 500 hold two visits. Where no van has a big tub nobody needs one."""
    Dog.objects.filter(pk=town[0].pk).update(size="giant")
    Van.objects.update(battery_wh=500)
    proposal = planned(worker)
    assert max(len([stop for stop in run["stops"] if "visit" in stop]) for run in proposal.plan["runs"]) <= 2
    assert all(not names["needs"] for names in proposal.names["visits"].values())
    a_van(worker, "Heron")
    Van.objects.filter(name="Heron").update(has_big_tub=True)
    problem = gather(day(1), day(28), today=TODAY).problem
    assert [visit.needs for visit in problem.visits].count(("big tub",)) == 1


def test_no_openings_where_nothing_can_be_reckoned(firm: Firm, worker: Worker) -> None:
    fig = a_dog(a_household("Birch", pinned=False), "Fig")
    assert three_openings(fig.household, [fig.pk], around=day(8)) == []
    dot = a_dog(a_household("Denby"), "Dot")
    assert three_openings(dot.household, [dot.pk], around=day(8)) == []


# The process that plans.


def test_a_stop_asked_for_keeps_the_best_so_far(town: list[Dog], worker: Worker) -> None:
    proposal = ask(day(1), day(14), who=worker)
    pulse = Pulse(seconds=600)
    actions.stop_planning(proposal)
    planning.beat_once(proposal.pk, pulse)
    assert pulse.asked.is_set()
    plan_into(proposal, pulse)
    assert proposal.state == "ready"
    assert len((proposal.plan or {})["left_out"]) + proposal.names["totals"]["visits"] == 6


def test_a_beat_says_how_far_it_has_come(town: list[Dog], worker: Worker) -> None:
    proposal = ask(day(1), day(14), who=worker)
    pulse = Pulse(iterations=200)
    pulse.heard(50, 12_345)
    planning.beat_once(proposal.pk, pulse)
    proposal.refresh_from_db()
    assert proposal.progress_percent == 25
    assert "$123.45" in proposal.progress_words
    actions.drop(proposal)
    planning.beat_once(proposal.pk, pulse)
    assert pulse.asked.is_set()


def test_a_process_that_died_is_noticed(town: list[Dog], worker: Worker, signed_in: Client) -> None:
    proposal = ask(day(1), day(14), who=worker)
    assert not is_silent(proposal)
    gone = timezone.now() - dt.timedelta(minutes=2)
    Proposal.objects.filter(pk=proposal.pk).update(state="planning", heard_at=gone)
    proposal.refresh_from_db()
    assert is_silent(proposal)
    body = signed_in.get(reverse("round:page")).content.decode()
    assert "stopped by itself" in body
    assert reverse("round:plan") in body


def test_the_process_refuses_what_is_no_proposal(capsys: pytest.CaptureFixture[str]) -> None:
    assert planning.main(["nonsense"]) == 2
    assert planning.main(["01890a5d-ac96-774b-bcce-b302099a8057"]) == 2
    assert "no proposal" in capsys.readouterr().err


# Pages.


def test_the_first_page_says_what_is_missing(signed_in: Client, worker: Worker) -> None:
    assert reverse("set-up") in signed_in.get(reverse("round:page")).content.decode()
    a_van(worker)
    assert reverse("bringing:page") in signed_in.get(reverse("round:page")).content.decode()


def test_the_page_offers_the_first_plan(signed_in: Client, town: list[Dog]) -> None:
    body = signed_in.get(reverse("round:page")).content.decode()
    assert "Make the first plan" in body
    assert "usual weekday and hour" in body


def test_the_whole_way_by_pages(
    signed_in: Client, town: list[Dog], worker: Worker, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ask for a plan, see it, accept it, tell a household: each answer is a page."""
    monkeypatch.setattr(actions, "start", lambda proposal: plan_into(proposal, Pulse(iterations=100)))
    typed = {"first": day(1).isoformat(), "weeks": "2", "seconds": "5"}
    assert signed_in.post(reverse("round:plan"), typed).status_code == 302
    body = signed_in.get(reverse("round:page")).content.decode()
    proposal = Proposal.objects.get()
    for words in ("waits for you: 6 visits", "Accept the whole plan", "6 new in the round", "What changes"):
        assert words in body
    answer = signed_in.post(reverse("round:accept", args=[proposal.pk]), {"base_version": "0"}, follow=True)
    assert "Accepted. It is the plan that stands." in answer.content.decode()
    assert "pencilled in" in answer.content.decode()
    visit = Visit.objects.earliest("date")
    told = {"told_from": "09:00", "told_until": "09:30", "next_page": reverse("round:page")}
    asked = signed_in.post(reverse("round:tell", args=[visit.pk]), told).content.decode()
    assert "Keep it all the same" in asked
    answer = signed_in.post(reverse("round:tell", args=[visit.pk]), told | {"all_the_same": "yes"}, follow=True)
    assert "told 9:00 to 9:30" in answer.content.decode()
    visit.refresh_from_db()
    assert visit.is_told


def test_a_stale_page_is_refused_in_words(signed_in: Client, town: list[Dog], worker: Worker) -> None:
    proposal = planned(worker)
    Standing.objects.create(version=1, changed_at=timezone.now(), changed_by=worker)
    answer = signed_in.post(reverse("round:accept", args=[proposal.pk]), {"base_version": "0"}, follow=True)
    assert "Nothing was accepted" in answer.content.decode()
    assert "can't be accepted any more" in answer.content.decode()
    assert not Run.objects.exists()


@pytest.mark.parametrize("version", ["", "x", "-1", "99999999999999999999"])
def test_nonsense_is_no_traceback(signed_in: Client, town: list[Dog], worker: Worker, version: str) -> None:
    proposal = planned(worker)
    typed = {"base_version": version, "date": ["nonsense"], "next_page": "//elsewhere.example/"}
    answer = signed_in.post(reverse("round:accept", args=[proposal.pk]), typed)
    assert (answer.status_code, answer["Location"]) == (302, reverse("round:page"))
    query = {"van": "x", "week": "2026-02-31", "weeks": "9", "show": "?"}
    assert signed_in.get(reverse("round:page"), query).status_code == 200


def test_a_failed_form_keeps_what_was_typed(signed_in: Client, town: list[Dog]) -> None:
    answer = signed_in.post(reverse("round:plan"), {"first": "2026-01-05", "weeks": "6", "seconds": "60"})
    body = answer.content.decode()
    assert answer.status_code == 422
    assert "This day is over" in body
    assert 'value="2026-01-05"' in body
    assert '<option value="6" selected>' in body


def test_progress_asks_for_the_page_again_when_it_is_over(signed_in: Client, town: list[Dog], worker: Worker) -> None:
    proposal = ask(day(1), day(14), who=worker)
    address = reverse("round:progress", args=[proposal.pk])
    assert "Stop, and keep the best so far" in signed_in.get(address).content.decode()
    signed_in.post(reverse("round:stop", args=[proposal.pk]))
    assert Proposal.objects.get().stop_asked
    signed_in.post(reverse("round:drop", args=[proposal.pk]))
    assert signed_in.get(address)["HX-Refresh"] == "true"


def test_a_word_with_a_household(signed_in: Client, town: list[Dog], worker: Worker) -> None:
    accepted(worker)
    visit = Visit.objects.get(dogs=town[0])
    page = reverse("round:visit", args=[visit.pk])
    assert "the plan has them at" in signed_in.get(page).content.decode()
    wrong = {"told_from": "10:00", "told_until": "09:00"}
    answer = signed_in.post(reverse("round:tell", args=[visit.pk]), wrong)
    assert answer.status_code == 422
    assert 'value="10:00"' in answer.content.decode()
    signed_in.post(reverse("round:answer", args=[visit.pk]), {"answer": "DECLINED"})
    visit.refresh_from_db()
    assert visit.answer == "DECLINED"
    assert signed_in.post(reverse("round:call-off", args=[visit.pk]), {"why": ""}).status_code == 422
    body = signed_in.post(reverse("round:call-off", args=[visit.pk]), {"why": "away"}, follow=True).content.decode()
    assert "Called off." in body
    body = signed_in.post(reverse("round:tell", args=[visit.pk]), wrong, follow=True).content.decode()
    assert "called off already" in body


def test_the_number_of_queries_does_not_grow_with_the_round(
    signed_in: Client, worker: Worker, firm: Firm, django_assert_max_num_queries: Any
) -> None:
    a_town(worker, 6)
    accepted(worker)
    planned(worker)
    for show in ("proposal", "standing"):
        with django_assert_max_num_queries(26):
            signed_in.get(reverse("round:page"), {"weeks": "4", "show": show})


def test_the_page_shows_the_next_run_of_the_van(signed_in: Client, town: list[Dog], worker: Worker) -> None:
    accepted(worker)
    answer = signed_in.get(reverse("round:page"))
    assert answer.context["weeks"][0].days[0].run.date == min(run.date for run in standing_runs(day(0), day(30)))

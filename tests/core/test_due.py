"""When dogs come up again, and the visits made of it. Monday 2 March 2026 is today unless a test says otherwise."""

import dataclasses
import datetime as dt
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatround.core.day_table import Dog, Pencilled, Setting
from coatround.core.due import LEAST_DAYS, OVERDUE_DAYS, Usual, allowed_dates, dues_until, next_due, usual_on
from coatround.core.due_visits import AgreedVisit, DueVisit, due_visits
from coatround.core.due_work import (
    FLEAS,
    PUPPY,
    SIZES,
    USUAL,
    WORK_MINUTES,
    is_unvaccinated_puppy,
    needs_big_tub,
    power_wh,
    rank_of,
    spread_seconds,
    work_seconds,
)
from coatround.core.rounds.problem import Kept

TODAY = dt.date(2026, 3, 2)
HOUR = 3600
DOOR = 900


def day(number: int) -> dt.date:
    return TODAY + dt.timedelta(days=number)


SIX = Usual(valid_from=day(-300), interval_weeks=6, days_early=7, days_late=7)


def setting(days: int = 28, weekdays: tuple[int, ...] = (0, 1, 2, 3, 4)) -> Setting:
    """Working hours 8 to 17 on those weekdays, two weeks past the last too; a minute of driving costs 70 cents."""
    dates = [day(number) for number in range(days + 14) if day(number).weekday() in weekdays]
    return Setting(TODAY, day(days - 1), dict.fromkeys(dates, (8 * HOUR, 17 * HOUR)), DOOR, 4200)


def dog(name: str = "Mop", last: int | None = -40, **changes: object) -> Dog:
    """A dog of household h, an hour of work and 20 litres, last groomed so many days from today."""
    done = () if last is None else (day(last),)
    base = Dog(name, "h", "p", (SIX,), done, 3600, 20)
    return dataclasses.replace(base, **changes)  # type: ignore[arg-type]


def visits_of(*dogs: Dog, **given_: object) -> tuple[DueVisit, ...]:
    agreed = given_.get("agreed", ())
    pencilled = given_.get("pencilled", ())
    return due_visits(dogs, agreed, pencilled, TODAY, given_.get("setting", setting()))  # type: ignore[arg-type]


def test_it_works() -> None:
    """Every 6 weeks; groomed 40 days ago, and 46 days before that, which was 4 days late: due in 2 days."""
    due = next_due((SIX,), (day(-40), day(-86)), TODAY)
    assert due is not None
    assert (due.date, due.first, due.last) == (day(2), day(-5), day(9))
    assert (due.reason.weeks, due.reason.since, due.reason.days_late) == (6, day(-300), 4)
    assert due.days_over(TODAY) == 0
    assert due.days_over(day(5)) == 3


def test_nothing_settled_is_never_due() -> None:
    assert next_due((), (day(-40),), TODAY) is None
    assert next_due((dataclasses.replace(SIX, valid_until=day(-1)),), (), TODAY) is None


def test_a_new_dog_is_due_from_the_day_its_usual_begins() -> None:
    due = next_due((dataclasses.replace(SIX, valid_from=day(3)),), (), TODAY)
    assert due is not None
    assert (due.date, due.first, due.last, due.reason.last) == (day(3), day(3), day(10), None)


def test_the_usual_in_force_is_the_one_that_began_last_else_the_next_to_begin() -> None:
    old, new = dataclasses.replace(SIX, valid_until=day(10)), dataclasses.replace(SIX, valid_from=day(-3))
    coming = dataclasses.replace(SIX, valid_from=day(20))
    assert usual_on((old, new), TODAY) is new
    assert usual_on((old, coming), TODAY) is old
    assert usual_on((coming,), TODAY) is coming


def test_a_usual_that_ends_before_the_due_date_hands_over_to_the_next() -> None:
    """Every 6 weeks until day 1, every 8 from day 2: due 8 weeks after the last, not never."""
    old = dataclasses.replace(SIX, valid_until=day(1))
    new = dataclasses.replace(SIX, valid_from=day(2), interval_weeks=8)
    due = next_due((old, new), (day(-35),), TODAY)
    assert due is not None
    assert (due.date, due.usual) == (day(21), new)


def test_short_intervals_come_up_again_inside_four_weeks() -> None:
    two = dataclasses.replace(SIX, interval_weeks=2)
    dues = dues_until((two,), (day(-10),), (), TODAY, day(27))
    assert [due.date for due in dues] == [day(4), day(18)]
    assert [due.number for due in dues] == [0, 1]
    assert [due.reason.planned for due in dues] == [False, True]


def test_an_overdue_dog_counts_from_today_for_what_comes_after() -> None:
    two = dataclasses.replace(SIX, interval_weeks=2)
    assert [due.date for due in dues_until((two,), (day(-50),), (), TODAY, day(20))] == [day(-36), day(14)]


def test_an_agreed_date_takes_the_place_of_the_due_date_near_it() -> None:
    two = dataclasses.replace(SIX, interval_weeks=2)
    dues = dues_until((two,), (day(-10),), (day(8),), TODAY, day(27))
    assert [due.date for due in dues] == [day(22)]


def test_a_due_date_long_before_an_agreed_one_is_kept() -> None:
    two = dataclasses.replace(SIX, interval_weeks=2)
    dues = dues_until((two,), (day(-10),), (day(18),), TODAY, day(27))
    assert [due.date for due in dues] == [day(4)]


def test_an_overdue_dog_falls_on_the_earliest_days() -> None:
    due = next_due((SIX,), (day(-70),), TODAY)
    assert due is not None
    assert allowed_dates(due, TODAY) == (TODAY, day(OVERDUE_DAYS - 1))
    costs = [found.cents for found in visits_of(dog(last=-70))[0].visit.days]
    assert costs[0] == 0
    assert costs == sorted(costs)


def test_a_window_nearly_over_still_offers_a_week() -> None:
    due = next_due((SIX,), (day(-48),), TODAY)
    assert due is not None
    assert (due.last, allowed_dates(due, TODAY)[1]) == (day(1), day(LEAST_DAYS - 1))


def test_late_is_dearer_than_early_and_the_due_date_is_free() -> None:
    """Due on Monday 9 March: a day early is a minute of driving, 70 cents; a day late three, a week 42."""
    cents = {found.date: found.cents for found in visits_of(dog(last=-35))[0].visit.days}
    assert (cents[day(7)], cents[day(4)], cents[day(8)], cents[day(14)]) == (0, 210, 210, 14 * 210)


def test_leaving_the_usual_weekday_is_as_dear_as_an_hour_of_driving() -> None:
    tuesdays = dataclasses.replace(SIX, usual_weekday=1)
    cents = {found.date: found.cents for found in visits_of(dog(last=-35, usuals=(tuesdays,)))[0].visit.days}
    assert (cents[day(7)], cents[day(8)]) == (4200, 210)


def test_the_usual_hour_is_kept_on_the_usual_weekday() -> None:
    """Usually Tuesdays at 9: start within an hour of it; on other days any of the household's hours."""
    usual = dataclasses.replace(SIX, usual_weekday=1, usual_start=9 * HOUR, hours_until=14 * HOUR)
    windows = {found.date: found.windows for found in visits_of(dog(last=-35, usuals=(usual,)))[0].visit.days}
    assert windows[day(8)] == ((8 * HOUR, 10 * HOUR + 3600 + DOOR),)
    assert windows[day(9)] == ((8 * HOUR, 14 * HOUR),)


def test_a_visit_waits_for_its_usual_weekday_just_after_the_last_date() -> None:
    """Due on Tuesday 24 March, usually Mondays: with the last date on Sunday 29 the 23rd is taken, in the window.

    With a window of 24 to 31 March, Monday 30 is the only one: it waits for the next plan, unless that is too late.
    """
    mondays = dataclasses.replace(SIX, usual_weekday=0)
    assert day(21) in {found.date for found in visits_of(dog(last=-20, usuals=(mondays,)))[0].visit.days}
    strict = dataclasses.replace(mondays, days_early=0)
    assert visits_of(dog(last=-20, usuals=(strict,))) == ()
    too_late = dataclasses.replace(strict, days_late=5)
    assert len(visits_of(dog(last=-20, usuals=(too_late,)))) == 1


def test_only_the_weekdays_a_household_can() -> None:
    fridays = dataclasses.replace(SIX, weekdays=(4,))
    assert {found.date.weekday() for found in visits_of(dog(usuals=(fridays,)))[0].visit.days} == {4}


def test_two_dogs_of_a_household_share_a_visit_where_their_windows_overlap() -> None:
    """An hour of work each and 15 minutes at the door once; 20 litres each."""
    (both,) = visits_of(dog("Quill", -40), dog("Fig", -36))
    assert both.dogs == ("Quill", "Fig")
    assert (both.visit.seconds, both.visit.water_l) == (2 * 3600 + DOOR, 40)
    assert {found.date for found in both.visit.days} <= {day(number) for number in range(14)}


def test_two_dogs_far_apart_are_two_visits() -> None:
    tight = dataclasses.replace(SIX, days_early=1, days_late=1)
    alone = visits_of(dog("Quill", -41, usuals=(tight,)), dog("Fig", -30, usuals=(tight,)))
    assert [visit.dogs for visit in alone] == [("Quill",), ("Fig",)]


def test_dogs_of_two_households_never_share() -> None:
    assert len(visits_of(dog("Quill"), dog("Fig", household="other", place="q"))) == 2


def test_a_dog_due_just_after_the_last_date_comes_along() -> None:
    """Quill is due on day 27, the last; Fig on day 29: together, and Fig alone would not be planned yet."""
    assert visits_of(dog("Quill", -15), dog("Fig", -13))[0].dogs == ("Quill", "Fig")
    assert visits_of(dog("Fig", -13)) == ()


def test_hours_that_do_not_meet_part_the_dogs() -> None:
    mornings = dataclasses.replace(SIX, hours_until=11 * HOUR)
    noons = dataclasses.replace(SIX, hours_from=12 * HOUR)
    assert len(visits_of(dog("Quill", usuals=(mornings,)), dog("Fig", usuals=(noons,)))) == 2


def test_the_second_of_two_due_dates_follows_the_first() -> None:
    three = dataclasses.replace(SIX, interval_weeks=3, days_early=2, days_late=4)
    first, second = visits_of(dog(last=-20, usuals=(three,)))
    assert second.visit.follows is not None
    link = second.visit.follows
    assert (link.visit, link.least_days, link.most_days) == (first.visit.id, 19, 25)


def test_a_window_told_is_one_day_and_never_left_out_lightly() -> None:
    told = AgreedVisit("v", "h", "p", ("Mop",), day(3), (9 * HOUR, 9 * HOUR + 1800), told=True)
    (visit,) = visits_of(dog(), agreed=(told,))
    assert (visit.visit.told, visit.visit.left_out_cents, visit.settled) == (True, 1_000_000, True)
    (only,) = visit.visit.days
    assert (only.date, only.cents, only.windows) == (day(3), 0, ((9 * HOUR, 9 * HOUR + 1800 + 3600 + DOOR),))


def test_a_visit_agreed_before_the_first_date_counts_as_done() -> None:
    later = dataclasses.replace(setting(56), first=day(14))
    early = AgreedVisit("v", "h", "p", ("Mop",), day(2), None, told=False)
    (visit,) = due_visits((dog(),), (early,), (), TODAY, later)
    assert visit.due == day(2 + 42)


def test_a_pencilled_visit_keeps_its_id_and_prefers_its_day() -> None:
    """Due on Monday 9 March and pencilled in for Wednesday 11: staying costs two days late, leaving 60 minutes."""
    stands = Pencilled("v", frozenset({"Mop"}), day(9))
    (visit,) = visits_of(dog(last=-35), pencilled=(stands,))
    cents = {found.date: found.cents for found in visit.visit.days}
    assert visit.visit.id == "v"
    assert (cents[day(9)], cents[day(7)]) == (2 * 210, 60 * 70)


def test_the_hour_at_which_it_stands_is_kept_on_its_day_only() -> None:
    """At nine: within half an hour of it nothing more, else ten minutes of driving at 70 cents."""
    stands = Pencilled("v", frozenset({"Mop"}), day(9), start=9 * HOUR)
    (visit,) = visits_of(dog(last=-35), pencilled=(stands,))
    kept = {found.date: found.kept for found in visit.visit.days}
    assert kept.pop(day(9)) == Kept(8 * HOUR + 1800, 9 * HOUR + 1800, 700)
    assert set(kept.values()) == {None}
    there = next(found for found in visit.visit.days if found.date == day(9))
    assert [there.cents_at(hour * HOUR) - there.cents for hour in (8, 9, 10)] == [700, 0, 700]


@pytest.mark.parametrize(
    ("settled", "past", "expected"),
    [(3000, (5000,), (3000, False)), (None, (5000, 4000, 9000), (5000, False)), (None, (), (80 * 60, True))],
)
def test_work_is_what_is_settled_then_the_own_past_then_our_default(
    settled: int | None, past: tuple[int, ...], expected: tuple[int, bool]
) -> None:
    assert work_seconds(settled, past, "curly", "medium") == expected


def test_bigger_dogs_never_take_less() -> None:
    for row in WORK_MINUTES.values():
        assert len(row) == len(SIZES)
        assert list(row) == sorted(row)
    assert spread_seconds(3600) == 720


def test_dogs_that_need_more_than_the_tank_together_are_two_visits() -> None:
    """80 litres each and a tank of 150: together they would run it dry."""
    dogs = (dog("Quill", water_l=80), dog("Fig", water_l=80))
    assert len(visits_of(*dogs, setting=dataclasses.replace(setting(), tank_l=150))) == 2
    assert len(visits_of(*dogs, setting=dataclasses.replace(setting(), tank_l=160))) == 1


@pytest.mark.parametrize(
    ("weeks", "known", "until", "expected"),
    [
        (10, "seen", 90, True),
        (30, "seen", 90, False),
        (30, "seen", -1, True),
        (30, "unknown", None, True),
        (60, "none", None, False),
    ],
)
def test_a_puppy_without_its_vaccination_goes_first(weeks: int, known: str, until: int | None, expected: bool) -> None:
    end = None if until is None else day(until)
    assert is_unvaccinated_puppy(TODAY - dt.timedelta(weeks=weeks), known, end, TODAY) is expected


def test_ranks() -> None:
    assert (rank_of(True, False), rank_of(False, False), rank_of(True, True)) == (PUPPY, USUAL, FLEAS)
    assert visits_of(dog("Quill", rank=PUPPY), dog("Fig", rank=FLEAS))[0].visit.rank == FLEAS
    assert visits_of(dog("Quill", rank=PUPPY), dog("Fig"))[0].visit.rank == PUPPY


# Properties.

USUALS = st.builds(
    Usual,
    valid_from=st.integers(-400, 0).map(day),
    interval_weeks=st.integers(1, 12),
    days_early=st.integers(0, 10),
    days_late=st.integers(0, 10),
    weekdays=st.sampled_from([(), (0,), (1, 3), (5, 6)]),
    hours_from=st.sampled_from([None, 9 * HOUR]),
    hours_until=st.sampled_from([None, 15 * HOUR]),
    usual_weekday=st.sampled_from([None, 1, 4]),
    usual_start=st.sampled_from([None, 10 * HOUR]),
    price_cents=st.sampled_from([0, 8500]),
)
DOGS = st.lists(
    st.tuples(USUALS, st.one_of(st.none(), st.integers(-120, 0)), st.integers(0, 3), st.integers(1200, 9000)),
    min_size=1,
    max_size=8,
).map(
    lambda rows: [
        Dog(f"d{i}", f"h{h}", f"p{h}", (usual,), () if last is None else (day(last),), work, 20)
        for i, (usual, last, h, work) in enumerate(rows)
    ]
)


@given(USUALS, st.one_of(st.none(), st.integers(-200, 0)), st.integers(0, 80))
@settings(max_examples=80, deadline=None)
def test_a_dog_is_due_exactly_once_an_interval(usual: Usual, last: int | None, days: int) -> None:
    """From one due date, or today where that is past, to the next lies one interval; none is missed or doubled."""
    done = () if last is None else (day(last),)
    dues = dues_until((usual,), done, (), TODAY, day(days))
    targets = [max(due.date, TODAY) for due in dues]
    assert all(later - earlier == usual.interval for earlier, later in pairwise(targets))
    assert all(target <= day(days) for target in targets)
    following = targets[-1] + usual.interval if targets else _first(usual, last)
    assert following > day(days)
    assert all(allowed_dates(due, TODAY)[0] >= TODAY for due in dues)


def _first(usual: Usual, last: int | None) -> dt.date:
    return max(usual.valid_from if last is None else max(day(last) + usual.interval, usual.valid_from), TODAY)


@given(DOGS)
@settings(max_examples=80, deadline=None)
def test_every_due_dog_is_in_exactly_one_visit_for_each_due_date(dogs: list[Dog]) -> None:
    """Only a due date whose window reaches past the last date may wait, or come along early, for its household."""
    visits = visits_of(*dogs)
    for one in dogs:
        dues = dues_until(one.usuals, one.done, (), TODAY, day(27))
        may_wait = sum(allowed_dates(due, TODAY)[1] > day(27) for due in dues)
        count = sum(one.id in visit.dogs for visit in visits)
        assert len(dues) - may_wait <= count <= len(dues) + 1


@given(DOGS)
@settings(max_examples=80, deadline=None)
def test_day_tables_hold_the_work_inside_hours_at_even_costs(dogs: list[Dog]) -> None:
    known = {one.id: one for one in dogs}
    for visit in visits_of(*dogs):
        dates = [found.date for found in visit.visit.days]
        assert dates == sorted(set(dates))
        assert len({known[name].household for name in visit.dogs}) == 1
        for found in visit.visit.days:
            assert found.cents >= 0
            assert found.cents % 2 == 0
            assert TODAY <= found.date <= day(27)
            assert found.date.weekday() < 5
            for from_, until in found.windows:
                assert from_ >= 8 * HOUR
                assert until <= 17 * HOUR
                assert until - from_ >= visit.visit.seconds


@given(DOGS)
@settings(max_examples=80, deadline=None)
def test_no_dog_can_fall_twice_on_a_day(dogs: list[Dog]) -> None:
    """Two visits of one dog have no date in common unless the later one follows the earlier."""
    visits = visits_of(*dogs)
    for one in dogs:
        own = [visit.visit for visit in visits if one.id in visit.dogs]
        for earlier, later in pairwise(own):
            common = {found.date for found in earlier.days} & {found.date for found in later.days}
            assert not common or (later.follows is not None and later.follows.visit == earlier.id)


@given(st.lists(st.integers(-60, 40), max_size=4, unique=True), USUALS)
@settings(max_examples=60, deadline=None)
def test_agreed_dates_are_never_planned_again(agreed: list[int], usual: Usual) -> None:
    coming = [number for number in agreed if number >= 0]
    settled = [AgreedVisit(f"a{n}", "h", "p", ("Mop",), day(n), None, told=True) for n in coming]
    visits = visits_of(dog(usuals=(usual,)), agreed=settled)
    assert [visit.due for visit in visits if visit.settled] == sorted(day(n) for n in coming if n <= 27)
    free = {found.date for visit in visits if not visit.settled for found in visit.visit.days}
    assert not free & {day(number) for number in coming}


# Hot hours, the months in which double coats come out, and what it all follows from.

HOT = dataclasses.replace(setting(), hot_months=frozenset({3}), hot_hours=(11 * HOUR, 16 * HOUR))


def test_a_dog_with_an_airway_is_done_outside_the_hot_hours() -> None:
    """An hour and a quarter at the door: 8 to 11 holds it, 16 to 17 does not; another dog has the whole day."""
    (pug,) = visits_of(dog("Pug", heat=("airway",)), setting=HOT)
    (mop,) = visits_of(dog("Mop"), setting=HOT)
    assert {found.windows for found in pug.visit.days} == {((8 * HOUR, 11 * HOUR),)}
    assert {found.windows for found in mop.visit.days} == {((8 * HOUR, 17 * HOUR),)}
    assert [found.date for found in pug.visit.days] == [found.date for found in mop.visit.days]


def test_both_ends_of_a_hot_day_are_left_where_they_hold_the_work() -> None:
    late = dataclasses.replace(HOT, hot_hours=(11 * HOUR, 15 * HOUR))
    (pug,) = visits_of(dog("Pug", heat=("heart",)), setting=late)
    assert pug.visit.days[0].windows == ((8 * HOUR, 11 * HOUR), (15 * HOUR, 17 * HOUR))


def test_a_usual_hour_in_the_heat_gives_way_and_what_was_told_does_not() -> None:
    """Usual at noon on Wednesdays: 11 to 14:15 is all hot. Told noon to half past, the window stays as it was told."""
    noon = dataclasses.replace(SIX, usual_weekday=2, usual_start=12 * HOUR)
    pug = dog("Pug", heat=("age",), usuals=(noon,))
    (free,) = visits_of(pug, setting=HOT)
    assert {found.windows for found in free.visit.days} == {((8 * HOUR, 11 * HOUR),)}
    told = AgreedVisit("v", "h", "p", ("Pug",), day(2), (12 * HOUR, 12 * HOUR + 1800), told=True)
    agreed = next(visit for visit in visits_of(pug, agreed=(told,), setting=HOT) if visit.visit.id == "v")
    assert agreed.visit.days[0].windows == ((12 * HOUR, 12 * HOUR + 1800 + 4500),)


def test_two_dogs_that_do_not_fit_beside_the_heat_come_on_two_visits() -> None:
    """Two hours each and a quarter at the door are 4:15; only three hours of the morning are cool."""
    slow = {"heat": ("airway",), "work_seconds": 2 * HOUR}
    assert len(visits_of(dog("Pug", **slow), dog("Bully", **slow), setting=HOT)) == 2
    assert len(visits_of(dog("Pug", work_seconds=2 * HOUR), dog("Bully", work_seconds=2 * HOUR), setting=HOT)) == 1


def test_no_room_beside_the_heat_is_said_by_name() -> None:
    """Four hours of work in three cool hours: no day is left, and every date is named."""
    (pug,) = visits_of(dog("Pug", heat=("airway",), work_seconds=4 * HOUR), setting=HOT)
    assert pug.visit.days == ()
    reason = next(one for one in pug.because if one.name == "no room")
    assert reason.dates == (TODAY, day(1), day(2), day(3), day(4), day(7), day(8), day(9))


def test_a_double_coat_takes_more_minutes_in_its_months() -> None:
    """An hour and 25 % are 75 minutes, and the door's 15; due in April it is an hour again."""
    march = dataclasses.replace(setting(60), blow_months=frozenset({3}), blow_percent=25)
    husky = dog("Husky", blows_coat=True)
    now, later = visits_of(husky, setting=march)
    assert (now.visit.seconds, later.visit.seconds) == (5400, 4500)
    (other,) = visits_of(dog("Mop"), setting=dataclasses.replace(march, last=day(27)))
    assert other.visit.seconds == 4500
    assert "coat comes out" in {one.name for one in now.because}
    assert "coat comes out" not in {one.name for one in later.because}


def test_a_plug_spares_the_battery_and_a_tap_no_water() -> None:
    (own,) = visits_of(dog("Mop", power_wh=240))
    (theirs,) = visits_of(dog("Mop", power_wh=240, plug=True, tap=True))
    assert (own.visit.power_wh, theirs.visit.power_wh) == (240, 0)
    assert own.visit.water_l == theirs.visit.water_l == 20


def test_all_that_a_day_table_follows_from_is_named() -> None:
    """Only Mondays and Wednesdays, afternoons; the first Wednesday is a holiday; nobody works at weekends."""
    usual = dataclasses.replace(
        SIX, weekdays=(0, 2), hours_from=12 * HOUR, hours_until=17 * HOUR, usual_weekday=0, usual_start=13 * HOUR
    )
    closed = dataclasses.replace(
        setting(), closed={day(2): "Lantern Day"}, hours={d: h for d, h in setting().hours.items() if d != day(2)}
    )
    mop = dog(usuals=(usual,), rank=FLEAS, needs=("two people",), plug=True, tap=True)
    stands = Pencilled("v", frozenset({"Mop"}), day(7))
    (visit,) = visits_of(mop, pencilled=(stands,), setting=closed)
    named = {one.name: one for one in visit.because}
    assert list(named) == [
        "interval", "usual time", "weekdays", "hours", "stands", "closed", "no van",
        "fleas last", "needs", "tap", "plug",
    ]  # fmt: skip
    assert named["interval"].numbers == (6, 7, 7)
    assert named["interval"].dates == (day(2), day(-5), day(9))
    assert (named["usual time"].numbers, named["usual time"].hours) == ((0,), (13 * HOUR, 13 * HOUR))
    assert (named["closed"].dates, named["closed"].words) == ((day(2),), ("Lantern Day",))
    assert named["no van"].dates == (day(5), day(6))
    assert [found.date for found in visit.visit.days] == [TODAY, day(7), day(9)]


@pytest.mark.parametrize(
    ("size", "grams", "big"),
    [("giant", None, True), ("giant", 40_000, False), ("large", 45_000, True), ("large", None, False)],
)
def test_a_big_tub_goes_by_weight_then_by_size(size: str, grams: int | None, big: bool) -> None:
    assert needs_big_tub(size, grams) is big


def test_an_hour_on_the_table_draws_240_watt_hours() -> None:
    assert (power_wh(3600), power_wh(4500), power_wh(0)) == (240, 300, 0)

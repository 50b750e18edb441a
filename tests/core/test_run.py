"""A planned day from here and now: clock times, how late, slack, tank and power."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatround.core.run import DayNow, Done, Kind, PlannedDay, PlannedStop, day_now
from coatround.core.units import HOUR, MINUTE

KINDS: list[Kind] = ["visit", "visit", "refill", "break"]
H8, H9, H10, H11, H12 = (hour * HOUR for hour in (8, 9, 10, 11, 12))
MOP = PlannedStop("mop", "visit", H8 + 900, H8 + 900, H9 + 900, 900, 40, 300, (H8, H8 + 1800))
FILL = PlannedStop("fill", "refill", H9 + 1500, H9 + 1500, H9 + 2400, 600)
FIG = PlannedStop("fig", "visit", H10, H10, H11, 1200, 60, 500, (H9 + 1800, H10 + 1800))
EAT = PlannedStop("eat", "break", H11, H11, H11 + 1800)
ODE = PlannedStop("ode", "visit", H11 + 3000, H12, H12 + 1800, 1200, 30, 200)
DAY = PlannedDay(H8, H12 + 3000, H12 + 3600 * 2, (MOP, FILL, FIG, EAT, ODE), 100, 2000)


def times(day: DayNow) -> list[tuple[str, int, int, int]]:
    return [(stop.plan.key, stop.arrive, stop.start, stop.end) for stop in day.stops]


def planned(day: PlannedDay) -> list[tuple[str, int, int, int]]:
    return [(stop.key, stop.arrive, stop.start, stop.end) for stop in day.stops]


def test_on_another_date_the_plan_stands() -> None:
    day = day_now(DAY)
    assert times(day) == planned(DAY)
    assert (day.late_seconds, day.back) == (0, DAY.back)
    assert day.next is not None
    assert day.next.plan is MOP


def test_before_leaving_the_plan_stands() -> None:
    assert times(day_now(DAY, now=H8 - HOUR)) == planned(DAY)


def test_not_there_yet_when_it_was_planned_is_late_by_the_clock() -> None:
    day = day_now(DAY, now=MOP.arrive + 10 * MINUTE)
    assert day.next is not None
    assert day.next.plan is MOP
    assert day.late_seconds == 10 * MINUTE
    assert not day.next.breaks_told


def test_lateness_moves_on_and_a_planned_wait_takes_it_up() -> None:
    day = day_now(DAY, [Done("mop", MOP.start + 5 * MINUTE, MOP.end + 5 * MINUTE)], now=MOP.end + 6 * MINUTE)
    late = {stop.plan.key: stop.late_seconds for stop in day.stops}
    assert (late["mop"], late["fill"], late["fig"]) == (300, 300, 300)
    assert day.stops[-1].start == ODE.start  # ten minutes of waiting before it took the five
    assert day.back == DAY.back


def test_early_is_below_zero_and_a_told_window_does_not_open_before() -> None:
    day = day_now(DAY, [Done("mop", MOP.start, MOP.end - 45 * MINUTE)], now=MOP.end - 45 * MINUTE)
    fig = day.stops[2]
    assert fig.late_seconds == -45 * MINUTE
    assert fig.start == H9 + 1800  # told from 9:30


def test_on_the_table_longer_than_planned_ends_now() -> None:
    day = day_now(DAY, [Done("mop", MOP.start)], now=MOP.end + 7 * MINUTE)
    assert day.next is not None
    assert (day.next.plan.key, day.next.state) == ("mop", "on the table")
    assert (day.next.end, day.late_seconds) == (MOP.end + 7 * MINUTE, 7 * MINUTE)


def test_slack_is_the_least_of_the_windows_and_the_days_end() -> None:
    day = day_now(DAY)
    slack = {stop.plan.key: stop.slack_seconds for stop in day.stops}
    assert slack["mop"] == 15 * MINUTE  # told until 8:30, there at 8:15
    assert slack["fig"] == 30 * MINUTE  # told until 10:30, there at 10:00
    assert slack["ode"] == DAY.close - DAY.back + 10 * MINUTE  # its wait of ten minutes too
    assert day.slack_seconds == 15 * MINUTE


def test_a_stop_that_breaks_what_was_told_says_so() -> None:
    day = day_now(DAY, now=H9)
    assert day.stops[0].breaks_told
    assert day.slack_seconds == -30 * MINUTE


def test_a_visit_called_off_takes_no_time_and_no_water() -> None:
    day = day_now(DAY, [Done("fig", is_off=True)])
    fig = day.stops[2]
    assert (fig.state, fig.start, fig.end) == ("not done", fig.arrive, fig.arrive)
    assert fig.water_before_l == fig.water_after_l
    assert day.stops[-1].start == ODE.start


def test_a_visit_passed_over_is_still_to_do() -> None:
    day = day_now(DAY, [Done("fig", H9, H10)], now=H10)
    assert [stop.plan.key for stop in day.stops] == ["fill", "fig", "mop", "eat", "ode"]
    assert day.next is not None
    assert day.next.plan.key == "mop"
    assert day.stops[0].state == "done"


def test_water_as_drawn_replaces_water_as_planned() -> None:
    day = day_now(DAY, [Done("mop", MOP.start, MOP.end, water_l=55)])
    assert [(stop.water_before_l, stop.water_after_l) for stop in day.stops] == [
        (100, 45),
        (45, 100),
        (100, 40),
        (40, 40),
        (40, 10),
    ]
    assert day.tank[0] == (H8, 100)
    assert min(level for _at, level in day.tank) == 10


def test_the_battery_falls_and_no_refill_raises_it() -> None:
    assert [level for _at, level in day_now(DAY).power] == [2000, 2000, 1700, 1700, 1200, 1200, 1000, 1000]
    assert day_now(replace(DAY, battery_wh=None)).power == ()


def test_a_day_that_is_done_has_no_next() -> None:
    done = [Done("mop", H8 + 900, H9), Done("fig", H10, H11), Done("ode", H12, H12 + 1200)]
    day = day_now(DAY, done, now=H12 + 1300)
    assert day.next is None
    assert day.late_seconds == -600


def test_a_day_without_stops() -> None:
    day = day_now(PlannedDay(H8, H9, H10, (), 100))
    assert (day.next, day.back, day.slack_seconds, day.tank) == (None, H9, HOUR, ((H8, 100), (H9, 100)))


@st.composite
def days(draw: st.DrawFn) -> PlannedDay:
    at = leave = draw(st.integers(0, 12 * HOUR))
    stops = []
    for index in range(draw(st.integers(1, 8))):
        drive, wait = draw(st.integers(0, 3600)), draw(st.sampled_from([0, 0, 600]))
        kind: Kind = draw(st.sampled_from(KINDS))
        start = at + drive + wait
        end = start + draw(st.integers(60, 7200))
        told = (start - 600, start + 900) if kind == "visit" and draw(st.booleans()) else None
        litres = draw(st.integers(0, 60)) if kind == "visit" else 0
        stops.append(PlannedStop(str(index), kind, at + drive, start, end, drive, litres, 0, told))
        at = end
    back = at + draw(st.integers(0, 3600))
    return PlannedDay(leave, back, back + draw(st.integers(0, 3600)), tuple(stops), 150)


@given(days(), st.data())
@settings(max_examples=100, deadline=None)
def test_a_day_done_as_planned_looks_like_the_plan(day: PlannedDay, data: st.DataObject) -> None:
    visits = [stop for stop in day.stops if stop.kind == "visit"]
    count = data.draw(st.integers(0, len(visits)))
    done = [Done(stop.key, stop.start, stop.end) for stop in visits[:count]]
    now = visits[count - 1].end if count else day.leave
    assert [each[2:] for each in times(day_now(day, done, now))] == [each[2:] for each in planned(day)]


@given(days(), st.data())
@settings(max_examples=100, deadline=None)
def test_stops_follow_each_other_and_no_stop_is_lost(day: PlannedDay, data: st.DataObject) -> None:
    keys = [stop.key for stop in day.stops if stop.kind == "visit"]
    picked = data.draw(st.lists(st.sampled_from(keys), unique=True) if keys else st.just([]))
    done = [
        Done(
            key,
            data.draw(st.integers(day.leave, day.back)),
            data.draw(st.none() | st.integers(day.leave, day.back + HOUR)),
            is_off=data.draw(st.booleans()),
        )
        for key in picked
    ]
    now = data.draw(st.none() | st.integers(day.leave - HOUR, day.back + 2 * HOUR))
    looked = day_now(day, done, now)
    assert sorted(stop.plan.key for stop in looked.stops) == sorted(stop.key for stop in day.stops)
    at = day.leave
    for stop in looked.stops:
        assert at <= stop.start <= stop.end
        assert stop.arrive <= stop.start
        at = stop.end
    assert looked.back >= at
    tank = [seconds for seconds, _litres in looked.tank]
    assert tank == sorted(tank)


@given(days(), st.integers(0, 3 * HOUR))
@settings(max_examples=100, deadline=None)
def test_within_the_slack_nothing_breaks_and_beyond_it_something_does(day: PlannedDay, late: int) -> None:
    first = next((stop for stop in day.stops if stop.kind == "visit"), None)
    if first is None:
        return
    slack = day_now(day).slack_seconds
    looked = day_now(day, now=first.arrive + late)
    broken = any(stop.breaks_told for stop in looked.stops) or looked.back > day.close
    assert broken == (late > slack)


@pytest.mark.parametrize("started", [H8 - HOUR, H8 + 900])
def test_a_start_before_leaving_is_held_to_the_clock(started: int) -> None:
    assert day_now(DAY, [Done("mop", started, H9)]).stops[0].start >= DAY.leave

"""A rush of two weeks before a holiday, worked out by hand. Monday 2 March 2026 is today."""

import datetime as dt

from hypothesis import given
from hypothesis import strategies as st

from coatround.core.rush import Rush, Wanting, held_on, week_loads

TODAY = dt.date(2026, 3, 2)
HOUR = 3600


def day(number: int) -> dt.date:
    return TODAY + dt.timedelta(days=number)


RUSH = Rush("before Lantern Day", day(14), day(25), HOUR, open_days=7)
DAYS = [(day(number), 8 * HOUR) for number in range(40) if day(number).weekday() < 5]


def test_an_hour_is_held_until_a_week_before_the_day() -> None:
    """On the 16th, 14 days ahead, an hour; seen from seven days before it, nothing; nor outside the rush."""
    assert RUSH.holds(day(14), TODAY) == HOUR
    assert RUSH.holds(day(14), day(6)) == HOUR
    assert RUSH.holds(day(14), day(7)) == 0
    assert RUSH.holds(day(13), TODAY) == RUSH.holds(day(26), TODAY) == 0


def test_of_two_rushes_the_one_that_holds_more_counts() -> None:
    other = Rush("the fair", day(20), day(30), 2 * HOUR)
    assert held_on([RUSH, other], day(21), TODAY) == 2 * HOUR
    assert held_on([RUSH, other], day(15), TODAY) == HOUR
    assert held_on([], day(15), TODAY) == 0


def test_how_full_the_weeks_are() -> None:
    """Two weeks of five days of 8 hours. Due: a regular before the rush and one in its second week, another in its
    first; one due after the rush counts nowhere. 40 - 5 - 2 - 1 are 32 hours left, then 40 - 5 - 3 are 32."""
    wanting = [
        Wanting(day(3), 2 * HOUR, True),
        Wanting(day(15), HOUR, False),
        Wanting(day(22), 3 * HOUR, True),
        Wanting(day(26), 9 * HOUR, True),
    ]
    one, two = week_loads(RUSH, DAYS, wanting, TODAY)
    assert (one.monday, one.works, one.held) == (day(14), 40 * HOUR, 5 * HOUR)
    assert (one.regulars, one.others, one.left) == (2 * HOUR, HOUR, 32 * HOUR)
    assert (two.monday, two.regulars, two.others, two.left) == (day(21), 3 * HOUR, 0, 32 * HOUR)


def test_more_regulars_than_hours_is_said() -> None:
    one, _ = week_loads(RUSH, DAYS, [Wanting(day(14), 43 * HOUR, True)], TODAY)
    assert (one.left, one.short) == (-8 * HOUR, 3 * HOUR)


def test_a_rush_under_way_counts_its_coming_days_only() -> None:
    """Seen from its first Wednesday three days of the week are left; none of them is held any more."""
    one, two = week_loads(RUSH, DAYS, [], day(16))
    assert (one.works, one.held) == (24 * HOUR, 0)
    assert two.held == 2 * HOUR


@given(st.lists(st.builds(Wanting, st.integers(0, 25).map(day), st.integers(0, 9 * HOUR), st.booleans())))
def test_everything_due_by_its_end_counts_once(wanting: list[Wanting]) -> None:
    loads = week_loads(RUSH, DAYS, wanting, TODAY)
    assert sum(one.regulars + one.others for one in loads) == sum(one.seconds for one in wanting)

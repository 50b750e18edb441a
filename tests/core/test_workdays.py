"""Which days a van works: hours by weekday, days off, closed dates. All by hand on the week of Monday 2 March 2026."""

import datetime as dt

from coatround.core.workdays import DaysOff, WeekdayHours, dates_between, monday_of, widest_hours, workdays

MONDAY = dt.date(2026, 3, 2)
HOUR = 3600


def day(number: int) -> dt.date:
    return MONDAY + dt.timedelta(days=number)


HOURS = {
    "otter": [WeekdayHours(0, 8 * HOUR, 16 * HOUR), WeekdayHours(2, 9 * HOUR, 17 * HOUR)],
    "heron": [WeekdayHours(0, 7 * HOUR, 15 * HOUR)],
}


def test_it_works() -> None:
    found = [(one.van, one.date) for one in workdays(HOURS, [], [], MONDAY, day(6))]
    assert found == [("otter", day(0)), ("heron", day(0)), ("otter", day(2))]


def test_a_day_off_of_one_van_leaves_the_other_at_work() -> None:
    off = [DaysOff(day(0), day(1), "otter")]
    assert [(one.van, one.date) for one in workdays(HOURS, off, [], MONDAY, day(1))] == [("heron", day(0))]


def test_a_day_off_without_a_van_and_a_holiday_close_for_all() -> None:
    assert workdays(HOURS, [DaysOff(day(0), day(0))], [day(2)], MONDAY, day(6)) == ()


def test_widest_hours_span_all_vans_of_a_date() -> None:
    widest = widest_hours(workdays(HOURS, [], [], MONDAY, day(6)))
    assert widest == {day(0): (7 * HOUR, 16 * HOUR), day(2): (9 * HOUR, 17 * HOUR)}


def test_dates_between_counts_both_ends_and_none_backwards() -> None:
    assert list(dates_between(day(0), day(1))) == [day(0), day(1)]
    assert list(dates_between(day(1), day(0))) == []
    assert monday_of(day(6)) == MONDAY

"""The invented town's rush hours."""

import pytest

from coatround.demo.rush import share_of_free_speed

KINDS = (
    "motorway",
    "trunk",
    "primary",
    "secondary",
    "tertiary",
    "unclassified",
    "residential",
    "living_street",
    "service",
)


@pytest.mark.parametrize("kind", KINDS)
def test_no_hour_is_faster_than_the_free_road_and_nights_are_free(kind: str) -> None:
    shares = [share_of_free_speed(kind, day, hour) for day in range(7) for hour in range(24)]
    assert all(0.5 < share <= 1 for share in shares)
    assert all(share_of_free_speed(kind, day, hour) == 1 for day in range(7) for hour in (22, 23, 0, 1, 2, 3, 4, 5))
    assert min(shares) < 1


def test_big_roads_are_slow_to_work_and_home_again() -> None:
    day = [share_of_free_speed("primary", 1, hour) for hour in range(24)]
    assert min(day[:12]) == day[8] < day[11]
    assert min(day[12:]) == day[17] < day[13]
    assert share_of_free_speed("primary_link", 1, 8) == day[8]


def test_fridays_are_worse_and_sundays_free() -> None:
    assert share_of_free_speed("trunk", 4, 16) < share_of_free_speed("trunk", 3, 16)
    assert {share_of_free_speed("trunk", 6, hour) for hour in range(24)} == {1.0}


def test_small_streets_know_school_hours_alone() -> None:
    slow = {(day, hour) for day in range(7) for hour in range(24) if share_of_free_speed("residential", day, hour) < 1}
    assert slow == {(day, hour) for day in range(5) for hour in (8, 15)}


@pytest.mark.parametrize(("weekday", "hour"), [(7, 0), (-1, 0), (0, 24), (0, -1)])
def test_hours_that_are_none_are_refused(weekday: int, hour: int) -> None:
    with pytest.raises(ValueError, match="expected 0 to 6"):
        share_of_free_speed("trunk", weekday, hour)

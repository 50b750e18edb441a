"""The straight-line estimate against published great circles, and its own promises."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatround.roads.drives import with_travel
from coatround.roads.straight import CIRCUITY, drive_seconds, great_circle_metres, straight_travel
from tests.core.rounds.examples import problem_from, problem_json

POINTS = st.lists(st.tuples(st.floats(-89, 89), st.floats(-180, 180)), min_size=1, max_size=6)


@pytest.mark.parametrize(
    ("one", "other", "km"),
    [
        # The example in the readme of the `haversine` package, 2.9.0.
        ((45.7597, 4.8422), (48.8567, 2.3508), 392.2172595594006),
        # Run with haversine 2.9.0; mean radius R1 of GRS 80, 6371.0088 km.
        ((-33.8688, 151.2093), (-37.8136, 144.9631), 713.42847),
        ((0.0, 0.0), (1.0, 0.0), 111.195080),
        # Exact: a quarter and half of a circle of that radius.
        ((0.0, 0.0), (0.0, 90.0), 10007.557221),
        ((0.0, 0.0), (0.0, 180.0), 20015.114442),
    ],
)
def test_great_circles_as_published(one: tuple[float, float], other: tuple[float, float], km: float) -> None:
    metres = great_circle_metres([one[0], other[0]], [one[1], other[1]])
    assert metres[0, 1] / 1000 == pytest.approx(km, rel=1e-7)
    assert metres[0, 1] == metres[1, 0]


def test_a_trip_by_hand() -> None:
    """A degree north is 150.113 km: 8 miles in 1.42656 x 14.25 min, 137.238 km at 80 km/h; parking."""
    seconds, metres = straight_travel([0, 1], [0, 0])
    assert metres[0][1] == 150113
    assert seconds[0][1] == round(1.426557 * 14.25 * 60 + 137.238 / 80 * 3600 + 180)


def test_parking_is_that_of_the_place_arrived_at() -> None:
    none, _ = straight_travel([-31, -31.1], [152, 152], 0)
    own, _ = straight_travel([-31, -31.1], [152, 152], [60, 300])
    assert (own[0][1] - none[0][1], own[1][0] - none[1][0]) == (300, 60)


def test_the_same_address_is_no_drive() -> None:
    seconds, metres = straight_travel([-31, -31, -31.2], [152, 152, 152], 240)
    assert (seconds[0][1], seconds[1][0], metres[0][1]) == (0, 0, 0)
    assert seconds[0][2] > 240


def test_longer_trips_are_faster_on_the_whole() -> None:
    km = np.array([0.1, 0.5, 2, 5, 10, 20, 50, 100, 300])
    speeds = km / drive_seconds(km * 1000) * 3600
    assert (np.diff(speeds) > 0).all()
    assert speeds[0] > 7
    assert speeds[-1] < 80


@pytest.mark.parametrize(("miles", "minutes"), [(1.5, 3.2), (2.5, 4.9)])
def test_the_curve_as_published_with_lights_and_siren(miles: float, minutes: float) -> None:
    """The two benchmarks that the US insurance rating bureau gives for the RAND formula, to a tenth of a minute."""
    with_siren = drive_seconds(np.array([miles * 1609.344]))[0] / (12.14 / 8.51) / 60
    assert round(with_siren, 1) == minutes


def test_the_two_parts_of_the_curve_meet_smoothly() -> None:
    metres = np.array([0.0, 614.0, 615.3, 616.6])
    seconds = drive_seconds(metres)
    assert seconds[0] == 0
    assert seconds[2] - seconds[1] == pytest.approx(seconds[3] - seconds[2], rel=0.01)


@given(POINTS)
@settings(max_examples=50, deadline=None)
def test_whole_numbers_zero_diagonal_symmetric(points: list[tuple[float, float]]) -> None:
    lats, lons = [lat for lat, _ in points], [lon for _, lon in points]
    seconds, metres = straight_travel(lats, lons)
    for matrix in (seconds, metres):
        assert len(matrix) == len(points)
        assert all(len(row) == len(points) and row[i] == 0 for i, row in enumerate(matrix))
        assert all(type(value) is int and value >= 0 for row in matrix for value in row)
        assert matrix == tuple(zip(*matrix, strict=True))
    assert max(map(max, metres)) <= CIRCUITY * 20015115 + 1


@pytest.mark.parametrize(("lats", "lons"), [([0, 1], [0]), ([float("nan")], [0]), ([0], [float("inf")])])
def test_lists_that_do_not_fit_are_refused(lats: list[float], lons: list[float]) -> None:
    with pytest.raises(ValueError, match=r"expected|finite|broadcast"):
        straight_travel(lats, lons)


def test_no_places_is_no_travel() -> None:
    assert straight_travel([], []) == ((), ())


def test_a_problem_is_filled() -> None:
    value = problem_json()
    del value["travel"]
    problem, _drives = with_travel(problem_from(value), None)
    assert problem.travel is not None
    assert len(problem.travel.seconds) == len(problem.places)

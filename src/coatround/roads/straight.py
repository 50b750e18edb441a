"""Travel without a map: the great circle times a factor, at a speed that grows with distance. An estimate.

Mean radius R1 of GRS 80: 6,371,008.8 m. Circuity 1.35, rounded up from the published 1.34 for home-to-centre trips in
300 European cities (Environment and Planning B 2023, doi 10.1177/23998083231168870). The speed curve is our own
default: a short trip is town streets, a long one mostly open road.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from coatround.core.rounds.problem import Problem, Travel

EARTH_RADIUS_METRES = 6_371_008.8
CIRCUITY = 1.35
SLOW_KM_H = 26.0
"""Our own default: the speed of the shortest trips."""
FAST_KM_H = 85.0
"""Our own default: the speed that very long trips come near."""
HALFWAY_KM = 25.0
"""Our own default: the road distance at which the speed lies halfway between the two."""
PARKING_SECONDS = 180
"""Our own default where none is given: parking and setting up at each place."""

Matrix = tuple[tuple[int, ...], ...]


def great_circle_metres(lats: Sequence[float], lons: Sequence[float]) -> NDArray[np.float64]:
    """Metres along the sphere from each point to each (haversine); degrees north and east."""
    lat, lon = np.radians(np.asarray(lats, dtype=float)), np.radians(np.asarray(lons, dtype=float))
    rise = np.sin((lat[:, None] - lat[None, :]) / 2) ** 2
    turn = np.sin((lon[:, None] - lon[None, :]) / 2) ** 2
    half = rise + np.cos(lat)[:, None] * np.cos(lat)[None, :] * turn
    metres: NDArray[np.float64] = 2 * EARTH_RADIUS_METRES * np.arcsin(np.sqrt(np.clip(half, 0, 1)))
    return metres


def speed_km_h(road_km: NDArray[np.float64]) -> NDArray[np.float64]:
    """The mean speed of a trip by its length on the road; our own default, see the constants."""
    return SLOW_KM_H + (FAST_KM_H - SLOW_KM_H) * road_km / (road_km + HALFWAY_KM)


def straight_travel(
    lats: Sequence[float], lons: Sequence[float], parking_seconds: Sequence[int] | int = PARKING_SECONDS
) -> tuple[Matrix, Matrix]:
    """Estimated (seconds, metres) from each place to each, whole numbers, zero on the diagonal.

    `parking_seconds` are spent on arriving, one number for all places or one for each; none between places with
    the same coordinates. ValueError where the lists differ in length or a coordinate is not finite.
    """
    parking = np.broadcast_to(np.asarray(parking_seconds, dtype=float), (len(lats),))
    if len(lats) != len(lons):
        raise ValueError(f"{len(lats)} latitudes and {len(lons)} longitudes, expected as many")
    if not (np.isfinite(lats).all() and np.isfinite(lons).all()):
        raise ValueError("a coordinate is not a finite number")
    road = CIRCUITY * great_circle_metres(lats, lons)
    seconds = road / 1000 / speed_km_h(road / 1000) * 3600 + parking[None, :]
    same = road < 0.5
    seconds[same], road[same] = 0, 0
    return _whole(seconds), _whole(road)


def _whole(values: NDArray[np.float64]) -> Matrix:
    return tuple(map(tuple, np.rint(values).astype(int).tolist()))


def with_travel(problem: Problem, parking_seconds: Sequence[int] | int = PARKING_SECONDS) -> Problem:
    """The problem with its travel filled by this estimate."""
    lats, lons = [place.lat for place in problem.places], [place.lon for place in problem.places]
    return replace(problem, travel=Travel(*straight_travel(lats, lons, parking_seconds)))

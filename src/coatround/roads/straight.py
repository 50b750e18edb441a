"""Travel without a map: the great circle times a factor, at a speed that grows with distance. An estimate.

Mean radius R1 of GRS 80: 6,371,008.8 m. Circuity 1.35, rounded up from the published 1.34 for home-to-centre trips in
300 European cities (Environment and Planning B 2023, doi 10.1177/23998083231168870).

The speed is published, not fitted to any town of ours: fire engines take 0.65 minutes and 1.7 more a mile of road
(RAND, from New York stopwatches, Kolesar and Walker, R-1449-NYC; held good from half a mile to 8 miles), and on the
shortest trips a time that grows as the root of the distance, met with the same slope. That is with lights and siren; an
ambulance that kept the traffic laws took 12.14 minutes where one with siren took 8.51 (Ho and Lindquist 2001, Prehosp
Emerg Care 5:159-162), so every time is made longer by that. Beyond 8 miles a kilometre more is open road.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

EARTH_RADIUS_METRES = 6_371_008.8
CIRCUITY = 1.35
METRES_A_MILE = 1609.344
START_MINUTES, MINUTES_A_MILE = 0.65, 1.7
FURTHEST_MILES = 8.0
WITHOUT_SIREN = 12.14 / 8.51
OPEN_ROAD_KM_H = 80.0
"""Our own default: the speed of each kilometre beyond the first eight miles."""
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


def drive_seconds(road_metres: NDArray[np.float64]) -> NDArray[np.float64]:
    """The seconds that a drive of so many metres of road takes, parking left aside; see the module for its sources."""
    miles = np.minimum(road_metres / METRES_A_MILE, FURTHEST_MILES)
    meet = START_MINUTES / MINUTES_A_MILE
    root = 2 * MINUTES_A_MILE * np.sqrt(meet * miles)
    minutes = np.where(miles < meet, root, START_MINUTES + MINUTES_A_MILE * miles)
    beyond_km = np.maximum(0, road_metres - FURTHEST_MILES * METRES_A_MILE) / 1000
    seconds: NDArray[np.float64] = 60 * WITHOUT_SIREN * minutes + 3600 * beyond_km / OPEN_ROAD_KM_H
    return seconds


def straight_travel(
    lats: Sequence[float], lons: Sequence[float], parking_seconds: Sequence[int] | int = PARKING_SECONDS
) -> tuple[Matrix, Matrix]:
    """Estimated (seconds, metres) from each place to each, whole numbers, zero on the diagonal.

    `parking_seconds` are spent on arriving, one number for all places or one for each; none between places with
    the same coordinates. ValueError where the lists differ in length or a coordinate is not finite.
    """
    parking = np.broadcast_to(np.asarray(parking_seconds, dtype=float), (len(lats),))
    seconds, road = straight_drives(lats, lons)
    seconds = np.where(road > 0, seconds + parking[None, :], 0)
    return _whole(seconds), _whole(road)


def straight_drives(lats: Sequence[float], lons: Sequence[float]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Estimated (seconds, metres) from each place to each, without parking; zero between the same coordinates."""
    if len(lats) != len(lons):
        raise ValueError(f"{len(lats)} latitudes and {len(lons)} longitudes, expected as many")
    if not (np.isfinite(lats).all() and np.isfinite(lons).all()):
        raise ValueError("a coordinate is not a finite number")
    road = CIRCUITY * great_circle_metres(lats, lons)
    seconds = drive_seconds(road)
    same = road < 0.5
    seconds[same], road[same] = 0, 0
    return seconds, road


def _whole(values: NDArray[np.float64]) -> Matrix:
    return tuple(map(tuple, np.rint(values).astype(int).tolist()))

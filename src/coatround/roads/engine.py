"""The road engine: Valhalla over the tiles of one extract.

An actor is not to be shared by threads, so each thread has its own. Times are those of free roads with the engine's
own costs of turning, and of the hour of leaving where the tiles hold speeds by hour.
"""

import datetime as dt
import json
import os
import tempfile
import threading
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import valhalla
from numpy.typing import NDArray
from valhalla.midgard.utils import decode_polyline

SNAP_METRES = 1000
"""Our own default: a pin further than this from any road driveable by car is not on the map."""
NEAR_ENOUGH_METRES = 35_000
MOST_PAIRS = 200_000
"""How many pairs are asked at once; more are asked in parts, so that an answer stays small in memory."""
CACHE_BYTES = 64_000_000
NEAREST_ROAD, ROAD_THAT_LEADS_ON = 0, 50
"""How many further roads must be reached from a road for it to be taken for a point: the nearest road, even one that
leads nowhere, or (the engine's own default) one that leads on."""

Point = tuple[float, float]
"""Degrees north and east."""
Numbers = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Snapped:
    """The road nearest to a point: how far away it is, and its name where it has one."""

    metres: int
    road: str

    @property
    def is_on_road(self) -> bool:
        return self.metres <= SNAP_METRES


@dataclass(frozen=True, slots=True)
class Step:
    """One turn of a drive, in words, and how long and far one drives after it."""

    words: str
    seconds: int
    metres: int


@dataclass(frozen=True, slots=True)
class Way:
    """A drive from one point to another: turn by turn, and as a line of (lat, lon)."""

    seconds: int
    metres: int
    steps: tuple[Step, ...]
    line: tuple[Point, ...]


class NoWay(Exception):
    """No road leads from the one point to the other."""


def config(folder: Path) -> dict[str, Any]:
    """The engine's settings for the tiles in a folder."""
    settings: dict[str, Any] = valhalla.get_config(tile_extract="", tile_dir="", verbose=False)
    settings["mjolnir"] |= {
        "tile_dir": str(folder / "tiles"),
        "admin": str(folder / "admin.sqlite"),
        "logging": {"type": ""},
        "max_cache_size": CACHE_BYTES,
        **dict.fromkeys(("timezone", "traffic_extract", "landmarks", "transit_dir", "transit_feeds_dir"), ""),
    }
    settings["logging"] = {"type": ""}
    settings["additional_data"] = {"elevation": ""}
    settings["thor"]["source_to_target_algorithm"] = "timedistancematrix"
    settings["service_limits"]["auto"] |= {
        "max_matrix_location_pairs": 4 * MOST_PAIRS,
        "max_locations": 20_000,
        "max_matrix_distance": 5_000_000.0,
    }
    return settings


@lru_cache(maxsize=2)
def engine_of(folder: Path) -> "Engine":
    """The engine over a folder's tiles; the same one for as long as it is asked for."""
    return Engine(folder)


class Engine:
    """Answers drives between points; safe to ask from several threads."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._own = threading.local()
        self.pairs_asked = 0

    def snap(self, points: Sequence[Point]) -> list[Snapped | None]:
        """The nearest road of each point; None where none is within 35 km."""
        near = self._locate(points, SNAP_METRES)
        far = [number for number, found in enumerate(near) if found is None]
        for number, found in zip(
            far, self._locate([points[number] for number in far], NEAR_ENOUGH_METRES), strict=True
        ):
            near[number] = found
        return near

    def _locate(self, points: Sequence[Point], cutoff_metres: int) -> list[Snapped | None]:
        if not points:
            return []
        asked = {"locations": _locations(points, cutoff_metres, NEAREST_ROAD), "costing": "auto", "verbose": True}
        answers = json.loads(self._actor("timedistancematrix").locate(json.dumps(asked)))
        return [_snapped(point, answer) for point, answer in zip(points, answers, strict=True)]

    def matrix(
        self, sources: Sequence[Point], targets: Sequence[Point], *, shortest: bool = False
    ) -> tuple[Numbers, Numbers]:
        """Seconds and metres from each source to each target, not a number where no road leads.

        Each point must be on a road (`snap`): one that is not makes the whole question fail with ValueError.
        """
        seconds, metres = np.full((2, len(sources), len(targets)), np.nan)
        if not len(sources) or not len(targets):
            return seconds, metres
        rows = max(1, MOST_PAIRS // len(targets))
        for first in range(0, len(sources), rows):
            part = slice(first, first + rows)
            seconds[part], metres[part] = self._asked(
                "timedistancematrix", NEAREST_ROAD, sources[part], targets, shortest
            )
        self.pairs_asked += seconds.size
        self._ask_again(sources, targets, seconds, metres, shortest)
        return seconds, metres

    def _ask_again(
        self, sources: Sequence[Point], targets: Sequence[Point], seconds: Numbers, metres: Numbers, shortest: bool
    ) -> None:
        """Asks again for what was not found, by the other algorithm and from roads that lead on.

        First the sources that reach hardly anything, then what is left of the targets.
        """
        missing = np.isnan(seconds)
        cut_off = np.flatnonzero(missing.sum(axis=1) * 2 > len(targets))
        for row in cut_off:
            self._fill(sources, targets, seconds, metres, ([int(row)], np.flatnonzero(missing[row]).tolist()), shortest)
        missing = np.isnan(seconds)
        missing[cut_off] = False
        for column in np.flatnonzero(missing.any(axis=0)):
            rows = np.flatnonzero(missing[:, column]).tolist()
            self._fill(sources, targets, seconds, metres, (rows, [int(column)]), shortest)

    def _fill(
        self,
        sources: Sequence[Point],
        targets: Sequence[Point],
        seconds: Numbers,
        metres: Numbers,
        where: tuple[list[int], list[int]],
        shortest: bool,
    ) -> None:
        rows, columns = where
        starts, ends = [sources[row] for row in rows], [targets[one] for one in columns]
        found = self._asked("costmatrix", ROAD_THAT_LEADS_ON, starts, ends, shortest)
        seconds[np.ix_(rows, columns)], metres[np.ix_(rows, columns)] = found

    def _asked(
        self, algorithm: str, reach: int, sources: Sequence[Point], targets: Sequence[Point], shortest: bool
    ) -> tuple[Numbers, Numbers]:
        asked = {
            "sources": _locations(sources, SNAP_METRES, reach),
            "targets": _locations(targets, SNAP_METRES, reach),
            "costing": "auto",
            "costing_options": {"auto": {"shortest": shortest}},
            "verbose": False,
            "units": "kilometers",
        }
        try:
            answer = json.loads(self._actor(algorithm).matrix(json.dumps(asked)))["sources_to_targets"]
        except RuntimeError as error:
            raise ValueError(f"the engine gave no drives: {error}") from error
        return np.array(answer["durations"], dtype=float), np.array(answer["distances"], dtype=float) * 1000

    def way(self, start: Point, end: Point, leaving: dt.datetime | None = None, *, shortest: bool = False) -> Way:
        """The drive from one point to another, in words, left at a wall-clock time of the place; raises NoWay.

        It is the drive whose seconds and metres `matrix` gives: from the nearest road, else from one that leads on.
        """
        try:
            return self._way_from(NEAREST_ROAD, start, end, leaving, shortest)
        except NoWay:
            return self._way_from(ROAD_THAT_LEADS_ON, start, end, leaving, shortest)

    def _way_from(self, reach: int, start: Point, end: Point, leaving: dt.datetime | None, shortest: bool) -> Way:
        asked: dict[str, Any] = {
            "locations": _locations((start, end), SNAP_METRES, reach),
            "costing": "auto",
            "costing_options": {"auto": {"shortest": shortest}},
            "units": "kilometers",
            "language": "en-US",
        }
        if leaving is not None:
            asked["date_time"] = {"type": 1, "value": leaving.strftime("%Y-%m-%dT%H:%M")}
        try:
            trip = json.loads(self._actor("timedistancematrix").route(json.dumps(asked)))["trip"]
        except RuntimeError as error:
            raise NoWay(f"no road leads from {start} to {end}: {error}") from error
        return _way(trip)

    def _actor(self, algorithm: str) -> Any:
        """This thread's own actor of an algorithm."""
        actors: dict[str, Any] | None = getattr(self._own, "actors", None)
        if actors is None:
            actors = self._own.actors = {}
        if algorithm not in actors:
            settings = config(self._folder)
            settings["thor"]["source_to_target_algorithm"] = algorithm
            settings["thor"]["costmatrix"]["allow_second_pass"] = True
            actors[algorithm] = _actor_of(settings)
        return actors[algorithm]


def _actor_of(settings: dict[str, Any]) -> Any:
    """An actor; it reads its settings from a file once, which is then removed."""
    handle, name = tempfile.mkstemp(suffix=".json")
    try:
        with os.fdopen(handle, "w") as file:
            json.dump(settings, file)
        return valhalla.Actor(name)
    finally:
        Path(name).unlink(missing_ok=True)


def _locations(points: Sequence[Point], cutoff_metres: int, reach: int) -> list[dict[str, float]]:
    return [
        {"lat": lat, "lon": lon, "search_cutoff": cutoff_metres, "minimum_reachability": reach} for lat, lon in points
    ]


def _snapped(point: Point, answer: dict[str, Any]) -> Snapped | None:
    edges = answer.get("edges") or []
    if not edges:
        return None
    nearest = min(edges, key=lambda edge: edge.get("distance", 0))
    names = nearest.get("edge_info", {}).get("names") or [""]
    return Snapped(round(nearest.get("distance", 0)), names[0])


def _way(trip: dict[str, Any]) -> Way:
    leg = trip["legs"][0]
    steps = tuple(
        Step(turn["instruction"], round(turn["time"]), round(turn["length"] * 1000)) for turn in leg["maneuvers"]
    )
    line = tuple(line_of(leg["shape"]))
    return Way(round(trip["summary"]["time"]), round(trip["summary"]["length"] * 1000), steps, line)


def line_of(shape: str) -> list[Point]:
    """The engine's encoded line as (lat, lon), six decimals."""
    return [(round(lat, 6), round(lon, 6)) for lon, lat in decode_polyline(shape)]

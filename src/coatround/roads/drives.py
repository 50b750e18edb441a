"""Drives between places: asked of the road engine once, kept, and estimated where there is no road to ask.

The cache lies in the folder of the roads it was asked of, so new roads begin a new one. A row is a point one drives
from; only pairs that were never asked are asked, so one new place costs one row and one column.
"""

import contextlib
import sqlite3
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from coatround.core.rounds.problem import Problem, Travel
from coatround.roads.engine import Engine, Point, Snapped, engine_of
from coatround.roads.in_use import Roads
from coatround.roads.straight import straight_drives

NO_WAY, NOT_ASKED = -1, -2
WAIT_SECONDS = 20
TABLES = """
CREATE TABLE IF NOT EXISTS point (
    id INTEGER PRIMARY KEY, lat INTEGER NOT NULL, lon INTEGER NOT NULL, metres INTEGER, road TEXT NOT NULL,
    UNIQUE (lat, lon));
CREATE TABLE IF NOT EXISTS drives (
    start INTEGER PRIMARY KEY, ends BLOB NOT NULL, seconds BLOB NOT NULL, metres BLOB NOT NULL);
"""

Whole = NDArray[np.int32]
Group = tuple[Sequence[int], Sequence[int]]
"""Numbers of points one drives from, and of points one drives to."""


@dataclass(frozen=True, slots=True)
class Drives:
    """Whole seconds and metres from each point to each; where `by_road` is False they are an estimate.

    `snapped` says of each point which road is nearest and how far, None where none is or no roads are in use.
    """

    seconds: Whole
    metres: Whole
    by_road: NDArray[np.bool_]
    snapped: tuple[Snapped | None, ...]


def drives_between(
    points: Sequence[Point],
    roads: Roads | None,
    groups: Sequence[Group] | None = None,
    on_progress: Callable[[float], None] | None = None,
) -> Drives:
    """The drives between points: by road where roads are in use and lead there, else the estimate.

    `groups` names the pairs that are needed, all of them where it is None; what is not needed may be an estimate.
    """
    count = len(points)
    estimate = straight_drives([lat for lat, _ in points], [lon for _, lon in points])
    seconds, metres = (np.rint(one).astype(np.int32) for one in estimate)
    if roads is None or not count:
        return Drives(seconds, metres, np.zeros((count, count), dtype=bool), (None,) * count)
    snapped, road_seconds, road_metres = _by_road(points, roads, groups, on_progress or (lambda _share: None))
    by_road = road_seconds >= 0
    np.fill_diagonal(by_road, [one is not None and one.is_on_road for one in snapped])
    seconds[by_road], metres[by_road] = road_seconds[by_road], road_metres[by_road]
    return Drives(seconds, metres, by_road, tuple(snapped))


def _by_road(
    points: Sequence[Point], roads: Roads, groups: Sequence[Group] | None, on_progress: Callable[[float], None]
) -> tuple[list[Snapped | None], Whole, Whole]:
    """What the engine says, from the cache where it was asked before.

    A cache that is damaged is begun anew; where none can be written the engine is asked all the same.
    """
    engine = engine_of(roads.folder)
    try:
        with contextlib.closing(_Kept(roads.drives, engine)) as kept:
            return kept.drives(points, groups, on_progress)
    except sqlite3.OperationalError:
        pass
    except sqlite3.DatabaseError:
        with contextlib.suppress(OSError):
            roads.drives.unlink()
    with contextlib.closing(_Kept(":memory:", engine)) as kept:
        return kept.drives(points, groups, on_progress)


def with_travel(
    problem: Problem,
    roads: Roads | None,
    parking_seconds: Sequence[int] | int = 0,
    groups: Sequence[Group] | None = None,
    factors: Callable[[NDArray[Any], NDArray[Any]], NDArray[np.float64]] | None = None,
) -> tuple[Problem, Drives]:
    """The problem with its travel filled, and the drives it was filled from; parking is added where a drive ends.

    `factors` gives, for seconds and metres, what the seconds are multiplied by.
    """
    drives = drives_between([(place.lat, place.lon) for place in problem.places], roads, groups)
    factor = factors(drives.seconds, drives.metres) if factors else 1.0
    parking = np.broadcast_to(np.asarray(parking_seconds, dtype=np.int32), (len(problem.places),))
    seconds = np.rint(drives.seconds * factor).astype(np.int32) + parking[None, :]
    seconds[drives.metres == 0] = 0
    np.fill_diagonal(seconds, 0)
    travel = Travel(_rows(seconds), _rows(drives.metres))
    return replace(problem, travel=travel), drives


def _rows(whole: Whole) -> tuple[tuple[int, ...], ...]:
    return tuple(map(tuple, whole.tolist()))


class _Kept:
    """The cache of one extract's drives, open."""

    def __init__(self, database: Path | str, engine: Engine) -> None:
        self._engine = engine
        self._file = sqlite3.connect(database, timeout=WAIT_SECONDS, isolation_level=None)
        self._file.execute("PRAGMA journal_mode=WAL")
        self._file.execute("PRAGMA synchronous=NORMAL")
        self._file.executescript(TABLES)

    def close(self) -> None:
        self._file.close()

    @contextlib.contextmanager
    def _writing(self) -> Iterator[None]:
        self._file.execute("BEGIN IMMEDIATE")
        try:
            yield
        except BaseException:
            self._file.execute("ROLLBACK")
            raise
        self._file.execute("COMMIT")

    def drives(
        self, points: Sequence[Point], groups: Sequence[Group] | None, on_progress: Callable[[float], None]
    ) -> tuple[list[Snapped | None], Whole, Whole]:
        """Where the points lie, and the seconds and metres between them; NO_WAY or NOT_ASKED where there are none."""
        micro = [(round(lat * 1e6), round(lon * 1e6)) for lat, lon in points]
        ids, snapped = self._points(micro)
        seconds, metres = self._known(ids)
        on_road = np.array([one is not None and one.is_on_road for one in snapped])
        wanted = _wanted(len(points), groups) & on_road[:, None] & on_road[None, :] & (seconds == NOT_ASKED)
        first_of = {id_: number for number, id_ in reversed(list(enumerate(ids.tolist())))}
        repeated = np.array([first_of[id_] != number for number, id_ in enumerate(ids.tolist())])
        wanted[repeated, :] = wanted[:, repeated] = False
        if wanted.any():
            self._ask(micro, ids, wanted, on_progress)
            seconds, metres = self._known(ids)
        return snapped, seconds, metres

    def _points(self, micro: Sequence[tuple[int, int]]) -> tuple[NDArray[np.int64], list[Snapped | None]]:
        """The ids of points, and the road nearest to each; points not seen before are looked up and kept."""
        known = self._lookup(micro)
        new = sorted({point for point in micro if point not in known})
        if new:
            found = self._engine.snap([(lat / 1e6, lon / 1e6) for lat, lon in new])
            rows = [
                (lat, lon, None if one is None else one.metres, "" if one is None else one.road)
                for (lat, lon), one in zip(new, found, strict=True)
            ]
            with self._writing():
                self._file.executemany("INSERT OR IGNORE INTO point (lat, lon, metres, road) VALUES (?, ?, ?, ?)", rows)
            known |= self._lookup(new)
        return np.array([known[point][0] for point in micro], dtype=np.int64), [known[point][1] for point in micro]

    def _lookup(self, micro: Sequence[tuple[int, int]]) -> dict[tuple[int, int], tuple[int, Snapped | None]]:
        found: dict[tuple[int, int], tuple[int, Snapped | None]] = {}
        for point in set(micro):
            row = self._file.execute("SELECT id, metres, road FROM point WHERE lat = ? AND lon = ?", point).fetchone()
            if row:
                found[point] = row[0], None if row[1] is None else Snapped(row[1], row[2])
        return found

    def _known(self, ids: NDArray[np.int64]) -> tuple[Whole, Whole]:
        """What is kept of the drives between these points."""
        count = len(ids)
        seconds, metres = np.full((2, count, count), NOT_ASKED, dtype=np.int32)
        place = np.full(int(ids.max()) + 1, -1)
        place[ids] = np.arange(count)
        for row in np.unique(ids).tolist():
            ends, taken, far = self._row(row)
            column = np.where(ends < len(place), place[np.minimum(ends, len(place) - 1)], -1)
            here = place[row]
            seconds[here, column[column >= 0]] = taken[column >= 0]
            metres[here, column[column >= 0]] = far[column >= 0]
        last = place[ids]
        return seconds[np.ix_(last, last)], metres[np.ix_(last, last)]

    def _row(self, start: int) -> tuple[NDArray[np.int32], Whole, Whole]:
        found = self._file.execute("SELECT ends, seconds, metres FROM drives WHERE start = ?", (start,)).fetchone()
        ends, seconds, metres = (np.frombuffer(blob, dtype="<i4") for blob in found or (b"", b"", b""))
        return ends, seconds, metres

    def _ask(
        self,
        micro: Sequence[tuple[int, int]],
        ids: NDArray[np.int64],
        wanted: NDArray[np.bool_],
        on_progress: Callable[[float], None],
    ) -> None:
        """Asks the engine for the pairs that are wanted, rows that want the same together, and keeps the answers."""
        groups: dict[bytes, list[int]] = {}
        for row in np.flatnonzero(wanted.any(axis=1)).tolist():
            groups.setdefault(wanted[row].tobytes(), []).append(row)
        asked, total = 0, int(wanted.sum())
        for rows in groups.values():
            columns = np.flatnonzero(wanted[rows[0]]).tolist()
            targets = [(micro[one][0] / 1e6, micro[one][1] / 1e6) for one in columns]
            step = max(1, 100_000 // len(columns))
            for first in range(0, len(rows), step):
                part = rows[first : first + step]
                sources = [(micro[one][0] / 1e6, micro[one][1] / 1e6) for one in part]
                seconds, metres = self._engine.matrix(sources, targets)
                self._keep(ids[part], ids[columns], _whole(seconds), _whole(metres))
                asked += len(part) * len(columns)
                on_progress(asked / total)

    def _keep(self, starts: NDArray[np.int64], ends: NDArray[np.int64], seconds: Whole, metres: Whole) -> None:
        with self._writing():
            for number, start in enumerate(starts.tolist()):
                kept = self._row(start)
                new = ~np.isin(ends, kept[0])
                row = (
                    np.concatenate([kept[0], ends[new]]).astype("<i4").tobytes(),
                    np.concatenate([kept[1], seconds[number][new]]).astype("<i4").tobytes(),
                    np.concatenate([kept[2], metres[number][new]]).astype("<i4").tobytes(),
                )
                self._file.execute("INSERT OR REPLACE INTO drives VALUES (?, ?, ?, ?)", (start, *row))


def _wanted(count: int, groups: Sequence[Group] | None) -> NDArray[np.bool_]:
    wanted = np.zeros((count, count), dtype=bool)
    if groups is None:
        wanted[:] = True
    for starts, ends in groups or ():
        wanted[np.ix_(list(starts), list(ends))] = True
    return wanted


def _whole(values: NDArray[np.float64]) -> Whole:
    whole: Whole = np.where(np.isnan(values), NO_WAY, np.rint(np.nan_to_num(values))).astype(np.int32)
    return whole

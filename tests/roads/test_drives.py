"""Drives are asked of the engine once, kept, and estimated where no road leads; the squares are checked by hand."""

import json
import math
import os
import random
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import numpy as np
import pytest

from coatround.roads.drives import Drives, drives_between, with_travel
from coatround.roads.engine import Engine, NoWay, Point, engine_of
from coatround.roads.in_use import Roads
from coatround.roads.straight import straight_travel
from tests.core.rounds.examples import problem_from, problem_json
from tests.roads.conftest import added
from tests.roads.small_extract import ISLAND, STEP_DEGREES, at, write_squares

METRES_NORTH = STEP_DEGREES * 6_378_137 * math.pi / 180
METRES_EAST = METRES_NORTH * math.cos(math.radians(29.595))
ON_ISLAND = (ISLAND[0], ISLAND[1] + 0.003)
AT_SEA = (-33.5, 128.9)
OFF_ROAD = (at(0, 0)[0] - 0.02, at(0, 0)[1])
"""About 2.2 km south of the southernmost street."""


@pytest.fixture(scope="module")
def with_island(tmp_path_factory: pytest.TempPathFactory) -> Roads:
    home = tmp_path_factory.mktemp("island")
    write_squares(home / "island.osm.pbf", island=True)
    return added(home, home / "island.osm.pbf", "AU")


@pytest.fixture
def roads(squares: Roads, tmp_path: Path) -> Roads:
    """The squares with a cache of their own, still empty."""
    folder = tmp_path / "roads"
    shutil.copytree(squares.folder, folder, ignore=shutil.ignore_patterns("drives.sqlite3*"))
    return Roads(folder, squares.about)


def homes(count: int, seed: int = 1) -> list[Point]:
    """Points beside the streets, all different."""
    chance = random.Random(seed)
    return [at(chance.randrange(6) + 0.02, chance.uniform(0.1, 4.9)) for _ in range(count)]


def asked(roads: Roads) -> int:
    return engine_of(roads.folder).pairs_asked


def same(one: Drives, other: Drives) -> bool:
    return bool((one.seconds == other.seconds).all() and (one.metres == other.metres).all())


def test_corner_to_corner_by_hand(roads: Roads) -> None:
    """Five streets north and five east; each of the ten pieces is rounded to whole metres."""
    drives = drives_between([at(0, 0), at(5, 5), at(0, 5)], roads)
    assert drives.by_road.all()
    assert drives.metres[0, 1] == pytest.approx(5 * METRES_NORTH + 5 * METRES_EAST, abs=5)
    assert drives.metres[0, 2] == drives.metres[2, 0] == pytest.approx(5 * METRES_EAST, abs=3)
    assert drives.seconds[0, 2] >= math.floor(5 * METRES_EAST / 50 * 3.6)
    corner = drives.snapped[0]
    assert corner
    assert corner.metres == 0
    assert corner.road in ("Row 1 Street", "Column 1 Avenue")


def test_the_second_asking_asks_nothing(roads: Roads) -> None:
    points = homes(8)
    first = drives_between(points, roads)
    assert asked(roads) == 64
    assert same(first, drives_between(points, roads))
    backwards = drives_between(points[::-1], roads)
    assert (backwards.seconds == first.seconds[::-1, ::-1]).all()
    assert asked(roads) == 64


def test_one_place_more_asks_one_row_and_one_column(roads: Roads) -> None:
    points = homes(11)
    before = drives_between(points[:10], roads)
    already = asked(roads)
    after = drives_between(points, roads)
    assert asked(roads) - already == 10 + 10 + 1
    assert after.by_road.all()
    assert (after.seconds[:10, :10] == before.seconds).all()


def test_the_answers_are_those_of_the_engine(roads: Roads) -> None:
    points = homes(12, seed=3)
    for count in (3, 7, 12):
        drives = drives_between(points[:count], roads)
    seconds, metres = Engine(roads.folder).matrix(points, points)
    assert (drives.seconds == np.rint(seconds)).all()
    assert (drives.metres == np.rint(metres)).all()


def test_the_same_address_twice(roads: Roads) -> None:
    points = [at(1, 1), at(4, 3), at(1, 1)]
    drives = drives_between(points, roads)
    assert drives.by_road.all()
    assert drives.seconds[0, 2] == drives.metres[0, 2] == drives.seconds[2, 0] == 0
    assert drives.seconds[0, 1] == drives.seconds[2, 1] > 0
    assert asked(roads) == 4
    assert same(drives, drives_between(points, roads))


def test_only_the_groups_that_are_needed_are_asked(roads: Roads) -> None:
    points = homes(9)
    drives = drives_between(points, roads, [([0, 1, 2], [3, 4]), ([5], [6])])
    assert asked(roads) == 7
    assert drives.by_road[:3, 3:5].all()
    assert drives.by_road[5, 6]
    assert not drives.by_road[3:5, :3].any()
    told: list[float] = []
    whole = drives_between(points, roads, on_progress=told.append)
    assert whole.by_road.all()
    assert asked(roads) == 9 * 9
    assert told == sorted(told)
    assert told[-1] == 1


def test_where_no_road_leads_the_estimate_stands_and_says_so(with_island: Roads) -> None:
    points = [at(0, 0), at(2, 3), ON_ISLAND, (ON_ISLAND[0], ON_ISLAND[1] + 0.0005)]
    drives = drives_between(points, with_island)
    assert drives.by_road.tolist() == [[True, True, False, False]] * 2 + [[False, False, True, True]] * 2
    seconds, metres = straight_travel([lat for lat, _ in points], [lon for _, lon in points], 0)
    assert (drives.seconds[0, 2], drives.metres[2, 0]) == (seconds[0][2], metres[2][0])
    assert drives.metres[2, 3] == pytest.approx(0.0005 / STEP_DEGREES * METRES_EAST, abs=2)
    assert [one.road for one in drives.snapped if one][2:] == ["Lonely Lane", "Lonely Lane"]
    before = asked(with_island)
    assert same(drives, drives_between(points, with_island))
    assert asked(with_island) == before
    with pytest.raises(NoWay):
        engine_of(with_island.folder).way(points[0], points[2])


def test_a_place_at_sea_is_told_and_the_rest_works(roads: Roads) -> None:
    points = [at(0, 0), AT_SEA, at(3, 3), OFF_ROAD]
    drives = drives_between(points, roads)
    assert drives.snapped[1] is None
    far = drives.snapped[3]
    assert far
    assert not far.is_on_road
    assert far.metres == pytest.approx(0.02 / STEP_DEGREES * METRES_NORTH, rel=0.01)
    assert far.road in ("Row 1 Street", "Column 1 Avenue")
    assert drives.by_road[np.ix_([0, 2], [0, 2])].all()
    assert not drives.by_road[[1, 3], :].any()
    assert not drives.by_road[:, [1, 3]].any()
    assert drives.seconds[0, 1] > 3600


def test_without_roads_all_is_estimated() -> None:
    points = homes(4)
    drives = drives_between(points, None)
    assert not drives.by_road.any()
    assert drives.snapped == (None,) * 4
    assert drives_between([], None).seconds.shape == (0, 0)


def test_no_place_and_one_place(roads: Roads) -> None:
    assert drives_between([], roads).seconds.shape == (0, 0)
    assert asked(roads) == 0
    alone = drives_between([at(1, 1)], roads)
    assert (alone.seconds.tolist(), alone.metres.tolist(), alone.by_road.tolist()) == ([[0]], [[0]], [[True]])


def test_parking_is_added_where_a_drive_ends(roads: Roads) -> None:
    problem = problem_from(problem_json())
    count = len(problem.places)
    parking = [60 * number for number in range(count)]
    bare, drives = with_travel(problem, None)
    parked, _ = with_travel(problem, None, parking)
    assert bare.travel
    assert parked.travel
    for start in range(count):
        for end in range(count):
            moves = drives.metres[start, end] > 0
            more = parked.travel.seconds[start][end] - bare.travel.seconds[start][end]
            assert more == (parking[end] if moves else 0)
    assert parked.travel.metres == bare.travel.metres


ASKING = """
import json, sys
from pathlib import Path
from coatround.roads.drives import drives_between
from coatround.roads.in_use import Roads, roads_in_use
points = json.loads(sys.argv[2])
for count in range(1, len(points) + 1):
    drives = drives_between([tuple(point) for point in points[:count]], roads_in_use(Path(sys.argv[1])))
print(json.dumps(drives.seconds.tolist()))
"""


def test_two_processes_at_once(squares: Roads, tmp_path: Path) -> None:
    """Both begin with an empty cache and write row after row into it."""
    home = tmp_path / "home"
    shutil.copytree(squares.folder.parent, home / "roads", ignore=shutil.ignore_patterns("drives.sqlite3*"))
    roads = Roads(home / "roads" / squares.folder.name, squares.about)
    points = homes(25, seed=7)
    surroundings = os.environ | {"PYTHONPATH": os.pathsep.join(sys.path)}
    running = [
        subprocess.Popen(
            [sys.executable, "-c", ASKING, str(home), json.dumps(order)],
            env=surroundings,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        for order in (points, points[::-1])
    ]
    said = [one.communicate(timeout=120) for one in running]
    assert [one.returncode for one in running] == [0, 0], said
    forwards, backwards = (np.array(json.loads(out)) for out, _ in said)
    assert (forwards == backwards[::-1, ::-1]).all()
    assert (drives_between(points, roads).seconds == forwards).all()
    assert asked(roads) == 0
    with closing(sqlite3.connect(roads.drives)) as file:
        for (ends,) in file.execute("SELECT ends FROM drives"):
            kept = np.frombuffer(ends, dtype="<i4")
            assert len(kept) == len(set(kept.tolist()))


def test_a_damaged_cache_is_begun_anew(roads: Roads) -> None:
    points = homes(4, seed=9)
    right = drives_between(points, roads)
    for beside in roads.folder.glob("drives.sqlite3*"):
        beside.unlink()
    roads.drives.write_bytes(b"no database at all" * 100)
    assert same(drives_between(points, roads), right)
    assert same(drives_between(points, roads), right)
    asked_before = asked(roads)
    assert same(drives_between(points, roads), right)
    assert asked(roads) == asked_before


def test_where_no_cache_can_be_written_the_engine_is_asked_all_the_same(roads: Roads) -> None:
    points = homes(4, seed=10)
    roads.drives.mkdir()
    drives = drives_between(points, roads)
    assert drives.by_road.all()

"""Speeds by hour: the table and its errors by line, the week they make, and drives that take longer at those hours."""

import datetime as dt
import json
import random
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from coatround.roads.adding import add_roads
from coatround.roads.engine import Engine, engine_of
from coatround.roads.in_use import Roads, roads_in_use
from coatround.roads.speeds import KINDS, BadSpeeds, HourSpeeds, edges_of, read_speeds, shares
from tests.roads.conftest import ADDED_AT
from tests.roads.small_extract import at, write_squares

HEAD = "kind,days,from,until,percent\n"
RUSH = HEAD + "all,Mon-Sun,0,24,100\nresidential,Mon-Fri,7,9,50\n"
MONDAY = dt.date(2026, 11, 23)
EDGES = 50


@pytest.fixture(scope="module")
def slow(tmp_path_factory: pytest.TempPathFactory) -> Roads:
    """The squares, whose residential streets are driven at half speed from Monday to Friday, seven to nine."""
    home = tmp_path_factory.mktemp("slow")
    write_squares(home / "squares.osm.pbf")
    table = home / "speeds.csv"
    table.write_text(RUSH)
    add_roads(home, home / "squares.osm.pbf", now=ADDED_AT, country="AU", speeds=read_speeds(table))
    roads = roads_in_use(home)
    assert roads
    assert roads.about.speeds_by_hour
    return roads


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("highway,Mon,7,9,50", "kind 'highway' is not one of motorway, trunk"),
        (",Mon,7,9,50", "kind '' is not one of"),
        ("all,Monday,7,9,50", "days 'Monday' is not like Mon-Fri, Sat or Mon-Sun"),
        ("all,Mon-,7,9,50", "days 'Mon-' is not like"),
        ("all,,7,9,50", "days '' is not like"),
        ("all,Mon,7:30,9,50", "from '7:30' is not a whole number up to 23"),
        ("all,Mon,24,24,50", "from '24' is not a whole number up to 23"),
        ("all,Mon,-1,9,50", "from '-1' is not a whole number"),
        ("all,Mon,7,25,50", "until '25' is not a whole number up to 24"),
        ("all,Mon,9,9,50", "until '9' is not after 9"),
        ("all,Mon,22,4,50", "until '4' is not after 22"),
        ("all,Mon,7,9,4", "percent '4' is not at least 5"),
        ("all,Mon,7,9,151", "percent '151' is not a whole number up to 150"),
        ("all,Mon,7,9,", "percent '' is not a whole number"),
        ("all,Mon,7", "until '' is not a whole number"),
    ],
)
def test_a_wrong_line_is_named(line: str, words: str, tmp_path: Path) -> None:
    table = tmp_path / "speeds.csv"
    table.write_text(f"{HEAD}all,Mon-Sun,0,24,100\n{line}\n")
    with pytest.raises(BadSpeeds) as caught:
        read_speeds(table)
    assert str(caught.value).startswith("speeds.csv, line 3: ")
    assert words in str(caught.value)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "holds no line"),
        (HEAD.encode(), "holds no line"),
        (b"\xff\xfe\x00\x01", "can't be read"),
        (b"a;b\n1;2\n", "line 2: kind '' is not one of"),
    ],
)
def test_no_table(content: bytes, words: str, tmp_path: Path) -> None:
    table = tmp_path / "speeds.csv"
    table.write_bytes(content)
    with pytest.raises(BadSpeeds, match=words):
        read_speeds(table)


def test_a_missing_table_and_a_folder(tmp_path: Path) -> None:
    for path in (tmp_path / "none.csv", tmp_path):
        with pytest.raises(BadSpeeds, match="can't be read"):
            read_speeds(path)


def test_as_a_spreadsheet_writes_it(tmp_path: Path) -> None:
    table = tmp_path / "speeds.csv"
    table.write_bytes(b"\xef\xbb\xbf" + b"kind,days,from,until,percent\r\nresidential,sat-MON, 7 ,9,80\r\n")
    assert read_speeds(table) == (HourSpeeds("residential", (0, 1, 6), 7, 9, 80),)


def test_the_week_and_that_later_lines_count_over_earlier() -> None:
    """Hour 0 is Sunday's midnight, so Monday's seven o'clock is hour 31."""
    share = shares([HourSpeeds("all", (1, 2), 6, 10, 60), HourSpeeds("primary", (1,), 7, 8, 40)])
    assert share.shape == (8, 168)
    assert (share[KINDS.index("residential")] == 0.6).sum() == 8
    assert share[KINDS.index("primary"), 30:34].tolist() == [0.6, 0.4, 0.6, 0.6]
    assert share[0, 29] == share[0, 34] == share[0, 54 + 24] == 1
    assert np.unique(shares([])).tolist() == [1]


def way_seconds(roads: Roads, leaving: dt.datetime | None) -> int:
    return engine_of(roads.folder).way(at(0.5, 0), at(5, 4.5), leaving).seconds


def test_the_hour_of_leaving_counts(slow: Roads) -> None:
    """About 2 km: well over before the hour ends, so half the speed is twice the time (turns cost some seconds)."""
    free = way_seconds(slow, dt.datetime.combine(MONDAY, dt.time(12)))
    assert way_seconds(slow, dt.datetime.combine(MONDAY, dt.time(7, 30))) == pytest.approx(2 * free, rel=0.1)
    assert way_seconds(slow, dt.datetime.combine(MONDAY, dt.time(8, 30))) == pytest.approx(2 * free, rel=0.1)
    assert way_seconds(slow, dt.datetime.combine(MONDAY, dt.time(6, 30))) == pytest.approx(free, rel=0.05)
    saturday = dt.datetime.combine(MONDAY + dt.timedelta(days=5), dt.time(7, 30))
    assert way_seconds(slow, saturday) == pytest.approx(free, rel=0.05)


def test_without_an_hour_roads_are_free(slow: Roads, squares: Roads) -> None:
    assert way_seconds(slow, None) == way_seconds(squares, None)
    points = [at(0.5, 0), at(5, 4.5), at(2, 2)]
    free, _ = Engine(squares.folder).matrix(points, points)
    assert (Engine(slow.folder).matrix(points, points)[0] == free).all()


def test_where_tiles_hold_no_speeds_the_hour_does_not_count(squares: Roads) -> None:
    rush = dt.datetime.combine(MONDAY, dt.time(7, 30))
    assert way_seconds(squares, rush) == pytest.approx(way_seconds(squares, None), abs=2)


def located(roads: Roads, points: list[tuple[float, float]]) -> list[dict[str, Any]]:
    """Edges near points, as the engine itself tells them."""
    asked = {
        "locations": [{"lat": lat, "lon": lon, "minimum_reachability": 0} for lat, lon in points],
        "costing": "auto",
        "verbose": True,
    }
    answers = json.loads(engine_of(roads.folder)._actor("timedistancematrix").locate(json.dumps(asked)))
    return [edge for answer in answers for edge in answer.get("edges") or []]


def test_edges_are_read_from_tiles_as_the_engine_reads_them(helsinki: Roads) -> None:
    """Class and speed of at least fifty edges of at least five classes."""
    south, west, north, east = helsinki.about.bounds
    chance = random.Random(2)
    points = [(chance.uniform(south, north), chance.uniform(west, east)) for _ in range(150)]
    classes = {kind: number for number, kind in enumerate(KINDS)} | {"service_other": KINDS.index("service")}
    tiles: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for tile in (helsinki.folder / "tiles").rglob("*.gph"):
        level, *number = tile.relative_to(helsinki.folder / "tiles").with_suffix("").parts
        tiles[int(level), int("".join(number))] = edges_of(tile)
    seen: dict[tuple[int, int, int], str] = {}
    for found in located(helsinki, points):
        at_edge, edge = found["edge_id"], found["edge"]
        kind = edge["classification"]["classification"]
        key = at_edge["level"], at_edge["tile_id"], at_edge["id"]
        assert tiles[key[:2]][key[2]] == (classes[kind], edge["speeds"]["default"]), found
        seen[key] = kind
    assert len(seen) >= EDGES
    assert len(set(seen.values())) >= 5

"""The street picture: what is drawn of an extract, where, how small, how readable, and from many threads."""

import math
import threading
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from itertools import combinations, pairwise
from pathlib import Path

import osmium
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from osmium.osm.mutable import Node, Way

from coatround.roads.in_use import Roads
from coatround.roads.street_drawing import MOST_BYTES
from coatround.roads.street_kinds import DARK, KINDS, LIGHT, Line, Square
from coatround.roads.street_names import Label, joined, labels
from coatround.roads.streets import METRES_A_DEGREE, StreetPicture, build_streets, simplified

LAT, LON = -29.6, 128.9
SVG = "{http://www.w3.org/2000/svg}"
Spots = list[tuple[float, float]]


def write(
    file: Path, ways: list[tuple[dict[str, str], Spots]], places: dict[str, tuple[str, Spots]] | None = None
) -> None:
    """Ways of points so many thousandths of a degree north and east of the middle, and named places."""
    with osmium.SimpleWriter(str(file), overwrite=True) as writer:
        number, made = 1, []
        for kind, (name, [(north, east)]) in (places or {}).items():
            tags = {"place": kind, "name": name}
            writer.add_node(Node(id=number, location=(LON + east / 1000, LAT + north / 1000), version=1, tags=tags))
            number += 1
        for tags, spots in ways:
            refs: dict[tuple[float, float], int] = {}
            for north, east in spots:
                if (north, east) not in refs:
                    refs[north, east] = number
                    at = (LON + east / 1000, LAT + north / 1000)
                    writer.add_node(Node(id=number, location=at, version=1))
                    number += 1
            made.append((tags, [refs[spot] for spot in spots]))
        for way, (tags, nodes) in enumerate(made, 1):
            writer.add_way(Way(id=way, nodes=nodes, version=1, tags=tags))


TOWN: list[tuple[dict[str, str], Spots]] = [
    ({"highway": "primary", "name": "Weir Road"}, [(0, -9), (0, 9)]),
    ({"highway": "residential", "name": "Cart & Cooper Street"}, [(1, -4), (1.000001, 0), (1, 4)]),
    ({"highway": "footway", "name": "Heron Path"}, [(2, -4), (2, 4)]),
    ({"waterway": "river", "name": "Tarrow"}, [(-2, -9), (-2, 9)]),
    ({"natural": "water", "name": "Mill Pond"}, [(3, 0), (3, 2), (5, 2), (5, 0), (3, 0)]),
    ({"natural": "water"}, [(3, -3), (3, -4), (4, -4)]),
    ({"railway": "rail"}, [(-4, -9), (-4, 9)]),
    ({"highway": "service"}, [(0, 1), (0.5, 1)]),
    ({"highway": "track"}, [(6, -4), (7, 4)]),
]


@pytest.fixture(scope="module")
def town(tmp_path_factory: pytest.TempPathFactory) -> StreetPicture:
    folder = tmp_path_factory.mktemp("streets")
    write(folder / "town.osm.pbf", TOWN, {"suburb": ("Hollow Ford", [(-6, 0)])})
    assert build_streets(folder / "town.osm.pbf", folder / "streets.sqlite3") == 7
    return StreetPicture(folder / "streets.sqlite3")


def numbers(z: int, north: float = 0, east: float = 0) -> tuple[int, int, int]:
    """The tile of a point (formula of slippy map tile names)."""
    lat, lon = math.radians(LAT + north / 1000), LON + east / 1000
    across = (lon + 180) / 360 * 2**z
    down = (1 - math.log(math.tan(lat) + 1 / math.cos(lat)) / math.pi) / 2 * 2**z
    return z, int(across), int(down)


def words(tile: str) -> set[str]:
    return {"".join(text.itertext()) for text in ET.fromstring(tile).iter(f"{SVG}text")}


def all_words(picture: StreetPicture, z: int) -> set[str]:
    _, x, y = numbers(z)
    around = range(-2, 3)
    return {word for i in around for j in around for word in words(picture.tile(z, x + i, y + j, dark=False))}


def test_it_works(town: StreetPicture) -> None:
    tile = ET.fromstring(town.tile(*numbers(15), dark=False))
    assert (tile.tag, tile.get("width"), tile.get("viewBox")) == (f"{SVG}svg", "256", "0 0 256 256")
    assert len(list(tile.iter(f"{SVG}path"))) > 3


def test_what_a_person_finds_the_way_by_is_named(town: StreetPicture) -> None:
    assert all_words(town, 16) == {"Weir Road", "Cart & Cooper Street", "Tarrow", "Mill Pond", "Hollow Ford"}


def test_only_main_roads_from_far(town: StreetPicture) -> None:
    def colours(z: int) -> set[str | None]:
        paths = ET.fromstring(town.tile(*numbers(z), dark=False)).iter(f"{SVG}path")
        return {path.get("stroke") or path.get("fill") for path in paths}

    assert colours(7) == {LIGHT["water"]}
    assert colours(9) == {LIGHT["water"], LIGHT["main casing"]}
    assert colours(12) == {*colours(9), LIGHT["dashes"]}
    assert colours(14) == {*colours(12), LIGHT["main"], LIGHT["road"], LIGHT["road casing"]}


def test_attributes_alone_say_how_it_looks(town: StreetPicture) -> None:
    """Nothing that a page's content policy could refuse."""
    for dark in (False, True):
        for element in ET.fromstring(town.tile(*numbers(15), dark=dark)).iter():
            assert element.tag.removeprefix(SVG) in {"svg", "g", "rect", "path", "text"}
            assert not {"style", "class", "href"} & set(element.keys())
    assert town.tile(*numbers(15), dark=True) != town.tile(*numbers(15), dark=False)


def test_a_tile_with_nothing_is_empty_ground(town: StreetPicture) -> None:
    tile = ET.fromstring(town.tile(15, 0, 0, dark=False))
    assert [child.tag for child in tile] == [f"{SVG}rect"]


def test_a_point_lies_where_web_mercator_says() -> None:
    """EPSG:3857: the equator and Greenwich meet in the middle of the one tile, and 85.05113 north is its edge."""
    import numpy as np

    ((across, down), (edge, top)) = Square(0, 0, 0).pixels(np.array([0.0, -180.0]), np.array([0.0, 85.0511287798]))
    assert (across, down) == pytest.approx((128, 128))
    assert (edge, top) == pytest.approx((0, 0), abs=1e-6)
    west, south, east, north = Square(*numbers(15)).box
    assert west < LON < east
    assert south < LAT < north


def test_a_name_goes_on_over_the_edge_of_a_tile(town: StreetPicture) -> None:
    """At this zoom a tile is shorter than the road; wherever its name stands, both tiles that it touches draw it."""
    z, x, y = numbers(16)
    drawn = [
        (text.get("transform"), i)
        for i in range(x - 4, x + 5)
        for text in ET.fromstring(town.tile(z, i, y, dark=False)).iter(f"{SVG}text")
        if text.text == "Weir Road"
    ]
    middles = {256 * i + int(str(where).split("(")[1].split()[0]) for where, i in drawn}
    assert middles
    assert all(abs(one - other) > 500 for one, other in combinations(middles, 2))


def test_the_biggest_tile_is_small(tmp_path: Path) -> None:
    """Thousands of crooked lanes in one tile: what matters least is left out, the main road stays."""
    ways: list[tuple[dict[str, str], Spots]] = [({"highway": "primary", "name": "Weir Road"}, [(0, -9), (0, 9)])]
    for lane in range(1500):
        start = (lane % 40 / 5 - 4, lane // 40 / 5 - 4)
        crooked = [(start[0] + step / 60, start[1] + (step % 2) / 15 + lane / 1e5) for step in range(12)]
        ways.append(({"highway": "service"}, crooked))
    write(tmp_path / "lanes.osm.pbf", ways)
    build_streets(tmp_path / "lanes.osm.pbf", tmp_path / "streets.sqlite3")
    tile = StreetPicture(tmp_path / "streets.sqlite3").tile(*numbers(15), dark=False)
    assert len(tile.encode()) <= MOST_BYTES + 500
    assert LIGHT["main"] in tile


def test_many_threads_get_what_one_gets(helsinki: Roads) -> None:
    asked = [(z, *place) for z in (14, 15, 16) for place in around(z)]
    alone = {one: StreetPicture(helsinki.streets).tile(*one, dark=False) for one in asked}
    before = helsinki.streets.read_bytes()
    picture, wrong = StreetPicture(helsinki.streets), []

    def ask(first: int) -> None:
        for one in asked[first:] + asked[:first]:
            if picture.tile(*one, dark=False) != alone[one]:
                wrong.append(one)

    threads = [threading.Thread(target=ask, args=(number * 3 % len(asked),)) for number in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not wrong
    assert helsinki.streets.read_bytes() == before


def around(z: int) -> Iterator[tuple[int, int]]:
    """The tiles of Helsinki's centre."""
    x, y = int((24.944 + 180) / 360 * 2**z), int((1 - math.asinh(math.tan(math.radians(60.17))) / math.pi) / 2 * 2**z)
    return ((x + i, y + j) for i in (-1, 0, 1) for j in (-1, 0, 1))


@pytest.mark.parametrize("z", [13, 15, 16, 18])
def test_no_name_covers_another(helsinki: Roads, z: int) -> None:
    """Turned boxes, half as high as their letters and a little shorter, share no point (separating axes)."""
    picture = StreetPicture(helsinki.streets)
    squares = {(x // 4 * 4, y // 4 * 4) for x, y in around(z)}
    found = [picture._labels(Square(z, *square, 4)) for square in squares]
    assert sum(map(len, found)) > 3
    for there in found:
        assert not [(a.name, b.name) for a, b in combinations(there, 2) if overlap(corners(a), corners(b))]


def corners(label: Label) -> Spots:
    slope = math.radians(label.slope)
    (ax, ay), (bx, by) = (math.cos(slope), math.sin(slope)), (-math.sin(slope), math.cos(slope))
    half, high = label.half * 0.95, label.size / 4
    return [
        (label.middle[0] + i * half * ax + j * high * bx, label.middle[1] + i * half * ay + j * high * by)
        for i, j in ((1, 1), (1, -1), (-1, -1), (-1, 1))
    ]


def overlap(one: Spots, other: Spots) -> bool:
    for box in (one, other):
        for (x, y), (to_x, to_y) in pairwise([*box, box[0]]):
            across, down = y - to_y, to_x - x
            first = [px * across + py * down for px, py in one]
            second = [px * across + py * down for px, py in other]
            if max(first) < min(second) or max(second) < min(first):
                return False
    return True


def test_short_ways_of_one_street_bear_one_name() -> None:
    """Four ways of 60 pixels, each too short for the name; together they are long enough."""
    parts: list[Spots] = [[(100.0 + 60 * step, 80.0), (160.0 + 60 * step, 80.0)] for step in (0, 2, 1, 3)]
    parts[1].reverse()
    assert [len(chain) for chain in joined(parts)] == [5]
    lines = [Line("residential", "Long Tannery Row", part) for part in parts]
    (label,) = labels(Square(16, 0, 0, 4), lines, [])
    assert (label.name, label.slope) == ("Long Tannery Row", 0)
    assert label.middle == pytest.approx((220, 80))


@given(
    st.lists(st.tuples(st.floats(128.9, 128.92), st.floats(-29.61, -29.59)), min_size=2, max_size=40, unique=True),
    st.sampled_from([1.5, 8.0, 50.0]),
)
@settings(max_examples=60, deadline=None)
def test_a_simplified_line_stays_close(points: Spots, metres: float) -> None:
    """Its ends stay, its points are points of the old line, and none of those lies further off than allowed."""
    kept = simplified(points, metres)
    assert (kept[0], kept[-1]) == (points[0], points[-1])
    assert [point for point in points if point in set(kept)] == kept
    shrink = math.cos(math.radians(points[0][1]))
    flat = [(lon * shrink * METRES_A_DEGREE, lat * METRES_A_DEGREE) for lon, lat in kept]
    for lon, lat in points:
        point = (lon * shrink * METRES_A_DEGREE, lat * METRES_A_DEGREE)
        assert min(off(point, *piece) for piece in pairwise(flat)) <= metres + 1e-4


def off(point: tuple[float, float], start: tuple[float, float], end: tuple[float, float]) -> float:
    """Distance of a point from a stretch, by its three cases: before it, beside it, behind it."""
    length = math.dist(start, end)
    if length == 0:
        return math.dist(point, start)
    along = sum((p - s) * (e - s) for p, s, e in zip(point, start, end, strict=True)) / length
    if along <= 0 or along >= length:
        return min(math.dist(point, start), math.dist(point, end))
    return math.sqrt(max(0.0, math.dist(point, start) ** 2 - along**2))


def test_a_straight_line_keeps_its_ends_alone() -> None:
    assert simplified([(0, 0), (0.001, 0.000001), (0.002, 0)], 1.5) == [(0, 0), (0.002, 0)]


def light(colour: str) -> float:
    """Relative luminance (WCAG 2.2)."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    low, high = sorted((light(one), light(other)))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("look", [LIGHT, DARK])
def test_names_and_roads_can_be_read_in_the_sun(look: dict[str, str]) -> None:
    """Names 7:1 against the ground; each road 3:1 by its edge or by itself (WCAG 2.2, 1.4.6 and 1.4.11)."""
    for name in ("name", "water name", "green name", "place"):
        assert contrast(look[name], look["ground"]) >= 7, name
    for road in ("road", "main"):
        assert max(contrast(look[road], look["ground"]), contrast(look[f"{road} casing"], look["ground"])) >= 3, road
    assert {kind.look for kind in KINDS.values()} <= set(look)


def test_progress_is_told_and_may_stop_it(helsinki_file: Path, tmp_path: Path) -> None:
    shares: list[float] = []
    build_streets(helsinki_file, tmp_path / "streets.sqlite3", on_progress=shares.append)
    assert shares == sorted(shares)
    assert shares
    assert 0 <= shares[0] <= shares[-1] <= 1

    class Enough(Exception):
        pass

    def stop(_share: float) -> None:
        raise Enough

    with pytest.raises(Enough):
        build_streets(helsinki_file, tmp_path / "streets.sqlite3", on_progress=stop)


def test_a_folder_that_is_not_there_is_told(helsinki_file: Path, tmp_path: Path) -> None:
    with pytest.raises(OSError, match="street picture can't be written"):
        build_streets(helsinki_file, tmp_path / "nowhere" / "streets.sqlite3")

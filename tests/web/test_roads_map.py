"""Addresses found while they are typed, tiles of the streets, and what a map says with roads and without."""

import json
import re
from pathlib import Path
from typing import Any

import pytest
from django.template import Context, Template
from django.test import Client
from django.urls import reverse

from coatround.roads.in_use import Roads, roads_in_use
from coatround.web.roads.map import MapShown, MapStop, home_stop, map_data
from tests.roads.conftest import added
from tests.roads.small_extract import at, write_squares
from tests.web.people_of_the_ford import the_quills

pytestmark = pytest.mark.django_db

# Slippy map tile numbers at zoom 14: x = (lon + 180) / 360 * 2**14, y by Web Mercator, for -29.595, 128.905.
Z, X, Y = 14, 14058, 9602
QUILL = MapStop(*at(1, 1), ("Quill",), "9:05, 3 Row 2 Street")
FIG = MapStop(*at(1, 1), ("Fig",), "9:05, 3 Row 2 Street")
MOP = MapStop(*at(3, 4), ("Mop",))


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A home in which the roads of the small squares are in use."""
    home = tmp_path_factory.mktemp("map")
    write_squares(home / "squares.osm.pbf")
    added(home, home / "squares.osm.pbf", "AU")
    return home


@pytest.fixture
def roads(built: Path, home: Path, settings: Any) -> Roads:
    settings.HOME = built
    found = roads_in_use(built)
    assert found
    return found


def found(browser: Client, typed: str, **more: str) -> list[dict[str, Any]]:
    answer = browser.get(reverse("roads:find"), {"q": typed, **more})
    assert answer.status_code == 200
    listed = answer.json()["found"]
    assert isinstance(listed, list)
    return listed


def tile(browser: Client, roads: Roads, z: int = Z, x: int = X, y: int = Y, query: str = "") -> Any:
    return browser.get(reverse("roads:streets", args=[roads.about.stamp, z, x, y]) + query)


def drawn(template: str, **names: object) -> str:
    return Template("{% load roads %}" + template).render(Context(names))


def test_an_address_is_found_with_its_point(signed_in: Client, roads: Roads) -> None:
    """House 7 is the fourth of its row: 3.5 quarters of a square east of the corner, a tenth north of the road."""
    first = found(signed_in, "7 row 2 st")[0]
    assert first["line"] == "7 Row 2 Street"
    assert (first["lat"], first["lon"]) == pytest.approx(at(1.1, 3.5 / 4), abs=2e-6)
    assert {"line", "suburb", "postcode", "lat", "lon", "words"} <= set(first)
    assert "7 Row 2 Street" in first["words"]


def test_a_number_that_the_map_lacks_is_kept_and_said(signed_in: Client, roads: Roads) -> None:
    first = found(signed_in, "8 column 2 avenue")[0]
    assert first["line"] == "8 Column 2 Avenue"
    assert first["about"].startswith("The map does not know this number.")


@pytest.mark.parametrize("near", ["", "somewhere", ",", "1,2,3", "nan,nan", "inf,1", "91,0", "0" * 5000, "-29.6,128.9"])
def test_near_is_optional_and_ignored_where_it_is_no_point(signed_in: Client, roads: Roads, near: str) -> None:
    assert found(signed_in, "7 row 2 street", near=near)[0]["line"] == "7 Row 2 Street"


@pytest.mark.parametrize(
    "typed",
    [
        "",
        " ",
        "'",
        '"',
        '"row',
        "row*",
        "row OR street",
        "NEAR(row street)",
        "name:row",
        "-row",
        "(row",
        "%",
        "_",
        "\x00row",
        "\ud7ff",
        "٣ row",
        "²",
        "9" * 400,
        "row " * 2000,
        "'); DROP TABLE streets; --",
        "<script>alert(1)</script>",
        "1/2/3-4-5 row",
    ],
)
def test_anything_may_be_typed(signed_in: Client, roads: Roads, typed: str) -> None:
    """Nothing typed reaches the index as an expression: it answers with a list, and never that it can't be read."""
    answer = signed_in.get(reverse("roads:find"), {"q": typed})
    assert answer.status_code == 200
    assert isinstance(answer.json()["found"], list)
    assert "why" not in answer.json()


def test_bytes_that_are_no_text_are_taken_too(signed_in: Client, roads: Roads) -> None:
    assert signed_in.get(reverse("roads:find") + "?q=%ff%fe%ed%a0%80row").status_code == 200
    assert found(signed_in, "") == []
    assert signed_in.get(reverse("roads:find")).json() == {"found": []}


def test_without_an_extract_it_says_why(signed_in: Client) -> None:
    answer = signed_in.get(reverse("roads:find"), {"q": "7 row 2 street"})
    assert answer.status_code == 200
    assert answer.json() == {"found": [], "why": "No roads are in use, so no address can be looked up."}


def test_a_stranger_sees_neither(client: Client, firm: object, roads: Roads) -> None:
    assert client.get(reverse("roads:find"), {"q": "row"}).status_code == 302
    assert tile(client, roads).status_code == 302


def test_a_tile_is_drawn_and_may_be_kept(signed_in: Client, roads: Roads) -> None:
    answer = tile(signed_in, roads)
    assert answer.status_code == 200
    assert answer["Content-Type"] == "image/svg+xml"
    for words in ("private", "immutable", "max-age=31536000"):
        assert words in answer["Cache-Control"]
    light, dark = answer.content.decode(), tile(signed_in, roads, query="?dark=1").content.decode()
    assert light.startswith("<svg ")
    assert "<path" in light, "the streets of the squares lie in this tile"
    assert "<path" not in tile(signed_in, roads, x=0).content.decode(), "nothing is known of the sea"
    assert light != dark


def test_streets_bear_their_names_near_by(signed_in: Client, roads: Roads) -> None:
    """Every row and column is named somewhere among the tiles of zoom 17 that hold the squares."""
    tiles = [tile(signed_in, roads, 17, right, down) for right in range(112466, 112472) for down in range(76822, 76828)]
    named = set(re.findall(r">([^<>]+)</text", "".join(answer.content.decode() for answer in tiles)))
    assert {f"Row {number} Street" for number in range(1, 7)} <= named
    assert {f"Column {number} Avenue" for number in range(1, 7)} <= named


@pytest.mark.parametrize(
    ("z", "x", "y"),
    [(7, 0, 0), (20, 0, 0), (8, 256, 0), (8, 0, 256), (14, 2**14, 0), (14, 0, 10**40), (10**40, 0, 0)],
)
def test_numbers_out_of_range_are_not_found(signed_in: Client, roads: Roads, z: int, x: int, y: int) -> None:
    assert tile(signed_in, roads, z, x, y).status_code == 404


def test_the_ends_of_the_range_are_found(signed_in: Client, roads: Roads) -> None:
    for z, x, y in ((8, 0, 0), (8, 255, 255), (19, 2**19 - 1, 0)):
        assert tile(signed_in, roads, z, x, y).status_code == 200


@pytest.mark.parametrize("stamp", ["20200101T000000-aa11", "..", "%2e%2e", "x" * 4000])
def test_another_stamp_is_not_found(signed_in: Client, roads: Roads, stamp: str) -> None:
    assert signed_in.get(f"/roads/streets/{stamp}/{Z}/{X}/{Y}.svg").status_code == 404


def test_no_tile_without_an_extract(signed_in: Client) -> None:
    assert signed_in.get(f"/roads/streets/any/{Z}/{X}/{Y}.svg").status_code == 404


def test_stops_at_one_point_share_one_label(roads: Roads) -> None:
    told = map_data(MapShown((home_stop(*at(0, 0)), QUILL, MOP, FIG, QUILL)), roads)["stops"]
    assert [stop["names"] for stop in told] == ["home", "Quill and Fig", "Mop"]
    assert told[1]["words"] == "9:05, 3 Row 2 Street"
    assert [stop["home"] for stop in told] == [True, False, False]


def test_the_map_says_what_it_shows(signed_in: Client, roads: Roads) -> None:
    shown = MapShown((QUILL, MOP), (at(1, 1), at(3, 1), at(3, 4)))
    page = drawn("{% run_map shown label='The run' %}", shown=shown)
    assert 'aria-label="The run"' in page
    assert "© OpenStreetMap contributors" in page
    assert f"/roads/streets/{roads.about.stamp}/{{z}}/{{x}}/{{y}}.svg" in page
    told = re.search(r'<script type="application/json">(.*?)</script>', page)
    assert told
    data = json.loads(told[1])
    assert [stop["names"] for stop in data["stops"]] == ["Quill", "Mop"]
    assert data["line"] == [list(at(1, 1)), list(at(3, 1)), list(at(3, 4))]


def test_a_name_can_not_end_the_data(signed_in: Client, roads: Roads) -> None:
    page = drawn("{% run_map shown %}", shown=MapShown((MapStop(*at(0, 0), ("</script><b>Mop",)),)))
    assert "<b>Mop" not in page
    assert page.count("</script>") == 1


def test_without_an_extract_there_is_a_quiet_link_and_no_map(signed_in: Client) -> None:
    page = drawn("{% map_head %}{% run_map shown %}", shown=MapShown((QUILL,)))
    assert f'href="{reverse("roads:page")}"' in page
    for words in ("data-map", "leaflet", "OpenStreetMap", "<script"):
        assert words not in page
    assert drawn("{% run_map shown %}", shown=MapShown()).strip() == ""


def test_nothing_to_show_is_nothing(signed_in: Client, roads: Roads) -> None:
    assert drawn("{% run_map shown %}", shown=MapShown()).strip() == ""


@pytest.mark.parametrize("name", ["household-new", "depot-new", "van-new"])
def test_forms_with_a_pin_have_a_map_only_with_an_extract(
    signed_in: Client, built: Path, settings: Any, name: str
) -> None:
    """The pin is a text field that always works; the map, and what loads it, come with the roads."""
    without = signed_in.get(reverse(name)).content.decode()
    assert 'name="pin"' in without
    for words in ("data-pin-map", "leaflet", "address.js", "OpenStreetMap"):
        assert words not in without
    settings.HOME = built
    page = signed_in.get(reverse(name)).content.decode()
    assert 'name="pin"' in page
    for words in ('data-pin-map="id_pin"', f'data-find="{reverse("roads:find")}"', "pin-map.js", "address.js"):
        assert words in page
    assert "© OpenStreetMap contributors" in page
    assert re.search(r'<div class="map"[^>]* hidden', page), "no empty box where no script runs"


def test_a_pin_is_saved_without_an_extract(signed_in: Client) -> None:
    typed = {"line": "1 Depot Yard", "suburb": "Weir Flat", "pin": "-29.6, 128.9", "tap": "unknown", "plug": "unknown"}
    typed |= {"refills": "on", "refill_minutes": "15"}
    answer = signed_in.post(reverse("depot-new"), typed)
    assert answer.status_code == 302


def test_a_household_has_its_places_on_a_map_and_in_the_list_beside_it(signed_in: Client, roads: Roads) -> None:
    household = the_quills()
    household.places.update(lat=at(1, 1)[0], lon=at(1, 1)[1])
    page = signed_in.get(reverse("household", args=[household.pk])).content.decode()
    told = re.search(r'<script type="application/json">(.*?)</script>', page)
    assert told
    stops = json.loads(told[1])["stops"]
    dogs = list(household.dogs.filter(closed_on__isnull=True).values_list("name", flat=True))
    assert all(name in stops[0]["names"] for name in dogs)
    for place in household.places.all():
        assert str(place) in page.replace(told[0], "")

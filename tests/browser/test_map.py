"""Roads come in by the page, an address is found while it is typed, a pin is put on the map; the database has both."""

import re
import uuid
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Locator, Page, expect

from tests.browser.conftest import Server, sign_in, start, stop
from tests.browser.test_every_page import SMALL
from tests.browser.test_whole_job import plan_and_accept, set_up
from tests.roads.small_extract import at, write_squares

AXE = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
BUILT_MS = 120_000
PINS = "SELECT line, suburb, lat, lon FROM records_place WHERE household_id IS NOT NULL ORDER BY made_at"


@pytest.fixture(scope="module")
def town(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """A firm of its own with one van, and no roads yet."""
    server = start(tmp_path_factory.mktemp("map") / "own-home", "serve", today="2026-03-02")
    yield server
    stop(server)


@pytest.fixture(scope="module")
def state(browser: Browser, town: Server, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """The cookies of the one who set it up, and added the roads of the squares by the page."""
    context = browser.new_context(service_workers="block")
    page = context.new_page()
    sign_in(page, town)
    set_up(page)
    add_roads(page, town, tmp_path_factory.mktemp("extract") / "squares.osm.pbf")
    kept = dict(context.storage_state())
    context.close()
    return kept


def add_roads(page: Page, town: Server, file: Path) -> None:
    write_squares(file)
    page.goto(f"{town.address}/people/new/")
    expect(page.locator(".map")).to_have_count(0)
    expect(page.get_by_label("Address")).not_to_have_attribute("role", "combobox")
    page.goto(f"{town.address}/roads/")
    page.get_by_label("Extract of your region").set_input_files(file)
    page.get_by_role("button", name="Add these roads").click()
    expect(page.get_by_text("In use: squares.osm.pbf")).to_be_visible(timeout=BUILT_MS)


@pytest.fixture
def phone(browser: Browser, town: Server, state: Any) -> Iterator[Page]:
    context = browser.new_context(
        service_workers="block",
        viewport={"width": 360, "height": 800},
        has_touch=True,
        storage_state=state,
        base_url=town.address,
    )
    page, wrong = context.new_page(), []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on("console", lambda said: wrong.append(said.text) if said.type == "error" else None)
    yield page
    context.close()
    assert wrong == []


def shows_streets(page: Page) -> None:
    """Tiles are there and drawn, none of them broken."""
    page.wait_for_function(
        "() => { const tiles = [...document.querySelectorAll('.map img.leaflet-tile')];"
        " return tiles.length > 1 && tiles.every((tile) => tile.complete && tile.naturalWidth > 0) }"
    )


def found(page: Page) -> Locator:
    """The addresses that are listed under the field."""
    return page.locator("[role=listbox]").get_by_role("option")


def point_of(words: str) -> tuple[float, float]:
    lat, lon = words.split(",")
    return float(lat), float(lon)


def test_an_address_is_found_and_the_pin_is_dropped(phone: Page, town: Server) -> None:
    """By keyboard: an address; by touch: the pin, off the address; both are in the database."""
    phone.goto("/people/new/")
    phone.get_by_label("Household").fill("Sorrel")
    address = phone.get_by_role("combobox", name="Address")
    address.press_sequentially("7 row 2 str", delay=15)
    options = found(phone)
    expect(options.first).to_contain_text("7 Row 2 Street")
    expect(address).to_have_attribute("aria-expanded", "true")
    expect(phone.get_by_text(re.compile(r"^\d+ found"))).to_have_count(1)
    address.press("ArrowDown")
    expect(options.first).to_have_attribute("aria-selected", "true")
    expect(address).to_have_attribute("aria-activedescendant", options.first.get_attribute("id") or "no id")
    address.press("Escape")
    expect(options).to_have_count(0)
    expect(address).to_have_value("7 row 2 str")
    address.press("ArrowDown")
    if options.first.get_attribute("aria-selected") != "true":
        address.press("ArrowDown")
    address.press("Enter")
    expect(address).to_have_value("7 Row 2 Street")
    pin = phone.get_by_label("Pin", exact=True)
    assert point_of(pin.input_value()) == pytest.approx(at(1.1, 3.5 / 4), abs=2e-6)

    box = phone.locator(".pin-figure .map")
    box.scroll_into_view_if_needed()
    shows_streets(phone)
    before = point_of(pin.input_value())
    frame = box.bounding_box()
    assert frame
    phone.touchscreen.tap(frame["x"] + frame["width"] / 2 + 60, frame["y"] + frame["height"] / 2 + 40)
    expect(pin).not_to_have_value(f"{before[0]:.6f}, {before[1]:.6f}")
    dropped = point_of(pin.input_value())
    assert dropped[0] < before[0], "a tap below the middle lies south"
    assert dropped[1] > before[1], "a tap right of the middle lies east"
    assert abs(dropped[0] - before[0]) < 0.002
    phone.get_by_role("button", name="Save").click()
    expect(phone.get_by_role("heading", level=1)).to_have_text("Sorrel")
    line, _suburb, lat, lon = town.rows(PINS)[-1]
    assert line == "7 Row 2 Street"
    assert (float(lat), float(lon)) == pytest.approx(dropped, abs=1e-6)


def test_the_pin_is_put_by_keyboard_and_typed(phone: Page, town: Server) -> None:
    """The middle of the map by a button; a typed point moves the map; a name that can't be found is saved as typed."""
    phone.goto("/people/new/")
    phone.get_by_label("Household").fill("Tansy")
    phone.get_by_role("combobox", name="Address").press_sequentially("The Old Weighbridge", delay=5)
    expect(phone.get_by_text(re.compile("Not on the map"))).to_be_visible()
    pin = phone.get_by_label("Pin", exact=True)
    south_west, north_east = at(0, 0), at(5, 5)
    phone.get_by_role("button", name="Put the pin in the middle of the map").focus()
    phone.keyboard.press("Enter")
    middle = point_of(pin.input_value())
    assert south_west[0] < middle[0] < north_east[0]
    assert south_west[1] < middle[1] < north_east[1]
    pin.fill(", ".join(map(str, at(4, 4))))
    phone.locator(".pin-figure .map").focus()
    shows_streets(phone)
    phone.get_by_role("button", name="Put the pin in the middle of the map").click()
    assert point_of(pin.input_value()) == pytest.approx(at(4, 4), abs=2e-5)
    phone.get_by_role("button", name="Save").click()
    expect(phone.get_by_role("heading", level=1)).to_have_text("Tansy")
    line, _suburb, lat, lon = town.rows(PINS)[-1]
    assert line == "The Old Weighbridge"
    assert (float(lat), float(lon)) == pytest.approx(at(4, 4), abs=2e-5)


def test_the_pin_is_dragged(phone: Page, town: Server) -> None:
    phone.goto("/people/new/")
    pin = phone.get_by_label("Pin", exact=True)
    pin.fill(", ".join(map(str, at(2, 2))))
    shows_streets(phone)
    dot = phone.locator(".map-pin .map-dot")
    dot.scroll_into_view_if_needed()
    frame = dot.bounding_box()
    assert frame
    x, y = frame["x"] + frame["width"] / 2, frame["y"] + frame["height"] / 2
    phone.mouse.move(x, y)
    phone.mouse.down()
    phone.mouse.move(x - 30, y - 10, steps=4)
    phone.mouse.move(x - 60, y - 30, steps=4)
    phone.mouse.up()
    lat, lon = point_of(pin.input_value())
    assert lat > at(2, 2)[0], "dragged up is north"
    assert lon < at(2, 2)[1], "dragged left is west"


def test_a_household_bears_its_dogs_names_on_the_map(phone: Page, town: Server) -> None:
    """A label with the names, no number and no picture; its words are said below; the list beside says the same."""
    phone.goto("/people/new/")
    phone.get_by_label("Household").fill("Ashlar")
    phone.get_by_role("combobox", name="Address").press_sequentially("3 row 1 street", delay=5)
    found(phone).first.click()
    phone.get_by_label("First dog").fill("Quill")
    phone.get_by_role("button", name="Save").click()
    expect(phone.get_by_role("heading", level=1)).to_have_text("Ashlar")
    shows_streets(phone)
    label = phone.locator(".map-label")
    expect(label).to_have_text("Quill")
    assert phone.locator(".leaflet-marker-pane img").count() == 0
    label.click()
    expect(phone.locator(".map-said")).to_contain_text("3 Row 1 Street")
    expect(phone.get_by_role("link", name=re.compile("^3 Row 1 Street"))).to_be_visible()
    expect(phone.get_by_text("© OpenStreetMap contributors")).to_be_visible()


PEOPLE = """Name,Phone,Address,Latitude,Longitude,Dog,Coat,Weight kg,Every,Price,Last groom
Maren Oldacre,0491 570 156,9 Row 2 Street,{},{},Biscuit,smooth,8.2,6 weeks,85,2026-01-19
Tobin Fallow,0491 570 157,31 Row 5 Street,{},{},Odette,curly,12.4,6 weeks,110,2026-01-19
Tobin Fallow,0491 570 157,31 Row 5 Street,{},{},Rook,curly,9.1,6 weeks,95,2026-01-19
"""


def plan_a_run(page: Page, town: Server) -> str:
    """Two households with three dogs are brought in and planned; gives the id of the run that visits most."""
    points = (*at(1.1, 4.5 / 4), *at(4.1, 15.5 / 4), *at(4.1, 15.5 / 4))
    file: Any = {"name": "list.csv", "mimeType": "text/csv", "buffer": PEOPLE.format(*points).encode()}
    page.goto("/bring-in/")
    page.get_by_label("File").set_input_files(file)
    page.get_by_role("button", name="Show what is in it").click()
    page.get_by_role("button", name="Accept and bring in").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("list.csv is brought in")
    plan_and_accept(page, town)
    hexed = town.one(
        "SELECT run_id FROM rounds_stop WHERE kind = 'visit' GROUP BY run_id ORDER BY count(*) DESC LIMIT 1"
    )
    return str(uuid.UUID(hexed))


def test_the_run_is_on_the_map_and_in_its_list(phone: Page, town: Server) -> None:
    """Every visit of the run bears its dogs' names, along the roads; the list below has the same names."""
    run = plan_a_run(phone, town)
    phone.goto(f"/run/{run}/")
    shows_streets(phone)
    labels = [words.strip() for words in phone.locator(".map-label").all_inner_texts()]
    visited = town.rows(
        "SELECT d.name, s.visit_id FROM rounds_stop s JOIN visits_visitdog v ON v.visit_id = s.visit_id"
        " JOIN records_dog d ON d.id = v.dog_id WHERE s.run_id = ? AND s.kind = 'visit'",
        uuid.UUID(run).hex,
    )
    assert visited
    assert len(labels) == 1 + len({visit for _name, visit in visited})
    assert "home" in labels
    stops = phone.locator("ol.stops")
    for name, _visit in visited:
        assert any(name in label for label in labels), f"{name} is not among {labels}"
        expect(stops).to_contain_text(name)
    assert not [label for label in labels if re.search(r"\d", label)], "no numbers in pins"
    way = phone.locator("path.map-way")
    expect(way).to_have_count(1)
    corners = len(re.findall("[LM]", way.get_attribute("d") or ""))
    assert corners > len(labels) + 1, "it bends with the streets between the stops"
    expect(phone.get_by_text("© OpenStreetMap contributors")).to_be_visible()
    assert faults(phone, 360) == []


def test_labels_cover_neither_each_other_nor_the_buttons(phone: Page, town: Server) -> None:
    """With a handful of stops in view there is room for all of them."""
    run = town.one("SELECT run_id FROM rounds_stop WHERE kind = 'visit' GROUP BY run_id ORDER BY count(*) DESC LIMIT 1")
    phone.goto(f"/run/{uuid.UUID(run)}/")
    shows_streets(phone)
    boxes = phone.evaluate(
        "() => [...document.querySelectorAll('.map-label > span, .leaflet-control-zoom')]"
        ".map((e) => e.getBoundingClientRect()).map((r) => [r.left, r.top, r.right, r.bottom])"
    )
    assert len(boxes) > 2
    for own, (left, top, right, bottom) in enumerate(boxes):
        for other in boxes[own + 1 :]:
            assert right <= other[0] or other[2] <= left or bottom <= other[1] or other[3] <= top


def test_the_map_follows_light_and_dark(phone: Page, town: Server) -> None:
    phone.emulate_media(color_scheme="light")
    phone.goto("/people/new/")
    shows_streets(phone)
    light = phone.locator(".map img.leaflet-tile").first
    assert "dark=1" not in (light.get_attribute("src") or "")
    phone.emulate_media(color_scheme="dark")
    expect(phone.locator(".map img.leaflet-tile[src*='dark=1']").first).to_be_visible()


def test_a_dark_map_is_printed_light(phone: Page, town: Server) -> None:
    """Ink on paper, and the dark tiles turned round, since new ones would come too late for the print."""
    phone.emulate_media(color_scheme="dark")
    phone.goto("/people/new/")
    shows_streets(phone)
    look = (
        "(e) => [getComputedStyle(e).backgroundColor, getComputedStyle(e.querySelector('.leaflet-tile-pane')).filter]"
    )
    assert phone.locator(".map").evaluate(look) == ["rgb(16, 25, 28)", "none"]
    phone.emulate_media(media="print", color_scheme="dark")
    assert phone.locator(".map").evaluate(look) == ["rgb(246, 243, 234)", "invert(1) hue-rotate(180deg)"]


def test_without_a_script_the_form_works_and_no_empty_map_shows(browser: Browser, town: Server, state: Any) -> None:
    context = browser.new_context(java_script_enabled=False, storage_state=state, base_url=town.address)
    page = context.new_page()
    page.goto("/people/new/")
    expect(page.locator(".map")).to_be_hidden()
    page.get_by_label("Household").fill("Bract")
    page.get_by_label("Address").fill("1 Row 1 Street")
    page.get_by_label("Pin", exact=True).fill("-29.5998, 128.90025")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Bract")
    assert float(town.rows(PINS)[-1][2]) == pytest.approx(-29.5998)
    context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [360, 1280])
def test_axe_finds_nothing_on_maps(browser: Browser, town: Server, state: Any, width: int, scheme: Any) -> None:
    """A form with the list of addresses open, and a household with its map; targets of 48 px on the phone."""
    context = browser.new_context(
        viewport={"width": width, "height": 800},
        color_scheme=scheme,
        reduced_motion="reduce",
        storage_state=state,
        base_url=town.address,
    )
    page, wrong = context.new_page(), []
    page.goto("/people/new/")
    page.get_by_role("combobox", name="Address").press_sequentially("5 row", delay=15)
    expect(found(page).first).to_be_visible()
    shows_streets(page)
    wrong += faults(page, width)
    found(page).first.click()
    page.get_by_label("Household").fill(f"Fescue {width} {scheme}")
    page.get_by_label("First dog").fill("Mop")
    page.get_by_role("button", name="Save").click()
    expect(page.locator(".map-label")).to_have_text("Mop")
    shows_streets(page)
    wrong += faults(page, width)
    context.close()
    assert not wrong, "\n".join(wrong)


def faults(page: Page, width: int) -> list[str]:
    found = Axe().run(page, options=AXE).response["violations"]
    wrong = [f"{one['id']}: {[node['html'][:120] for node in one['nodes'][:3]]}" for one in found]
    if page.evaluate("() => document.documentElement.scrollWidth") > width:
        wrong.append(f"wider than {width}")
    if width == 360:
        wrong += [f"target {html} is {w} x {h}" for html, w, h in page.evaluate(SMALL)]
    return wrong

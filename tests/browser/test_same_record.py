"""With scripts or without, the same taps make the same plain record: both read the one form."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, Playwright

from tests.browser.conftest import Server, stop
from tests.browser.phones import Phone, seven_visits
from tests.browser.run_of_seven import PASSWORD
from tests.browser.test_phone_day import read_cautions, visits


@pytest.fixture
def seven(tmp_path: Path) -> Iterator[Server]:
    server = seven_visits(tmp_path / "seven-home")
    yield server
    stop(server)


def say_all(page: Page) -> None:
    """One of everything that may differ from the usual."""
    for summary in page.locator("form.groom details > summary").all():
        if summary.is_visible() and not summary.evaluate("one => one.parentElement.open"):
            summary.click()
    page.locator("[name=done-1]").uncheck()
    page.locator("[name=words-0]").fill("Ears looked at twice")
    page.locator("[name=ml-2]").fill("90")
    page.locator("[name=also-hygiene]").check()
    page.locator("[name=cotton-in]").fill("2")
    page.locator("[name=cotton-taken_out]").fill("1")
    page.locator("[name=cotton-fell_out]").fill("1")
    page.locator("#all-parts").check()
    page.locator("[name=kind-left-ear]").select_option("red")
    page.locator("[name=grade-left-ear][value='2']").check()
    page.locator("[name=found-left-ear]").fill("Since Sunday, says the owner")
    page.locator("[name=part-more-0]").select_option("tail")
    page.locator("[name=kind-more-0]").select_option("mat")
    page.locator("[name=mm-body]").fill("13,5")
    page.locator("[name=how-head]").select_option("scissored")
    page.locator("[name=weight]").fill("8,4")
    page.locator("[name=condition]").fill("5") if page.locator("input[name=condition][inputmode]").count() else None
    page.locator("[name=stood][value=uneasy]").check()
    page.locator("[name=notes]").fill("Shook at the dryer.")
    page.locator("[name=started]").fill("09:10")
    page.locator("[name=ended]").fill("10:25")
    page.locator("[name=water_l]").fill("31")


def body_of(server: Server, visit: str, kind: str) -> dict[str, Any]:
    rows = server.rows("select body from visits_record where visit = ? and kind = ?", visit.replace("-", ""), kind)
    assert len(rows) == 1
    body: dict[str, Any] = json.loads(rows[0][0])
    return {name: said for name, said in body.items() if name != "dog" and said not in ("", [], {})}


def test_with_and_without_scripts(playwright: Playwright, browser: Browser, seven: Server, tmp_path: Path) -> None:
    """Otto's visit with scripts, Tansy's without: fit, groom and handing back say the same."""
    with_scripts, without = visits(seven)[6], visits(seven)[5]
    phone = Phone(playwright, tmp_path / "phone", seven)
    phone.on()
    phone.sign_in()
    bare = browser.new_context(java_script_enabled=False, viewport={"width": 390, "height": 800})
    page = bare.new_page()
    page.goto(f"{seven.address}/sign-in/")
    page.get_by_label("Sign-in name").fill("wren")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    for where, visit in ((phone.page, with_scripts), (page, without)):
        where.goto(f"{seven.address}/phone/visit/{visit}/door/")
        if where is phone.page:
            phone.ready()
        read_cautions(where)
        where.get_by_label("Fleas or ticks").check()
        where.get_by_role("button", name="Save and go on").click()
        where.wait_for_url(lambda url: "/dog/" in url)
        if where is phone.page:
            phone.ready()
        say_all(where)
        where.get_by_role("button", name="Save, with what differs").click()
        where.wait_for_url(lambda url: "handing-back" in url)
        if where is phone.page:
            phone.ready()
        where.get_by_label("Price", exact=True).fill("$ 92,5")
        where.get_by_label("They will ring").check()
        where.get_by_text("Tip, part paid, notes").click()
        where.get_by_label("Tip, apart from the price").fill("7")
        where.get_by_label("Paid, if not the whole price").fill("50")
        where.get_by_role("button", name="Transfer").click()
        where.wait_for_url(lambda url: "handing-back" not in url)
    phone.ready()
    assert phone.send() == ""
    for kind in ("fit", "groom", "handing-back"):
        assert body_of(seven, with_scripts, kind) == body_of(seven, without, kind), kind
    groom = body_of(seven, with_scripts, "groom")
    assert groom["measures"]["weight_grams"] == 8400
    assert {"step": "nails", "done": False} in groom["steps"]
    assert body_of(seven, with_scripts, "handing-back")["price_cents"] == 9250
    phone.off()
    bare.close()

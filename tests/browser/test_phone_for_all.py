"""The pages of the work for everybody: by keyboard alone, and with text twice as large, without loss."""

from collections.abc import Iterator

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from tests.browser.conftest import Server, stop
from tests.browser.phones import Phone, seven_visits
from tests.browser.test_phone_day import visits

MOST_TABS = 150
WIDE = """() => [...document.querySelectorAll("main *, .outbox *")].filter((one) => {
  const box = one.getBoundingClientRect();
  return box.width > 0 && !one.closest(".hidden-words, .dog-frame, svg") && box.right > innerWidth + 1;
}).map((one) => `${one.tagName} ${one.className} ${one.textContent.trim().slice(0, 40)}`)"""


@pytest.fixture(scope="module")
def seven(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    server = seven_visits(tmp_path_factory.mktemp("for-all") / "seven-home")
    yield server
    stop(server)


def tab_to(page: Page, words: str) -> None:
    """Presses Tab until the focus is on what says these words."""
    for _ in range(MOST_TABS):
        page.keyboard.press("Tab")
        said = page.evaluate(
            "() => document.activeElement.textContent.trim() || document.activeElement.labels?.[0]?.textContent.trim()"
        )
        if (said or "").startswith(words):
            return
    raise AssertionError(f"{words} can't be reached by keyboard on {page.url}")


def test_a_visit_by_keyboard_alone(phone: Phone, seven: Server) -> None:
    """Cautions read with the space bar, the rest with Enter."""
    visit = visits(seven)[1]
    page = phone.go(f"/phone/visit/{visit}/door/")
    tab_to(page, "I have read Biscuit")
    page.keyboard.press("Space")
    for words, heading in (("Save and go on", "Biscuit"), ("The usual, done", "Handing back")):
        tab_to(page, words)
        page.keyboard.press("Enter")
        expect(page.get_by_role("heading", level=1)).to_have_text(heading)
        phone.ready()
    before = page.url
    tab_to(page, "Card")
    page.keyboard.press("Enter")
    page.wait_for_url(lambda url: url != before)
    phone.ready()
    assert phone.send() == ""
    assert seven.one("select paid from visits_handingback") == "card"


def test_text_twice_as_large_and_axe(phone: Phone, seven: Server) -> None:
    """Nothing is cut off or pushed out at 36 px, and axe finds nothing, offline lines and all."""
    visit = visits(seven)[0]
    phone.go(f"/phone/visit/{visit}/")
    dog = phone.page.locator("a[href*='/dog/']").first.get_attribute("href") or ""
    lost = phone.page.locator("a[href*='/lost/']").first.get_attribute("href") or ""
    pages = [f"/phone/visit/{visit}/{name}" for name in ("", "door/", "handing-back/", "incident/", "called-off/")]
    wide: dict[str, list[str]] = {}
    for path in [*pages, dog, lost, "/phone/stop/", "/phone/labels/", "/phone/waiting/", "/set-up/signed-in/"]:
        page = phone.go(path)
        for details in page.locator("details").all():
            details.evaluate("one => { one.open = true }")
        found = Axe().run(page)
        assert found.violations_count == 0, f"{path}: {found.generate_report()}"
        page.evaluate("() => { document.body.style.fontSize = '36px' }")
        wide[path] = page.evaluate(WIDE)
    assert {path: found for path, found in wide.items() if found} == {}

"""Takes the README's pictures again, from the real pages of a demo: `python docs/pictures/take.py` (needs Chromium)."""

import re
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE.parents[1]), str(HERE.parents[1] / "src")]

from tests.browser.conftest import CHROMIUM, Server, sign_in, start, stop  # noqa: E402

TODAY = "2026-11-25"
PHONE, DESK = {"width": 360, "height": 720}, {"width": 1000, "height": 700}


def take(page: Page, server: Server) -> None:
    def shot(name: str, path: str = "", *, size: dict[str, int] = PHONE, at: str = "") -> None:
        page.set_viewport_size(size)  # type: ignore[arg-type]
        if path:
            page.goto(server.address + path)
        if at:
            page.locator(at).first.evaluate("e => window.scrollTo(0, e.getBoundingClientRect().top + scrollY - 8)")
        page.screenshot(path=HERE / f"{name}.png")

    shot("round", "/round/?weeks=4", size=DESK, at=".week")
    shot("run-sheet", "/run/", at="main")
    page.wait_for_timeout(1000)  # the map's tiles
    shot("map", at=".map-figure")
    page.get_by_role("link", name=re.compile("^At the door")).first.click()
    shot("door", at="main")
    for box in page.locator("input[type=checkbox][required], .read input[type=checkbox]").all():
        box.check()
    page.get_by_role("button", name="Save and go on").click()
    shot("groom", at="main")
    page.get_by_role("button", name=re.compile("^The usual, done")).first.click()
    shot("handing-back", at="main")
    page.goto(server.address + "/letters/")
    page.locator("main .list > li a, main ul.lines a.line").first.click()
    shot("letter", at="article, .letter, main")


def main() -> None:
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        server = start(Path(folder) / "home", "demo", "--today", TODAY)
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"])
        try:
            page = browser.new_page(viewport=PHONE, color_scheme="light")  # type: ignore[arg-type]
            page.set_default_timeout(10_000)
            sign_in(page, server)
            take(page, server)
        finally:
            browser.close()
            stop(server)


if __name__ == "__main__":
    main()

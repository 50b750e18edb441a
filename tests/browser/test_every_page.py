"""Every page that can be reached: it answers, axe finds nothing, targets are big, nothing is wider than the phone."""

import re
from collections import deque
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from tests.browser.conftest import Server, sign_in

ID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")
NOT_PAGES = re.compile(r"\.(pdf|csv|xlsx|vcf|ics|txt|json|jpg)$|/photos?/|/pdf/?$")
MOST_PAGES = 140
SMALL = (Path(__file__).parent / "small_targets.js").read_text()


def kind_of(url: str) -> str:
    """An address with its ids taken out: one page of a kind is looked at."""
    return ID.sub("ID", urlsplit(url).path)


def reachable(page: Page, server: Server) -> list[str]:
    """One address of every kind that links lead to, from the desk on."""
    kinds, queue, found = {"/"}, deque([f"{server.address}/"]), []
    while queue and len(found) < MOST_PAGES:
        url = queue.popleft()
        answer = page.goto(url)
        assert answer is not None
        if not answer.headers.get("content-type", "").startswith("text/html"):
            continue
        assert answer.status == 200, f"{url} answers {answer.status}"
        found.append(url)
        links: list[str] = page.eval_on_selector_all("a[href]", "all => all.map(a => a.href)")
        for link in links:
            path = urlsplit(link).path
            ours = link.startswith(server.address) and not NOT_PAGES.search(path)
            if ours and kind_of(link) not in kinds:
                kinds.add(kind_of(link))
                queue.append(link.split("#")[0])
    assert not queue, f"more than {MOST_PAGES} pages, not all are looked at"
    return found


@pytest.fixture(scope="module")
def pages(browser: Browser, demo: Server) -> tuple[list[str], dict[str, Any]]:
    """Every reachable address, and the cookies of the one who is signed in."""
    context = browser.new_context(service_workers="block")
    page = context.new_page()
    sign_in(page, demo)
    found = reachable(page, demo)
    state = dict(context.storage_state())
    context.close()
    return found, state


def test_the_navigation_is_all_there(pages: tuple[list[str], dict[str, Any]], demo: Server) -> None:
    paths = {urlsplit(url).path for url in pages[0]}
    for path in (
        "/",
        "/run/",
        "/round/",
        "/due/",
        "/people/",
        "/letters/",
        "/books/",
        "/shelf/",
        "/watch/",
        "/set-up/",
    ):
        assert path in paths, f"{path} can't be reached: {sorted(paths)}"


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [360, 1280])
def test_axe_finds_nothing(browser: Browser, pages: tuple[list[str], dict[str, Any]], width: int, scheme: Any) -> None:
    """WCAG 2.2 AA by axe-core on every page; on the phone, targets of 48 px and no sideways scrolling."""
    context = browser.new_context(
        service_workers="block",
        viewport={"width": width, "height": 800},
        color_scheme=scheme,
        storage_state=pages[1],
        reduced_motion="reduce",  # type: ignore[arg-type]
    )
    page, axe, wrong = context.new_page(), Axe(), []
    for url in pages[0]:
        page.goto(url)
        results = axe.run(
            page, options={"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}
        )
        for violation in results.response["violations"]:
            nodes = [node["html"][:120] for node in violation["nodes"][:3]]
            wrong.append(f"{kind_of(url)}: {violation['id']}: {nodes}")
        if width == 360:
            wide = page.evaluate("() => document.documentElement.scrollWidth")
            if wide > width:
                wrong.append(f"{kind_of(url)}: {wide} px wide on a phone of {width}")
            wrong.extend(f"{kind_of(url)}: target {html} is {w} x {h}" for html, w, h in page.evaluate(SMALL))
    context.close()
    assert not wrong, "\n".join(wrong)

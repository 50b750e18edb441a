"""A real server process on a port of its own, and the system's Chromium to look at it."""

import os
import re
import shutil
import socket
import sqlite3
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from playwright.sync_api import Page, Playwright

if TYPE_CHECKING:
    from tests.browser.phones import Phone

ROOT = Path(__file__).parents[2]
CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
MUST_RUN = os.environ.get("COATROUND_TEST_ALL") == "yes"


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if "/browser/" in str(item.path):
            item.add_marker(pytest.mark.browser)
            if CHROMIUM is None and not MUST_RUN:
                item.add_marker(pytest.mark.skip(reason="SKIPPED: no Chromium on this machine; install 'chromium'"))


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, Any]) -> dict[str, Any]:
    """The system's own browser; it asks nobody on the network."""
    quiet = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update"]
    return {
        **browser_type_launch_args,
        "executable_path": CHROMIUM,
        "args": [*quiet, "--disable-sync", "--no-first-run"],
    }


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@dataclass
class Server:
    """A running `coatround` process and the folder it owns."""

    address: str
    home: Path
    link: str
    process: subprocess.Popen[str]

    @property
    def port(self) -> int:
        return int(self.address.rpartition(":")[2])

    def rows(self, sql: str, *values: object) -> list[tuple[Any, ...]]:
        """What the database really holds."""
        with sqlite3.connect(self.home / "coatround.sqlite3") as database:
            return database.execute(sql, values).fetchall()

    def one(self, sql: str, *values: object) -> Any:
        return self.rows(sql, *values)[0][0]


def start(home: Path, *words: str, today: str = "", port: int = 0, source: Path = ROOT / "src") -> Server:
    """Starts `coatround WORDS` on a free port and waits until it answers and has printed its sign-in link."""
    port = port or free_port()
    environment = {**os.environ, "PYTHONPATH": str(source), "COATROUND_HOME": str(home), "PYTHONUNBUFFERED": "1"}
    environment.pop("DJANGO_SETTINGS_MODULE", None)
    environment.pop("COATROUND_DATABASE", None)
    if today:
        environment["COATROUND_TODAY"] = today
    log = home.parent / f"{home.name}.log"
    with log.open("w") as out:
        process = subprocess.Popen(
            [sys.executable, "-m", "coatround", *words, "--home", str(home), "--port", str(port)],
            env=environment, stdout=out, stderr=subprocess.STDOUT, text=True,
        )  # fmt: skip
    address, until = f"http://127.0.0.1:{port}", time.monotonic() + 240
    while time.monotonic() < until:
        found = re.search(rf"{address}/sign-in/\S+", log.read_text())
        if found and answers(address):
            return Server(address, home, found.group(), process)
        if process.poll() is not None:
            break
        time.sleep(0.2)
    process.kill()
    raise AssertionError(f"coatround {words} did not come up:\n{log.read_text()}")


def answers(address: str) -> bool:
    try:
        with urllib.request.urlopen(f"{address}/health", timeout=2) as answer:
            return bool(answer.status == 200)
    except OSError:
        return False


def stop(server: Server) -> None:
    server.process.terminate()
    server.process.wait(timeout=20)


@pytest.fixture
def fresh(tmp_path: Path) -> Iterator[Server]:
    """An empty installation."""
    server = start(tmp_path / "own-home", "serve", today="2026-03-02")
    yield server
    stop(server)


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """A small demo, the same for every test that only looks."""
    home = tmp_path_factory.mktemp("demo") / "demo-home"
    server = start(home, "demo", "--today", "2026-03-04", "--dogs", "24")
    yield server
    stop(server)


@pytest.fixture
def phone(playwright: Playwright, seven: Server, tmp_path: Path) -> Iterator["Phone"]:
    """A phone that is signed in as Wren on the server `seven` of the test's own file."""
    from tests.browser.phones import Phone

    one = Phone(playwright, tmp_path / "phone", seven)
    one.on()
    one.sign_in()
    yield one
    one.off()


def sign_in(page: Page, server: Server) -> None:
    page.goto(server.link)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(lambda url: "/sign-in/" not in url)

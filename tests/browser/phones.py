"""A phone to test with: a browser whose profile outlives it, a tab that can be killed, a server that can be too."""

import datetime as dt
import os
import subprocess
import sys
import urllib.request
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from playwright.sync_api import BrowserContext, Page, Playwright, Route, expect

from tests.browser.conftest import CHROMIUM, ROOT, Server, start
from tests.browser.run_of_seven import PASSWORD

DATE = dt.date(2026, 3, 4)
QUIET = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def seven_visits(home: Path) -> Server:
    """A server whose run of today has seven visits."""
    environment = {**os.environ, "PYTHONPATH": f"{ROOT / 'src'}{os.pathsep}{ROOT}"}
    environment.pop("DJANGO_SETTINGS_MODULE", None)
    environment.pop("COATROUND_DATABASE", None)
    made = [sys.executable, "-m", "tests.browser.run_of_seven", str(home), DATE.isoformat()]
    subprocess.run(made, check=True, cwd=ROOT, env=environment)
    return start(home, "serve", "--link", today=DATE.isoformat())


def kill(server: Server) -> None:
    """As a power cut would: no warning, no finishing."""
    server.process.kill()
    server.process.wait()


def again(server: Server) -> Server:
    """The same home on the same port."""
    return start(server.home, "serve", "--link", today=DATE.isoformat(), port=server.port)


@dataclass
class Phone:
    """One phone: `page` is its tab; its storage lies in a folder, so that it outlives the browser."""

    playwright: Playwright
    folder: Path
    server: Server
    context: BrowserContext | None = None
    tab: Page | None = None
    cookies: str = ""

    def on(self) -> Page:
        """Starts the browser, as after the phone was switched off."""
        self.context = self.playwright.chromium.launch_persistent_context(
            str(self.folder), executable_path=CHROMIUM, args=QUIET, viewport={"width": 390, "height": 800}
        )
        self.context.set_default_timeout(15_000)
        self.tab = self.context.pages[0]
        return self.tab

    @property
    def page(self) -> Page:
        assert self.tab is not None
        return self.tab

    def off(self) -> None:
        if self.context is not None:
            with suppress(Exception):
                self.context.close()
        self.context = self.tab = None

    def kill_tab(self) -> Page:
        """The tab's process ends without a word; a new tab is opened."""
        assert self.context is not None
        killed = self.page
        with suppress(Exception):
            killed.goto("chrome://crash", timeout=1500)
        self.tab = self.context.new_page()
        with suppress(Exception):
            killed.close()
        return self.page

    def sign_in(self, name: str = "wren") -> Page:
        self.page.goto(f"{self.server.address}/sign-in/")
        self.page.get_by_label("Sign-in name").fill(name)
        self.page.get_by_label("Password").fill(PASSWORD)
        self.page.get_by_role("button", name="Sign in").click()
        self.page.wait_for_url(lambda url: "/sign-in/" not in url)
        return self.page

    def go(self, path: str) -> Page:
        """Opens a page of ours and waits until its scripts are ready."""
        self.page.goto(self.server.address + path)
        return self.ready()

    def ready(self) -> Page:
        expect(self.page.locator("html[data-ready]")).to_be_attached()
        return self.page

    def ask(self, script: str, *told: object) -> Any:
        """Runs a script in the page, with SCRIPTS as the folder of the page's own modules."""
        folder = self.page.locator('script[src*="phone/page.js"]').get_attribute("src") or ""
        words = script.replace("SCRIPTS", repr(folder.removesuffix("page.js")))
        return self.page.evaluate(words, *told)

    def hold(self) -> dict[str, Any]:
        """Opens today's run with signal and waits until the next runs are held."""
        self.go("/run/")
        held: dict[str, Any] = self.ask(
            """async () => {
              const box = await import(SCRIPTS + "outbox.js");
              for (let n = 0; n < 300; n++) {
                const held = await box.fact("held");
                if (held && (await navigator.serviceWorker.getRegistration())?.active) return held;
                await new Promise((resolve) => setTimeout(resolve, 200));
              }
              const there = await navigator.serviceWorker.getRegistration();
              const states = [there?.installing, there?.waiting, there?.active].map((one) => one?.state);
              const held = JSON.stringify(await box.fact("held"));
              throw new Error(`nothing is held: ${held}, ${states}`);
            }"""
        )
        self.go("/run/")  # under the service worker from now on, as any page opened later is
        return held

    def signal(self, there: bool) -> None:
        assert self.context is not None
        self.context.set_offline(not there)

    def remember_cookies(self) -> None:
        """Keeps the cookies at hand for `pass_on`, which may not ask the browser."""
        assert self.context is not None
        cookies = self.context.cookies()
        self.cookies = "; ".join(f"{one.get('name')}={one.get('value')}" for one in cookies)

    def pass_on(self, route: Route) -> str:
        """Sends a request to the server past the browser, so that what comes back can be lost; gives the answer."""
        kept = ("content-type", "x-csrftoken")
        headers = {name: value for name, value in route.request.headers.items() if name in kept}
        body = (route.request.post_data or "").encode()
        asked = urllib.request.Request(route.request.url, body, {**headers, "Cookie": self.cookies})
        with urllib.request.urlopen(asked, timeout=20) as answer:
            return str(answer.read().decode())

    def counts(self) -> dict[str, Any]:
        """What the outbox itself says."""
        found: dict[str, Any] = self.ask(
            """async () => {
              const box = await import(SCRIPTS + "outbox.js");
              const [records, photos, sent] = await Promise.all([box.records(), box.photos(), box.sent()]);
              return { records: records.length, photos: photos.length, sent: sent.length,
                ids: [...records, ...photos].map((one) => one.id), sentIds: sent.map((one) => one.id),
                refused: [...records, ...photos].filter((one) => one.state === "refused").length,
                matter: (await box.counts()).matter?.code ?? "" };
            }"""
        )
        return found

    def send(self) -> str:
        """Sends what waits, as the button does; gives what is the matter."""
        return str(
            self.ask(
                """async () => {
                  const page = await import(SCRIPTS + "page.js");
                  let matter = await page.sendNow();
                  // one that began without signal may have been under way
                  if (matter?.code === "no-signal") matter = await page.sendNow();
                  return matter?.code ?? "";
                }"""
            )
        )

"""How soon the run sheet can be read on a slow phone, how soon a tap answers, and whether anything jumps.

    python benchmarks/phone.py

A run of seven visits in a home of its own, in Chromium at 390 x 800 with the processor slowed 4 times and the network
at 1.6 Mbit/s down, 0.75 up and 150 ms (the figures Lighthouse calls slow 4G). Cold: an empty cache. Warm: the pages
are held. A tap: from the click until the page shows what it says, on the groom's page, for every kind of step. The
shift is the sum that the browser reports over all the pages looked at. It ends with 1 when a target is missed.
"""

import datetime as dt
import gzip
import statistics
import sys
import tempfile
from pathlib import Path

from cpu_planning import SOURCE, commit

sys.path.insert(0, str(SOURCE.parent))

from playwright.sync_api import Page, sync_playwright
from tests.browser.conftest import stop
from tests.browser.phones import Phone, seven_visits
from tests.browser.test_phone_day import visits

COLD_MS, WARM_MS, TAP_MS, MOST_KB = 1500, 500, 100, 60
SLOWER = 4
TIMES = 5
NETWORK = {"offline": False, "latency": 150, "downloadThroughput": 200_000, "uploadThroughput": 93_750}
READABLE = """async () => {
  const painted = performance.getEntriesByName("first-contentful-paint")[0];
  return painted ? painted.startTime : performance.now();
}"""
SHIFTS = """self.shift = 0;
const add = (one) => { if (!one.hadRecentInput) self.shift += one.value; };
new PerformanceObserver((list) => list.getEntries().forEach(add)).observe({ type: "layout-shift", buffered: true });"""
TAP = """async (selector) => {
  const target = document.querySelector(selector);
  target.scrollIntoView({ block: "center" });
  await new Promise((resolve) => setTimeout(resolve, 300));
  const began = performance.now();
  target.click();
  await new Promise((resolve) => requestAnimationFrame(() => setTimeout(resolve)));
  return performance.now() - began;
}"""
TAPS = {
    "a step is opened": "details > summary",
    "a step is ticked off": ".step input[type=checkbox]",
    "cotton is counted up": ".stepper button:not(.less)",
    "a part of the dog": ".part",
    "how it stood": "input[name=stood]",
}
SCRIPTS = ("page", "outbox", "said", "hold", "overlay", "groom", "timer", "waiting", "pin", "sw")


def main() -> int:
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        server = seven_visits(Path(folder) / "home")
        try:
            cold, warm, taps, shift = measured(playwright, server, Path(folder))
        finally:
            stop(server)
    kb = packed_kb()
    print(f"{dt.date.today()}, commit {commit()}: processor slowed {SLOWER} times, slow 4G, run sheet of seven visits")
    print(f"readable from cold cache: median {statistics.median(cold):.0f} ms, most {max(cold):.0f} (target {COLD_MS})")
    print(f"readable when held:       median {statistics.median(warm):.0f} ms, most {max(warm):.0f} (target {WARM_MS})")
    for name, took in taps.items():
        print(f"tap, {name}: median {statistics.median(took):.0f} ms, most {max(took):.0f} (target {TAP_MS})")
    print(f"layout shift over all pages: {shift:.4f} (target 0)")
    print(f"scripts of ours and htmx, gzipped: {kb:.1f} kB (target under {MOST_KB})")
    most_tap = max(statistics.median(took) for took in taps.values())
    missed = statistics.median(cold) > COLD_MS or statistics.median(warm) > WARM_MS or most_tap > TAP_MS
    return 1 if missed or shift > 0 or kb > MOST_KB else 0


def measured(
    playwright: object, server: object, folder: Path
) -> tuple[list[float], list[float], dict[str, list[float]], float]:
    """Milliseconds cold, held, and by tap; and the sum of layout shifts."""
    cold, shifts = [], []
    for number in range(TIMES):
        phone = Phone(playwright, folder / f"cold-{number}", server)  # type: ignore[arg-type]
        phone.on()
        phone.sign_in()
        phone.page.evaluate(
            "async () => { for (const one of await navigator.serviceWorker.getRegistrations()) await one.unregister() }"
        )
        slow(phone.page)
        phone.context.new_cdp_session(phone.page).send("Network.clearBrowserCache")  # type: ignore[union-attr]
        cold.append(looked_at(phone, "/run/", shifts))
        phone.off()
    phone = Phone(playwright, folder / "held", server)  # type: ignore[arg-type]
    phone.on()
    phone.sign_in()
    phone.hold()
    slow(phone.page)
    warm = [looked_at(phone, "/run/", shifts) for _ in range(TIMES)]
    visit = visits(server)[1]  # type: ignore[arg-type]
    phone.go(f"/phone/visit/{visit}/")
    looked_at(phone, f"/phone/visit/{visit}/door/", shifts)
    dog = phone.go(f"/phone/visit/{visit}/").locator("a[href*='/dog/']").first.get_attribute("href") or ""
    looked_at(phone, dog, shifts)
    taps: dict[str, list[float]] = {}
    for name, selector in TAPS.items():
        for _ in range(TIMES):
            taps.setdefault(name, []).append(phone.page.evaluate(TAP, selector))
    phone.off()
    return cold, warm, taps, sum(shifts)


def slow(page: Page) -> None:
    tools = page.context.new_cdp_session(page)
    tools.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    tools.send("Network.enable")
    tools.send("Network.emulateNetworkConditions", NETWORK)
    page.add_init_script(SHIFTS)


def looked_at(phone: Phone, path: str, shifts: list[float]) -> float:
    """Milliseconds until the page was painted with its words; its shifts are added up."""
    phone.go(path)
    phone.page.wait_for_timeout(1200)
    shifts.append(phone.page.evaluate("() => self.shift"))
    return float(phone.page.evaluate(READABLE))


def packed_kb() -> float:
    """All scripts of ours on the phone and htmx, each gzipped, in thousands of bytes."""
    from django_htmx import __file__ as htmx

    ours = SOURCE / "coatround" / "web" / "phone" / "static" / "phone"
    files = [*(ours / f"{name}.js" for name in SCRIPTS), Path(htmx).parent / "static" / "django_htmx" / "htmx-2.min.js"]
    return sum(len(gzip.compress(file.read_bytes())) for file in files) / 1000


if __name__ == "__main__":
    raise SystemExit(main())

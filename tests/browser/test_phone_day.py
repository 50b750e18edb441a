"""A day without signal: seven visits recorded with photos, tabs killed, the browser restarted, all of it sent once."""

import re
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Page, TimeoutError, expect

from tests.browser.conftest import Server, stop
from tests.browser.phones import DATE, Phone, again, kill, seven_visits
from tests.browser.run_of_seven import CODE, PEOPLE

OURS = "select count(*) from visits_record"


@pytest.fixture
def seven(tmp_path: Path) -> Iterator[Server]:
    server = seven_visits(tmp_path / "seven-home")
    yield server
    stop(server)


def picture(folder: Path, number: int) -> Path:
    """A photo of 3,000 pixels, each of another colour."""
    path = folder / f"photo-{number}.jpg"
    Image.new("RGB", (3000, 2000), (20 * number, 90, 160)).save(path)
    return path


def visits(server: Server) -> list[str]:
    """Today's visits as a run has them, as the addresses write them."""
    rows = server.rows(
        'select s.visit_id from rounds_stop s join rounds_run r on r.id = s.run_id where r.date = ? order by s."order"',
        DATE.isoformat(),
    )
    return [f"{row[0][:8]}-{row[0][8:12]}-{row[0][12:16]}-{row[0][16:20]}-{row[0][20:]}" for row in rows]


def read_cautions(page: Page) -> int:
    ticks = page.get_by_label(re.compile("I have read")).all()
    for tick in ticks:
        tick.check()
    return len(ticks)


def press(phone: Phone, name: str | re.Pattern[str]) -> None:
    """Taps a button that saves, and waits for the next page."""
    before = phone.page.url
    phone.page.get_by_role("button", name=name).first.click()
    try:
        phone.page.wait_for_url(lambda url: url != before)
    except TimeoutError as late:
        said = phone.page.locator("#form-said, .said-wrong").all_text_contents()
        raise AssertionError(f"{name} led nowhere from {before}: {said}") from late
    phone.ready()


def record_a_visit(phone: Phone, visit: str, photo: Path) -> None:
    phone.go(f"/phone/visit/{visit}/door/")
    read_cautions(phone.page)
    press(phone, "Save and go on")
    while phone.page.locator("form.groom").count():
        phone.page.locator("summary").get_by_text("Photo", exact=True).click()
        phone.page.get_by_label("Photo", exact=True).set_input_files(photo)
        phone.page.get_by_label("What it shows").fill("After the bath")
        press(phone, re.compile("^The usual"))
    expect(phone.page.get_by_role("heading", level=1)).to_have_text("Handing back")
    press(phone, "Cash")


def test_a_whole_run_without_signal(phone: Phone, seven: Server, tmp_path: Path) -> None:
    """Seven visits, eight dogs, a photo each; three tabs killed, the browser restarted; then everything once."""
    held = phone.hold()
    assert len(held["runs"]) == 2
    assert held["failed"] == 0
    phone.signal(False)
    for number, visit in enumerate(visits(seven)):
        if number in (2, 4, 6):  # the tab is killed while the groom is half said
            dog = phone.go(f"/phone/visit/{visit}/").locator("a[href*='/dog/']").first
            address = dog.get_attribute("href") or ""
            phone.go(address).get_by_text("How it stood, notes, times, water").click()
            phone.page.get_by_label("Notes").fill(f"Half said {number}")
            phone.page.wait_for_timeout(600)
            phone.kill_tab()
            phone.go(address)
            expect(phone.page.get_by_label("Notes")).to_have_value(f"Half said {number}")
        if number == 5:
            phone.off()
            phone.on()
            phone.signal(False)
        record_a_visit(phone, visit, picture(tmp_path, number))
        assert seven.one(OURS) == 0
    dogs = sum(len(dogs) for _household, dogs in PEOPLE)
    waiting = phone.counts()
    assert waiting["records"] == 2 * dogs + len(PEOPLE) + 1  # a fit and a groom a dog, a handing back, cautions once
    assert waiting["photos"] == dogs
    strip = phone.go("/run/").locator("#outbox")
    expect(strip).to_contain_text(f"{waiting['records'] + dogs} waiting")
    phone.signal(True)
    assert phone.send() == ""
    after = phone.counts()
    assert (after["records"], after["photos"], after["refused"]) == (0, 0, 0)
    assert seven.one(OURS) == waiting["records"]
    assert seven.one("select count(*) from visits_photo") == dogs
    assert seven.one("select count(*) from visits_groom where state = 'COMPLETED' and corrected = 0") == dogs
    assert seven.one("select count(*) from visits_fit") == dogs
    assert seven.one("select count(*) from visits_handingback") == len(PEOPLE)
    assert {row[0] for row in seven.rows("select notes from visits_groom")} >= {f"Half said {n}" for n in (2, 4, 6)}
    assert seven.one("select count(*) from visits_photo where belongs_to in (select id from visits_groom)") == dogs
    assert seven.one("select max(width) from visits_photo") <= 2048


def test_an_ordinary_visit_takes_few_taps(phone: Phone, seven: Server) -> None:
    """From the run sheet: at the door; save; the usual, done; cash. The household's visit before Biscuit's."""
    phone.hold()
    phone.signal(False)
    page = phone.go("/run/")
    taps = 0

    def tap(name: str, role: str = "button") -> None:
        nonlocal taps
        before = page.url
        page.get_by_role(role, name=re.compile(f"^{name}")).first.click()  # type: ignore[arg-type]
        page.wait_for_url(lambda url: url != before)
        phone.ready()
        taps += 1

    tap("At the door", "link")
    tap("Save and go on")
    tap("The usual, done")
    expect(page.get_by_label("Price", exact=True)).to_have_value("85.00")
    expect(page.get_by_role("radio", name=re.compile("The usual:"))).to_be_checked()
    tap("Cash")
    assert taps <= 8
    expect(page.locator("h1")).to_contain_text("Next: Biscuit")
    phone.signal(True)
    assert phone.send() == ""
    assert seven.rows("select paid, price_cents, next_how from visits_handingback") == [("cash", 8500, "usual")]
    assert seven.one("select count(*) from books_payment") == 1


def test_the_server_dies_between(phone: Phone, seven: Server, tmp_path: Path) -> None:
    """Not an unplugged phone but a dead server: it waits, and goes when the server is back."""
    phone.hold()
    kill(seven)
    record_a_visit(phone, visits(seven)[0], picture(tmp_path, 1))
    waiting = phone.counts()
    assert waiting["matter"] == "no-signal"
    back = again(seven)
    try:
        assert phone.send() == ""
        assert back.one(OURS) == waiting["records"]
    finally:
        stop(back)


def test_keys_show_on_their_day_and_each_look_is_written_down(phone: Phone, seven: Server) -> None:
    phone.hold()
    given = "select count(*) from records_keylook where how = ?"
    assert seven.one(given, "given") == 1
    phone.signal(False)
    page = phone.go("/run/")
    page.get_by_role("button", name=re.compile("^Show key or code")).click()
    expect(page.locator(".keys")).to_contain_text(CODE)
    assert seven.one(given, "looked") == 0
    phone.signal(True)
    assert phone.send() == ""
    assert seven.one(given, "looked") == 1


def test_stop_and_refer_and_the_lost_dog_are_there_without_signal(phone: Phone, seven: Server) -> None:
    phone.hold()
    phone.signal(False)
    page = phone.go(f"/phone/visit/{visits(seven)[1]}/")
    page.get_by_role("link", name="Stop and refer").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Stop and refer")
    expect(page.get_by_role("link", name="Ring the nearest vet").first).to_have_attribute("href", "tel:+61491570156")
    page.get_by_text("Too hot:").click()
    expect(page.locator("details[open]")).to_contain_text("Cool first, then drive")
    phone.go(f"/phone/visit/{visits(seven)[1]}/").get_by_role("link", name="Biscuit got away").click()
    expect(page.get_by_role("main")).to_contain_text("953010001234567")
    phone.go("/phone/labels/")
    expect(page.get_by_role("main")).to_contain_text("Oat wash")
    page.goto(f"{seven.address}/books/")
    expect(page.get_by_role("heading", level=1)).to_contain_text("No signal")


def test_minutes_of_contact_outlive_the_tab(phone: Phone, seven: Server) -> None:
    phone.hold()
    visit = visits(seven)[0]
    page = phone.go(f"/phone/visit/{visit}/")
    page.locator("a[href*='/dog/']").first.click()
    page.get_by_role("button", name=re.compile("^Count 5 minutes")).click()
    expect(page.get_by_role("timer")).to_contain_text(re.compile(r"[45]:\d\d"))
    page = phone.kill_tab()
    phone.go(f"/phone/visit/{visit}/")
    expect(page.get_by_role("timer")).to_contain_text(re.compile(r"[45]:\d\d"))
    page.get_by_role("button", name="Stop counting").click()
    expect(page.get_by_role("timer")).to_be_hidden()


def held_paths(page: Page) -> set[str]:
    """Every page that this phone holds."""
    found: list[str] = page.evaluate(
        """async () => {
          const names = (await caches.keys()).filter((name) => name.startsWith("pages-"));
          const all = await Promise.all(names.map(async (name) => (await caches.open(name)).keys()));
          return all.flat().map((one) => new URL(one.url).pathname);
        }"""
    )
    return set(found)


def nothing_stays(page: Page) -> None:
    """After signing out no page of a household is held, and none comes back."""
    end = time.monotonic() + 10
    while not held_paths(page) <= {"/phone/no-signal/"}:
        assert time.monotonic() < end, held_paths(page)
        time.sleep(0.1)
    time.sleep(1)
    assert held_paths(page) <= {"/phone/no-signal/"}


def test_a_pin_after_a_pause(phone: Phone, seven: Server) -> None:
    """Asked when nobody touched the phone for so long; five wrong ones sign out, and what waits is kept."""
    phone.hold()
    page = phone.go("/phone/waiting/")
    page.get_by_label("PIN, 4 to 12 digits; empty for none").fill("4711")
    page.get_by_label("Asked after a pause of").select_option("5")
    page.get_by_role("button", name="Set the PIN").click()
    expect(page.locator("#pin-said")).to_have_text("A PIN is asked after a pause.")
    page.reload()
    phone.ready()
    expect(page.get_by_role("dialog")).to_have_count(0)
    asked = page.locator("#pin-typed")
    for typed, then in (("1111", 1), ("4711", 0)):
        if not asked.count():
            page.evaluate("() => localStorage.setItem('active', String(Date.now() - 6 * 60_000))")
            page.goto(f"{seven.address}/run/")
        asked.fill(typed)
        page.get_by_role("button", name="Open").click()
        if then:
            expect(page.get_by_role("alert")).to_have_text("That is not the PIN.")
        expect(page.get_by_role("dialog")).to_have_count(then)
    page.evaluate("() => localStorage.setItem('active', String(Date.now() - 6 * 60_000))")
    page.goto(f"{seven.address}/run/")
    for _ in range(5):
        asked.fill("0000")
        page.get_by_role("button", name="Open").click()
        expect(asked).to_have_value("")
    expect(page.get_by_label("Sign-in name")).to_be_visible()
    nothing_stays(page)

"""One person carries lists through the whole circle: plan, run sheet, visit, handing back, letter, next date."""

import datetime as dt
import re
from pathlib import Path

from playwright.sync_api import Page, expect

from tests.browser.conftest import Server, sign_in, start, stop

LISTS = Path(__file__).parents[1] / "data" / "job"


def press(page: Page, name: str) -> None:
    page.get_by_role("button", name=name, exact=True).first.click()


def set_up(page: Page) -> None:
    """Asks a name and country, then a van, and no more; a mistyped van keeps what was typed."""
    expect(page.get_by_role("heading", level=1)).to_have_text("Your name and country")
    page.get_by_label("Your name, as households know you").fill("Hollow Ford Mobile Grooming")
    page.get_by_label("Country").select_option("AU")
    expect(page.get_by_label("Currency")).to_have_value("AUD")
    page.get_by_label("Time zone").select_option("Australia/Sydney")
    press(page, "Go on")
    expect(page.get_by_role("heading", level=1)).to_have_text("Your van")
    page.get_by_label("Van", exact=True).fill("Otter")
    page.get_by_label("Home address").fill("1 Depot Yard")
    pin = page.get_by_label(re.compile("^Pin"))
    pin.fill("somewhere")
    press(page, "Go on")
    expect(page.get_by_label("Van", exact=True)).to_have_value("Otter")
    expect(pin).to_have_value("somewhere")
    pin.fill("-29.6000, 128.9000")
    press(page, "Go on")
    expect(page.get_by_role("heading", level=1)).to_have_text("Bring your people in")


def bring_in(page: Page, server: Server, name: str, words: str) -> None:
    """Shows what will become of every row, and writes only when told to."""
    page.goto(f"{server.address}/bring-in/")
    before = server.one("select count(*) from records_household")
    page.get_by_label("File").set_input_files(LISTS / name)
    press(page, "Show what is in it")
    expect(page.get_by_role("main")).to_contain_text(words)
    assert server.one("select count(*) from records_household") == before
    press(page, "Accept and bring in")
    expect(page.get_by_role("heading", level=1)).to_have_text(f"{name} is brought in")


def plan_and_accept(page: Page, server: Server) -> None:
    page.goto(f"{server.address}/round/")
    page.get_by_label("Try for").select_option(index=0)
    press(page, "Make the first plan")
    accept = page.get_by_role("button", name="Accept the whole plan")
    expect(accept).to_be_visible(timeout=60_000)
    assert server.one("select count(*) from rounds_run") == 0
    accept.click()
    expect(page.get_by_role("link", name=re.compile("^Run sheet")).first).to_be_visible()
    assert server.one("select version from rounds_standing") == 1


def record_the_visit(page: Page, server: Server) -> int:
    """From the run sheet: at the door, the usual done, paid, next date as usual; gives the taps it took."""
    taps = 0

    def tap(name: str | re.Pattern[str], role: str = "button", *, leads_on: bool = True) -> None:
        nonlocal taps
        before = page.url
        page.get_by_role(role, name=name).first.click()  # type: ignore[arg-type]
        if leads_on:  # what is saved is on the phone first; then the next page is opened
            page.wait_for_url(lambda url: url != before)
            expect(page.locator("html[data-ready]")).to_be_attached()
        taps += 1

    tap("At the door", "link")
    expect(page.get_by_role("heading", level=1)).to_have_text("Fit today?")
    for box in page.get_by_label(re.compile("read", re.I)).all():
        if box.is_visible() and box.get_attribute("type") == "checkbox":
            box.check()
            taps += 1
    tap("Save and go on")
    while page.locator("form.groom").count():
        tap(re.compile("^(The usual, done|Done)$"))
    expect(page.get_by_role("heading", level=1)).to_have_text("Handing back")
    price = page.get_by_label("Price", exact=True)
    if not price.input_value():
        tap("Card", leads_on=False)
        expect(page.get_by_role("heading", level=1)).to_have_text("Handing back")
        assert server.one("select count(*) from visits_handingback") == 0
        price.fill("85")
    tap("Card")
    page.wait_for_url(lambda url: "handing-back" not in url)
    return taps


def test_the_whole_job(page: Page, fresh: Server) -> None:
    page.set_default_timeout(10_000)
    page.set_viewport_size({"width": 390, "height": 800})
    sign_in(page, fresh)
    set_up(page)
    bring_in(page, fresh, "people.csv", "5 rows: 4 made, 1 joined, 0 refused.")
    bring_in(page, fresh, "contacts.vcf", "2 rows: 1 made, 1 joined, 0 refused.")
    bring_in(page, fresh, "diary.ics", "5 rows: 1 made, 4 joined, 0 refused.")
    assert fresh.one("select count(*) from records_dog") >= 6
    assert fresh.one("select phone from records_person where name = 'Maren Oldacre'") == "+61491570156"
    assert (
        fresh.one(
            "select interval_weeks from records_usual u join records_dog d on d.id = u.dog_id where d.name = 'Bramble'"
        )
        == 5
    )
    told = fresh.rows("select date, told_from, state from visits_visit where source = 'list'")
    assert [(str(date), str(at)[:5], state) for date, at, state in told] == [("2026-03-04", "10:00", "CONFIRMED")]

    plan_and_accept(page, fresh)
    first = fresh.rows("select id, date from rounds_run order by date limit 1")[0]
    page.goto(f"{fresh.address}/run/")
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    assert fresh.one("select count(*) from rounds_stop where run_id = ? and kind = 'visit'", first[0]) > 0

    stop(fresh)
    fresh = start(fresh.home, "serve", today=str(first[1]))
    try:
        visit_and_after(page, fresh)
    finally:
        stop(fresh)


def visit_and_after(page: Page, fresh: Server) -> None:
    """The day of the run: the visit, what follows from it, and the next due date."""
    page.goto(f"{fresh.address}/run/")
    taps = record_the_visit(page, fresh)
    assert taps <= 8, f"{taps} taps"
    groom = fresh.rows("select g.visit, g.dog_id, g.state, g.usual_done from visits_groom g")
    assert groom
    assert {row[2] for row in groom} == {"COMPLETED"}
    assert fresh.one("select count(*) from visits_fit") == len(groom)
    assert fresh.one("select paid from visits_handingback") == "card"
    assert fresh.one("select sum(cents) from books_charge") == fresh.one("select price_cents from visits_handingback")
    assert fresh.one("select sum(cents) from books_payment") == fresh.one("select price_cents from visits_handingback")

    page.goto(f"{fresh.address}/letters/")
    dog = fresh.one("select name from records_dog where id = ?", groom[0][1])
    page.locator("main a.line").first.click()
    expect(page.get_by_role("main")).to_contain_text(dog)
    assert fresh.one("select count(*) from letters_letter where state = 'draft'") == 1

    weeks = fresh.one("select interval_weeks from records_usual where dog_id = ?", groom[0][1])
    due = dt.date.fromisoformat(str(fresh.one("select date from visits_groom"))) + dt.timedelta(weeks=weeks)
    page.goto(f"{fresh.address}/due/?weeks=12")
    row = page.locator("main li").filter(has=page.get_by_role("link", name=dog, exact=True))
    expect(row).to_contain_text(f"{due:%a} {due.day} {due:%b}")
    assert str(fresh.one("select next_date from visits_handingback")) == str(due)

"""The round in a person's hand, in the browser: why, move, keep, undo, what if, accept; a late day; a lost day."""

import re
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.conftest import Server, sign_in, start, stop

WEDNESDAY = "2026-03-04"


@pytest.fixture(scope="module")
def own(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """A small demo of its own, for tests that change it."""
    server = start(tmp_path_factory.mktemp("by-hand") / "demo-home", "demo", "--today", WEDNESDAY, "--dogs", "40")
    yield server
    stop(server)


@pytest.fixture(scope="module")
def signed(browser: Browser, own: Server) -> dict[str, Any]:
    """The cookies of the groomer, whose link works once."""
    context = browser.new_context(service_workers="block")
    sign_in(context.new_page(), own)
    state = dict(context.storage_state())
    context.close()
    return state


@pytest.fixture
def at(browser: Browser, signed: dict[str, Any]) -> Iterator[Page]:
    """A page as wide as a phone."""
    context = browser.new_context(service_workers="block", storage_state=signed, viewport={"width": 360, "height": 780})  # type: ignore[arg-type]
    yield context.new_page()
    context.close()


def orders(own: Server) -> list[tuple[str, ...]]:
    """All that stands, run by run."""
    return own.rows(
        "select r.date, s.'order', s.kind, s.visit_id, s.start_seconds from rounds_stop s "
        "join rounds_run r on r.id = s.run_id where r.date >= ? order by r.date, s.'order'",
        WEDNESDAY,
    )


def longest_run(own: Server) -> tuple[str, str]:
    """The id and the second visit of the coming run with the most visits."""
    run = own.rows(
        "select s.run_id from rounds_stop s join rounds_run r on r.id = s.run_id where s.kind = 'visit' and r.date > ? "
        "group by s.run_id order by count(*) desc, r.date",
        WEDNESDAY,
    )[0][0]
    visits = own.rows("select visit_id from rounds_stop where run_id = ? and kind = 'visit' order by \"order\"", run)
    return run, visits[1][0]


def dashed(hexed: str) -> str:
    return re.sub(r"(.{8})(.{4})(.{4})(.{4})(.{12})", r"\1-\2-\3-\4-\5", hexed)


def test_ask_why_move_keep_and_undo(at: Page, own: Server) -> None:
    """A visit is asked about, moved in its run, kept, and each act is taken back; the database says so."""
    _run, visit = longest_run(own)
    before = orders(own)
    at.goto(f"{own.address}/round/visit/{dashed(visit)}/")
    at.get_by_role("link", name="Why then, and moving it").click()
    expect(at.get_by_role("heading", level=1)).to_contain_text("Why ")
    expect(at.get_by_text("as it is")).to_be_visible()
    at.get_by_role("button", name="Earlier in the run").click()
    expect(at.get_by_role("status")).to_contain_text("moved to")
    moved = orders(own)
    assert moved != before
    at.get_by_role("button", name="Keep it here").click()
    expect(at.get_by_role("status")).to_contain_text("Kept here")
    assert own.one("select pinned_seconds from visits_visit where id = ?", visit) is not None
    for _ in range(2):
        at.get_by_role("button", name="Undo my last change").click()
        expect(at.get_by_role("status")).to_contain_text("Undone")
    assert own.one("select pinned_seconds from visits_visit where id = ?", visit) is None
    assert orders(own) == before


def test_what_if_is_looked_at_made_so_and_accepted(at: Page, own: Server) -> None:
    """Fridays off, beside things as they are: nothing stands until it is made so and accepted."""
    before = orders(own)
    at.goto(f"{own.address}/round/what-if/")
    at.get_by_label("What if there were").select_option("weekday")
    at.get_by_label("Weekday off").select_option("4")
    at.get_by_role("button", name="Plan it so").click()
    expect(at.get_by_role("columnheader", name="Friday off")).to_be_visible(timeout=90_000)
    expect(at.get_by_role("columnheader", name="as things are")).to_be_visible(timeout=90_000)
    assert orders(own) == before
    at.get_by_role("link", name="Make it so").first.click()
    expect(at.get_by_text("no longer works on Friday").first).to_be_visible()
    at.get_by_role("button", name="Write it down").click()
    expect(at.get_by_role("status")).to_contain_text("waits to be accepted")
    assert own.one("select count(*) from records_workinghours where weekday = 4") == 0
    assert orders(own) == before
    at.get_by_role("button", name=re.compile("^Accept (the whole plan|it although)")).click()
    expect(at.get_by_role("status")).to_contain_text("Accepted")
    fridays = own.rows(
        "select v.state from visits_visit v "
        "join rounds_stop s on s.visit_id = v.id join rounds_run r on r.id = s.run_id "
        "where r.date > ? and strftime('%w', r.date) = '5'",
        WEDNESDAY,
    )
    assert {state for (state,) in fridays} <= {"CONFIRMED"}  # what was told is never broken by the way
    assert orders(own) != before


def test_a_new_plan_is_asked_why_and_changed_by_hand(at: Page, own: Server) -> None:
    """A new plan, one of its visits moved by hand and taken back, then accepted."""
    at.goto(f"{own.address}/round/")
    at.get_by_label("Try for").select_option("5")
    at.get_by_role("button", name="Plan", exact=True).click()
    expect(at.get_by_role("heading", name="What changes")).to_be_visible(timeout=90_000)
    at.get_by_text("The day as a list").first.click()
    at.get_by_role("link", name=re.compile("^Why, and move")).first.click()
    at.get_by_role("button", name=re.compile("^Put it here")).first.click()
    expect(at.get_by_role("status")).to_contain_text("moved to")
    at.get_by_role("button", name="Take the last change back").click()
    expect(at.get_by_role("status")).to_contain_text("taken back")
    at.get_by_role("link", name="The new plan").click()
    at.get_by_role("button", name="Accept the whole plan").click()
    expect(at.get_by_role("status")).to_contain_text("Accepted")
    assert own.one("select count(*) from rounds_proposal where state = 'accepted'") >= 2


def test_a_late_day_goes_on_from_here(at: Page, own: Server) -> None:
    """At three in the afternoon nothing is done yet: pushed on, every stop of today is later, and notes are drafted."""
    run = own.one("select id from rounds_run where date = ?", WEDNESDAY)
    starts = own.rows("select start_seconds from rounds_stop where run_id = ? and kind = 'visit'", run)
    at.goto(f"{own.address}/run/{dashed(run)}/")
    at.get_by_role("link", name="Late? From here and now").click()
    at.get_by_label("Done so far").select_option("0")
    at.get_by_label("Can go on at").fill("15:00")
    at.get_by_role("button", name="Reckon from there").click()
    expect(at.get_by_role("heading", name="Push on")).to_be_visible()
    at.get_by_role("button", name=re.compile("^Do this, and draft the notes.*Push on")).click()
    expect(at.get_by_role("status")).to_contain_text("done")
    after = own.rows("select start_seconds from rounds_stop where run_id = ? and kind = 'visit'", run)
    assert len(after) == len(starts)
    assert min(after)[0] >= 15 * 3600
    told = own.one(
        "select count(*) from visits_visit v join rounds_stop s on s.visit_id = v.id "
        "where s.run_id = ? and v.state = 'CONFIRMED'",
        run,
    )
    assert own.one("select count(*) from notes_note where about = 'new time' and state = 'DRAFT'") == told


def test_a_lost_day_is_spread(at: Page, own: Server) -> None:
    """The next run is lost: off the round in one step, each of its visits on another day or named, a note for each."""
    run, _visit = longest_run(own)
    date = own.one("select date from rounds_run where id = ?", run)
    visits = [row[0] for row in own.rows("select visit_id from rounds_stop where run_id = ? and kind = 'visit'", run)]
    notes = own.one("select count(*) from notes_note where state = 'DRAFT'")
    at.goto(f"{own.address}/run/{dashed(run)}/")
    at.get_by_role("link", name="Day lost").click()
    expect(at.get_by_role("heading", name="Who can wait least comes first")).to_be_visible()
    at.get_by_role("button", name="Call the day off and spread it").click()
    expect(at.get_by_role("heading", level=1)).to_have_text("Notes to send")
    assert own.one("select count(*) from rounds_run where date = ?", date) == 0
    assert own.one("select count(*) from records_dayoff where first = ?", date) == 1
    assert own.one("select count(*) from notes_note where state = 'DRAFT'") - notes == len(visits)
    marks = ",".join("?" * len(visits))
    on_runs = own.one(f"select count(*) from rounds_stop where visit_id in ({marks})", *visits)
    assert on_runs > 0
    for state, told in own.rows(f"select state, told_from from visits_visit where id in ({marks})", *visits):
        assert (state, told) == ("TENTATIVE", None)

"""What may go wrong between a phone and the server: nothing is dropped, and the person sees what is the matter."""

import json
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Playwright, Route, expect

from tests.browser.conftest import ROOT, Server, start, stop
from tests.browser.phones import DATE, Phone, seven_visits
from tests.browser.test_phone_day import nothing_stays, press, read_cautions, visits

GROOMS = "select count(*) from visits_groom"
FAST_CLOCK = """{
  const Real = Date;
  const fast = () => Real.now() + 3 * 86_400_000;
  self.Date = class extends Real {
    constructor(...said) { super(...(said.length ? said : [fast()])); }
    static now() { return fast(); }
  };
}"""
SAY = """async ([visit, number]) => {
  const box = await import(SCRIPTS + "outbox.js");
  const records = Array.from({ length: number }, (_, n) => ({ id: box.uuid7(), kind: "incident", version: 2,
    by: document.documentElement.dataset.worker, said_at: new Date().toISOString(), visit,
    body: { dog: window.dog, kind: "nick", happened_at: new Date().toISOString(), words: `Nick ${n}` } }));
  await box.keep(records.map((record) => box.entry(record)));
  return records.map((record) => record.id);
}"""


@pytest.fixture(scope="module")
def seven(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    server = seven_visits(tmp_path_factory.mktemp("trouble") / "seven-home")
    yield server
    stop(server)


def say(phone: Phone, number: int = 3, trouble: Callable[[Route, Phone], None] | None = None) -> list[str]:
    """Keeps so many incidents in the outbox without sending them; their ids.

    With trouble, it stands in the way before there is anything to send: the page sends by itself too.
    """
    visit = visits(phone.server)[0]
    page = phone.go(f"/phone/visit/{visit}/")
    if trouble is not None:
        phone.remember_cookies()
        page.route("**/phone/records", lambda route: trouble(route, phone))
    page.evaluate("() => { window.dog = JSON.parse(document.getElementById('on-page').textContent).dogs[0].id }")
    ids: list[str] = phone.ask(SAY, [visit, number])
    return ids


def there(server: Server, ids: list[str]) -> int:
    """How many of these records the database holds."""
    plain = [one.replace("-", "") for one in ids]
    marks = ",".join("?" * len(plain))
    return int(server.one(f"select count(*) from visits_record where id in ({marks})", *plain))


def lost_after_commit(route: Route, phone: Phone) -> None:
    phone.pass_on(route)  # the server has answered, and kept
    route.abort()


def answered(status: int, body: str, kind: str = "text/html") -> Callable[[Route, Phone], None]:
    return lambda route, phone: route.fulfill(status=status, body=body, content_type=kind)


def half_a_body(route: Route, phone: Phone) -> None:
    whole = phone.pass_on(route)
    route.fulfill(status=200, body=whole[: len(whole) // 2], content_type="application/json")


TROUBLE: list[tuple[str, Callable[[Route, Phone], None], str, int]] = [
    ("an answer lost after commit", lost_after_commit, "No signal", 3),
    ("a server that answers 500", answered(500, "<h1>Oops</h1>"), "in trouble (500)", 0),
    ("a proxy that answers 403", answered(403, "<h1>Forbidden</h1>"), "Something between this phone", 0),
    ("a proxy that answers 413", answered(413, "<h1>Too large</h1>"), "Something between this phone", 0),
    ("a sign-in page with status 200", answered(200, "<h1>Welcome to the network</h1>"), "Something between", 0),
    ("JSON that is not ours", answered(200, '{"answers": "all"}', "application/json"), "Something between", 0),
    ("half a body", half_a_body, "Something between this phone", 3),
]


@pytest.mark.parametrize(("name", "trouble", "words", "kept"), TROUBLE, ids=[one[0] for one in TROUBLE])
def test_nothing_is_dropped(
    phone: Phone, seven: Server, name: str, trouble: Callable[[Route, Phone], None], words: str, kept: int
) -> None:
    """Whatever came back, all of it is still on the phone, and is there once when it goes through."""
    ids = say(phone, trouble=trouble)
    assert phone.send() != ""
    assert sorted(phone.counts()["ids"]) == sorted(ids), name
    assert there(seven, ids) == kept
    page = phone.go("/phone/waiting/")
    expect(page.locator("#matter")).to_contain_text(words)
    expect(page.locator("#waiting-list li")).to_have_count(3)
    page.unroute("**/phone/records")
    page.get_by_role("button", name="Send now").click()
    expect(page.locator("#waiting-list")).to_contain_text("Nothing.")
    assert there(seven, ids) == 3
    assert phone.counts()["refused"] == 0


def test_a_refused_record_stays_and_can_be_mended(phone: Phone, seven: Server) -> None:
    """A next date that the server refuses: the reason stands at the form, the record waits among the refused."""
    phone.hold()
    visit = visits(seven)[2]
    page = phone.go(f"/phone/visit/{visit}/handing-back/")
    refused = {"status": "refused", "code": "next-before-visit", "words": "The next date is not after this visit."}

    def refuse(route: Route) -> None:
        sent = json.loads(route.request.post_data or "{}")
        said = [{"id": one["id"], **refused} for one in sent["records"]]
        body = {"answers": said, "server_time": "2026-03-04T00:00:00+00:00", "clock_off_seconds": 0}
        route.fulfill(status=200, body=json.dumps(body), content_type="application/json")

    page.route("**/phone/records", refuse)
    page.get_by_role("button", name="Card").click()
    expect(page.locator("#form-said")).to_contain_text("not after this visit")
    expect(page.get_by_label("Price", exact=True)).to_have_value("170.00")
    page = phone.go("/phone/waiting/")
    expect(page.locator("#refused-list")).to_contain_text("not after this visit")
    expect(page.locator("#outbox")).to_contain_text("1 refused")
    page.unroute("**/phone/records")
    page.get_by_role("link", name="Mend it").click()
    phone.ready()
    expect(page.locator("#form-said")).to_contain_text("Refused:")
    page.get_by_label("They will ring").check()
    press(phone, "Card")
    assert phone.send() == ""
    assert phone.counts()["refused"] == 0
    mine = seven.rows("select next_how from visits_handingback where visit = ?", visit.replace("-", ""))
    assert mine == [("ask",)]


def test_two_tabs_send_once(phone: Phone, seven: Server) -> None:
    """Both tabs look at the same outbox; the lock lets one send, and neither sends twice."""
    ids = say(phone, 40)
    assert phone.context is not None
    other = phone.context.new_page()
    other.goto(f"{seven.address}/phone/waiting/")
    phone.send()
    expect(other.locator("#waiting-list")).to_contain_text("Nothing.", timeout=30_000)
    assert there(seven, ids) == 40
    assert phone.counts()["records"] == 0


def test_two_devices_on_one_dog_and_a_person_chooses(
    phone: Phone, seven: Server, playwright: Playwright, tmp_path: Path
) -> None:
    """Both recorded without signal: both are kept and shown; the one that is left counts for nothing."""
    visit = visits(seven)[4]
    second = Phone(playwright, tmp_path / "second", seven)
    second.on()
    second.sign_in("ash")
    for one in (phone, second):
        one.hold()
        one.ask('async (name) => (await import(SCRIPTS + "outbox.js")).setFact("device", name)', f"phone of {id(one)}")
        one.signal(False)
        one.go(f"/phone/visit/{visit}/door/")
        read_cautions(one.page)
        press(one, "Save and go on")
    second.page.get_by_text("How it stood, notes, times, water").click()
    second.page.get_by_label("Notes").fill("Seen by the second phone")
    for one in (phone, second):
        one.page.get_by_role("button", name="The usual").first.click()
        expect(one.page.get_by_role("heading", level=1)).to_have_text("Handing back")
        one.signal(True)
        assert one.send() == ""
    second.off()
    plain = visit.replace("-", "")
    assert seven.one(f"{GROOMS} where visit = ? and corrected = 0", plain) == 2
    page = phone.go(f"/phone/visit/{visit}/")
    for _look in range(10):  # a slow server: what is held shows first, what the other phone said at a later look
        if page.get_by_text("The groom of").count():
            break
        page.wait_for_timeout(1000)
        page = phone.go(f"/phone/visit/{visit}/")
    rivals = page.locator("section.caution").filter(has_text="The groom of")
    expect(rivals.get_by_role("button")).to_have_count(2)
    rivals.locator("form").filter(has_text="Seen by the second phone").get_by_role("button").click()
    expect(page.locator("section.caution").filter(has_text="The groom of")).to_have_count(0)
    assert seven.rows("select notes, corrected from visits_groom where visit = ? order by corrected", plain) == [
        ("Seen by the second phone", 0),
        ("", 1),
    ]
    stock = (
        "select coalesce(sum(ml), 0) from shelf_movement where groom in (select id from visits_groom where visit = ?)"
    )
    once = seven.one(f"{stock} and corrects is null", plain)
    assert seven.one(stock, plain) == once / 2
    assert seven.one("select sum(cents) from books_charge where visit = ?", plain) == 8500


def test_a_clock_three_days_off_is_noticed(phone: Phone, seven: Server) -> None:
    """Both times are kept, and the phone says that its clock is wrong."""
    visit = visits(seven)[0]
    page = phone.go(f"/phone/visit/{visit}/")
    page.add_init_script(FAST_CLOCK)
    ids = say(phone, 1)
    assert phone.send() == ""
    page = phone.go("/phone/waiting/")
    expect(page.locator("#clock")).to_contain_text("fast by 3 days")
    expect(page.locator("#outbox")).to_contain_text("clock is wrong")
    said, received = seven.rows("select said_at, received_at from visits_record where id = ?", ids[0].replace("-", ""))[
        0
    ]
    days = seven.one("select julianday(?) - julianday(?)", said, received)
    assert 2.99 < days < 3.01


def test_a_full_phone_says_that_it_is_not_saved(phone: Phone, seven: Server) -> None:
    """The quota is reached: nothing is claimed to be saved, and what was typed stands."""
    visit = visits(seven)[5]
    phone.hold()
    page = phone.go(f"/phone/visit/{visit}/incident/")
    page.get_by_label("Nick").check()
    page.get_by_label("In your words").fill("Left ear edge")
    assert phone.context is not None
    page.evaluate(
        "() => { IDBObjectStore.prototype.put = () => { throw new DOMException('full', 'QuotaExceededError') } }"
    )
    page.get_by_role("button", name="Keep this").click()
    expect(page.locator("#form-said")).to_contain_text("NOT saved")
    expect(page.get_by_label("In your words")).to_have_value("Left ear edge")
    assert phone.counts()["records"] == 0


def test_unsent_records_of_the_older_schema_are_carried_over(phone: Phone, seven: Server) -> None:
    """A phone that still holds schema 1 and records of version 1: they are upgraded in place and accepted."""
    visit = visits(seven)[6]
    page = phone.page
    page.goto(f"{seven.address}/health")
    dog = seven.one("select dog_id from visits_visitdog where visit_id = ?", visit.replace("-", ""))
    dog = f"{dog[:8]}-{dog[8:12]}-{dog[12:16]}-{dog[16:20]}-{dog[20:]}"
    rid = "019c8802-a280-7b7e-a7e1-717933bc8b01"
    page.evaluate(
        """async ([rid, visit, dog]) => {
          await new Promise((resolve) => { indexedDB.deleteDatabase("coatround").onsuccess = resolve; });
          const base = await new Promise((resolve) => {
            const asked = indexedDB.open("coatround", 1);
            asked.onupgradeneeded = () => {
              for (const name of ["records", "photos"]) asked.result.createObjectStore(name, { keyPath: "id" });
            };
            asked.onsuccess = () => resolve(asked.result);
          });
          const kept = base.transaction("records", "readwrite");
          const said_at = "2026-03-04T10:00:00+11:00";
          kept.objectStore("records").put({ id: rid, kind: "groom", version: 1, said_at, visit, body: { dog } });
          await new Promise((resolve) => { kept.oncomplete = resolve; });
          base.close();
        }""",
        [rid, visit, dog],
    )
    phone.go("/phone/waiting/")
    expect(page.locator("#sent-list")).to_contain_text("groom")
    assert seven.rows("select version, kind from visits_record where id = ?", rid.replace("-", "")) == [(1, "groom")]


def test_what_one_said_is_not_kept_under_another_name(phone: Phone, seven: Server) -> None:
    """Wren's records wait while Ash is signed in on the same phone, and go when Wren is back."""
    ids = say(phone, 2)
    phone.page.get_by_role("button", name="Sign out").click()
    phone.sign_in("ash")
    page = phone.go("/phone/waiting/")
    expect(page.locator("#matter")).to_contain_text("Wren recorded this, and Ash is signed in")
    assert there(seven, ids) == 0
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_label("Sign-in name")).to_be_visible()
    nothing_stays(page)
    phone.sign_in("wren")
    phone.go("/phone/waiting/")
    expect(page.locator("#waiting-list")).to_contain_text("Nothing.")
    who = seven.rows(
        "select distinct w.name from visits_record r join base_worker w on w.id = r.who_id where r.id in (?, ?)",
        *[one.replace("-", "") for one in ids],
    )
    assert who == [("Wren",)]


def test_a_session_that_ended_keeps_all_and_says_so(phone: Phone, seven: Server) -> None:
    ids = say(phone, 2)
    assert phone.context is not None
    phone.context.clear_cookies(name="sessionid")
    assert phone.send() in ("not-signed-in", "no-token")
    assert sorted(phone.counts()["ids"]) == sorted(ids)
    phone.sign_in()
    phone.go("/phone/waiting/")
    expect(phone.page.locator("#waiting-list")).to_contain_text("Nothing.")
    assert there(seven, ids) == 2


def test_a_newer_coatround_is_offered_not_forced(phone: Phone, seven: Server, tmp_path: Path) -> None:
    """A newer service worker waits; the page goes on as it is, and the button loads the newer one."""
    phone.hold()
    ids = say(phone, 1)
    phone.page.route("**/phone/records", lambda route: route.abort())
    visit = visits(seven)[3]
    page = phone.go(f"/phone/visit/{visit}/incident/")
    older = page.locator("html").get_attribute("data-build") or ""
    page.get_by_label("In your words").fill("Half said")

    stop(seven)
    source = tmp_path / "newer"
    shutil.copytree(ROOT / "src", source, ignore=shutil.ignore_patterns("__pycache__"))
    with (source / "coatround" / "web" / "phone" / "static" / "phone" / "page.js").open("a") as script:
        script.write("\n// newer\n")
    newer = start(seven.home, "serve", "--link", today=DATE.isoformat(), port=seven.port, source=source)
    seven.process = newer.process
    page.evaluate("async () => (await navigator.serviceWorker.getRegistration()).update()")
    offered = page.get_by_role("button", name="A newer Coatround is here: load it")
    expect(offered).to_be_visible(timeout=60_000)  # it takes every held page anew first
    expect(page.get_by_label("In your words")).to_have_value("Half said")
    assert (page.locator("html").get_attribute("data-build") or "") == older
    offered.click()
    expect(page.locator(f"html[data-ready]:not([data-build='{older}'])")).to_be_attached()
    expect(page.get_by_label("In your words")).to_have_value("Half said")
    phone.signal(False)
    page.reload()
    expect(page.get_by_label("In your words")).to_have_value("Half said")
    assert phone.counts()["records"] == 1
    phone.signal(True)
    page.unroute("**/phone/records")
    assert phone.send() == ""
    assert there(seven, ids) == 1

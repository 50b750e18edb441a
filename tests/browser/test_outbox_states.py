"""The outbox as a state machine: whatever the order of saving, sending, loss, kills, replays and upgrades,
what was saved is delivered exactly once or still waiting. The phone's own script, in the browser, on the real server.

COATROUND_OUTBOX_RUNS says how many runs are drawn (12).
"""

import json
import os
from collections.abc import Iterator
from pathlib import Path
from typing import ClassVar

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule, run_state_machine_as_test
from playwright.sync_api import Route

from tests.browser.conftest import Server, stop
from tests.browser.phones import Phone, seven_visits
from tests.browser.test_phone_day import visits
from tests.browser.test_phone_trouble import SAY

RUNS = int(os.environ.get("COATROUND_OUTBOX_RUNS", "12"))
TO_SCHEMA_1 = """async () => {
  const box = await import(SCRIPTS + "outbox.js");
  const records = await box.records();
  (await box.database()).close();
  await new Promise((resolve, reject) => {
    const gone = indexedDB.deleteDatabase("coatround");
    gone.onsuccess = resolve;
    gone.onerror = reject;
  });
  const base = await new Promise((resolve) => {
    const asked = indexedDB.open("coatround", 1);
    asked.onupgradeneeded = () => {
      for (const name of ["records", "photos"]) asked.result.createObjectStore(name, { keyPath: "id" });
    };
    asked.onsuccess = () => resolve(asked.result);
  });
  const kept = base.transaction("records", "readwrite");
  for (const { record } of records) kept.objectStore("records").put(record);
  await new Promise((resolve) => { kept.oncomplete = resolve; });
  base.close();
}"""


@pytest.fixture
def seven(tmp_path: Path) -> Iterator[Server]:
    server = seven_visits(tmp_path / "seven-home")
    yield server
    stop(server)


class Outbox(RuleBasedStateMachine):
    """The model is one set: the ids that were saved."""

    phone: ClassVar[Phone]

    def __init__(self) -> None:
        super().__init__()
        self.saved: set[str] = set()
        self.last_sent = ""

    @initialize()
    def open(self) -> None:
        self.trouble: str = ""
        self._open()

    def _open(self) -> None:
        """A page whose own sending at its opening goes nowhere, so that each step is this machine's."""
        phone = self.phone
        phone.page.unroute("**/phone/records")
        phone.remember_cookies()
        phone.page.route("**/phone/records", self._answer)
        self.trouble = "lost on its way"
        page = phone.go(f"/phone/visit/{visits(phone.server)[0]}/")
        page.evaluate("() => { window.dog = JSON.parse(document.getElementById('on-page').textContent).dogs[0].id }")

    def _answer(self, route: Route) -> None:
        if self.trouble == "lost on its way":
            route.abort()
            return
        self.last_sent = route.request.post_data or ""
        if self.trouble == "answer lost":
            self.phone.pass_on(route)
            route.abort()
        elif self.trouble == "half an answer":
            body = self.phone.pass_on(route)
            route.fulfill(status=200, body=body[: len(body) // 2], content_type="application/json")
        elif self.trouble == "only the first answered":
            answer = json.loads(self.phone.pass_on(route))
            answer["answers"] = answer["answers"][:1]
            route.fulfill(status=200, body=json.dumps(answer), content_type="application/json")
        elif self.trouble:
            route.fulfill(status=int(self.trouble), body="<h1>no</h1>", content_type="text/html")
        else:
            route.continue_()

    @rule(number=st.integers(1, 4))
    def save(self, number: int) -> None:
        self.saved |= set(self.phone.ask(SAY, [visits(self.phone.server)[0], number]))

    @rule(trouble=st.sampled_from(["", "lost on its way", "answer lost", "half an answer", "500", "403", "413",
                                   "only the first answered"]))  # fmt: skip
    def send(self, trouble: str) -> None:
        self.trouble = trouble
        self.phone.send()
        self.trouble = "lost on its way"

    @rule()
    def replay(self) -> None:
        """A message that was on its way all the time arrives again."""
        if self.last_sent:
            self.phone.page.evaluate(
                """(body) => {
                  const token = document.cookie.match(/csrftoken=([^;]+)/)[1];
                  const headers = { "Content-Type": "application/json", "X-CSRFToken": token };
                  return fetch("/phone/records?again", { method: "POST", body, headers }).then((one) => one.text());
                }""",
                self.last_sent,
            )

    @rule()
    def kill(self) -> None:
        self.phone.kill_tab()
        self._open()

    @rule()
    def upgrade(self) -> None:
        """The phone had still been at schema 1."""
        self.phone.ask(TO_SCHEMA_1)
        self._open()

    @invariant()
    def nothing_is_lost_or_doubled(self) -> None:
        if not self.saved:
            return
        waiting = set(self.phone.counts()["ids"])
        there = [
            f"{one[:8]}-{one[8:12]}-{one[12:16]}-{one[16:20]}-{one[20:]}"
            for (one,) in self.phone.server.rows("select id from visits_record")
        ]
        facts = self.phone.server.one("select count(*) from visits_incident")
        assert facts == len(there) == len(set(there))
        assert self.saved <= waiting | set(there)
        assert waiting <= self.saved

    def teardown(self) -> None:
        """With signal at last, everything arrives, and nothing waits."""
        if not self.saved:
            return
        self.trouble = ""
        assert self.phone.send() == ""
        self.nothing_is_lost_or_doubled()
        assert self.phone.counts()["records"] == 0


def test_delivered_once_or_still_waiting(phone: Phone) -> None:
    Outbox.phone = phone
    slow = [HealthCheck.too_slow, HealthCheck.function_scoped_fixture]
    run_state_machine_as_test(  # type: ignore[no-untyped-call]
        Outbox,
        settings=settings(max_examples=RUNS, stateful_step_count=12, deadline=None, suppress_health_check=slow),
    )

"""The server is killed again and again while four devices send: none lost, none twice, what was acknowledged is there.

COATROUND_KILLS and COATROUND_RECORDS say how often and how many (8 kills, 400 records).
"""

import json
import os
import random
import re
import threading
import time
import urllib.error
import urllib.request
import uuid
from collections.abc import Iterator
from dataclasses import dataclass, field
from http.cookiejar import CookieJar
from pathlib import Path
from urllib.parse import urlencode

import pytest

from coatround.ids import uuid7
from tests.browser.conftest import Server, stop
from tests.browser.phones import again, kill, seven_visits
from tests.browser.run_of_seven import PASSWORD
from tests.browser.test_phone_day import visits

KILLS = int(os.environ.get("COATROUND_KILLS", "8"))
RECORDS = int(os.environ.get("COATROUND_RECORDS", "400"))
DEVICES = 4
BATCH = 10


@pytest.fixture
def seven(tmp_path: Path) -> Iterator[Server]:
    server = seven_visits(tmp_path / "seven-home")
    yield server
    stop(server)


@dataclass
class Device:
    """Sends its records as the outbox does: a record is let go only after its own id was acknowledged."""

    server: Server
    visit: str
    dog: str
    waiting: list[str]
    acknowledged: list[str] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)

    def sign_in(self) -> None:
        self.jar = CookieJar()
        self.browser = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(self.jar))
        page = self.browser.open(f"{self.server.address}/sign-in/", timeout=20).read().decode()
        found = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', page)
        assert found
        form = {"csrfmiddlewaretoken": found[1], "username": "wren", "password": PASSWORD}
        self.browser.open(f"{self.server.address}/sign-in/", urlencode(form).encode(), timeout=20).close()

    def token(self) -> str:
        return next(cookie.value or "" for cookie in self.jar if cookie.name == "csrftoken")

    def record(self, rid: str) -> dict[str, object]:
        said = "2026-03-04T12:00:00+11:00"
        body = {"dog": self.dog, "kind": "nick", "happened_at": said, "words": f"Nick {rid}"}
        return {"id": rid, "kind": "incident", "version": 1, "said_at": said, "visit": self.visit, "body": body}

    def send_all(self) -> None:
        while self.waiting:
            batch = self.waiting[:BATCH]
            message = json.dumps({"records": [self.record(rid) for rid in batch]}).encode()
            headers = {"Content-Type": "application/json", "X-CSRFToken": self.token()}
            asked = urllib.request.Request(f"{self.server.address}/phone/records", message, headers)
            try:
                with self.browser.open(asked, timeout=20) as answer:
                    answers = json.loads(answer.read())["answers"]
            except (OSError, ValueError, urllib.error.URLError):
                time.sleep(0.05)
                continue
            for one in answers:
                if one["status"] == "refused" and one["code"] != "not-now":
                    self.refused.append(one["id"])
                    self.waiting.remove(one["id"])
                elif one["status"] != "refused":
                    self.acknowledged.append(one["id"])
                    self.waiting.remove(one["id"])


def test_none_lost_none_twice(seven: Server) -> None:
    """After every kill, each id acknowledged so far is in the database; at the end all are, once."""
    chance = random.Random(4)
    visit = visits(seven)[0]
    hexed = seven.one("select dog_id from visits_visitdog where visit_id = ?", visit.replace("-", ""))
    dog = str(uuid.UUID(hexed))
    each = RECORDS // DEVICES
    devices = [Device(seven, visit, dog, [str(uuid7()) for _ in range(each)]) for _ in range(DEVICES)]
    every = {rid for device in devices for rid in device.waiting}
    for device in devices:
        device.sign_in()
    threads = [threading.Thread(target=device.send_all, daemon=True) for device in devices]
    for thread in threads:
        thread.start()
    killed = 0
    while killed < KILLS and any(device.waiting for device in devices):
        time.sleep(chance.uniform(0.02, 0.25))
        kill(seven)
        acknowledged = {rid.replace("-", "") for device in devices for rid in list(device.acknowledged)}
        killed += 1
        seven.process = again(seven).process
        assert acknowledged <= {row[0] for row in seven.rows("select id from visits_record")}
    for thread in threads:
        thread.join(timeout=120 + RECORDS)
        assert not thread.is_alive()
    assert not [rid for device in devices for rid in device.refused]
    there = [row[0] for row in seven.rows("select id from visits_record")]
    assert len(there) == len(set(there))
    assert set(there) == {rid.replace("-", "") for rid in every}
    assert seven.one("select count(*) from visits_incident") == len(every)
    print(f"{killed} kills, {len(every)} records, each there once")
    assert killed == KILLS

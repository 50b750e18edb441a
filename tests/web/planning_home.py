"""A home folder with a plan that stands, for tests that plan in a process of its own: `planning_home.py HOME WHAT`.

WHAT is `make` (a town of twenty dogs, four weeks accepted, somebody signed in), `ask` (a plan of so many seconds is
asked for; prints its id), `page` (prints the round page), `press` (presses Plan; prints what comes back) or
`again` (plans once more and accepts it).
"""

import datetime as dt
import os
import sys
from pathlib import Path

from coatround import start

SESSION_FILE = "session"
DOGS = 20


def main(folder: str, what: str, *words: str) -> None:
    os.environ["COATROUND_TODAY"] = "2026-03-02"
    home = start.use_home(folder)
    {"make": make, "ask": ask, "page": page, "press": press, "again": again}[what](home, *words)


def make(home: Path) -> None:
    from django.test import Client

    from coatround.web.base.models import Firm, Worker
    from tests.web.small_town import a_dog, a_household, a_van

    start.bring_up_to_date()
    Firm.objects.create(name="Hollow Ford", country="AU", currency="AUD", zone="Australia/Sydney", tax_name="GST")
    worker = Worker.objects.create(name="Wren Ashby", sign_in_name="wren", password="!")
    a_van(worker)
    for number in range(DOGS):
        due = (-42 + number,)
        a_dog(
            a_household(f"{number + 1} Mill Street", east=1 + number % 7), f"Dog {number + 1}", done=due, worker=worker
        )
    again(home)
    client = Client()
    client.force_login(worker)
    (home / SESSION_FILE).write_text(client.cookies["sessionid"].value)


def again(home: Path) -> None:
    from coatround.web.rounds.actions import accept
    from coatround.web.rounds.propose import plan_now

    proposal = plan_now(*_dates(), who=_groomer(), iterations=20)
    print(proposal.state)
    accept(proposal, _groomer(), base_version=proposal.base_version)


def ask(home: Path, seconds: str) -> None:
    from coatround.web.rounds.propose import ask as asked

    print(asked(*_dates(), who=_groomer(), seconds=int(seconds)).pk)


def page(home: Path) -> None:
    answer = _client(home).get("/round/")
    print(answer.status_code, answer.content.decode())


def press(home: Path) -> None:
    answer = _client(home).post("/round/plan/", {"first": "2026-03-03", "weeks": "4", "seconds": "20"}, follow=True)
    print(answer.status_code, answer.content.decode())


def _client(home: Path):  # type: ignore[no-untyped-def]
    from django.conf import settings
    from django.test import Client

    settings.ALLOWED_HOSTS = ["testserver"]
    client = Client()
    client.cookies["sessionid"] = (home / SESSION_FILE).read_text()
    return client


def _groomer():  # type: ignore[no-untyped-def]
    from coatround.web.base.models import Worker

    return Worker.objects.get()


def _dates() -> tuple[dt.date, dt.date]:
    return dt.date(2026, 3, 3), dt.date(2026, 3, 29)


if __name__ == "__main__":
    main(*sys.argv[1:])

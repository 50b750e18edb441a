"""`coatround demo`: made once a week, planned the same every time, never put where someone's own records are."""

import json
import os
import re
import signal
import sqlite3
import subprocess
import sys
import urllib.request
from contextlib import closing
from pathlib import Path

import pytest

from coatround.demo_command import MARK_FILE
from coatround.home import DATABASE_FILE

SOURCE = Path(__file__).parents[2] / "src"
PLAN = """
SELECT run.date, stop."order", stop.kind, stop.arrive_seconds, stop.end_seconds, household.name
FROM rounds_stop stop JOIN rounds_run run ON run.id = stop.run_id
LEFT JOIN visits_visit visit ON visit.id = stop.visit_id
LEFT JOIN records_household household ON household.id = visit.household_id
WHERE run.date >= '2026-11-23' ORDER BY 1, 2
"""

NAMED = """
SELECT run.date AS date, household.name AS household FROM rounds_stop stop JOIN rounds_run run ON run.id = stop.run_id
JOIN visits_visit visit ON visit.id = stop.visit_id
JOIN records_household household ON household.id = visit.household_id
WHERE run.date >= '2026-11-23'
"""
BACK = """
FROM visits_handingback back JOIN visits_visit visit ON visit.id = back.visit
JOIN records_household household ON household.id = visit.household_id
"""


def environment() -> dict[str, str]:
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("COATROUND_", "DJANGO_"))}
    return kept | {"PYTHONPATH": str(SOURCE)}


def demo(home: Path, *words: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "coatround", "demo", "--home", str(home), "--no-serve", *words]
    return subprocess.run(command, env=environment(), capture_output=True, text=True, timeout=120)


def rows(home: Path, question: str) -> list[tuple[object, ...]]:
    with closing(sqlite3.connect(home / DATABASE_FILE)) as database:
        return database.execute(question).fetchall()


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    home = tmp_path_factory.mktemp("demo") / "home"
    answer = demo(home, "--today", "2026-11-25", "--dogs", "30")
    assert answer.returncode == 0, answer.stderr
    assert "Planning the 4 weeks from Monday 23 November" in answer.stderr
    return home


def test_it_works(made: Path) -> None:
    """The rows are there, no key leads nowhere, and the weeks ahead are planned and accepted."""
    assert rows(made, "SELECT count(*) FROM records_dog") == [(30,)]
    assert rows(made, "PRAGMA foreign_key_check") == []
    assert rows(made, "SELECT state FROM rounds_proposal") == [("accepted",)]
    assert len(rows(made, PLAN)) > 10


def test_the_days_of_this_week_that_are_over_are_recorded_with_all_that_follows(made: Path) -> None:
    """Monday and Tuesday are done, charged and handed back; from today on everything is still to do."""
    over = f"SELECT DISTINCT date, household FROM ({NAMED}) WHERE date < '2026-11-25'"
    done = f"SELECT DISTINCT visit.date, household.name {BACK} WHERE visit.date >= '2026-11-23'"
    assert sorted(rows(made, over)) == sorted(rows(made, done)) != []
    charged = "SELECT count(*) FROM books_charge WHERE date BETWEEN '2026-11-23' AND '2026-11-24'"
    grooms = "SELECT count(*) FROM visits_groom WHERE date >= '2026-11-23'"
    assert rows(made, charged) == rows(made, grooms)


def test_the_plan_is_the_same_every_time(made: Path, tmp_path: Path) -> None:
    demo(tmp_path / "again", "--today", "2026-11-27", "--dogs", "30")
    assert rows(tmp_path / "again", PLAN) == rows(made, PLAN)


def test_a_demo_of_this_week_is_kept_and_one_of_another_week_is_made_anew(made: Path) -> None:
    assert demo(made, "--today", "2026-11-28", "--dogs", "30").stderr == ""
    answer = demo(made, "--today", "2026-11-30", "--dogs", "8")
    assert "made anew, because it was made for the week of 2026-11-23 with 30 dogs" in answer.stderr
    assert rows(made, "SELECT count(*) FROM records_dog") == [(8,)]


def test_a_demo_that_was_broken_off_is_made_anew(tmp_path: Path) -> None:
    demo(tmp_path, "--today", "2026-11-25", "--dogs", "8")
    mark = json.loads((tmp_path / MARK_FILE).read_text())
    (tmp_path / MARK_FILE).write_text(json.dumps(mark | {"ready": False}))
    assert "never finished" in demo(tmp_path, "--today", "2026-11-25", "--dogs", "8").stderr


def test_it_is_never_put_where_own_records_are(tmp_path: Path) -> None:
    (tmp_path / DATABASE_FILE).write_bytes(b"mine")
    answer = demo(tmp_path)
    assert answer.returncode == 2
    assert "no demo" in answer.stderr
    assert (tmp_path / DATABASE_FILE).read_bytes() == b"mine"


@pytest.mark.parametrize("words", [("--today", "soon"), ("--dogs", "0"), ("--dogs", "many"), ("--port", "x")])
def test_what_is_typed_wrong_is_said_in_words(tmp_path: Path, words: tuple[str, str]) -> None:
    answer = demo(tmp_path / "demo", *words)
    assert answer.returncode == 2
    assert repr(words[1]) in answer.stderr
    assert not (tmp_path / "demo").exists()


def test_it_serves_and_prints_one_link_that_works(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "coatround", "demo", "--home", str(tmp_path), "--port", "0", "--dogs", "8"]
    process = subprocess.Popen(command, env=environment(), stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
    try:
        assert process.stdout is not None
        link = re.fullmatch(r"Open (http://127\.0\.0\.1:\d+/sign-in/\S+/)\n", process.stdout.readline())
        assert link
        with urllib.request.urlopen(link[1]) as answer:
            assert answer.status == 200
        process.send_signal(signal.SIGTERM)
        assert process.wait(20) == 0
        assert process.stdout.read() == ""
    finally:
        process.kill()
        process.communicate()

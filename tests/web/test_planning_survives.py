"""The accepted plan while planning is stopped, killed, or runs out of disk: a process of its own, a home of its own."""

import re
import resource
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from tests.web import planning_home

ROOT = Path(__file__).parents[2]
STANDING = ("rounds_standing", "rounds_run", "rounds_stop", "visits_visit", "visits_visitdog", "base_change")
HIDDEN = {"PATH": "/usr/bin:/bin", "PYTHONPATH": f"{ROOT / 'src'}:{ROOT}", "COATROUND_TODAY": "2026-03-02"}


@pytest.fixture(scope="module")
def first_home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Twenty dogs and four weeks that were accepted."""
    home = tmp_path_factory.mktemp("planning") / "home"
    do(home, "make")
    return home


@pytest.fixture
def planned_home(first_home: Path, tmp_path: Path) -> Path:
    return shutil.copytree(first_home, tmp_path / "planned")


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of a few megabytes, where one may be mounted."""
    disk = tmp_path / "disk"
    disk.mkdir()
    words = ["mount", "-t", "tmpfs", "-o", "size=30m", "tmpfs", str(disk)]
    if not sys.platform.startswith("linux") or subprocess.run(words, capture_output=True, check=False).returncode:
        pytest.skip("no file system may be mounted here; the test of files that may not grow stands for a full disk")
    yield disk
    subprocess.run(["umount", str(disk)], check=True)


def do(home: Path, what: str, *words: str) -> str:
    """Something done in this home by another process; what it printed."""
    program = [sys.executable, "-m", planning_home.__name__, str(home), what, *words]
    done = subprocess.run(program, env=HIDDEN, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


def planning(home: Path, seconds: int, **given: Any) -> subprocess.Popen[str]:
    """The process that the round page starts, planning."""
    proposal = do(home, "ask", str(seconds))
    return subprocess.Popen(
        [sys.executable, "-m", "coatround.web.rounds.planning", proposal],
        env=HIDDEN | {"COATROUND_HOME": str(home)},
        stderr=subprocess.PIPE,
        text=True,
        **given,
    )


def opened(home: Path) -> closing[sqlite3.Connection]:
    return closing(sqlite3.connect(home / "coatround.sqlite3", timeout=20))


def rows(home: Path, *tables: str) -> list[Any]:
    """Every row of these tables, byte for byte."""
    with opened(home) as database:
        return [database.execute(f"SELECT * FROM {table} ORDER BY 1, 2").fetchall() for table in tables]


def proposal_says(home: Path, column: str) -> str:
    with opened(home) as database:
        (said,) = database.execute(f"SELECT {column} FROM rounds_proposal ORDER BY made_at DESC LIMIT 1").fetchone()
    return str(said)


def wait_until(true: Callable[[], bool], seconds: float = 60) -> None:
    end = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < end, "waited in vain"
        time.sleep(0.05)


def is_searching(home: Path) -> bool:
    return "rounds tried" in proposal_says(home, "progress_words")


def words_on(home: Path) -> str:
    """The round page as read aloud; a page that fails is no page."""
    return as_words(do(home, "page"))


def as_words(answer: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", answer))


def silent_for_a_minute(home: Path) -> None:
    with opened(home) as database, database:
        database.execute("UPDATE rounds_proposal SET heard_at = datetime(heard_at, '-1 minute')")


def plans_again(home: Path) -> None:
    """A plan is made and accepted once more: nothing is left that stands in its way."""
    version = rows(home, "rounds_standing")[0][0]
    assert do(home, "again") == "ready"
    assert rows(home, "rounds_standing")[0][0] != version


@pytest.mark.parametrize("asked", [signal.SIGINT, signal.SIGTERM])
def test_ctrl_c_keeps_the_best_so_far_and_what_stands(planned_home: Path, asked: signal.Signals) -> None:
    before = rows(planned_home, *STANDING)
    process = planning(planned_home, 300)
    wait_until(lambda: is_searching(planned_home))
    process.send_signal(asked)
    assert (process.communicate(timeout=60), process.returncode) == ((None, ""), 0)
    assert rows(planned_home, *STANDING) == before
    assert proposal_says(planned_home, "state") == "ready"
    assert "waits for you" in words_on(planned_home)
    plans_again(planned_home)


def test_killed_while_planning(planned_home: Path) -> None:
    before = rows(planned_home, *STANDING)
    process = planning(planned_home, 300)
    wait_until(lambda: is_searching(planned_home))
    process.kill()
    process.communicate(timeout=60)
    assert rows(planned_home, *STANDING) == before
    assert "Stop, and keep the best so far" in words_on(planned_home)
    silent_for_a_minute(planned_home)
    assert "The planning stopped by itself and has not been heard of since. Nothing was changed." in words_on(
        planned_home
    )
    plans_again(planned_home)


def test_a_full_disk_while_planning(first_home: Path, small_disk: Path) -> None:
    """Full from the middle of the search on: nothing that stands is touched, the page opens, and says what to do."""
    home = shutil.copytree(first_home, small_disk / "home")
    before = rows(home, *STANDING)
    process = planning(home, 6)
    wait_until(lambda: is_searching(home))
    fill(small_disk)
    _, said = process.communicate(timeout=60)
    assert process.returncode == 1
    assert "Is there room on the disk?" in said
    assert "Traceback" not in said
    assert rows(home, *STANDING) == before
    assert words_on(home).startswith("200 ")
    with opened(home) as served:  # as a server has it open: what the planning gave back is filled too
        served.execute("SELECT count(*) FROM rounds_run").fetchone()
        fill(small_disk)
        pressed = as_words(do(home, "press"))
    assert "Planning could not begin; nothing was changed. Is the disk full?" in pressed
    (small_disk / "filler").unlink()
    silent_for_a_minute(home)
    assert "If the disk is full, make room." in words_on(home)
    plans_again(home)


def test_a_disk_that_was_full_for_a_while(first_home: Path, small_disk: Path) -> None:
    """Room again before the planning ends: the plan is kept."""
    home = shutil.copytree(first_home, small_disk / "home")
    process = planning(home, 6)
    wait_until(lambda: is_searching(home))
    fill(small_disk)
    time.sleep(2.5)
    (small_disk / "filler").unlink()
    assert (process.communicate(timeout=60), process.returncode) == ((None, ""), 0)
    assert proposal_says(home, "state") == "ready"


def fill(disk: Path) -> None:
    """Writes until there is no room for one byte more."""
    with (disk / "filler").open("ab", buffering=0) as filler:
        for size in (1 << 16, 1 << 10, 1):
            try:
                while True:
                    filler.write(bytes(size))
            except OSError:
                continue


@pytest.mark.parametrize("most_kb", [0, 40, 60])
def test_files_may_not_grow(most_kb: int, planned_home: Path) -> None:
    """What a full disk is to a program, by a limit on the size of its files: this runs everywhere."""
    before = rows(planned_home, *STANDING)
    limit = (most_kb * 1024, most_kb * 1024)
    process = planning(planned_home, 2, preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, limit))
    _, said = process.communicate(timeout=60)
    assert process.returncode == 1, said
    assert "Is there room on the disk?" in said
    assert "Traceback" not in said
    assert rows(planned_home, *STANDING) == before
    silent_for_a_minute(planned_home)
    assert re.search("If the disk is full, make room|Is the disk full|Planning", words_on(planned_home))
    plans_again(planned_home)

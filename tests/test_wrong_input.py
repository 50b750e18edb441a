"""What a person can get wrong at a terminal: words on stderr and status 2, never a traceback."""

import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from coatround.home import DATABASE_FILE, SECRET_FILE
from coatround.serve_command import address_of

SOURCE = Path(__file__).parents[1] / "src"
LIST = "name,phone\nPia Marlow,0412 345 678\n,0400\n"


@pytest.fixture
def people(tmp_path: Path) -> Path:
    file = tmp_path / "people.csv"
    file.write_text(LIST)
    return file


def coatround(*words: str, **settings: str) -> subprocess.CompletedProcess[str]:
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("COATROUND_", "DJANGO_"))}
    command = [sys.executable, "-m", "coatround", *words]
    return subprocess.run(
        command, env=kept | {"PYTHONPATH": str(SOURCE)} | settings, capture_output=True, text=True, timeout=60
    )


def assert_wrong(answer: subprocess.CompletedProcess[str], words: str) -> None:
    assert answer.returncode == 2, answer.stderr
    assert answer.stdout == ""
    assert words in answer.stderr
    assert "Traceback" not in answer.stderr


def test_no_command_tells_the_commands_on_stderr() -> None:
    assert_wrong(coatround(), "restore  put a backup")


@pytest.mark.parametrize(
    ("environment", "words"),
    [
        ({"COATROUND_DEBUG": "maybe"}, "COATROUND_DEBUG is 'maybe'; it takes yes or no"),
        ({"COATROUND_DATABASE": "people"}, "COATROUND_DATABASE is not an address"),
        ({"COATROUND_DATABASE": "postgresql://a:b@127.0.0.1:zz/c"}, "COATROUND_DATABASE is not an address"),
        ({"COATROUND_HOME": "~nobody-of-that-name/x"}, "nobody here is called ~nobody-of-that-name"),
    ],
)
def test_a_wrong_setting_is_told_in_words(
    environment: dict[str, str], words: str, people: Path, tmp_path: Path
) -> None:
    kept = {"COATROUND_HOME": str(tmp_path / "mine")} | environment
    assert_wrong(coatround("import", str(people), "--country", "AU", **kept), words)


@pytest.mark.parametrize(
    "words",
    [
        ("export", "--out"),
        ("backup", "--out"),
        ("restore",),
        ("serve", "--home"),
        ("demo", "--no-serve", "--home"),
        ("import",),
    ],
)
@pytest.mark.parametrize(("typed", "why"), [("", "is empty"), ("~nobody-of-that-name/x", "nobody here is called")])
def test_a_path_that_names_nothing_is_refused(words: tuple[str, ...], typed: str, why: str, tmp_path: Path) -> None:
    """An empty --out once wrote every table into the folder the person stood in."""
    assert_wrong(coatround(*words, typed, COATROUND_HOME=str(tmp_path / "mine")), why)


@pytest.mark.parametrize(("key", "why"), [(b"", "it is empty"), (b"\xff\xfe\xff", "it is no text")])
def test_a_damaged_signing_key_is_told_in_words(key: bytes, why: str, people: Path, tmp_path: Path) -> None:
    home = tmp_path / "mine"
    home.mkdir()
    (home / SECRET_FILE).write_bytes(key)
    assert_wrong(coatround("import", str(people), "--home", str(home), "--country", "AU"), why)


def test_a_folder_in_place_of_the_signing_key_is_told_in_words(people: Path, tmp_path: Path) -> None:
    (tmp_path / "mine" / SECRET_FILE).mkdir(parents=True)
    answer = coatround("import", str(people), "--home", str(tmp_path / "mine"), "--country", "AU")
    assert_wrong(answer, "The key that signs links")


def test_refused_rows_that_cannot_be_written_stop_the_import_first(people: Path, tmp_path: Path) -> None:
    """Status 2 says that nothing was written; the rows were once brought in before the place was tried."""
    home = tmp_path / "mine"
    asked = ("import", str(people), "--home", str(home), "--country", "AU", "--refused")
    assert_wrong(coatround(*asked, str(tmp_path)), "can't be written")
    assert_wrong(coatround(*asked, str(tmp_path / "none" / "x.csv")), "can't be written")
    assert not home.exists()


def test_refused_rows_never_replace_the_file_they_came_from(people: Path, tmp_path: Path) -> None:
    asked = ("import", str(people), "--home", str(tmp_path / "mine"), "--country", "AU", "--refused", str(people))
    assert_wrong(coatround(*asked), "would be lost")
    assert people.read_text() == LIST


def test_a_database_that_fails_halfway_is_told_in_words(people: Path, tmp_path: Path) -> None:
    home = tmp_path / "mine"
    assert coatround("import", str(people), "--home", str(home), "--country", "AU").returncode == 1
    with closing(sqlite3.connect(home / DATABASE_FILE, isolation_level=None)) as database:
        database.execute("DROP TABLE records_household")
    people.write_text("name,phone\nJo Tarn,0412 345 679\n")
    assert_wrong(coatround("import", str(people), "--home", str(home), "--country", "AU"), "The database can't be used")


@pytest.mark.parametrize("date", ["0001-01-01", "9999-12-31"])
def test_a_demo_out_of_the_calendars_reach_is_refused(date: str, tmp_path: Path) -> None:
    home = tmp_path / "demo"
    assert_wrong(coatround("demo", "--no-serve", "--home", str(home), "--today", date), "out of reach")
    assert not home.exists()


def test_a_demo_mark_that_is_no_mark_is_made_anew(tmp_path: Path) -> None:
    (tmp_path / "demo.json").write_text("[1]")
    answer = coatround("demo", "--no-serve", "--home", str(tmp_path), "--dogs", "1", "--today", "2026-11-25")
    assert answer.returncode == 0, answer.stderr
    assert "made anew" in answer.stderr


def test_a_demo_mark_that_is_a_folder_is_told_in_words(tmp_path: Path) -> None:
    (tmp_path / "demo.json").mkdir()
    assert_wrong(coatround("demo", "--no-serve", "--home", str(tmp_path)), "demo.json can't be read")


def test_a_host_that_is_no_address_is_told_in_words(tmp_path: Path) -> None:
    assert_wrong(coatround("serve", "--home", str(tmp_path / "mine"), "--host", "ü..x", "--port", "0"), "is no address")


def test_the_link_to_an_ipv6_address_can_be_opened() -> None:
    assert address_of("::1", 8000) == "http://[::1]:8000"
    assert address_of("127.0.0.1", 8000) == "http://127.0.0.1:8000"
    assert address_of("0.0.0.0", 8000) == "http://127.0.0.1:8000"

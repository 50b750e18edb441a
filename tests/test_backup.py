"""Backup and restore: what comes out is what went in, and nothing half, damaged, foreign or newer comes out at all."""

import contextlib
import json
import sqlite3
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from coatround import backup_file
from coatround import home as home_module
from coatround.backup_command import backup_main, restore_main
from coatround.home import DATABASE_FILE, SECRET_FILE

PHOTO = "photos/ab/abcdef.jpg"


@pytest.fixture
def full(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A home with a small database in WAL mode, a photo and its signing key."""
    monkeypatch.delenv("COATROUND_DATABASE", raising=False)
    folder = tmp_path / "full"
    home_module.prepare(folder)
    (folder / PHOTO).parent.mkdir(parents=True)
    (folder / PHOTO).write_bytes(bytes(range(256)) * 40)
    with contextlib.closing(sqlite3.connect(folder / DATABASE_FILE)) as database:
        database.execute("PRAGMA journal_mode=WAL")
        database.execute("CREATE TABLE django_migrations (app TEXT, name TEXT)")
        database.execute("INSERT INTO django_migrations VALUES ('base', '0001_initial')")
        database.execute("CREATE TABLE dogs (name TEXT)")
        database.executemany("INSERT INTO dogs VALUES (?)", [(f"dog {number}",) for number in range(500)])
        database.commit()
    return folder


@pytest.fixture
def packed(full: Path, tmp_path: Path) -> Path:
    out = tmp_path / "backup.zip"
    assert backup_main(["--home", str(full), "--out", str(out)]) == 0
    return out


def dogs(folder: Path) -> list[str]:
    with contextlib.closing(sqlite3.connect(folder / DATABASE_FILE)) as database:
        return [name for (name,) in database.execute("SELECT name FROM dogs ORDER BY rowid")]


def test_it_works(full: Path, packed: Path, tmp_path: Path) -> None:
    """Database, photo and key come back as they were; the folder may be new or empty."""
    for name in ("new/deep", "empty"):
        folder = tmp_path / name
        if name == "empty":
            folder.mkdir()
        assert restore_main([str(packed), "--home", str(folder)]) == 0
        assert dogs(folder) == dogs(full)
        assert (folder / PHOTO).read_bytes() == (full / PHOTO).read_bytes()
        assert (folder / SECRET_FILE).read_text() == (full / SECRET_FILE).read_text()
        assert (folder / SECRET_FILE).stat().st_mode & 0o077 == 0


def test_it_may_run_while_someone_writes(full: Path, tmp_path: Path) -> None:
    """What is not committed yet is not in the backup; what is, is, even if it still lies in SQLite's own log."""
    with contextlib.closing(sqlite3.connect(full / DATABASE_FILE)) as writing:
        writing.execute("INSERT INTO dogs VALUES ('committed')")
        writing.commit()
        writing.execute("INSERT INTO dogs VALUES ('not yet')")
        assert backup_main(["--home", str(full), "--out", str(tmp_path / "now.zip")]) == 0
        writing.rollback()
    restore_main([str(tmp_path / "now.zip"), "--home", str(tmp_path / "now")])
    assert dogs(tmp_path / "now")[-1] == "committed"


def test_a_backup_is_never_written_over(full: Path, packed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = packed.read_bytes()
    assert backup_main(["--home", str(full), "--out", str(packed)]) == 2
    assert "--force" in capsys.readouterr().err
    assert packed.read_bytes() == before
    assert backup_main(["--home", str(full), "--out", str(packed), "--force"]) == 0


def test_a_backup_that_breaks_off_leaves_nothing(
    full: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def breaks(*words: object) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(backup_file, "_write_parts", breaks)
    folder = tmp_path / "outs"
    folder.mkdir()
    assert backup_main(["--home", str(full), "--out", str(folder / "b.zip")]) == 2
    assert "No space" in capsys.readouterr().err
    assert list(folder.iterdir()) == []


@pytest.mark.parametrize("what", ["no records", "no folder for the file"])
def test_what_cannot_be_backed_up_is_said_in_words(
    full: Path, tmp_path: Path, what: str, capsys: pytest.CaptureFixture[str]
) -> None:
    home = tmp_path / "nothing" if what == "no records" else full
    out = tmp_path / "b.zip" if what == "no records" else tmp_path / "no" / "b.zip"
    assert backup_main(["--home", str(home), "--out", str(out)]) == 2
    assert capsys.readouterr().err.startswith("coatround backup: ")
    assert not out.exists()


def test_a_folder_that_holds_something_is_left_alone(
    full: Path, packed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "mine"
    folder.mkdir()
    (folder / "letter.txt").write_text("mine")
    assert restore_main([str(packed), "--home", str(folder)]) == 1
    assert "not an empty folder" in capsys.readouterr().err
    assert [path.name for path in folder.iterdir()] == ["letter.txt"]


def test_postgresql_is_left_to_its_own_tools(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("COATROUND_DATABASE", "postgresql://someone@127.0.0.1/coatround")
    assert backup_main(["--out", "b.zip"]) == 2
    assert "pg_dump" in capsys.readouterr().err


Parts = dict[str, bytes]


def read_parts(file: Path) -> Parts:
    with zipfile.ZipFile(file) as packed:
        return {name: packed.read(name) for name in packed.namelist()}


def write_parts(file: Path, parts: Parts) -> None:
    with zipfile.ZipFile(file, "w") as packed:
        for name, held in parts.items():
            packed.writestr(name, held)


def changed_list(parts: Parts, **changes: object) -> None:
    parts["backup.json"] = json.dumps(json.loads(parts["backup.json"]) | changes).encode()


def listed_too(parts: Parts, name: str) -> None:
    """A part that the list names with its right length and hash, so that only its place is wrong."""
    import hashlib

    parts[name] = b"out of place"
    held = json.loads(parts["backup.json"])
    held["parts"][name] = {"bytes": 12, "sha256": hashlib.sha256(b"out of place").hexdigest()}
    parts["backup.json"] = json.dumps(held).encode()


def one_byte_of_the_photo(parts: Parts) -> None:
    parts[PHOTO] = b"\xff" + parts[PHOTO][1:]


def longer_photo(parts: Parts) -> None:
    parts[PHOTO] += b"more"


def photo_gone(parts: Parts) -> None:
    del parts[PHOTO]


def a_part_more(parts: Parts) -> None:
    parts["photos/extra.jpg"] = b"extra"


def out_of_the_folder(parts: Parts) -> None:
    listed_too(parts, "photos/../../out.txt")


def from_the_root(parts: Parts) -> None:
    listed_too(parts, "/tmp/out.txt")


def no_place_of_ours(parts: Parts) -> None:
    listed_too(parts, "startup/run.sh")


def list_gone(parts: Parts) -> None:
    del parts["backup.json"]


def list_broken(parts: Parts) -> None:
    parts["backup.json"] = b"{"


def list_of_another_shape(parts: Parts) -> None:
    parts["backup.json"] = b'{"format": "coatround-backup-1", "version": "0.1.0", "parts": [], "migrations": []}'


def newer_format(parts: Parts) -> None:
    changed_list(parts, format="coatround-backup-9", version="9.0.0")


def newer_migration(parts: Parts) -> None:
    changed_list(parts, migrations=[["base", "0099_of_the_future"]], version="9.0.0")


DAMAGES: list[tuple[Callable[[Parts], None], str]] = [
    (one_byte_of_the_photo, "not as it was written"),
    (longer_photo, "not as it was written"),
    (photo_gone, "not those it lists"),
    (a_part_more, "not those it lists"),
    (out_of_the_folder, "no place"),
    (from_the_root, "no place"),
    (no_place_of_ours, "no place"),
    (list_gone, "not one that coatround backup wrote"),
    (list_broken, "can't be read"),
    (list_of_another_shape, "can't be read"),
    (newer_format, "newer"),
    (newer_migration, "newer"),
]


@pytest.mark.parametrize(("damage", "words"), DAMAGES, ids=[damage.__name__ for damage, _ in DAMAGES])
def test_a_damaged_or_foreign_backup_is_refused(
    packed: Path, tmp_path: Path, damage: Callable[[Parts], None], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    parts = read_parts(packed)
    damage(parts)
    write_parts(packed, parts)
    assert_refused(packed, tmp_path / "there" / "home", words, capsys)


def assert_refused(file: Path, folder: Path, words: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Refused in words, and nothing of it was left anywhere near the folder."""
    capsys.readouterr()
    assert restore_main([str(file), "--home", str(folder)]) == 2
    said = capsys.readouterr().err
    assert said.startswith("coatround restore: ")
    assert words in said
    assert not folder.exists()
    assert not list(folder.parent.glob("**/*"))


@pytest.mark.parametrize("kept", [0, 10, 0.5, 0.98])
def test_a_backup_cut_short_is_refused(
    packed: Path, tmp_path: Path, kept: float, capsys: pytest.CaptureFixture[str]
) -> None:
    held = packed.read_bytes()
    packed.write_bytes(held[: int(kept if kept > 1 else kept * len(held))])
    assert_refused(packed, tmp_path / "there" / "home", "damaged", capsys)


def test_any_byte_that_fell_over_is_noticed_or_does_no_harm(full: Path, packed: Path, tmp_path: Path) -> None:
    """One byte in every ninety is turned over, one file each: refused, or restored as it was."""
    held = packed.read_bytes()
    for at in range(0, len(held), 90):
        packed.write_bytes(held[:at] + bytes([held[at] ^ 0x55]) + held[at + 1 :])
        folder = tmp_path / f"turned-{at}"
        if restore_main([str(packed), "--home", str(folder)]) == 0:
            assert dogs(folder) == dogs(full)
            assert (folder / PHOTO).read_bytes() == (full / PHOTO).read_bytes()
        else:
            assert not folder.exists()


def test_a_file_that_is_not_there_is_said_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert_refused(tmp_path / "none.zip", tmp_path / "there" / "home", "not there", capsys)


def test_a_database_damaged_before_it_was_packed_is_noticed(
    packed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    import hashlib

    parts = read_parts(packed)
    parts[DATABASE_FILE] = parts[DATABASE_FILE][:4096] + b"\x99" * 1000 + parts[DATABASE_FILE][5096:]
    held = json.loads(parts["backup.json"])
    held["parts"][DATABASE_FILE]["sha256"] = hashlib.sha256(parts[DATABASE_FILE]).hexdigest()
    parts["backup.json"] = json.dumps(held).encode()
    write_parts(packed, parts)
    assert_refused(packed, tmp_path / "there" / "home", "records are damaged", capsys)


@pytest.mark.parametrize("name", ["", ".", "photos/../.."])
def test_a_part_without_a_name_is_refused_in_words(
    name: str, full: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "nameless.zip"
    told = {"format": backup_file.FORMAT, "version": "0", "migrations": [], "parts": {name: {"bytes": 0, "sha256": ""}}}
    with zipfile.ZipFile(out, "w") as packed:
        packed.writestr(backup_file.LIST_PART, json.dumps(told))
    assert restore_main([str(out), "--home", str(tmp_path / "new")]) == 2
    assert "has no place in one" in capsys.readouterr().err


def test_an_endless_part_is_refused_in_words(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "endless.zip"
    told: dict[str, object] = {"format": backup_file.FORMAT, "version": "0", "migrations": []}
    told["parts"] = {DATABASE_FILE: {"bytes": float("inf"), "sha256": ""}}
    with zipfile.ZipFile(out, "w") as packed:
        packed.writestr(backup_file.LIST_PART, json.dumps(told))
    assert restore_main([str(out), "--home", str(tmp_path / "new")]) == 2
    assert "damaged" in capsys.readouterr().err


def test_a_backup_blames_the_records_that_cannot_be_read(
    full: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The words once said that the backup could not be written."""
    for name in (f"{DATABASE_FILE}-wal", f"{DATABASE_FILE}-shm"):
        (full / name).unlink(missing_ok=True)
    (full / DATABASE_FILE).write_bytes(b"no database at all" * 100)
    assert backup_main(["--home", str(full), "--out", str(tmp_path / "out.zip")]) == 2
    assert f"The records in {full} can't be read" in capsys.readouterr().err


def test_restoring_where_nothing_may_be_made_does_not_blame_the_file(
    packed: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(backup_file, "_known_migrations", lambda: {("base", "0001_initial")})

    def fails(*_: object, **named: object) -> None:
        raise FileNotFoundError(2, "No such file or directory", str(named["dir"]))

    monkeypatch.setattr("coatround.backup_file.tempfile.TemporaryDirectory", fails)
    assert restore_main([str(packed), "--home", str(tmp_path / "new")]) == 2
    said = capsys.readouterr().err
    assert "It can't be restored" in said
    assert "is not there" not in said

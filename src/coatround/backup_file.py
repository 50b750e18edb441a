"""The backup file: a zip of the database as it stands at one instant, the photos and the signing key.

One part, backup.json, says what wrote it and holds the length and SHA-256 of every other part.
"""

import contextlib
import hashlib
import json
import os
import shutil
import sqlite3
import tempfile
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path, PurePosixPath
from typing import IO, Any

from coatround import __version__
from coatround.home import DATABASE_FILE, FOLDERS, SECRET_FILE

FORMAT = "coatround-backup-1"
LIST_PART = "backup.json"
CHUNK = 1 << 20
MOST_LIST_BYTES = 50_000_000
KEPT_FOLDERS = tuple(folder for folder in FOLDERS if folder != "proposals")
KEPT_TOPS = {(folder,) for folder in KEPT_FOLDERS}


class BackupRefused(Exception):
    """A backup can't be written or read; the message says why and what to do. `status` is the exit status."""

    def __init__(self, words: str, status: int = 2) -> None:
        super().__init__(words)
        self.status = status


def write_backup(home: Path, out: Path, *, replace: bool = False) -> tuple[int, int]:
    """Writes a home folder into one file, whole or not at all; gives the number of parts and the file's bytes."""
    if not (home / DATABASE_FILE).is_file():
        raise BackupRefused(f"{home} holds no Coatround records. Name the right folder with --home.")
    if out.exists() and not replace:
        raise BackupRefused(f"{out} is there already. Choose another name, or write over it with --force.")
    half = None
    try:
        with tempfile.TemporaryDirectory(prefix="coatround-backup-") as folder:
            copied = Path(folder) / DATABASE_FILE
            _copy_database(home / DATABASE_FILE, copied)
            handle, name = tempfile.mkstemp(prefix=f".{out.name}.", dir=out.parent)
            half = Path(name)
            with os.fdopen(handle, "wb") as file:
                count = _write_parts(home, copied, file)
                file.flush()
                os.fsync(file.fileno())
        half.replace(out)
        return count, out.stat().st_size
    except sqlite3.Error as error:
        raise BackupRefused(f"The records in {home} can't be read: {error}. No backup was written.") from error
    except OSError as error:
        raise BackupRefused(f"{_whose(error, home, out)}: {_why(error)}. Nothing was left half done.") from error
    finally:
        if half is not None:
            half.unlink(missing_ok=True)


def _whose(error: OSError, home: Path, out: Path) -> str:
    """Which file is to blame: one of the home's that can't be read, else the backup that can't be written."""
    blamed = Path(str(error.filename or out))
    read = home in blamed.parents and blamed.parent != out.parent
    return f"{blamed} can't be read" if read else f"{out} can't be written"


def _why(error: Exception) -> str:
    return getattr(error, "strerror", None) or str(error)


def _copy_database(source: Path, copied: Path) -> None:
    """SQLite's own backup: what was committed at one instant, while others go on writing."""
    with (
        contextlib.closing(sqlite3.connect(f"{source.as_uri()}?mode=ro", uri=True, timeout=20)) as old,
        contextlib.closing(sqlite3.connect(copied)) as new,
    ):
        old.backup(new)
        new.execute("PRAGMA journal_mode=DELETE")


def _write_parts(home: Path, database: Path, file: IO[bytes]) -> int:
    """The parts, then the list of them: what is listed is what was written, even if a file changes meanwhile."""
    listed = {}
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED, allowZip64=True) as packed:
        for name, path in _parts(home, database):
            listed[name] = _write_part(packed, name, path)
        told = {"format": FORMAT, "version": __version__, "migrations": _migrations(database), "parts": listed}
        packed.writestr(LIST_PART, json.dumps(told, indent=1, sort_keys=True))
    return len(listed)


def _write_part(packed: zipfile.ZipFile, name: str, path: Path) -> dict[str, int | str]:
    seen, written = hashlib.sha256(), 0
    with path.open("rb") as source, packed.open(name, "w", force_zip64=True) as part:
        while chunk := source.read(CHUNK):
            seen.update(chunk)
            written += len(chunk)
            part.write(chunk)
    return {"bytes": written, "sha256": seen.hexdigest()}


def _parts(home: Path, database: Path) -> Iterator[tuple[str, Path]]:
    yield DATABASE_FILE, database
    if (home / SECRET_FILE).is_file():
        yield SECRET_FILE, home / SECRET_FILE
    for folder in KEPT_FOLDERS:
        for path in sorted((home / folder).rglob("*")):
            if path.is_file() and not path.is_symlink():
                yield path.relative_to(home).as_posix(), path


def _migrations(database: Path) -> list[list[str]]:
    with contextlib.closing(sqlite3.connect(database)) as open_:
        rows = open_.execute("SELECT app, name FROM django_migrations ORDER BY app, name").fetchall()
    return [list(row) for row in rows]


def read_into(file: Path, home: Path) -> int:
    """Puts a backup's parts into an empty folder, all of them or none; gives how many there are."""
    if home.exists() and (not home.is_dir() or any(home.iterdir())):
        raise BackupRefused(f"{home} is not an empty folder. Name a new one with --home; nothing was changed.", 1)
    if not file.is_file():
        what = "a folder" if file.is_dir() else "not there"
        raise BackupRefused(f"{file} is {what}. Name a file that coatround backup wrote.")
    try:
        with zipfile.ZipFile(file) as packed:
            told = _list_of_parts(packed)
            home.parent.mkdir(parents=True, exist_ok=True)
            with tempfile.TemporaryDirectory(prefix=".coatround-restore-", dir=home.parent) as folder:
                made = Path(folder) / "home"
                made.mkdir(mode=0o700)
                for name, part in told["parts"].items():
                    _take_out(packed, name, part, made)
                _check_database(made / DATABASE_FILE)
                if home.exists():
                    home.rmdir()
                shutil.move(made, home)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError) as error:
        raise BackupRefused(f"{file} is damaged, or no backup: {error}. Use another; nothing was changed.") from error
    except OSError as error:
        named = error.filename or file
        raise BackupRefused(f"It can't be restored: {named}: {_why(error)}. Nothing was changed.") from error
    return len(told["parts"])


def _list_of_parts(packed: zipfile.ZipFile) -> dict[str, Any]:
    """What the backup says of itself; refuses what is foreign, newer, or names a part that leads out of the folder."""
    names = packed.namelist()
    if LIST_PART not in names:
        raise BackupRefused("This is a zip file, but not one that coatround backup wrote. Name another.")
    if packed.getinfo(LIST_PART).file_size > MOST_LIST_BYTES:
        raise BackupRefused("The backup's list of parts is far too long; it is damaged. Use another.")
    try:
        told = json.loads(packed.read(LIST_PART))
        format_, version = str(told["format"]), str(told["version"])
        parts = {str(name): (int(part["bytes"]), str(part["sha256"])) for name, part in told["parts"].items()}
        migrations = {(str(app), str(name)) for app, name in told["migrations"]}
    except (ValueError, KeyError, TypeError, AttributeError, OverflowError) as error:
        raise BackupRefused("The backup's own list of parts can't be read; it is damaged. Use another.") from error
    if format_ != FORMAT or migrations - _known_migrations():
        raise BackupRefused(
            f"This backup was written by Coatround {version}, which is newer than this one ({__version__}). "
            "Install that version or a newer one, then restore."
        )
    _check_names(names, set(parts))
    return {"parts": parts}


def _check_names(names: list[str], listed: set[str]) -> None:
    for name in [*names, *listed]:
        path = PurePosixPath(name)
        allowed = name in (LIST_PART, DATABASE_FILE, SECRET_FILE) or path.parts[:1] in KEPT_TOPS
        if path.is_absolute() or ".." in path.parts or "\\" in name or ":" in name or not allowed:
            raise BackupRefused(f"The backup holds {name!r}, which has no place in one. Do not trust this file.")
    if len(names) != len(set(names)) or set(names) - {LIST_PART} != listed or DATABASE_FILE not in listed:
        raise BackupRefused("The backup's parts are not those it lists; it is damaged. Use another.")


def _known_migrations() -> set[tuple[str, str]]:
    """The migrations that this version has; a backup with others was written by a newer one."""
    import django
    from django.db.migrations.loader import MigrationLoader

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coatround.web.settings")
    django.setup()
    loader = MigrationLoader(None, ignore_no_migrations=True)
    return set(loader.disk_migrations or ())


def _take_out(packed: zipfile.ZipFile, name: str, part: tuple[int, str], folder: Path) -> None:
    """Writes one part where it belongs, and compares it with what the list says."""
    size, digest = part
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    seen, written = hashlib.sha256(), 0
    with (
        packed.open(name) as source,
        os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file,
    ):
        while chunk := source.read(CHUNK):
            written += len(chunk)
            if written > size:
                break
            seen.update(chunk)
            file.write(chunk)
        file.flush()
        os.fsync(file.fileno())
    if written != size or seen.hexdigest() != digest:
        raise BackupRefused(f"{name} in the backup is not as it was written; the file is damaged. Use another.")


def _check_database(database: Path) -> None:
    """A last look by SQLite itself."""
    try:
        with contextlib.closing(sqlite3.connect(database)) as open_:
            found = open_.execute("PRAGMA quick_check").fetchone()[0]
    except sqlite3.Error as error:
        found = str(error)
    if found != "ok":
        raise BackupRefused(f"The backup's records are damaged ({found}). Use another.")

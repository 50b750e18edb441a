"""`coatround backup` and `coatround restore`: everything a person owns in one file, and out of it again."""

import argparse
import os
import sys
from collections.abc import Sequence
from pathlib import Path

from coatround import home as home_module
from coatround.backup_file import BackupRefused, read_into, write_backup
from coatround.start import named

LATER = (
    "The file is not encrypted: whoever has it can read every name, address and gate code in it, and make links that "
    "sign in. Keep it where you would keep a door key."
)


def backup_parser() -> argparse.ArgumentParser:
    told = argparse.ArgumentParser(
        prog="coatround backup",
        description="Writes everything you own into one file: records, photos, letters, the key that signs links. "
        f"Coatround may be running meanwhile. {LATER}",
        epilog="Example: coatround backup --out groomer-monday.zip. It ends with 0 when it is whole, else 2.",
    )
    told.add_argument("--home", metavar="DIR", type=named, help="the folder that holds everything you own")
    told.add_argument(
        "--out", metavar="FILE", type=named, required=True, help="the file to write, like groomer-monday.zip"
    )
    told.add_argument("--force", action="store_true", help="write over the file if it is there already")
    return told


def restore_parser() -> argparse.ArgumentParser:
    told = argparse.ArgumentParser(
        prog="coatround restore",
        description="Puts a backup's contents into an empty folder. Every part is compared with what was written "
        "before anything is put there; a damaged file leaves the folder as it was. Nothing is ever written over.",
        epilog="Example: coatround restore groomer-monday.zip --home new, then coatround serve --home new. "
        "It ends with 0 when everything is there, 1 when the folder is not empty, 2 when the file can't be used.",
    )
    told.add_argument("file", metavar="FILE", type=named, help="a file that coatround backup wrote")
    told.add_argument("--home", metavar="DIR", type=named, help="an empty folder, or one that is not there yet")
    return told


def backup_main(argv: Sequence[str]) -> int:
    """Writes a backup; returns the exit status."""
    asked = backup_parser().parse_args(argv)
    try:
        _sqlite_only("coatround backup")
        out = Path(asked.out)
        parts, size = write_backup(_home(asked.home), out, replace=asked.force)
    except BackupRefused as error:
        return _refused("backup", error)
    print(f"{out}: {parts} parts, {size / 1_000_000:.1f} MB. It is not encrypted; keep it like a door key.")
    return 0


def restore_main(argv: Sequence[str]) -> int:
    """Restores a backup; returns the exit status."""
    asked = restore_parser().parse_args(argv)
    try:
        _sqlite_only("coatround restore")
        home = _home(asked.home)
        parts = read_into(Path(asked.file), home)
    except BackupRefused as error:
        return _refused("restore", error)
    print(f"{home}: {parts} parts are there again, each as it was written. Next: coatround serve --home {home}")
    return 0


def _home(folder: str | None) -> Path:
    return Path(folder).resolve() if folder else home_module.home_folder()


def _sqlite_only(command: str) -> None:
    if os.environ.get("COATROUND_DATABASE", "").strip():
        raise BackupRefused(
            f"{command} is for records kept in the home folder, and COATROUND_DATABASE names a PostgreSQL database. "
            "Use PostgreSQL's own pg_dump and pg_restore for that, and copy the home folder's photos and secret.key."
        )


def _refused(command: str, error: BackupRefused) -> int:
    print(f"coatround {command}: {error}", file=sys.stderr)
    return error.status

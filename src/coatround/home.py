"""The one folder that holds everything a person owns: database, photos, letters, the key that signs links."""

import os
import secrets
from pathlib import Path

import platformdirs

SECRET_FILE = "secret.key"  # noqa: S105 - a file name
DATABASE_FILE = "coatround.sqlite3"
FOLDERS = ("photos", "bringing", "proposals")


class NoSuchPath(Exception):
    """What was typed names no file or folder; the message says why and what to do."""


def path(typed: str) -> Path:
    """A file or folder as typed, `~` being this person's own folder; raises NoSuchPath when it names none."""
    if not typed.strip():
        raise NoSuchPath("the name of the file or folder is empty. Write it out, like groomer.")
    try:
        return Path(typed).expanduser()
    except RuntimeError as error:
        raise NoSuchPath(f"{typed!r}: nobody here is called {typed.split('/')[0]}. Write the whole path.") from error


def home_folder() -> Path:
    """The folder named by COATROUND_HOME, else the system's data folder."""
    named = os.environ.get("COATROUND_HOME", "").strip()
    return path(named).resolve() if named else Path(platformdirs.user_data_dir("coatround", False))


def prepare(home: Path) -> None:
    """Makes the folder and its signing key where they are missing; only its owner may read it."""
    home.mkdir(parents=True, exist_ok=True, mode=0o700)
    for folder in FOLDERS:
        (home / folder).mkdir(exist_ok=True, mode=0o700)
    secret = home / SECRET_FILE
    if not secret.exists():
        descriptor = os.open(secret, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(descriptor, "w") as file:
            file.write(secrets.token_urlsafe(48))


def secret_key(home: Path) -> str:
    """The signing key: COATROUND_SECRET_KEY, else the home's own, else one that lives as long as this process.

    Raises OSError when the home's own can't be read, ValueError when it is empty or no text.
    """
    named = os.environ.get("COATROUND_SECRET_KEY", "")
    file = home / SECRET_FILE
    if named or not file.exists():
        return named or secrets.token_urlsafe(48)
    key = file.read_text().strip()
    if not key:
        raise ValueError("it is empty")
    return key

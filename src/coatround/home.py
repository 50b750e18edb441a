"""The one folder that holds everything a person owns: database, photos, letters, the key that signs links."""

import os
import secrets
from pathlib import Path

import platformdirs

SECRET_FILE = "secret.key"  # noqa: S105 - a file name
DATABASE_FILE = "coatround.sqlite3"
FOLDERS = ("photos", "bringing", "proposals")


def home_folder() -> Path:
    """The folder named by COATROUND_HOME, else the system's data folder."""
    named = os.environ.get("COATROUND_HOME", "").strip()
    return Path(named).expanduser().resolve() if named else Path(platformdirs.user_data_dir("coatround", False))


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
    """The signing key: COATROUND_SECRET_KEY, else the home's own, else one that lives as long as this process."""
    named = os.environ.get("COATROUND_SECRET_KEY", "")
    file = home / SECRET_FILE
    return named or (file.read_text() if file.exists() else secrets.token_urlsafe(48))

"""How far an adding of roads has come, written beside the roads for whoever looks, and the wish to stop it."""

import contextlib
import json
import time
from dataclasses import asdict, dataclass
from pathlib import Path

from coatround.roads.in_use import ROADS

FILE, STOP = "adding.json", "stop"
SILENT_SECONDS = 120
"""An adding that was not heard of for so long has ended by itself."""


@dataclass(frozen=True, slots=True)
class Adding:
    """One adding: `state` is building, done, refused or stopped; `heard_at` seconds since 1970."""

    file: str
    state: str
    percent: int
    words: str
    heard_at: float

    @property
    def is_running(self) -> bool:
        return self.state == "building" and not self.is_silent

    @property
    def is_silent(self) -> bool:
        """Whether it should be building and has not been heard for too long."""
        return self.state == "building" and time.time() - self.heard_at > SILENT_SECONDS


def write_progress(home: Path, file: str, state: str, percent: int, words: str) -> None:
    """Says how far it is; the words are for people. A full disk is no reason to fail here."""
    folder = home / ROADS
    new = folder / f"{FILE}.new"
    with contextlib.suppress(OSError):
        folder.mkdir(exist_ok=True, mode=0o700)
        new.write_text(json.dumps(asdict(Adding(file, state, percent, words, time.time()))))
        new.replace(folder / FILE)


def read_progress(home: Path) -> Adding | None:
    """The last adding, None where there was none."""
    try:
        return Adding(**json.loads((home / ROADS / FILE).read_text()))
    except (OSError, ValueError, TypeError):
        return None


def ask_to_stop(home: Path) -> None:
    """Asks the adding that runs to stop."""
    with contextlib.suppress(OSError):
        (home / ROADS / STOP).touch()


def stop_asked(home: Path) -> bool:
    return (home / ROADS / STOP).exists()


def clear_progress(home: Path) -> None:
    """Forgets the last adding and any wish to stop it."""
    for name in (FILE, STOP):
        (home / ROADS / name).unlink(missing_ok=True)

"""A file between its preview and its acceptance: it waits under the home folder with what was chosen for it."""

from __future__ import annotations

import datetime as dt
import json
import shutil
import uuid
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import Any

from django.conf import settings

from coatround.ids import uuid7

_FILE, _CHOSEN = "file", "chosen.json"
KEPT_DAYS = 30  # our own default: a file that waits longer is let go


@dataclass(frozen=True)
class Done:
    """What became of an accepted file."""

    rows: int
    made: int
    joined: int
    changes: int
    refused: tuple[tuple[int, str], ...]
    ending: str


@dataclass(frozen=True)
class Waiting:
    """One file that was handed over, the columns and order of dates chosen for it, and the rows to leave out."""

    id: uuid.UUID
    name: str
    at: dt.datetime
    columns: Mapping[int, str] = field(default_factory=dict)
    dates: str = ""
    left_out: tuple[int, ...] = ()
    done: Done | None = None

    @property
    def folder(self) -> Path:
        return _root() / str(self.id)

    @property
    def data(self) -> bytes:
        return (self.folder / _FILE).read_bytes()

    @property
    def refused_file(self) -> Path:
        return self.folder / "refused"


def _root() -> Path:
    return Path(settings.HOME) / "bringing"


def hand_over(data: bytes, name: str, now: dt.datetime) -> Waiting:
    """Keep a file until it is accepted or left."""
    let_old_go(now)
    waiting = Waiting(uuid7(), Path(name.replace("\\", "/")).name[:120] or "file", now)
    waiting.folder.mkdir(parents=True, mode=0o700)
    (waiting.folder / _FILE).write_bytes(data)
    return choose(waiting)


def choose(waiting: Waiting, **chosen: Any) -> Waiting:
    """Keep what was chosen."""
    waiting = replace(waiting, **chosen)
    written = asdict(waiting) | {"id": str(waiting.id), "at": waiting.at.isoformat()}
    (waiting.folder / _CHOSEN).write_text(json.dumps(written), encoding="utf-8")
    return waiting


def find(pk: uuid.UUID) -> Waiting | None:
    """The file of this id, or None where it was let go."""
    try:
        kept = json.loads((_root() / str(pk) / _CHOSEN).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    done = kept["done"]
    return Waiting(
        id=pk,
        name=kept["name"],
        at=dt.datetime.fromisoformat(kept["at"]),
        columns={int(at): name for at, name in kept["columns"].items()},
        dates=kept["dates"],
        left_out=tuple(kept["left_out"]),
        done=Done(**done | {"refused": tuple((row, reason) for row, reason in done["refused"])}) if done else None,
    )


def finish(waiting: Waiting, done: Done, refused: bytes) -> Waiting:
    """Keep the outcome and the refused rows; the file itself, with all that it holds of people, goes."""
    if refused:
        waiting.refused_file.write_bytes(refused)
    (waiting.folder / _FILE).unlink(missing_ok=True)
    return choose(waiting, done=done)


def leave(waiting: Waiting) -> None:
    """Let a file go."""
    shutil.rmtree(waiting.folder, ignore_errors=True)


def all_waiting() -> list[Waiting]:
    """Files that were handed over and not yet accepted, the latest first."""
    found = (find(pk) for pk in _ids())
    return sorted((one for one in found if one and not one.done), key=lambda one: one.at, reverse=True)


def let_old_go(now: dt.datetime) -> None:
    """Let go of what has waited too long."""
    for pk in _ids():
        waiting = find(pk)
        if waiting and now - waiting.at > dt.timedelta(days=KEPT_DAYS):
            leave(waiting)


def _ids() -> list[uuid.UUID]:
    found = []
    for folder in _root().iterdir() if _root().exists() else ():
        try:
            found.append(uuid.UUID(folder.name))
        except ValueError:
            continue
    return found

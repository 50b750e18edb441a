"""The plain records of a visit, version 1: what a phone may send, checked without a database or a clock.

A record is a JSON object: id (UUIDv7), kind, version, said_at, visit, corrects (when it stands in place of an
earlier record) and body. docs/visit.md describes every kind. `plain(checked(raw))` checks to the same record again.
"""

import datetime as dt
import uuid
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from coatround.core import visit_shapes as shapes
from coatround.core.checking import Key, Refusal, Refused, instant, one_of, record_id, row_id, shown, whole_object
from coatround.core.visit_bodies import Body

VERSION = 1


def _as_it_is(value: object, path: str) -> object:
    return value


BODIES: Mapping[str, Callable[[object, dt.datetime], Body]] = {
    "fit": shapes.fit,
    "groom": shapes.groom,
    "handing-back": shapes.handing_back,
    "incident": shapes.incident,
    "visit-change": shapes.visit_change,
    "caution-seen": shapes.caution_seen,
}
ENVELOPE: Mapping[str, Key] = {
    "id": Key(record_id, needed=True),
    "kind": Key(one_of(tuple(BODIES)), needed=True),
    "version": Key(_as_it_is, needed=True),
    "said_at": Key(instant, needed=True),
    "visit": Key(row_id),
    "corrects": Key(row_id),
    "body": Key(_as_it_is, needed=True),
}
WITHOUT_VISIT = ("incident",)
NOT_CORRECTABLE = ("visit-change", "caution-seen")


@dataclass(frozen=True)
class CheckedRecord:
    """A record whose shape is right; whether its visit and dog exist is asked elsewhere. `said_at` is in UTC."""

    id: uuid.UUID
    kind: str
    version: int
    said_at: dt.datetime
    visit: uuid.UUID | None
    corrects: uuid.UUID | None
    body: Body


def checked(raw: object) -> CheckedRecord | Refusal:
    """The record in a JSON value, or why it is refused; never raises on any JSON."""
    try:
        return _checked(raw)
    except Refused as refused:
        return refused.refusal


def _checked(raw: object) -> CheckedRecord:
    found = whole_object(raw, "", ENVELOPE)
    version, kind = found["version"], found["kind"]
    if type(version) is not int or version != VERSION:
        raise Refused(
            "unknown-version",
            f"version is {shown(version)}; this Coatround reads version {VERSION}. "
            "Bring the older side up to date; the record waits where it is.",
            "version",
        )
    if "visit" not in found and kind not in WITHOUT_VISIT:
        raise Refused("missing-key", "visit is missing; a record of this kind belongs to one. Add it.", "visit")
    if "corrects" in found and kind in NOT_CORRECTABLE:
        raise Refused(
            "not-correctable",
            f"A {kind} stands for itself and corrects nothing. Leave corrects out and say how it is now.",
            "corrects",
        )
    if found.get("corrects") == found["id"]:
        raise Refused("corrects-itself", "A record can't correct itself. Give the new one its own id.", "corrects")
    return CheckedRecord(
        id=found["id"],
        kind=kind,
        version=version,
        said_at=found["said_at"],
        visit=found.get("visit"),
        corrects=found.get("corrects"),
        body=BODIES[kind](found["body"], found["said_at"]),
    )

"""The plain records of a visit, version 2: what a phone may send, checked without a database or a clock.

A record is a JSON object: id (UUIDv7), kind, version, by (who said it), said_at, visit, corrects (when it stands in
place of an earlier record) and body. Version 1 is read as well: it does not say by whom, and so is said by whoever
sends it. docs/visit.md describes every kind. `plain(checked(raw))` checks to the same record again.
"""

import datetime as dt
import uuid
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from coatround.core import visit_shapes as shapes
from coatround.core.checking import Key, Refusal, Refused, instant, one_of, record_id, row_id, shown, whole_object
from coatround.core.visit_bodies import Body

VERSION = 2
READABLE = (1, VERSION)
"""What an older phone still holds is accepted: a version is taken out only when no phone can hold it any more."""


def _as_it_is(value: object, path: str) -> object:
    return value


BODIES: Mapping[str, Callable[[object, dt.datetime], Body]] = {
    "fit": shapes.fit,
    "groom": shapes.groom,
    "handing-back": shapes.handing_back,
    "incident": shapes.incident,
    "visit-change": shapes.visit_change,
    "caution-seen": shapes.caution_seen,
    "keys-seen": shapes.keys_seen,
    "choice": shapes.choice,
}
ENVELOPE: Mapping[str, Key] = {
    "id": Key(record_id, needed=True),
    "kind": Key(one_of(tuple(BODIES)), needed=True),
    "version": Key(_as_it_is, needed=True),
    "by": Key(row_id),
    "said_at": Key(instant, needed=True),
    "visit": Key(row_id),
    "corrects": Key(row_id),
    "body": Key(_as_it_is, needed=True),
}
FIRST_ENVELOPE: Mapping[str, Key] = {name: key for name, key in ENVELOPE.items() if name != "by"}
WITHOUT_VISIT = ("incident",)
NOT_CORRECTABLE = ("visit-change", "caution-seen", "keys-seen", "choice")


@dataclass(frozen=True)
class CheckedRecord:
    """A record whose shape is right; whether its visit and dog exist is asked elsewhere. `said_at` is in UTC.

    `by` is None in version 1 only.
    """

    id: uuid.UUID
    kind: str
    version: int
    said_at: dt.datetime
    visit: uuid.UUID | None
    corrects: uuid.UUID | None
    body: Body
    by: uuid.UUID | None = None


def checked(raw: object) -> CheckedRecord | Refusal:
    """The record in a JSON value, or why it is refused; never raises on any JSON."""
    try:
        return _checked(raw)
    except Refused as refused:
        return refused.refusal


def _checked(raw: object) -> CheckedRecord:
    first = isinstance(raw, dict) and raw.get("version") == 1
    found = whole_object(raw, "", FIRST_ENVELOPE if first else ENVELOPE)
    version, kind = found["version"], found["kind"]
    if type(version) is not int or version not in READABLE:
        raise Refused(
            "unknown-version",
            f"version is {shown(version)}; this Coatround reads versions {READABLE[0]} to {VERSION}. "
            "Bring the older side up to date; the record waits where it is.",
            "version",
        )
    if version == VERSION and "by" not in found:
        raise Refused("missing-key", "by is missing; a record names who said it. Add it and send it again.", "by")
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
        by=found.get("by"),
    )

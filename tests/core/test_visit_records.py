"""The plain records of a visit: what is accepted, what is refused with which code; nothing makes it fall over."""

import datetime as dt
import uuid
from dataclasses import fields
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatround.core import visit_words as words
from coatround.core.checking import Refusal, plain
from coatround.core.visit_bodies import (
    CautionSeenBody,
    Cotton,
    FitBody,
    GroomBody,
    HandingBackBody,
    IncidentBody,
    VisitChangeBody,
)
from coatround.core.visit_records import BODIES, CheckedRecord, checked
from coatround.ids import uuid7_from

VISIT = "01998a3c-0000-7000-8000-000000000001"
DOG = "01998a3c-0000-7000-8000-000000000002"
PRODUCT = "01998a3c-0000-7000-8000-000000000003"
SAID = "2026-03-03T11:02:00+11:00"

BARE: dict[str, dict[str, Any]] = {
    "fit": {"dog": DOG, "answer": "go"},
    "groom": {"dog": DOG},
    "handing-back": {"price_cents": 8500, "paid": "not paid", "next": {"how": "ask"}},
    "incident": {"dog": DOG, "kind": "nick", "happened_at": SAID, "words": "Left ear edge, two millimetres."},
    "visit-change": {"answer": "ACCEPTED"},
    "caution-seen": {"dog": DOG, "cautions": [PRODUCT]},
    "keys-seen": {"place": PRODUCT},
    "choice": {"kept": DOG, "left": PRODUCT},
}


def record(kind: str, /, **changed: Any) -> dict[str, Any]:
    """A record of a kind with the least it needs, and some of its body changed."""
    body = {**BARE[kind], **changed}
    rid = str(uuid7_from(1_772_496_120_000, 7))
    return {"id": rid, "kind": kind, "version": 1, "said_at": SAID, "visit": VISIT, "body": body}


def code_of(raw: object) -> str:
    found = checked(raw)
    assert isinstance(found, Refusal), found
    assert found.words.endswith(".")
    return found.code


def accepted(raw: object) -> CheckedRecord:
    found = checked(raw)
    assert isinstance(found, CheckedRecord), found
    return found


@pytest.mark.parametrize("kind", BODIES)
def test_it_works(kind: str) -> None:
    """The least of every kind is accepted; its instant is kept in UTC."""
    found = accepted(record(kind))
    assert found.said_at == dt.datetime(2026, 3, 3, 0, 2, tzinfo=dt.UTC)
    assert (found.kind, str(found.visit), found.corrects) == (kind, VISIT, None)


def test_the_usual_done_says_no_more_than_the_dog() -> None:
    body = accepted(record("groom")).body
    assert body == GroomBody(dog=uuid.UUID(DOG), state="COMPLETED", usual_done=True)


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"id": "7"}, "not-an-id"),
        ({"id": str(uuid.UUID(int=5, version=4))}, "not-an-id"),
        ({"id": "{01998a3c-0000-7000-8000-000000000001}"}, "not-an-id"),
        ({"kind": "letter"}, "unknown-word"),
        ({"version": 2}, "missing-key"),
        ({"by": DOG}, "unknown-key"),
        ({"version": 3, "by": DOG}, "unknown-version"),
        ({"version": True}, "unknown-version"),
        ({"version": 1.0}, "unknown-version"),
        ({"said_at": "2026-03-03T11:02:00"}, "not-an-instant"),
        ({"said_at": "yesterday"}, "not-an-instant"),
        ({"said_at": 1772496120}, "not-an-instant"),
        ({"said_at": "1970-01-01T00:00:00+00:00"}, "far-off"),
        ({"said_at": "9999-12-31T23:59:59-14:00"}, "far-off"),
        ({"visit": None}, "missing-key"),
        ({"visit": "x" * 100_000}, "not-an-id"),
        ({"body": None}, "missing-key"),
        ({"body": []}, "not-an-object"),
        ({"corrects": str(uuid7_from(1_772_496_120_000, 7))}, "corrects-itself"),
        ({"mood": "good"}, "unknown-key"),
    ],
)
def test_refuses_a_wrong_envelope(changed: dict[str, Any], code: str) -> None:
    assert code_of({**record("groom"), **changed}) == code


@pytest.mark.parametrize("raw", [None, 5, "text", [], {}, float("nan"), True, {"id": {}}])
def test_refuses_what_is_no_record(raw: object) -> None:
    assert code_of(raw) in ("not-an-object", "missing-key", "not-an-id")


@pytest.mark.parametrize(
    ("kind", "changed", "code"),
    [
        ("fit", {"answer": "maybe"}, "unknown-word"),
        ("fit", {"signs": ["kennel"]}, "unknown-word"),
        ("fit", {"signs": "cough"}, "wrong-type"),
        ("fit", {"signs": ["cough"] * 99}, "too-many"),
        ("fit", {"signs": ["cough"], "answer": "go"}, "reason-needed"),
        ("groom", {"dog": None}, "missing-key"),
        ("groom", {"water_l": float("nan")}, "wrong-type"),
        ("groom", {"water_l": 18.0}, "wrong-type"),
        ("groom", {"water_l": True}, "wrong-type"),
        ("groom", {"water_l": -1}, "out-of-range"),
        ("groom", {"water_l": 10**400}, "out-of-range"),
        ("groom", {"notes": "x" * 2001}, "too-long"),
        ("groom", {"notes": "a\x00b"}, "unreadable-text"),
        ("groom", {"notes": "\ud800"}, "unreadable-text"),
        ("groom", {"state": "DONE"}, "unknown-word"),
        ("groom", {"state": "CANCELLED"}, "reason-needed"),
        ("groom", {"steps": [{"step": "polish"}]}, "unknown-word"),
        ("groom", {"steps": [{"step": "nails", "seconds": 10**9}]}, "out-of-range"),
        ("groom", {"findings": [{"part": "tail", "kind": "lump", "grade": 4}]}, "out-of-range"),
        ("groom", {"findings": [{"part": "wing", "kind": "lump", "grade": 1}]}, "unknown-word"),
        ("groom", {"cut": {"body": {"how": "blade", "mm": float("inf")}}}, "out-of-range"),
        ("groom", {"cut": {"body": {"mm": 10}}}, "missing-key"),
        ("groom", {"cut": {"wing": {"how": "blade"}}}, "unknown-key"),
        ("groom", {"measures": {"condition": 0}}, "out-of-range"),
        ("groom", {"measures": {"weight_grams": 9}}, "out-of-range"),
        ("groom", {"started_at": "2024-12-03T10:00:00+11:00"}, "far-off"),
        (
            "groom",
            {"started_at": "2026-03-03T11:00:00+11:00", "ended_at": "2026-03-03T10:00:00+11:00"},
            "ended-before-started",
        ),
        ("handing-back", {"price_cents": 10**12}, "out-of-range"),
        ("handing-back", {"price_cents": "85.00"}, "wrong-type"),
        ("handing-back", {"paid_cents": 100}, "paid-yet-not-paid"),
        ("handing-back", {"next": {"how": "usual"}}, "missing-key"),
        ("handing-back", {"next": {"how": "none", "date": "2026-04-14"}}, "date-yet-none"),
        ("handing-back", {"next": {"how": "usual", "date": "2036-04-14"}}, "far-off"),
        ("handing-back", {"next": {"how": "usual", "date": "2026-02-30"}}, "not-a-date"),
        ("handing-back", {"next": {"how": "usual", "date": "2026-04-14", "from": "09:00"}}, "half-a-window"),
        (
            "handing-back",
            {"next": {"how": "opening", "date": "2026-04-14", "from": "10:00", "until": "09:00"}},
            "window-turned-round",
        ),
        ("handing-back", {"next": {"how": "opening", "date": "2026-04-14", "from": "9", "until": "10"}}, "not-a-time"),
        ("incident", {"words": "  "}, "empty-text"),
        ("incident", {"happened_at": "2020-03-03T10:00:00+11:00"}, "far-off"),
        ("visit-change", {"answer": None}, "nothing-changes"),
        ("visit-change", {"state": "CANCELLED"}, "reason-needed"),
        ("caution-seen", {"cautions": ["all"]}, "not-an-id"),
    ],
)
def test_refuses_a_wrong_body(kind: str, changed: dict[str, Any], code: str) -> None:
    assert code_of(record(kind, **changed)) == code


def test_a_refusal_names_where() -> None:
    found = checked(record("groom", findings=[{"part": "tail", "kind": "lump", "grade": 4}]))
    assert isinstance(found, Refusal)
    assert found.path == "body.findings[0].grade"
    assert "is 4; expected a whole number from 0 to 3" in found.words


def test_every_piece_of_cotton_is_accounted_for() -> None:
    """Two in, one taken out, one swallowed adds up, and is rung now; two in and one out is refused."""
    body = accepted(record("groom", cotton={"in": 2, "taken_out": 1, "swallowed": 1})).body
    assert isinstance(body, GroomBody)
    assert body.cotton == Cotton(in_=2, taken_out=1, swallowed=1)
    assert body.cotton.ring_now
    assert code_of(record("groom", cotton={"in": 2, "taken_out": 1})) == "cotton-does-not-add-up"


def test_the_tip_stands_apart() -> None:
    body = accepted(record("handing-back", paid="cash", paid_cents=8500, tip_cents=500)).body
    assert isinstance(body, HandingBackBody)
    assert (body.price_cents, body.paid_cents, body.tip_cents) == (8500, 8500, 500)


def test_paid_without_an_amount_is_the_whole_price() -> None:
    body = accepted(record("handing-back", paid="card")).body
    assert isinstance(body, HandingBackBody)
    assert body.paid_cents == 8500
    nothing = accepted(record("handing-back")).body
    assert isinstance(nothing, HandingBackBody)
    assert nothing.paid_cents == 0


def test_only_an_incident_may_stand_without_a_visit() -> None:
    assert accepted({**record("incident"), "visit": None}).visit is None
    assert code_of({**record("caution-seen"), "corrects": PRODUCT}) == "not-correctable"


GRADES = st.integers(0, 3)
TEXTS = st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), max_size=60)
INSTANTS = st.datetimes(dt.datetime(2026, 3, 1), dt.datetime(2026, 3, 3)).map(lambda at: at.isoformat() + "+11:00")
STEPS = st.fixed_dictionaries(
    {"step": st.sampled_from(words.STEPS)},
    optional={
        "done": st.booleans(),
        "product": st.just(PRODUCT),
        "product_ml": st.integers(0, 900),
        "seconds": st.integers(0, 4000),
        "words": TEXTS,
    },
)
FINDINGS = st.fixed_dictionaries(
    {"part": st.sampled_from(words.PARTS), "kind": st.sampled_from(words.FINDINGS), "grade": GRADES},
    optional={"words": TEXTS},
)
CUTS = st.dictionaries(
    st.sampled_from(words.CUT_PARTS),
    st.fixed_dictionaries(
        {"how": st.sampled_from(words.CUT_WAYS)},
        optional={"mm": st.floats(0, 100, allow_nan=False) | st.integers(0, 100)},
    ),
)
MEASURES = st.fixed_dictionaries(
    {}, optional={"weight_grams": st.integers(200, 90_000), "condition": st.integers(1, 9), "left_ear": GRADES}
)
GROOMS = st.fixed_dictionaries(
    {"dog": st.just(DOG)},
    optional={
        "usual_done": st.booleans(),
        "steps": st.lists(STEPS, max_size=6),
        "findings": st.lists(FINDINGS, max_size=4),
        "cut": CUTS,
        "measures": MEASURES,
        "stood": st.sampled_from(words.STOOD),
        "notes": TEXTS,
        "started_at": INSTANTS,
        "cotton": st.integers(0, 6).map(lambda count: {"in": count, "taken_out": count}),
    },
)
WINDOWS = st.sampled_from([{}, {"from": "09:00", "until": "09:45"}])
HANDED = st.fixed_dictionaries(
    {
        "price_cents": st.integers(0, 90_000),
        "paid": st.sampled_from(words.PAID[:3]),
        "paid_cents": st.integers(0, 90_000),
        "tip_cents": st.integers(0, 9_000),
        "next": WINDOWS.map(lambda window: {"how": "usual", "date": "2026-04-14", **window}),
    },
    optional={"notes": TEXTS},
)
BODY_OF = st.one_of(
    GROOMS.map(lambda body: record("groom") | {"body": body}),
    HANDED.map(lambda body: record("handing-back") | {"body": body}),
    st.lists(st.sampled_from(words.FIT_SIGNS), max_size=5).map(
        lambda signs: record("fit", signs=signs, answer="vet", reason="Owner agreed.")
    ),
)


@settings(max_examples=80, deadline=None)
@given(BODY_OF)
def test_a_checked_record_round_trips(raw: dict[str, Any]) -> None:
    """Written as plain JSON and checked again, it is the same record."""
    found = accepted(raw)
    assert accepted(plain(found)) == found


LEAVES = st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20)
LEAVES |= st.sampled_from([VISIT, DOG, SAID, "2026-04-14", "09:00", "usual", "cash", "tail", "lump", 1, 0])
ANY_JSON = st.recursive(
    LEAVES,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=12,
)
BODY_TYPES = (FitBody, GroomBody, HandingBackBody, IncidentBody, VisitChangeBody, CautionSeenBody)
KEYS = sorted({field.name for body in BODY_TYPES for field in fields(body)})


@settings(max_examples=150, deadline=None)
@given(ANY_JSON)
def test_no_json_makes_it_fall_over(raw: Any) -> None:
    assert isinstance(checked(raw), CheckedRecord | Refusal)


@settings(max_examples=150, deadline=None)
@given(
    st.sampled_from(sorted(BODIES)),
    st.dictionaries(st.sampled_from(KEYS), ANY_JSON, max_size=4),
    st.dictionaries(st.sampled_from(["id", "version", "said_at", "visit", "corrects"]), ANY_JSON, max_size=1),
)
def test_no_body_makes_it_fall_over(kind: str, changed: dict[str, Any], outside: dict[str, Any]) -> None:
    """Any value in any known place is accepted, or refused with a code and words."""
    found = checked({**record(kind, **changed), **outside})
    assert isinstance(found, CheckedRecord) or (found.code and found.words)


def test_the_second_version_says_by_whom() -> None:
    said = checked({**record("groom"), "version": 2, "by": DOG})
    assert isinstance(said, CheckedRecord)
    assert (said.version, said.by) == (2, uuid.UUID(DOG))
    assert accepted(record("groom")).by is None

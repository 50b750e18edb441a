"""Reads the body of a visit record strictly into its type; every rule that needs no database stands here."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from coatround.core import visit_words as words
from coatround.core.checking import (
    Key,
    Reader,
    Refused,
    clock,
    date,
    instant,
    list_of,
    one_of,
    row_id,
    tenths,
    text,
    whole,
    whole_object,
    yes_or_no,
)
from coatround.core.fit import fit_today, is_milder
from coatround.core.visit_bodies import (
    CautionSeenBody,
    ChoiceBody,
    Cotton,
    CutPart,
    FitBody,
    Found,
    GroomBody,
    HandingBackBody,
    IncidentBody,
    KeysSeenBody,
    Measures,
    Next,
    StepDone,
    VisitChangeBody,
)

MOST_CENTS = 100_000_000
MOST_SECONDS = 12 * 3600
WRITTEN_LATE_DAYS = 400  # paper is copied in weeks later; a slip of a year or more shows
CLOCK_DAYS = 7  # a phone's clock may be wrong by days
NEXT_DAYS = 800
PYTHON_NAMES = {"in": "in_", "from": "from_"}


def _part(kind: type, keys: Mapping[str, Key]) -> Reader:
    """A reader of an object with these keys into its type."""

    def read(value: object, path: str) -> Any:
        found = whole_object(value, path, keys)
        return kind(**{PYTHON_NAMES.get(name, name): part for name, part in found.items()})

    return read


def _cut_part(value: object, path: str) -> dict[str, Any]:
    return whole_object(value, path, {"how": Key(one_of(words.CUT_WAYS), needed=True), "mm": Key(tenths(0, 200))})


def _cut(value: object, path: str) -> tuple[CutPart, ...]:
    parts = whole_object(value, path, {part: Key(_cut_part) for part in words.CUT_PARTS})
    return tuple(CutPart(part, **parts[part]) for part in words.CUT_PARTS if part in parts)


_GRADE = whole(0, 3)
_CENTS = whole(0, MOST_CENTS)
_SECONDS = whole(0, MOST_SECONDS)
_STEP = _part(
    StepDone,
    {
        "step": Key(one_of(words.STEPS), needed=True),
        "done": Key(yes_or_no),
        "product": Key(row_id),
        "product_ml": Key(whole(0, 20_000)),
        "seconds": Key(_SECONDS),
        "words": Key(text(200)),
    },
)
_FOUND = _part(
    Found,
    {
        "part": Key(one_of(words.PARTS), needed=True),
        "kind": Key(one_of(words.FINDINGS), needed=True),
        "grade": Key(_GRADE, needed=True),
        "words": Key(text(240)),
    },
)
_COTTON_ENDS = ("taken_out", "fell_out", "swallowed", "not_found")
_COTTON = _part(Cotton, {name: Key(whole(0, 20)) for name in ("in", *_COTTON_ENDS)})
_MEASURES = _part(
    Measures,
    {
        "weight_grams": Key(whole(200, 150_000)),
        "condition": Key(whole(1, 9)),
        "left_ear": Key(_GRADE),
        "right_ear": Key(_GRADE),
        "skin": Key(_GRADE),
        "hair_grams": Key(whole(0, 5_000)),
        "hair_grade": Key(_GRADE),
    },
)
_NEXT = _part(
    Next, {"how": Key(one_of(words.NEXT_HOW), needed=True), "date": Key(date), "from": Key(clock), "until": Key(clock)}
)
_FIT = _part(
    FitBody,
    {
        "dog": Key(row_id, needed=True),
        "answer": Key(one_of(words.FIT_ANSWERS), needed=True),
        "signs": Key(list_of(one_of(words.FIT_SIGNS), len(words.FIT_SIGNS))),
        "reason": Key(text(300)),
    },
)
_GROOM = _part(
    GroomBody,
    {
        "dog": Key(row_id, needed=True),
        "state": Key(one_of(words.GROOM_STATES)),
        "usual_done": Key(yes_or_no),
        "steps": Key(list_of(_STEP, 60)),
        "started_at": Key(instant),
        "ended_at": Key(instant),
        "work_seconds": Key(_SECONDS),
        "water_l": Key(whole(0, 2_000)),
        "cotton": Key(_COTTON),
        "findings": Key(list_of(_FOUND, 60)),
        "cut": Key(_cut),
        "measures": Key(_MEASURES),
        "stood": Key(one_of(("", *words.STOOD))),
        "notes": Key(text(2_000)),
        "why_not": Key(text(200)),
    },
)
_HANDING_BACK = _part(
    HandingBackBody,
    {
        "price_cents": Key(_CENTS, needed=True),
        "paid": Key(one_of(words.PAID), needed=True),
        "next": Key(_NEXT, needed=True),
        "paid_cents": Key(_CENTS),
        "tip_cents": Key(_CENTS),
        "notes": Key(text(300)),
    },
)
_INCIDENT = _part(
    IncidentBody,
    {
        "dog": Key(row_id, needed=True),
        "kind": Key(one_of(words.INCIDENTS), needed=True),
        "happened_at": Key(instant, needed=True),
        "words": Key(text(2_000, least=1), needed=True),
        "what_was_done": Key(text(2_000)),
        "owner_told": Key(yes_or_no),
        "vet_rung": Key(yes_or_no),
        "insurer_told": Key(yes_or_no),
    },
)
_VISIT_CHANGE = _part(
    VisitChangeBody,
    {
        "state": Key(one_of(words.VISIT_STATES)),
        "answer": Key(one_of(words.ANSWERS)),
        "told_from": Key(clock),
        "told_until": Key(clock),
        "why": Key(text(200)),
    },
)
_CAUTION_SEEN = _part(
    CautionSeenBody, {"dog": Key(row_id, needed=True), "cautions": Key(list_of(row_id, 40), needed=True)}
)

_KEYS_SEEN = _part(KeysSeenBody, {"place": Key(row_id, needed=True)})
_CHOICE = _part(ChoiceBody, {"kept": Key(row_id, needed=True), "left": Key(row_id, needed=True)})


def _near(instant_said: dt.datetime, said_at: dt.datetime, days_before: int, days_after: int, path: str) -> None:
    if not -days_before <= (instant_said - said_at) / dt.timedelta(days=1) <= days_after:
        raise Refused(
            "far-off",
            f"{path} is {instant_said.isoformat()}, too far from when the record was written ({said_at.isoformat()}). "
            "Look at the date and the phone's clock, then save it again.",
            path,
        )


def _window(first: dt.time | None, last: dt.time | None, path: str) -> None:
    if (first is None) != (last is None):
        raise Refused("half-a-window", "A window takes both its ends. Add the other time, or leave both out.", path)
    if first is not None and last is not None and first >= last:
        raise Refused(
            "window-turned-round",
            f"The window ends ({last:%H:%M}) before it begins ({first:%H:%M}). Turn the times round.",
            path,
        )


def fit(value: object, said_at: dt.datetime) -> FitBody:
    """A fit; an answer milder than the rule's is refused without a reason."""
    body: FitBody = _FIT(value, "body")
    rule = fit_today(body.signs, matted_off_agreed=True)
    if is_milder(body.answer, rule.answer) and not body.reason:
        raise Refused(
            "reason-needed",
            f"{body.answer!r} is milder than the rule's answer, {rule.answer!r} ({rule.reason}) "
            "Write why, for example that the vet was rung and agreed.",
            "body.reason",
        )
    return body


def groom(value: object, said_at: dt.datetime) -> GroomBody:
    """A groom; cotton must add up, times must stand in order and near the record's own."""
    body: GroomBody = _GROOM(value, "body")
    if body.cotton is not None:
        _adds_up(body.cotton)
    for name, time in (("body.started_at", body.started_at), ("body.ended_at", body.ended_at)):
        if time is not None:
            _near(time, said_at, WRITTEN_LATE_DAYS, CLOCK_DAYS, name)
    if body.started_at and body.ended_at and body.ended_at < body.started_at:
        raise Refused("ended-before-started", "The groom ends before it starts. Mend a time.", "body.ended_at")
    if body.started_at and body.ended_at and (body.ended_at - body.started_at).total_seconds() > MOST_SECONDS:
        raise Refused("too-long-a-groom", "The groom is longer than 12 hours. Mend a time.", "body.ended_at")
    if body.state == "CANCELLED" and not body.why_not:
        raise Refused("reason-needed", "The groom was not done, and it isn't said why. Write why.", "body.why_not")
    return body


def _adds_up(cotton: Cotton) -> None:
    ended = sum(getattr(cotton, name) for name in _COTTON_ENDS)
    if ended != cotton.in_:
        raise Refused(
            "cotton-does-not-add-up",
            f"Cotton: {cotton.in_} put in, but {ended} accounted for. Every piece is taken out, "
            "fell out and was found, was swallowed, or is not found. Look in the ears again, then count once more.",
            "body.cotton",
        )


def handing_back(value: object, said_at: dt.datetime) -> HandingBackBody:
    """A handing back; nothing is paid when it says so, and only the usual or an opening has a date."""
    body: HandingBackBody = _HANDING_BACK(value, "body")
    if body.paid == "not paid" and (body.paid_cents or body.tip_cents):
        raise Refused("paid-yet-not-paid", "It says not paid, yet an amount stands. Take out one of them.", "body.paid")
    dated = body.next.how in ("usual", "opening")
    if dated and body.next.date is None:
        raise Refused("missing-key", "The next date is missing. Choose one, or 'no next date'.", "body.next.date")
    if not dated and (body.next.date or body.next.from_ or body.next.until):
        raise Refused(
            "date-yet-none", "A next date stands beside 'none' or 'they will ring'. Take one out.", "body.next.date"
        )
    _window(body.next.from_, body.next.until, "body.next.from")
    if body.next.date and not -WRITTEN_LATE_DAYS <= (body.next.date - said_at.date()).days <= NEXT_DAYS:
        raise Refused(
            "far-off", f"The next date, {body.next.date.isoformat()}, is too far off. Choose another.", "body.next.date"
        )
    if body.paid_cents is None:
        return replace(body, paid_cents=0 if body.paid == "not paid" else body.price_cents)
    return body


def incident(value: object, said_at: dt.datetime) -> IncidentBody:
    """An incident; it may be written down long after it happened, but not before."""
    body: IncidentBody = _INCIDENT(value, "body")
    _near(body.happened_at, said_at, WRITTEN_LATE_DAYS, CLOCK_DAYS, "body.happened_at")
    return body


def visit_change(value: object, said_at: dt.datetime) -> VisitChangeBody:
    """A change of the visit; calling it off takes a reason, and something has to change."""
    body: VisitChangeBody = _VISIT_CHANGE(value, "body")
    _window(body.told_from, body.told_until, "body.told_from")
    if not (body.state or body.answer or body.told_from):
        raise Refused("nothing-changes", "Nothing of the visit changes here. Say its state, answer or window.", "body")
    if body.state == "CANCELLED" and not body.why:
        raise Refused("reason-needed", "The visit is called off, and it isn't said why. Write why.", "body.why")
    return body


def caution_seen(value: object, said_at: dt.datetime) -> CautionSeenBody:
    """The cautions that were read."""
    body: CautionSeenBody = _CAUTION_SEEN(value, "body")
    return body


def keys_seen(value: object, said_at: dt.datetime) -> KeysSeenBody:
    """The place whose keys and codes were looked at."""
    body: KeysSeenBody = _KEYS_SEEN(value, "body")
    return body


def choice(value: object, said_at: dt.datetime) -> ChoiceBody:
    """Which of two stands; they are two."""
    body: ChoiceBody = _CHOICE(value, "body")
    if body.kept == body.left:
        raise Refused("same-one-twice", "Kept and left are the same record. Choose between two.", "body.left")
    return body

"""Takes in plain records: each is checked, kept as it was sent, made into its fact, all in one transaction."""

import logging
import uuid
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from coatround.core.checking import Refusal, Refused, plain, record_id
from coatround.core.visit_records import CheckedRecord, checked
from coatround.web.base.models import Worker
from coatround.web.base.writing import writing
from coatround.web.visits.facts import Chosen, Taken, keep_fact
from coatround.web.visits.models import Fit, Groom, HandingBack, Incident, Record, Visit

ACCEPTED, ALREADY_THERE, REFUSED = "accepted", "already there", "refused"
BY_ANOTHER = "said-by-another"
DEVICE_LETTERS = 60
logger = logging.getLogger(__name__)

type Kept = Fit | Groom | HandingBack | Incident | Visit | Chosen


@dataclass(frozen=True)
class Answer:
    """What became of one record: accepted, already there, or refused with a code and words."""

    id: str
    status: str
    code: str = ""
    words: str = ""
    path: str = ""

    @property
    def is_kept(self) -> bool:
        return self.status != REFUSED


def accept(
    raw: object, who: Worker, device: str = "", *, now: datetime, then: Callable[[Kept], object] | None = None
) -> Answer:
    """Keeps one record and its fact, once; `then` is given the fact inside the same transaction.

    The same id again changes nothing. A refusal is an answer, never an exception, and keeps nothing.
    """
    named = _named(raw)
    try:
        with writing():
            return _earlier(raw, named) or _accept(raw, named, who, device, now, then)
    except Refused as refused:
        return _refused(named, refused.refusal)
    except IntegrityError:
        # Another process kept the same id between our look and our write (PostgreSQL); its row stands.
        return _raced(raw, named)
    except Exception:
        logger.exception("Record %s could not be kept", named)
        return _refused(named, NOT_NOW)


def _raced(raw: object, named: str) -> Answer:
    try:
        with transaction.atomic():
            answer = _earlier(raw, named)
    except Refused as refused:
        return _refused(named, refused.refusal)
    if answer is None:
        logger.exception("Record %s could not be kept", named)
    return answer or _refused(named, NOT_NOW)


NOT_NOW = Refusal("not-now", "Something went wrong on our side; nothing of this record was kept. Send it again later.")


def _named(raw: object) -> str:
    """The id a record gives itself, as far as it has one."""
    given = raw.get("id") if isinstance(raw, dict) else None
    return given[:DEVICE_LETTERS] if isinstance(given, str) else ""


def _refused(named: str, refusal: Refusal) -> Answer:
    return Answer(named, REFUSED, refusal.code, refusal.words, refusal.path)


def _earlier(raw: object, named: str) -> Answer | None:
    """The answer for a record whose id is known already; asked before the rules, which may be stricter now."""
    if not isinstance(raw, dict):
        return None
    stored = Record.objects.filter(pk=record_id(raw.get("id"), "id")).first()
    if stored is None:
        return None
    if is_same(stored, raw):
        return Answer(named, ALREADY_THERE)
    raise Refused(
        "same-id-other-record",
        _("Another record with this id was kept at %(at)s. To change what it says, send a new record that corrects it.")
        % {"at": stored.received_at.isoformat(timespec="minutes")},
        "id",
    )


def is_same(stored: Record, raw: dict[str, Any]) -> bool:
    """Whether a record says what the stored one says; when it was said is left aside."""

    def named(value: object) -> str | None:
        return value.lower() if isinstance(value, str) else None

    by = None if stored.version == 1 else _text(stored.who_id)
    envelope = (stored.kind, stored.version, by, _text(stored.visit), _text(stored.corrects))
    said = (raw.get("kind"), raw.get("version"), *(named(raw.get(name)) for name in ("by", "visit", "corrects")))
    return envelope == said and stored.body == raw.get("body")


def _text(value: uuid.UUID | None) -> str | None:
    return str(value) if value else None


def _accept(
    raw: object, named: str, who: Worker, device: str, now: datetime, then: Callable[[Kept], object] | None
) -> Answer:
    record = checked(raw)
    if isinstance(record, Refusal):
        return _refused(named, record)
    assert isinstance(raw, dict)
    check_by(record.by, who)
    visit = _visit_of(record)
    _keep_record(record, raw, who, device, now)
    fact = keep_fact(Taken(record, visit, who, now))
    if fact is not None and then is not None:
        then(fact)
    return Answer(named, ACCEPTED)


def check_by(said_by: uuid.UUID | None, who: Worker) -> None:
    """What one person said is never kept under another's name: raises Refused when somebody else is signed in."""
    if said_by is None or said_by == who.pk:
        return
    by = Worker.objects.filter(pk=said_by).values_list("name", flat=True).first() or _("someone else")
    raise Refused(
        BY_ANOTHER,
        _("%(by)s recorded this, and %(who)s is signed in. It waits until %(by)s signs in on this phone.")
        % {"by": by, "who": who.name},
        "by",
    )


def _visit_of(record: CheckedRecord) -> Visit | None:
    if record.visit is None:
        return None
    visit = Visit.objects.select_related("household", "van").filter(pk=record.visit).first()
    if visit is None:
        raise Refused(
            "unknown-visit",
            _("Visit %(visit)s is not known here. The record waits; open the run again and choose the visit anew.")
            % {"visit": record.visit},
            "visit",
        )
    return visit


def _keep_record(record: CheckedRecord, raw: dict[str, Any], who: Worker, device: str, now: datetime) -> None:
    Record.objects.create(
        id=record.id,
        kind=record.kind,
        version=record.version,
        body=raw["body"],
        said_at=record.said_at,
        received_at=now,
        who=who,
        device=device[:DEVICE_LETTERS],
        visit=record.visit,
        corrects=record.corrects,
    )


def as_plain(record: CheckedRecord) -> dict[str, Any]:
    """A checked record as the JSON it would be sent as."""
    written: dict[str, Any] = plain(record)
    return written

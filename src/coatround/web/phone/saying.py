"""What a form says becomes one plain record, by the same road as the phone's own; a double tap records once."""

import datetime as dt
import uuid
from collections.abc import Callable
from typing import Any

from django.http import HttpRequest

from coatround.core.checking import Refused, record_id
from coatround.core.visit_records import VERSION
from coatround.ids import uuid7
from coatround.web.base.firm import firm_now
from coatround.web.base.models import Worker
from coatround.web.flow import accept_records
from coatround.web.visits.actions import Answer
from coatround.web.visits.models import Record

SAID_BEFORE = "same-id-other-record"
type Body = dict[str, Any]


def form_id(said: str | None) -> uuid.UUID:
    """The id that was made when the form was rendered; a new one when the field was tampered with."""
    try:
        found: uuid.UUID = record_id(said, "id")
    except Refused:
        return uuid7()
    return found


def say(
    request: HttpRequest,
    kind: str,
    visit: uuid.UUID,
    rid: uuid.UUID,
    body: Body | Callable[[dt.datetime], Body],
    corrects: str | None = None,
) -> Answer:
    """Keeps one record; a `body` with times in it is given the instant it was first said, also by a second tap."""
    who: Worker = request.user  # type: ignore[assignment]
    answer = Answer(str(rid), "refused")
    for _attempt in range(2):  # the second only when both taps of a double tap arrive at once
        said_at = _first_said(rid) or firm_now()
        raw = {"id": str(rid), "kind": kind, "version": VERSION, "by": str(who.pk)}
        raw |= {"said_at": said_at.isoformat(), "visit": str(visit)}
        raw |= {"corrects": corrects} if corrects else {}
        (answer,) = accept_records(
            [{**raw, "body": body(said_at) if callable(body) else body}], who, "", now=firm_now()
        )
        if answer.code != SAID_BEFORE:
            break
    return answer


def _first_said(rid: uuid.UUID) -> dt.datetime | None:
    said_at = Record.objects.filter(pk=rid).values_list("said_at", flat=True).first()
    return said_at.astimezone(firm_now().tzinfo) if said_at else None

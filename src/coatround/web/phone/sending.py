"""Where plain records and photos arrive: each is answered by itself, so that one refused record holds up no other."""

import json
import uuid
from typing import Any

from django.core.exceptions import RequestDataTooBig
from django.core.files.uploadedfile import UploadedFile
from django.http import HttpRequest, JsonResponse
from django.http.request import UnreadablePostError
from django.utils import timezone
from django.utils.translation import gettext as _

from coatround.core.checking import Refused, instant, record_id, row_id, text
from coatround.web.base.models import Worker
from coatround.web.flow import accept_records
from coatround.web.phone.answers import error, for_programs
from coatround.web.records.models import Dog
from coatround.web.visits.actions import check_by
from coatround.web.visits.models import Visit
from coatround.web.visits.photos import keep_photo

MOST_BYTES = 4 * 1024 * 1024
MOST_RECORDS = 500
KEYS = {"records", "device", "sent_at"}


@for_programs
def records(request: HttpRequest) -> JsonResponse:
    """Takes {"records": [...], "device", "sent_at"}; answers each record, in order, also when some are refused."""
    if request.content_type != "application/json":
        return error(415, "not-json", _("Records are sent as application/json."))
    try:
        sent = _sent(_body(request))
    except Refused as refused:
        return error(TOO_BIG.get(refused.refusal.code, 400), refused.refusal.code, refused.refusal.words)
    now = timezone.now()
    who: Worker = request.user  # type: ignore[assignment]
    answers = accept_records(sent["records"], who, sent["device"], now=now)
    said = [{"id": one.id, "status": one.status, "code": one.code, "words": one.words} for one in answers]
    clock_off = round((sent["sent_at"] - now).total_seconds()) if sent["sent_at"] else None
    return JsonResponse({"answers": said, "server_time": now.isoformat(), "clock_off_seconds": clock_off})


TOO_BIG = {"too-big": 413, "too-many-records": 413}


def _body(request: HttpRequest) -> Any:
    too_big = Refused("too-big", _("That is too much at once. Send fewer records at a time."))
    if int(request.headers.get("Content-Length") or 0) > MOST_BYTES:
        raise too_big
    try:
        raw = request.body
    except RequestDataTooBig as big:
        raise too_big from big
    except UnreadablePostError as cut_off:
        raise Refused("cut-off", _("The message was cut off on its way. Send it again.")) from cut_off
    try:
        return json.loads(raw.decode("utf-8"))
    except (ValueError, RecursionError) as broken:
        raise Refused("not-json", _("What was sent is not JSON in UTF-8. Nothing of it was kept.")) from broken


def _sent(said: Any) -> dict[str, Any]:
    """The message round the records, strictly: a list of records, the device's name, when it was sent."""
    if not isinstance(said, dict) or not isinstance(said.get("records"), list) or set(said) - KEYS:
        words = _("A message holds records (a list), device and sent_at, and nothing else. Nothing of it was kept.")
        raise Refused("not-a-message", words)
    if len(said["records"]) > MOST_RECORDS:
        words = _("%(count)d records at once are too many; send at most %(most)d.")
        raise Refused("too-many-records", words % {"count": len(said["records"]), "most": MOST_RECORDS})
    device, sent_at = said.get("device"), said.get("sent_at")
    return {
        "records": said["records"],
        "device": "" if device is None else text(60)(device, "device"),
        "sent_at": None if sent_at is None else instant(sent_at, "sent_at"),
    }


@for_programs
def photos(request: HttpRequest) -> JsonResponse:
    """Takes one photo with its own id; answers like a record."""
    if request.content_type != "multipart/form-data":
        return error(415, "not-a-form", _("A photo is sent as multipart/form-data, in the field photo."))
    upload = request.FILES.get("photo")
    if upload is None:
        return error(400, "no-photo", _("There is no photo in the field photo. Choose one and send it again."))
    named = request.POST.get("id", "")[:60]
    try:
        answer = _keep(request, upload)
    except Refused as refused:
        said = refused.refusal
        answer = {"id": named, "status": "refused", "code": said.code, "words": said.words}
    return JsonResponse({"answers": [answer], "server_time": timezone.now().isoformat()})


def _keep(request: HttpRequest, upload: "UploadedFile[Any]") -> dict[str, str]:
    who: Worker = request.user  # type: ignore[assignment]
    by = request.POST.get("by")
    check_by(row_id(by, "by") if by else None, who)
    photo_id = record_id(request.POST.get("id"), "id")
    visit = _named(request, "visit", Visit, _("visit"))
    dog = _named(request, "dog", Dog, _("dog"))
    belongs_to = request.POST.get("belongs_to")
    photo, new = keep_photo(
        upload,
        who,
        photo_id=photo_id,
        visit=visit,
        dog=dog,
        belongs_to=row_id(belongs_to, "belongs_to") if belongs_to else None,
        words=text(160)(request.POST.get("words", ""), "words"),
    )
    return {"id": str(photo.pk), "status": "accepted" if new else "already there", "code": "", "words": ""}


def _named(request: HttpRequest, key: str, kind: type[Any], word: str) -> Any:
    """The row a form field names, None when it is empty; raises Refused when there is no such row."""
    said = request.POST.get(key)
    if not said:
        return None
    wanted: uuid.UUID = row_id(said, key)
    row = kind.objects.filter(pk=wanted).first()
    if row is None:
        words = _("The %(word)s this photo names (%(id)s) is not known here. Choose it anew.")
        raise Refused(f"unknown-{key}", words % {"word": word, "id": wanted})
    return row

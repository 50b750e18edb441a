"""The one address that takes plain records: who may send, what each is answered, and one shape for every error."""

import io
import json
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image

from coatround.ids import uuid7
from coatround.web.base.models import Firm, Worker
from coatround.web.visits.models import Groom, Photo, Record
from tests.web.visit_day import VisitDay, visit_day

pytestmark = pytest.mark.django_db


@pytest.fixture
def day(firm: Firm) -> VisitDay:
    return visit_day()


def send(client: Client, *records: Any, **message: Any) -> Any:
    said = {"records": list(records), "device": "test phone", "sent_at": "2026-03-03T12:05:00+11:00", **message}
    return client.post(reverse("phone:records"), json.dumps(said), content_type="application/json")


def assert_error(answer: Any, status: int, code: str) -> None:
    assert answer.status_code == status
    assert answer["Content-Type"] == "application/json"
    said = answer.json()
    assert set(said) == {"error", "server_time"}
    assert set(said["error"]) == {"code", "words"}
    assert said["error"]["code"] == code
    assert said["error"]["words"].endswith(".")


def test_it_works(signed_in: Client, day: VisitDay) -> None:
    """One accepted, one refused with words, the status 200 all the same; the clock's error is told."""
    good, bad = day.groom(), day.groom(cotton={"in": 2})
    answer = send(signed_in, good, bad, good)
    assert answer.status_code == 200
    statuses = [(one["id"], one["status"], one["code"]) for one in answer.json()["answers"]]
    assert statuses == [
        (good["id"], "accepted", ""),
        (bad["id"], "refused", "cotton-does-not-add-up"),
        (good["id"], "already there", ""),
    ]
    assert "2 put in, but 0 accounted for" in answer.json()["answers"][1]["words"]
    assert isinstance(answer.json()["clock_off_seconds"], int)
    assert (Groom.objects.count(), Record.objects.get().device) == (1, "test phone")


def test_sending_all_of_it_again_changes_nothing(signed_in: Client, day: VisitDay) -> None:
    records = [day.record("fit", answer="go"), day.groom(), day.handing_back()]
    assert {one["status"] for one in send(signed_in, *records).json()["answers"]} == {"accepted"}
    assert {one["status"] for one in send(signed_in, *records).json()["answers"]} == {"already there"}
    assert Record.objects.count() == 3


def test_a_stranger_is_told_to_sign_in(client: Client, day: VisitDay) -> None:
    assert_error(send(client, day.groom()), 401, "not-signed-in")
    assert not Record.objects.exists()


def test_without_the_sessions_token_nothing_is_taken(worker: Worker, day: VisitDay) -> None:
    """A page elsewhere can't send in the groomer's name; with the token in its header our own page can."""
    client = Client(enforce_csrf_checks=True)
    client.force_login(worker)
    assert_error(send(client, day.groom()), 403, "no-token")
    client.get(reverse("visits:page"))
    token = client.cookies["csrftoken"].value
    said = json.dumps({"records": [day.groom()]})
    answer = client.post(
        reverse("phone:records"), said, content_type="application/json", headers={"X-CSRFToken": token}
    )
    assert answer.json()["answers"][0]["status"] == "accepted"


@pytest.mark.parametrize(
    ("content", "kind", "status", "code"),
    [
        (b"{", "application/json", 400, "not-json"),
        (b"\xff\xfe", "application/json", 400, "not-json"),
        (b"[" * 100_000, "application/json", 400, "not-json"),
        (b"[]", "application/json", 400, "not-a-message"),
        (b'{"records": {}}', "application/json", 400, "not-a-message"),
        (b'{"records": [], "mood": 1}', "application/json", 400, "not-a-message"),
        (b'{"records": [], "device": 5}', "application/json", 400, "wrong-type"),
        (b'{"records": [], "sent_at": "now"}', "application/json", 400, "not-an-instant"),
        (b'{"records": [' + b"0," * 500 + b"0]}", "application/json", 413, "too-many-records"),
        (b" " * 4_200_000, "application/json", 413, "too-big"),
        (b"records=1", "application/x-www-form-urlencoded", 415, "not-json"),
    ],
)
def test_errors_have_one_shape(
    content: bytes, kind: str, status: int, code: str, signed_in: Client, day: VisitDay
) -> None:
    assert_error(signed_in.post(reverse("phone:records"), content, content_type=kind), status, code)


def test_only_post(signed_in: Client) -> None:
    assert_error(signed_in.get(reverse("phone:records")), 405, "post-only")


def test_junk_among_the_records_holds_nothing_up(signed_in: Client, day: VisitDay) -> None:
    answers = send(signed_in, None, 5, [], {"id": "x"}, day.groom()).json()["answers"]
    assert [one["status"] for one in answers] == ["refused"] * 4 + ["accepted"]


def picture(size: tuple[int, int] = (3000, 1500), kind: str = "JPEG") -> bytes:
    """A picture that says where and when it was taken, lying on its side."""
    image, exif, out = Image.new("RGB", size, "tan"), Image.Exif(), io.BytesIO()
    exif[0x0112] = 6  # to be turned a quarter
    exif[0x0132] = "2026:03:03 12:00:00"
    exif.get_ifd(0x8825)[2] = (33.0, 51.0, 0.0)
    image.save(out, kind, exif=exif)
    return out.getvalue()


def send_photo(client: Client, content: bytes, **fields: str) -> Any:
    upload = SimpleUploadedFile("left ear.jpg", content, "image/jpeg")
    return client.post(reverse("phone:photos"), {"photo": upload, **fields})


def test_a_photo_is_stripped_turned_and_resized(signed_in: Client, day: VisitDay, home: Path) -> None:
    rid = str(uuid7())
    fields = {"id": rid, "visit": str(day.visit.pk), "dog": str(day.biscuit.pk), "words": "Left ear."}
    answer = send_photo(signed_in, picture(), **fields)
    assert answer.json()["answers"] == [{"id": rid, "status": "accepted", "code": "", "words": ""}]
    assert send_photo(signed_in, picture(), **fields).json()["answers"][0]["status"] == "already there"
    photo = Photo.objects.get()
    file = home / "photos" / photo.sha256[:2] / f"{photo.sha256}.jpg"
    assert file.stat().st_size == photo.bytes
    with Image.open(file) as kept:
        assert kept.size == (1024, 2048)
        assert not dict(kept.getexif())
    assert b"Exif" not in file.read_bytes()
    shown = signed_in.get(reverse("visits:photo", args=[photo.pk]))
    assert shown["Content-Type"] == "image/jpeg"
    assert b"".join(shown.streaming_content) == file.read_bytes()  # type: ignore[attr-defined]
    assert Client().get(reverse("visits:photo", args=[photo.pk])).status_code == 302


@pytest.mark.parametrize(
    ("content", "fields", "code"),
    [
        (b"GIF89a but no picture", {}, "not-a-photo"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", {}, "not-a-photo"),
        (picture()[:2000], {}, "not-a-photo"),
        (picture((40, 30)), {"id": "7"}, "not-an-id"),
        (picture((40, 30)), {"visit": str(uuid7())}, "unknown-visit"),
        (picture((40, 30)), {"words": "x" * 200}, "too-long"),
    ],
)
def test_what_is_no_photo_is_refused_in_words(
    content: bytes, fields: dict[str, str], code: str, signed_in: Client, home: Path
) -> None:
    said = send_photo(signed_in, content, **{"id": str(uuid7()), **fields}).json()["answers"][0]
    assert (said["status"], said["code"]) == ("refused", code)
    assert said["words"].endswith(".")
    assert not Photo.objects.exists()


def test_a_household_that_wants_no_photos_has_none(signed_in: Client, day: VisitDay) -> None:
    day.household.consents.create(
        kind="photos kept", agreed=False, person="Nell", at="2026-01-05T00:00:00Z", words="Photos may be kept."
    )
    said = send_photo(signed_in, picture(), id=str(uuid7()), visit=str(day.visit.pk)).json()["answers"][0]
    assert said["code"] == "photos-not-wanted"


def test_photo_errors_have_the_same_shape(client: Client, signed_in: Client) -> None:
    assert_error(Client().post(reverse("phone:photos")), 401, "not-signed-in")
    assert_error(signed_in.post(reverse("phone:photos"), {}), 400, "no-photo")
    assert_error(signed_in.post(reverse("phone:photos"), b"{}", content_type="application/json"), 415, "not-a-form")

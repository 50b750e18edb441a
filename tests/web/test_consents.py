"""Consents: the words shown are kept with the answer; a later answer stands in the earlier one's place."""

import datetime as dt
import io

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image

from coatround.web.base.models import Worker
from coatround.web.desk.queries import consent_lines
from coatround.web.records import words
from coatround.web.records.consent_words import CONSENT_WORDS, consent_words
from coatround.web.records.models import Consent
from coatround.web.visits.models import Photo
from tests.web.people_of_the_ford import the_quills

pytestmark = pytest.mark.django_db

TYPED = {"agreed": "yes", "person": "Odo Quill", "dog": "", "at": "2026-03-02T09:10"}


def test_it_works(signed_in: Client, worker: Worker) -> None:
    household = the_quills()
    asked = reverse("consent-new", args=[household.pk, "matted-off"])
    page = signed_in.get(asked).content.decode()
    assert "may show afterwards" in page
    assert "Have it checked locally" in page
    assert signed_in.post(asked, TYPED).status_code == 302
    row = Consent.objects.get()
    assert (row.kind, row.agreed, row.person, row.written_by) == ("matted off", True, "Odo Quill", worker)
    assert row.words == consent_words("matted off")
    assert row.at == dt.datetime(2026, 3, 1, 22, 10, tzinfo=dt.UTC)  # 9:10 in Sydney's summer
    listed = signed_in.get(reverse("consents", args=[household.pk])).content.decode()
    assert "may show afterwards" in listed
    assert "Odo Quill" in listed


def test_every_kind_has_words_of_its_own() -> None:
    assert set(CONSENT_WORDS) == {kind for kind, _word in words.CONSENTS}
    assert len({str(said) for said in CONSENT_WORDS.values()}) == 9


def test_a_later_answer_replaces_an_earlier_one_and_both_are_kept(signed_in: Client) -> None:
    household = the_quills()
    asked = reverse("consent-new", args=[household.pk, "photos-shown"])
    signed_in.post(asked, TYPED)
    signed_in.post(asked, {**TYPED, "agreed": "no", "at": "2026-03-04T10:00"})
    line = next(line for line in consent_lines(household) if line.kind == "photos shown")
    assert [row.agreed for row in line.said] == [False]
    assert household.consents.count() == 2


def test_one_dogs_own_answer_stands_beside_the_households(signed_in: Client) -> None:
    household = the_quills()
    asked = reverse("consent-new", args=[household.pk, "muzzle"])
    signed_in.post(asked, TYPED)
    signed_in.post(asked, {**TYPED, "agreed": "no", "dog": str(household.dogs.get().pk)})
    line = next(line for line in consent_lines(household) if line.kind == "muzzle")
    assert {(row.dog_id is None, row.agreed) for row in line.said} == {(True, True), (False, False)}


def test_the_vet_needs_an_amount(signed_in: Client) -> None:
    household = the_quills()
    asked = reverse("consent-new", args=[household.pk, "vet"])
    wrong = signed_in.post(asked, {**TYPED, "limit": ""})
    assert wrong.status_code == 422
    assert "Up to how much" in wrong.content.decode()
    assert 'value="Odo Quill"' in wrong.content.decode()
    signed_in.post(asked, {**TYPED, "limit": "400"})
    assert Consent.objects.get().limit_cents == 40000
    assert "$400.00" in signed_in.get(reverse("household", args=[household.pk])).content.decode()


def test_a_photo_is_kept_and_a_text_is_refused(signed_in: Client) -> None:
    household = the_quills()
    asked = reverse("consent-new", args=[household.pk, "matted-off"])
    wrong = signed_in.post(asked, {**TYPED, "photo": SimpleUploadedFile("a.jpg", b"not a picture")})
    assert wrong.status_code == 422
    assert "read as a photo" in wrong.content.decode()
    assert not Consent.objects.exists()
    picture = io.BytesIO()
    Image.new("RGB", (30, 20), "tan").save(picture, "PNG")
    signed_in.post(asked, {**TYPED, "photo": SimpleUploadedFile("a.png", picture.getvalue())})
    photo = Photo.objects.get()
    assert (photo.household, Consent.objects.get().photo, photo.belongs_to) == (
        household,
        photo.pk,
        Consent.objects.get().pk,
    )


def test_no_time_to_come(signed_in: Client) -> None:
    household = the_quills()
    wrong = signed_in.post(reverse("consent-new", args=[household.pk, "treats"]), {**TYPED, "at": "2199-01-01T09:00"})
    assert "still to come" in wrong.content.decode()


def test_an_unknown_kind_is_no_page(signed_in: Client) -> None:
    assert signed_in.get(reverse("consent-new", args=[the_quills().pk, "anything"])).status_code == 404

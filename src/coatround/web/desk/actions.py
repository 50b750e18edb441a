"""What is written from the desk: an answer to a consent, with its photo."""

from typing import Any

from coatround.ids import uuid7
from coatround.web.base import changes
from coatround.web.base.models import Worker
from coatround.web.base.writing import writing
from coatround.web.records.models import Consent, Household
from coatround.web.visits.models import Photo
from coatround.web.visits.photos import keep_photo


def agree(household: Household, kind: str, words: str, answer: dict[str, Any], who: Worker) -> Consent:
    """Keeps an answer with the words that were shown; raises Refused when its photo is none."""
    consent = Consent(
        household=household,
        dog=answer["dog"],
        kind=kind,
        agreed=answer["agreed"],
        person=answer["person"],
        at=answer["at"],
        words=words,
        limit_cents=answer.get("limit"),
        written_by=who,
    )
    with writing():
        if answer.get("photo"):
            photo, _is_new = keep_photo(
                answer["photo"], who, photo_id=uuid7(), dog=consent.dog, belongs_to=consent.pk, words=kind
            )
            Photo.objects.filter(pk=photo.pk).update(household=household)
            consent.photo = photo.pk
        changes.save(consent, who)
    return consent

"""The signed link under which an owner reads one letter; it ends by itself, and can be ended before."""

import datetime as dt
import uuid

from django.core.signing import BadSignature, Signer
from django.urls import reverse

from coatround.web.letters.models import Letter

LINK_DAYS = 30
SALT = "coatround.letter"


class NoSuchLetter(Exception):
    """The link was not made here, or was changed on its way."""


class LinkOver(Exception):
    """The link was made here and no longer opens anything."""


def _signer() -> Signer:
    return Signer(salt=SALT, sep=".")


def signed(letter: Letter) -> str:
    """What stands in the address: the letter's id and the number of its link, signed."""
    return _signer().sign(f"{letter.pk.hex}.{letter.link_number}")


def address(letter: Letter) -> str:
    """The path of the owner's page."""
    return reverse("letters:open", args=[signed(letter)])


def is_open(letter: Letter, now: dt.datetime) -> bool:
    """Whether the letter's link opens it."""
    return letter.is_read and letter.link_ends_at is not None and now < letter.link_ends_at


def letter_by_link(words: str, now: dt.datetime) -> Letter:
    """The one letter that a link opens; raises NoSuchLetter or LinkOver."""
    try:
        hexed, number = _signer().unsign(words).split(".")
        letter = Letter.objects.select_related("household").get(pk=uuid.UUID(hex=hexed))
    except (BadSignature, ValueError, Letter.DoesNotExist) as error:
        raise NoSuchLetter from error
    if str(letter.link_number) != number or not is_open(letter, now):
        raise LinkOver
    return letter

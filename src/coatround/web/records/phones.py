"""Phones: typed in any local form, kept as E.164, shown as the firm's country writes them."""

import functools
import re

import phonenumbers
from django.utils.translation import gettext as _
from phonenumbers import NumberParseException, PhoneNumberFormat

from coatround.intake.phones import e164

WRITTEN = re.compile(r"[+\d][\d\s()./\-\u2010-\u2015]*")


def phone_number(typed: str, country: str) -> str:
    """A typed number as E.164; raises ValueError with what was wrong and what was expected."""
    words = typed.strip().removeprefix("tel:")
    if not words:
        return ""
    number = e164(words, country) if WRITTEN.fullmatch(words.lstrip("(")) else ""
    if not number:
        raise ValueError(
            _(
                "“%(typed)s” is not a whole phone number. Write it as you would dial it, like %(like)s, or"
                " with + and the country in front."
            )
            % {"typed": typed.strip(), "like": example(country)}
        )
    return number


@functools.lru_cache(maxsize=4096)
def phone_words(number: str, country: str) -> str:
    """A kept number as people of the firm's country read it; one from abroad keeps its + and country."""
    try:
        parsed = phonenumbers.parse(number, country)
    except NumberParseException:
        return number
    at_home = phonenumbers.country_code_for_region(country) == parsed.country_code
    return phonenumbers.format_number(
        parsed, PhoneNumberFormat.NATIONAL if at_home else PhoneNumberFormat.INTERNATIONAL
    )


@functools.cache
def example(country: str) -> str:
    """An example number of a country, from the library's own table of numbers that nobody has."""
    number = phonenumbers.example_number(country) if country in phonenumbers.SUPPORTED_REGIONS else None
    return phonenumbers.format_number(number, PhoneNumberFormat.NATIONAL) if number else "+61 2 5550 0000"


def digits_to_find(typed: str) -> str:
    """The digits of a typed piece of a number, without the leading zeros that E.164 does not keep."""
    return re.sub(r"\D", "", typed).lstrip("0")

"""Phone numbers to E.164 by country."""

from __future__ import annotations

import re
from functools import lru_cache

import phonenumbers
from phonenumbers import NumberParseException, PhoneNumber, PhoneNumberFormat, PhoneNumberType, ValidationResult

from coatround.intake.cells import Cell, one_line
from coatround.intake.errors import BadCell

_RUN = re.compile(r"\+?\(?\d(?:[\d\s().\-\u2010-\u2015]*\d)?")
_BETWEEN = re.compile(r"\s*(?:[,;/|\n]|\bor\b|\band\b)\s*", re.IGNORECASE)
_KINDS = (PhoneNumberType.FIXED_LINE, PhoneNumberType.MOBILE)
_BLANK_WORDS = frozenset({"", "n/a", "na", "none", "no", "-", "nil", "?"})


def phones(cell: Cell, country: str) -> tuple[tuple[str, ...], tuple[BadCell, ...]]:
    """Every number in a cell as E.164, and what could not be read or stood beside one."""
    found: list[str] = []
    bad: list[BadCell] = []
    for part in _BETWEEN.split(one_line(cell).removeprefix("tel:")):
        if part.casefold() in _BLANK_WORDS:
            continue
        number, beside = _one(part, country)
        if number:
            found.append(number)
        if beside:
            bad.append(beside)
    return tuple(dict.fromkeys(found)), tuple(bad)


def _one(part: str, country: str) -> tuple[str, BadCell | None]:
    runs = [run for run in _RUN.findall(part) if sum(c.isdigit() for c in run) >= 5]
    if len(runs) != 1:
        return "", BadCell("phone", part, f"expected one phone number of {country}; ring or write and ask.")
    number = e164(runs[0], country)
    if not number:
        return "", BadCell("phone", part, f"not a whole phone number of {country}; add the area or country code.")
    beside = part.replace(runs[0], " ").strip(" :()-.")
    return number, BadCell("phone", beside, f"it stood beside {number}, which was.") if beside else None


@lru_cache(maxsize=4096)
def e164(text: str, country: str) -> str:
    """A number as E.164, or nothing where its length fits no fixed or mobile number of its country."""
    try:
        number = phonenumbers.parse(text, country)
    except NumberParseException:
        return ""
    return phonenumbers.format_number(number, PhoneNumberFormat.E164) if _is_whole(number) else ""


def _is_whole(number: PhoneNumber) -> bool:
    """Length decides, not whether the range is in use: numbers set apart for examples are whole too."""
    return any(
        phonenumbers.is_possible_number_for_type_with_reason(number, kind) == ValidationResult.IS_POSSIBLE
        for kind in _KINDS
    ) or phonenumbers.is_valid_number(number)


def numbers_in(text: str, country: str) -> tuple[str, ...]:
    """The phone numbers that stand anywhere in running text."""
    runs = (run for run in _RUN.findall(text) if sum(c.isdigit() for c in run) >= 8)
    return tuple(dict.fromkeys(number for run in runs if (number := e164(run, country))))

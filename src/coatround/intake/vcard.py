"""vCard contacts (RFC 6350 and RFC 2426, and the older 2.1 as found) as households, a card each."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from coatround.intake import cells as read
from coatround.intake.columns import FIELDS, Columns, heading_field
from coatround.intake.contentlines import Property, logical_lines, parse_line, split_escaped, unescape
from coatround.intake.errors import BadCell, Unreadable
from coatround.intake.found import Household, Person, Place
from coatround.intake.people import (
    LONGEST_KEY,
    LONGEST_LINE,
    LONGEST_NAME,
    LONGEST_TEXT,
    NOBODY,
    Setting,
    clipped,
    household_of_row,
    note_lines,
)
from coatround.intake.phones import phones
from coatround.intake.table import Row

WHY_PROPERTY = "X-WHY-REFUSED"
_SILENT = frozenset(
    {"BEGIN", "END", "VERSION", "PRODID", "REV", "UID", "FN", "N", "TEL", "EMAIL", "ADR", "LABEL", "GEO", "NOTE"}
    | {"PHOTO", "LOGO", "SOUND", "KEY", "SOURCE", "KIND", "XML", "CLIENTPIDMAP", "SORT-STRING", "CLASS", "MAILER"}
    | {"TZ", "AGENT", "MEMBER", WHY_PROPERTY, "X-ABLABEL", "X-ABADR", "X-ABUID"}
)
_NAMED = {
    "ORG": "works at", "BDAY": "birthday", "ANNIVERSARY": "anniversary", "NICKNAME": "called", "CATEGORIES": "groups",
    "URL": "web page", "TITLE": "title", "ROLE": "role", "RELATED": "related", "IMPP": "messages", "LANG": "language",
    "GENDER": "gender",
}  # fmt: skip
_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip


@dataclass(frozen=True)
class Card:
    """One card by its place in the file; `fault` says why it cannot be read."""

    number: int
    lines: tuple[str, ...]
    fault: str = ""


@dataclass(frozen=True)
class Cards:
    """All cards of a file, and what stood outside them."""

    cards: tuple[Card, ...]
    remarks: tuple[str, ...]


def read_vcards(data: bytes) -> Cards:
    """Part a file into cards; raises Unreadable where it holds none."""
    cards: list[Card] = []
    outside = 0
    held: list[str] | None = None
    depth = 0
    for line in logical_lines(data):
        mark = line.strip().upper().replace(" ", "")
        if mark == "BEGIN:VCARD":
            if held and _last_word(held) == "AGENT:":
                depth += 1
            elif held is not None:
                cards.append(Card(len(cards) + 1, tuple(held), _NO_END))
                held, depth = None, 0
        if held is None:
            if mark == "BEGIN:VCARD":
                held = [line]
            else:
                outside += bool(line.strip())
            continue
        held.append(line)
        if mark == "END:VCARD" and depth:
            depth -= 1
        elif mark == "END:VCARD":
            cards.append(Card(len(cards) + 1, tuple(held)))
            held = None
    if held is not None:
        cards.append(Card(len(cards) + 1, tuple(held), _NO_END))
    if not cards:
        raise Unreadable("The file holds no vCard. Expected contacts that begin with BEGIN:VCARD: export them again.")
    remarks = (f"Lines that stood outside the cards were not read: {outside}.",) if outside else ()
    return Cards(tuple(cards), remarks)


_NO_END = (
    "the card has no END:VCARD, so part of it may be missing. Add what is missing and that line, or export it again."
)


def _last_word(lines: Sequence[str]) -> str:
    return lines[-1].strip().upper()


def household_of_card(card: Card, setting: Setting) -> Household | str:
    """The household that a card tells of, or the reason why there is none."""
    if card.fault:
        return card.fault
    properties, broken = _properties(card.lines)
    if any(one.name == "KIND" and one.text.strip().lower() == "group" for one in properties):
        return "this card is a list of other cards, not a person. Nothing is lost: its members are read as cards."
    notes = [f"this line could not be read: {line}" for line in broken]
    person = _person(properties, setting, notes)
    place = _place(properties, notes)
    if not (person.name or person.phones or person.emails or place):
        return NOBODY
    told = [line for one in properties if one.name == "NOTE" for line in note_lines(one.text)]
    keys = tuple(code for line in told if (code := _key_in(line)))
    told = [line for line in told if not _key_in(line)]
    notes += told
    if keys:
        place = replace(place or Place(), keys=keys)
    notes += _kept(properties)
    name = person.name or next((one for one in (*person.phones, *person.emails) if one), "")
    name = name or (place.address if place else "")
    household = Household(
        name=clipped(name, LONGEST_NAME, notes),
        persons=(replace(person, name=clipped(person.name, LONGEST_NAME, [])),),
        place=place,
        to_be_named=not person.name,
    )
    return _with_labelled_notes(household, told, notes, setting)


def _properties(lines: Sequence[str]) -> tuple[list[Property], list[str]]:
    found, broken, depth = [], [], 0
    for line in lines:
        if not line.strip():
            continue
        one = parse_line(line)
        if one is None:
            broken.append(" ".join(line.split())[:200])
            continue
        if one.name == "BEGIN":
            depth += 1
        elif one.name == "END":
            depth -= 1
        elif depth <= 1:
            found.append(one)
    return found, broken


def _person(properties: Sequence[Property], setting: Setting, notes: list[str]) -> Person:
    numbers: list[str] = []
    addresses: list[str] = []
    for one in _preferred_first(properties, "TEL"):
        found, bad = phones(_phone_words(one), setting.country)
        numbers += found
        notes += [fault.words() for fault in bad]
    for one in _preferred_first(properties, "EMAIL"):
        mails, bad = read.emails(one.text)
        addresses += mails
        notes += [fault.words() for fault in bad]
    return Person(_name(properties), tuple(dict.fromkeys(numbers)), tuple(dict.fromkeys(addresses)))


def _preferred_first(properties: Sequence[Property], name: str) -> list[Property]:
    found = [one for one in properties if one.name == name and one.value.strip()]
    return sorted(found, key=lambda one: "PREF" not in one.params and "PREF" not in one.params.get("TYPE", "").upper())


def _phone_words(one: Property) -> str:
    text = one.text.strip()
    if not text.lower().startswith("tel:"):
        return text
    number, *rest = text[4:].split(";")
    extension = next((part[4:] for part in rest if part.lower().startswith("ext=")), "")
    return f"{number} ext {extension}" if extension else number


def _name(properties: Sequence[Property]) -> str:
    for key in ("FN", "N", "ORG", "NICKNAME"):
        for one in properties:
            if one.name != key:
                continue
            text = (
                _structured_name(one.value) if key == "N" else " ".join(unescape(one.value).replace(";", " ").split())
            )
            if text:
                return text
    return ""


def _structured_name(value: str) -> str:
    parts = [" ".join(unescape(part).replace(",", " ").split()) for part in split_escaped(value, ";")]
    parts += [""] * (5 - len(parts))
    family, given, middle, before, after = parts[:5]
    return " ".join(part for part in (before, given, middle, family, after) if part)


def _place(properties: Sequence[Property], notes: list[str]) -> Place | None:
    places = [place for one in _preferred_first(properties, "ADR") if (place := _adr(one))]
    labels = [" ".join(one.text.split()) for one in properties if one.name == "LABEL" and one.text.strip()]
    place = places[0] if places else Place(street=labels[0]) if labels else None
    if place:
        place = _clipped_place(place, notes)
    notes += [f"another address: {other.address}" for other in places[1:]]
    for one in properties:
        if one.name != "GEO":
            continue
        point = read.point(one.text)
        if point is None:
            notes.append(BadCell("GEO", one.text, "expected latitude and longitude in degrees.").words())
        elif place is None or place.latitude is None:
            place = replace(place or Place(), latitude=point[0], longitude=point[1])
    return place if place and (place.address or place.latitude is not None) else None


def _clipped_place(place: Place, notes: list[str]) -> Place:
    return replace(
        place,
        street=clipped(place.street, LONGEST_LINE, notes),
        suburb=clipped(place.suburb, LONGEST_TEXT["suburb"], notes),
        region=clipped(place.region, LONGEST_TEXT["region"], notes),
        postcode=clipped(place.postcode, LONGEST_TEXT["postcode"], notes),
    )


def _adr(one: Property) -> Place | None:
    parts = [" ".join(unescape(part).replace("\n", ", ").split()) for part in split_escaped(one.value, ";")]
    parts += [""] * (7 - len(parts))
    box, extended, street, town, region, postcode = parts[:6]
    whole = ", ".join(part for part in (extended, street, box and f"PO box {box}") if part)
    if not (whole or town or postcode):
        label = " ".join(one.params.get("LABEL", "").split())
        return Place(street=label) if label else None
    point = read.point(one.params.get("GEO", ""))
    latitude, longitude = point if point else (None, None)
    return Place(whole, town, region, postcode, latitude, longitude)


def _kept(properties: Sequence[Property]) -> Iterator[str]:
    """What a household has no place for, as lines in the notes."""
    named_by_org = not any(one.name in ("FN", "N") and one.text.strip(" ;") for one in properties)
    for one in properties:
        text = " ".join(unescape(one.value).replace(";", " ").split())
        if one.name in _SILENT or not text or (one.name == "ORG" and named_by_org):
            continue
        if one.name in ("BDAY", "ANNIVERSARY"):
            text = partial_date_words(one.text)
        yield f"{_NAMED.get(one.name, one.name.removeprefix('X-').replace('-', ' ').lower())}: {text}"[:300]
    if any(one.name in ("PHOTO", "LOGO", "SOUND") for one in properties):
        yield "the card's picture or sound was not brought in"


def partial_date_words(text: str) -> str:
    """A whole or partial date of RFC 6350, such as --0415, 1985-04 or 19850415, in words."""
    plain = text.strip().partition("T")[0]
    found = re.fullmatch(r"(\d{4}|--)-?(?:(\d\d)-?(\d\d)?)?", plain) or re.fullmatch(r"(---)()(\d\d)", plain)
    if not found:
        return text.strip()
    year = found[1] if found[1].isdigit() else ""
    month = _MONTHS[int(found[2]) - 1] if found[2] and 1 <= int(found[2]) <= 12 else ""
    day = str(int(found[3])) if found[3] else ""
    return " ".join(part for part in (day, month, year) if part) or text.strip()


def _key_in(line: str) -> str:
    """The key or code in a line such as 'Gate code: 4 stars', which no note may hold."""
    heading, colon, value = line.partition(":")
    return value.strip()[:LONGEST_KEY] if colon and heading_field(heading) == "key" else ""


def _with_labelled_notes(household: Household, told_lines: list[str], notes: list[str], setting: Setting) -> Household:
    """Lines such as 'Dog: Mop' or 'Every: 6 weeks' in a card's note are read as those fields; the lines stay."""
    labelled: dict[str, str] = {}
    for line in told_lines:
        heading, colon, value = line.partition(":")
        field = heading_field(heading) if colon and len(heading) <= 30 else ""
        if field in _FROM_NOTES and value.strip() and field not in labelled:
            labelled[field] = value.strip()
    kept = tuple(dict.fromkeys(notes))
    if "dog" not in labelled:
        return replace(household, notes=kept)
    columns = Columns(tuple(labelled), ("household", *labelled), None)
    told = household_of_row(Row(0, (household.name, *labelled.values())), columns, setting)
    if isinstance(told, str):
        return replace(household, notes=kept)
    lines = dict.fromkeys(kept + told.notes)
    return replace(household, notes=tuple(lines), dogs=told.dogs, told=told.told)


_FROM_NOTES = frozenset(FIELDS) - {
    "household", "first", "last", "phone", "email", "address", "street", "suburb", "region", "postcode", "notes", "why",
    "key", "gate", "parking",
}  # fmt: skip

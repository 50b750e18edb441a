"""Which column holds what: guessed from the headings and from what stands below them, always open to change."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from functools import lru_cache

from coatround.intake.cells import Cell, one_line, words
from coatround.intake.dates import numeric_date
from coatround.intake.table import Row

FIELDS: dict[str, str] = {
    "household": "household's name",
    "first": "first name",
    "last": "last name",
    "phone": "phone",
    "email": "email",
    "address": "whole address",
    "street": "street and number",
    "suburb": "suburb or town",
    "region": "state or county",
    "postcode": "postcode",
    "latitude": "latitude",
    "longitude": "longitude",
    "pin": "latitude and longitude",
    "dog": "dog's name",
    "breed": "breed",
    "coat": "coat",
    "size": "size",
    "weight": "weight",
    "born": "born",
    "sex": "sex",
    "microchip": "microchip",
    "vet": "vet",
    "vaccinated": "vaccination date",
    "cautions": "cautions",
    "notes": "notes",
    "interval": "weeks between grooms",
    "price": "price",
    "last_groom": "last groom",
    "next_date": "next visit, date",
    "next_time": "next visit, time",
    "weekday": "usual weekday",
    "hour": "usual hour",
    "gate": "gate note",
    "key": "key, gate or alarm code",
    "parking": "parking note",
    "why": "why it was refused",
}
MANY = frozenset({"phone", "email", "address", "notes", "cautions", "dog", "gate", "key", "parking", "vet"})
WHY_HEADING = "Why it was refused"

_HEADINGS: dict[str, str] = {
    "household": "household|family|name|full name|client|client name|customer|customer name|owner|owner name|"
    "owners|owners name|owner s name|contact|contact name|display name|account name|people|human|file as|"
    "client full name|family name and first name|household name|household s name|who",
    "first": "first|first name|firstname|given name|given|forename|forenames|christian name|owner first name",
    "last": "last|last name|lastname|surname|family name|second name|owner last name|owner surname",
    "phone": "phone|phone number|phone no|phone numbers|telephone|telephone number|tel|tel no|mobile|mobile phone|"
    "mobile number|mobile no|mob|cell|cell phone|cell number|cellphone|home phone|work phone|business phone|"
    "home tel|landline|contact number|number|ph|ph no|phones|other phone|second phone|primary phone|handphone",
    "email": "email|e mail|email address|e mail address|mail|emails|home email|work email|primary email",
    "address": "address|full address|home address|postal address|whole address|location|where|addr|"
    "street address and suburb|visit address",
    "street": "street|street address|address 1|address1|address line 1|street and number|house and street|road|"
    "home street|street 1|line 1|address street|street name and number",
    "suburb": "suburb|town|city|village|locality|area|home city|suburb or town|town city|city town|suburb town|"
    "address city|address 2 town",
    "region": "state|county|region|province|territory|home state|state or county|state province|state region",
    "postcode": "postcode|post code|postal code|zip|zip code|zipcode|pcode|p code|home postal code|eircode|pin code",
    "latitude": "latitude|lat",
    "longitude": "longitude|lon|lng|long",
    "pin": "pin|coordinates|geo|lat lon|lat lng|latitude longitude|gps|map pin",
    "dog": "dog|dog name|dog s name|dogs|dogs name|dogs names|dog names|pet|pet name|pets|pet s name|pets names|"
    "animal|animal name|dog s|name of dog|name of dogs|pup|doggo",
    "breed": "breed|dog breed|dog s breed|pet breed|type of dog|breed type|breeds|kind of dog|breed mix",
    "coat": "coat|coat type|fur|hair|hair type|coat kind",
    "size": "size|dog size|size of dog",
    "weight": "weight|dog weight|weight kg|weight kgs|kg|kgs|kilos|weight lb|weight lbs|lbs|lb|weight pounds|"
    "weight in kg|weight in lb|weight in lbs",
    "born": "born|birth|birthday|birth date|birthdate|date of birth|dob|d o b|dog dob|dog birthday|dog born|pet dob|"
    "dog s birthday|dog date of birth|year of birth|birth year|whelped",
    "sex": "sex|gender|m f|male female|dog sex|dog gender",
    "microchip": "microchip|microchip number|microchip no|chip|chip number|chip no|microchip id|chip id|micro chip",
    "vet": "vet|veterinarian|vets|vet name|vet practice|vet clinic|veterinary practice|vet surgery|vet phone",
    "vaccinated": "vaccinated|vaccination|vaccination date|vaccinations|vaccine|vaccine date|last vaccination|"
    "date vaccinated|vacc date|vax|vaccinated on|vaccination due",
    "cautions": "cautions|caution|warning|warnings|alert|alerts|health|medical|medical notes|health notes|temperament|"
    "behaviour|behavior|handling|allergies|medical conditions|watch out for|careful",
    "notes": "note|notes|comment|comments|remarks|remark|details|info|other|misc|description|memo|other notes",
    "interval": "interval|weeks|every|frequency|how often|repeat|cycle|schedule|interval weeks|weeks between grooms|"
    "every weeks|groom every|interval in weeks|rotation|weeks between|interval days|repeats|freq|wks|regular",
    "price": "price|cost|charge|fee|rate|amount|groom price|usual price|price per groom|charges|prices",
    "last_groom": "last groom|last groomed|last visit|last seen|last appointment|last appt|last done|last date|"
    "previous visit|previous groom|date of last groom|last groom date|last visit date|groomed on|last time",
    "next_date": "next visit|next|next groom|next appointment|next appt|next date|next due|next booking|"
    "next visit date|date of next groom|booked|next groom date|appointment date|appointment|booked for|next visit on",
    "next_time": "next time|next visit time|appointment time|appt time|arrival time|time of next visit|time",
    "weekday": "weekday|usual weekday|day|usual day|preferred day|day of week|day of the week|which day|best day",
    "hour": "hour|usual hour|usual time|preferred time|best time|time of day",
    "gate": "gate|gate note|gate notes|access|access notes|entry|how to get in|entry notes",
    "key": "key|keys|gate code|access code|entry code|alarm|alarm code|key code|lockbox|lock box|door code|key safe|"
    "gate pin|key number|key no|codes|code|keypad|keypad code|gate key|house key|security code",
    "parking": "parking|parking note|parking notes|park|where to park|van parking",
    "why": WHY_HEADING.lower(),
}
_BY_HEADING = {name: field for field, names in _HEADINGS.items() for name in names.split("|")}
_NUMBERED = re.compile(r"\b\d\b|\bvalue\b")
_UNIT_WORDS = re.compile(r"\b(kg|kgs|lb|lbs|weeks|wks|days|dd|mm|yy|yyyy|aud|usd|gbp|nzd|eur|cad|optional|required)\b")
_WEIGHT = re.compile(r"(?i)\d+([.,]\d+)? ?(kgs?|lbs?)")
MOST_PLAIN = 300  # our own default: a longer cell is a story, and slow to look through
_STREET = re.compile(
    r"(?i)\d+.*\b(st|street|rd|road|ave|avenue|lane|ln|dr|drive|close|cl|court|ct|way|crescent|cres|place|pl|terrace|"
    r"tce|parade|hill|row|walk|grove|gardens|square|highway|boulevard|track|mews|green|park)\b"
)
_BREED = re.compile(
    r"(?i)(poodle|spaniel|terrier|retriever|collie|doodle|oodle|poo\b|shih|schnauzer|bichon|maltese|whippet|hound|"
    r"shepherd|labrador|pug|corgi|husky|dachshund|beagle|boxer|setter|pointer|samoyed|spitz|kelpie|\bmix\b|\bcross\b|"
    r"\bx\b|mongrel|bulldog|chihuahua|pomeranian|papillon|lurcher|springer|cocker|lab\b|staff)"
)
_INTERVAL = re.compile(
    r"(?i)\b(\d+|one|two|three|four|five|six|seven|eight|ten|twelve)[\s\-]*(w|wk|wks|weeks?|weekly|mths?|months?)\b|monthly|fortnight"
)
_SEX = re.compile(r"(?i)(male|female|m|f|mn|fs|bitch|girl|boy|dog)( ?\(?(neutered|spayed|entire|desexed)\)?)?")
_WEEKDAY = re.compile(r"(?i)(mon|tue|tues|wed|thu|thur|thurs|fri|sat|sun)(day|sday|nesday|rsday|urday)?s?\.?")
_POSTCODE = re.compile(r"(?i)\d{4,5}(-\d{4})?|[a-z]{1,2}\d[a-z\d]? ?\d[a-z]{2}|[a-z]\d[a-z] ?\d[a-z]\d")


@dataclass(frozen=True)
class Columns:
    """The heading row if there is one, and for each column its field ('' is kept in the notes) and unit."""

    headings: tuple[str, ...]
    fields: tuple[str, ...]
    heading_row: int | None

    def where(self, field: str) -> tuple[int, ...]:
        """The columns that hold a field, left to right."""
        return tuple(at for at, one in enumerate(self.fields) if one == field)

    def by_field(self) -> dict[str, tuple[int, ...]]:
        """Field to columns, counted from 0."""
        return {field: self.where(field) for field in dict.fromkeys(self.fields) if field}

    def heading(self, at: int) -> str:
        """The heading of a column, or its letter where it has none."""
        written = self.headings[at] if at < len(self.headings) else ""
        return written or f"column {_letters(at)}"

    def changed(self, fields: Mapping[int, str]) -> Columns:
        """The same with some columns set by hand; raises ValueError for a field that is none."""
        unknown = sorted(set(fields.values()) - set(FIELDS) - {""})
        if unknown:
            raise ValueError(f"'{unknown[0]}' is no field; expected one of {', '.join(FIELDS)}")
        return replace(self, fields=tuple(fields.get(at, one) for at, one in enumerate(self.fields)))


def _letters(at: int) -> str:
    return (_letters(at // 26 - 1) if at >= 26 else "") + chr(65 + at % 26)


@lru_cache(maxsize=4096)
def heading_field(heading: str) -> str:
    """The field that a heading names, or ''."""
    plain = _plain(heading)
    found = _BY_HEADING.get(plain) or _BY_HEADING.get(" ".join(_NUMBERED.sub(" ", plain).split()))
    if found:
        return found
    without_unit = re.sub(
        r"\b(kg|kgs|lb|lbs|weeks|wks|days|dd|mm|yy|yyyy|aud|usd|gbp|nzd|eur|cad|optional|required)\b", " ", plain
    )
    return _BY_HEADING.get(" ".join(without_unit.split()), "")


@lru_cache(maxsize=1024)
def heading_unit(heading: str) -> str:
    """The unit that a heading names: kg, lb, day, week, month or ''."""
    said = set(_plain(heading).split())
    units = {"lb": {"lb", "lbs", "pounds"}, "kg": {"kg", "kgs", "kilos"}}
    units |= {"day": {"day", "days"}, "month": {"months", "month"}, "week": {"weeks", "wks", "week"}}
    return next((unit for unit, names in units.items() if said & names), "")


def _plain(heading: str) -> str:
    return " ".join(re.sub(r"[^a-z0-9]+", " ", heading.casefold().replace("'", " ").replace("’", " ")).split())


def guess_columns(rows: Sequence[Row]) -> Columns:
    """Find the heading row among the first ten and guess every column's field."""
    width = max((len(row.cells) for row in rows), default=0)
    at = _heading_at(rows)
    headings = tuple(one_line(cell) for cell in rows[at].cells) if at is not None else ()
    headings += ("",) * (width - len(headings))
    below = rows[at + 1 :] if at is not None else rows
    fields = _named_fields(headings)
    for column in range(width):
        if not fields[column]:
            fields[column] = _fitting(column, below, fields, named=bool(headings[column]))
    _name_columns(fields, below, headings)
    _settle_doubles(fields)
    return Columns(headings, tuple(fields), rows[at].number if at is not None else None)


def _heading_at(rows: Sequence[Row]) -> int | None:
    best, most = None, 0
    for at, row in enumerate(rows[:10]):
        cells = [one_line(cell) for cell in row.cells if words(cell)]
        named = sum(bool(heading_field(cell)) for cell in cells)
        if named > most and named * 3 >= len(cells) and not any(_kind_of(cell) for cell in row.cells):
            best, most = at, named
    if most >= 2 or (best is not None and len(rows[best].cells) == 1) or (most == 1 and best == 0):
        return best
    return 0 if len(rows) > 1 and _differs_from_below(rows) else None


def _differs_from_below(rows: Sequence[Row]) -> bool:
    """A first row of bare words over columns of phones, dates or addresses is a heading in any language."""
    first = rows[0].cells
    if any(_kind_of(cell) for cell in first) or any(not words(cell) or len(words(cell)) > 40 for cell in first):
        return False
    kinds = [_share_kind(column, rows[1:]) for column in range(len(first))]
    return sum(bool(kind) for kind in kinds) >= 1 and not any(re.search(r"\d", words(cell)) for cell in first)


def _named_fields(headings: tuple[str, ...]) -> list[str]:
    fields = [heading_field(heading) for heading in headings]
    has_owner = any(field in ("first", "last") for field in fields) or fields.count("household") > 1
    for at, heading in enumerate(headings):
        if _plain(heading) == "name" and has_owner and "dog" not in fields:
            fields[at] = "dog" if fields.count("household") > 1 else fields[at]
    return fields


def _kind_of(cell: Cell) -> str:
    """What a cell plainly is by itself: phone, email, date, microchip, interval, price, address."""
    if isinstance(cell, (datetime, date)):
        return "date"
    text = one_line(cell)
    if len(text) > MOST_PLAIN:
        return ""
    digits = sum(c.isdigit() for c in text)
    if re.fullmatch(r"\S+@\S+\.\S+", text):
        return "email"
    if re.fullmatch(r"[\d\s\-]{15,19}", text) and digits == 15:
        return "microchip"
    if numeric_date(text) or re.fullmatch(r"\d{4}-\d{1,2}-\d{1,2}( .*)?", text):
        return "date"
    if re.fullmatch(r"\+?\(?[\d\s().\-/]{7,20}", text) and 7 <= digits <= 15:
        return "phone"
    if re.fullmatch(r"[$£€]\s*\d+([.,]\d+)?", text):
        return "price"
    if digits and _STREET.search(text):
        return "address"
    return "interval" if _INTERVAL.fullmatch(text) else ""


def _share_kind(column: int, rows: Sequence[Row]) -> str:
    seen = [_kind_of(row.cells[column]) for row in rows[:200] if column < len(row.cells) and words(row.cells[column])]
    return next((kind for kind in dict.fromkeys(seen) if kind and seen.count(kind) * 10 >= len(seen) * 6), "")


def _fitting(column: int, rows: Sequence[Row], fields: list[str], *, named: bool) -> str:
    cells = [one_line(row.cells[column]) for row in rows[:200] if column < len(row.cells) and words(row.cells[column])]
    if not cells:
        return ""
    kind = _share_kind(column, rows)
    if kind in ("phone", "email", "microchip", "price", "interval"):
        return kind if kind in MANY or kind not in fields else ""
    if kind == "address" and not {"address", "street"} & set(fields):
        return "address"
    patterns = {
        "breed": _BREED,
        "sex": _SEX,
        "weekday": _WEEKDAY,
        "weight": re.compile(r"(?i)\d+([.,]\d+)? ?(kgs?|lbs?)"),
    }
    for field, pattern in patterns.items():
        whole = pattern.search if field == "breed" else pattern.fullmatch
        if field not in fields and sum(bool(whole(cell)) for cell in cells) * 10 >= len(cells) * 6:
            return field
    code = sum(bool(_POSTCODE.fullmatch(cell)) for cell in cells) * 10 >= len(cells) * 8
    return "postcode" if code and "postcode" not in fields and not named else ""


def _name_columns(fields: list[str], rows: Sequence[Row], headings: tuple[str, ...]) -> None:
    """Where no heading said so, the first column of words is the household and the next short one the dog."""
    strange = not any(heading_field(heading) for heading in headings)
    if not strange and {"household", "first", "last"} & set(fields):
        return
    free = [at for at, field in enumerate(fields) if not field and _is_wordy(at, rows)]
    if free and not {"household", "first", "last"} & set(fields):
        fields[free.pop(0)] = "household"
    if free and "dog" not in fields and strange:
        fields[free.pop(0)] = "dog"


def _is_wordy(column: int, rows: Sequence[Row]) -> bool:
    cells = [one_line(row.cells[column]) for row in rows[:200] if column < len(row.cells) and words(row.cells[column])]
    plain = sum(bool(re.fullmatch(r"[^\d@]{2,40}", cell)) for cell in cells)
    return bool(cells) and plain * 10 >= len(cells) * 8


def _settle_doubles(fields: list[str]) -> None:
    """A field that holds one value keeps its first column; the others stay in the notes."""
    for field in set(fields) - MANY - {""}:
        for at in [at for at, one in enumerate(fields) if one == field][1:]:
            fields[at] = ""


def typed_time(cell: Cell) -> time | None:
    """The time of day in a typed cell that holds more than a date."""
    return cell.time() if isinstance(cell, datetime) and cell.time() != time(0) else None

"""Rows of a table as households: the good cells kept as what they are, the others in the notes with the reason."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, time
from typing import TypedDict

from coatround.intake import cells as read
from coatround.intake import dates
from coatround.intake.cautions import cautions
from coatround.intake.cells import Cell, Interval, one_line, words
from coatround.intake.columns import FIELDS, Columns, heading_field, heading_unit, typed_time
from coatround.intake.dates import DateOrder
from coatround.intake.errors import BadCell
from coatround.intake.found import Appointment, Dog, Household, Person, Place, Usual
from coatround.intake.phones import phones
from coatround.intake.table import Row

_DOG_MARKS = re.compile(r"\s*(?:&|\+|,|;|/|\n|\band\b)\s*", re.IGNORECASE)
_NOTHING = frozenset({"", "-", "n/a", "na", "none", "nil", "?", "unknown", "tba", "tbc"})
_POUNDS_COUNTRIES = frozenset({"US"})
LONGEST_NAME = 120
LONGEST_DOG_NAME = 80
LONGEST_TEXT = {"breed": 80, "suburb": 50, "region": 28, "postcode": 12, "vet": 120}
LONGEST_LINE = 160
LONGEST_KEY = 200
NOBODY = "nothing says whose this is: expected a name, phone, email or address. Fill one in, then bring it in again."


@dataclass(frozen=True)
class Setting:
    """What a row cannot say itself: country (ISO 3166), decimals of the currency, order of dates, today."""

    country: str
    exponent: int
    order: DateOrder | None
    today: date

    @property
    def weight_unit(self) -> str:
        """The unit of a weight that names none."""
        return "lb" if self.country in _POUNDS_COUNTRIES else "kg"


def clipped(text: str, most: int, notes: list[str]) -> str:
    """Text no longer than `most`; where it was, all of it goes to the notes."""
    if len(text) <= most:
        return text
    notes.append(f"in full: {text}")
    return text[: most - 1].rstrip() + "…"


class _Cells:
    """One row by field; everything that is taken out and cannot be read leaves a line in the notes."""

    def __init__(self, row: Row, columns: Columns, setting: Setting) -> None:
        self.row, self.columns, self.setting = row, columns, setting
        self.notes: list[str] = []
        self.filled: dict[str, list[Cell]] = {}
        for field, cell in zip(columns.fields, row.cells, strict=False):
            if field and words(cell).casefold() not in _NOTHING:
                self.filled.setdefault(field, []).append(cell)

    def raw(self, field: str) -> Cell:
        return next(iter(self.all(field)), None)

    def all(self, field: str) -> list[Cell]:
        return self.filled.get(field, [])

    def text(self, field: str) -> str:
        if field not in self.filled:
            return ""
        said = ", ".join(dict.fromkeys(one_line(cell) for cell in self.all(field)))
        return clipped(said, LONGEST_TEXT.get(field, LONGEST_LINE), self.notes)

    def unit(self, field: str) -> str:
        return next((heading_unit(self.columns.heading(at)) for at in self.columns.where(field)), "")

    def value[T](self, field: str, reader: Callable[[str, Cell], T | BadCell]) -> T | None:
        return self.read(field, self.raw(field), reader)

    def read[T](self, field: str, cell: Cell, reader: Callable[[str, Cell], T | BadCell]) -> T | None:
        if not words(cell):
            return None
        found = reader(FIELDS[field], cell)
        if isinstance(found, BadCell):
            self.notes.append(found.words())
            return None
        return found

    def unread(self, bad: Sequence[BadCell]) -> None:
        self.notes.extend(one.words() for one in bad)


def household_of_row(row: Row, columns: Columns, setting: Setting) -> Household | str:
    """The household that a row tells of, or the reason why there is none."""
    cells = _Cells(row, columns, setting)
    person = _person(cells)
    place = _place(cells)
    name = cells.text("household") or person.name
    if not (name or person.phones or person.emails or place):
        return NOBODY
    dogs = _dogs(cells)
    told = _told(cells)
    to_be_named = not name
    if to_be_named:
        name = _stand_in(dogs, person, place)
    cells.notes[:0] = _kept_lines(cells)
    return Household(
        name=clipped(name, LONGEST_NAME, cells.notes),
        persons=(person,) if person.name or person.phones or person.emails else (),
        place=place,
        dogs=dogs,
        notes=tuple(dict.fromkeys(line for line in cells.notes if line)),
        told=told,
        to_be_named=to_be_named,
    )


def _stand_in(dogs: tuple[Dog, ...], person: Person, place: Place | None) -> str:
    if dogs:
        return f"{' & '.join(dog.name for dog in dogs)}'s people"
    return next((one for one in (*person.phones, *person.emails, place.address if place else "") if one), "")


def _person(cells: _Cells) -> Person:
    found_phones: list[str] = []
    found_emails: list[str] = []
    for cell in cells.all("phone"):
        numbers, bad = phones(cell, cells.setting.country)
        found_phones += numbers
        cells.unread(bad)
    for cell in cells.all("email"):
        addresses, bad = read.emails(cell)
        found_emails += addresses
        cells.unread(bad)
    name = " ".join(part for part in (cells.text("first"), cells.text("last")) if part) or cells.text("household")
    return Person(
        clipped(name, LONGEST_NAME, cells.notes), tuple(dict.fromkeys(found_phones)), tuple(dict.fromkeys(found_emails))
    )


def _place(cells: _Cells) -> Place | None:
    address = ", ".join(part for part in (cells.text("street"), cells.text("address")) if part)
    gates, keys = _gates_and_keys(cells)
    latitude, longitude = _pin(cells)
    place = Place(
        street=clipped(address, LONGEST_LINE, cells.notes),
        suburb=cells.text("suburb"),
        region=cells.text("region"),
        postcode=cells.text("postcode"),
        latitude=latitude,
        longitude=longitude,
        gate=clipped(gates, LONGEST_LINE, cells.notes),
        parking=cells.text("parking"),
        keys=keys,
    )
    return place if place != Place() else None


def _pin(cells: _Cells) -> tuple[float | None, float | None]:
    """The point of a row, from one column or two; half a point is none."""
    said = cells.text("pin") or ", ".join(part for part in map(cells.text, ("latitude", "longitude")) if part)
    point = read.point(said)
    if said and point is None:
        cells.unread([BadCell(FIELDS["pin"], said, "expected a point such as -33.71234, 150.32345.")])
    return point or (None, None)


_CODE = re.compile(r"(?i)\b(code|pin|keypad|alarm|key ?safe|lock ?box|combination)\b|\d{3,}")


def _gates_and_keys(cells: _Cells) -> tuple[str, tuple[str, ...]]:
    """Gate notes as a line; what looks like a key or a code is kept apart from them."""
    said = [one_line(cell) for cell in cells.all("gate")]
    codes = [one_line(cell) for cell in cells.all("key")] + [one for one in said if _CODE.search(one)]
    for code in codes:
        if len(code) > LONGEST_KEY:
            cells.unread([BadCell(FIELDS["key"], "", f"longer than {LONGEST_KEY} characters; enter it by hand.")])
    keys = tuple(dict.fromkeys(code for code in codes if len(code) <= LONGEST_KEY))
    return ", ".join(dict.fromkeys(one for one in said if not _CODE.search(one))), keys


def split_dogs(text: str) -> tuple[str, ...]:
    """The names in a cell that may hold several dogs, such as 'Mop & Biscuit'."""
    return tuple(dict.fromkeys(name.strip() for name in _DOG_MARKS.split(text) if name.strip()))


def _dogs(cells: _Cells) -> tuple[Dog, ...]:
    split = (name for cell in cells.all("dog") for name in split_dogs(words(cell)))
    split = (name for name in split if name.casefold() not in _NOTHING)
    names = tuple(dict.fromkeys(clipped(name, LONGEST_DOG_NAME, cells.notes) for name in split))
    if not names:
        return ()
    shared = _shared(cells, len(names))
    usual = _usual(cells)
    last = cells.value("last_groom", _day(cells))
    if last and last > cells.setting.today:
        cells.unread([BadCell(FIELDS["last_groom"], last.isoformat(), "this day is still to come.")])
        last = None
    told_cautions, unnamed = cautions("\n".join(words(cell) for cell in cells.all("cautions")))
    cells.unread(unnamed)
    whole = Dog("", last_groom=last, usual=usual, cautions=told_cautions)
    dogs = tuple(replace(whole, name=name, **shared[at]) for at, name in enumerate(names))
    if len(dogs) > 1:
        for field in ("weight", "born", "sex", "microchip", "vaccinated"):
            for said in map(one_line, cells.all(field)):
                cells.unread([BadCell(FIELDS[field], said, f"it is not said which of {' and '.join(names)} is meant.")])
        return dogs
    return (_only_dog(dogs[0], cells),)


class _Shared(TypedDict):
    breed: str
    coat: str
    size: str
    vet: str


_CLOSED: dict[str, Callable[[str, Cell], str | BadCell]] = {"coat": read.coat, "size": read.size}


def _shared(cells: _Cells, count: int) -> list[_Shared]:
    """Breed, coat and the like: as many as there are dogs, or one that is said of all of them."""
    shared: dict[str, tuple[str, ...]] = {}
    for field in ("breed", "coat", "size", "vet"):
        said = cells.text(field)
        parts = tuple(part for part in re.split(r"\s*(?:&|,|;|/|\band\b)\s*", said) if part) if said else ()
        paired = field != "vet" and count > 1 and len(parts) == count
        shared[field] = parts if paired else (said,) * count
        if field in _CLOSED:
            shared[field] = tuple(cells.read(field, part, _CLOSED[field]) or "" for part in shared[field])
    return [
        _Shared(**{field: values[at] for field, values in shared.items()})  # type: ignore[typeddict-item]
        for at in range(count)
    ]


def _only_dog(dog: Dog, cells: _Cells) -> Dog:
    unit = cells.unit("weight") or cells.setting.weight_unit
    return replace(
        dog,
        grams=cells.value("weight", lambda field, cell: read.grams(field, cell, unit)),
        born=_born(cells, dog.name),
        sex=cells.value("sex", read.sex) or "",
        microchip=cells.value("microchip", read.microchip) or "",
        **_vaccination(cells, dog.name),
    )


def _born(cells: _Cells, name: str) -> str:
    born = cells.value("born", lambda field, cell: dates.born(field, cell, cells.setting.order, cells.setting.today))
    if born and len(born) < 10:
        cells.notes.append(f"{name}: born {born}, the day was not told")
    return born or ""


class _Vaccination(TypedDict, total=False):
    vaccinated_until: date
    vaccination_told: bool


def _vaccination(cells: _Cells, name: str) -> _Vaccination:
    """A day to come, or one under a heading that says so, is until when; a past day is when it was given."""
    found = cells.value("vaccinated", _day(cells))
    if found is None:
        return {}
    headings = " ".join(cells.columns.heading(at).lower() for at in cells.columns.where("vaccinated"))
    if found > cells.setting.today or re.search(r"due|until|expir|valid", headings):
        return {"vaccinated_until": found, "vaccination_told": True}
    cells.notes.append(f"{name}: vaccinated on {found.isoformat()}, until when was not told")
    return {"vaccination_told": True}


def _day(cells: _Cells) -> Callable[[str, Cell], date | BadCell]:
    return lambda field, cell: dates.day(field, cell, cells.setting.order, cells.setting.today)


def _usual(cells: _Cells) -> Usual:
    unit = cells.unit("interval") or "week"
    interval = cells.value("interval", lambda field, cell: read.interval(field, cell, unit))
    if isinstance(interval, Interval) and interval.remark:
        cells.notes.append(interval.remark)
    return Usual(
        interval=interval and replace(interval, remark=""),
        price=cells.value("price", lambda field, cell: read.minor_units(field, cell, cells.setting.exponent)),
        weekday=cells.value("weekday", dates.weekday),
        hour=cells.value("hour", dates.clock),
    )


def _told(cells: _Cells) -> tuple[Appointment, ...]:
    coming = cells.value("next_date", _day(cells))
    start = cells.value("next_time", dates.clock) or _time_beside(cells.raw("next_date"))
    if coming is None:
        if start:
            cells.notes.append(f"next visit's time {start:%H:%M} was given without a date")
        return ()
    if coming < cells.setting.today:
        cells.unread([BadCell(FIELDS["next_date"], coming.isoformat(), "this day is over; nothing was told.")])
        return ()
    return (Appointment(coming, start, None),)


def _time_beside(cell: Cell) -> time | None:
    if typed := typed_time(cell):
        return typed
    found = re.search(r"(?:\s|T)(\d{1,2}[:.]\d{2}\s*(?:[ap]m)?|\d{1,2}\s*[ap]m)", one_line(cell), re.IGNORECASE)
    start = dates.clock("time", found[1]) if found else None
    return start if isinstance(start, time) else None


def _kept_lines(cells: _Cells) -> list[str]:
    """The notes themselves, and every filled cell of a column that is nothing else, under its heading."""
    lines = [line for cell in cells.all("notes") for line in note_lines(words(cell))]
    taken: set[str] = set()
    for at, cell in enumerate(cells.row.cells):
        field = cells.columns.fields[at] if at < len(cells.columns.fields) else ""
        if words(cell).casefold() in _NOTHING:
            continue
        if not field and heading_field(cells.columns.heading(at)) == "key":
            cells.unread([BadCell(FIELDS["key"], "", "a column of keys or codes is never kept in the notes.")])
        elif not field or (field in taken and field in _ONE_VALUE):
            lines.append(f"{cells.columns.heading(at)}: {one_line(cell)}")
        taken.add(field)
    if not cells.all("dog"):
        for field in _DOG_FIELDS:
            lines += [f"{FIELDS[field]}: {one_line(cell)}" for cell in cells.all(field)]
    return lines


_ONE_VALUE = frozenset(
    ("weight", "born", "sex", "microchip", "vaccinated", "interval", "price", "weekday", "hour", "last_groom")
) | {"next_date", "next_time"}
_DOG_FIELDS = (
    "breed", "coat", "size", "weight", "born", "sex", "microchip", "vet", "vaccinated", "cautions", "interval",
    "price", "weekday", "hour", "last_groom",
)  # fmt: skip


def note_lines(text: str) -> list[str]:
    """Notes as single lines, blanks tidied."""
    return [" ".join(line.split()) for line in text.splitlines() if line.strip()]

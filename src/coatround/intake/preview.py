"""A file of any kind read into households, with every row of it accounted for."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal, get_args
from zoneinfo import ZoneInfo

from coatround.intake.cells import Cell, emails, one_line, words
from coatround.intake.columns import Columns, guess_columns, heading_unit
from coatround.intake.dates import DateOrder, Settled, numeric_date, settle_dates
from coatround.intake.errors import Unreadable
from coatround.intake.found import TO_BE_NAMED, Dog, Household, Person, Place, folded
from coatround.intake.ical import Event, read_ical
from coatround.intake.people import LONGEST_LINE, LONGEST_NAME, Setting, clipped, household_of_row, note_lines
from coatround.intake.phones import numbers_in
from coatround.intake.sheet import read_xlsx
from coatround.intake.table import Row, Table, read_csv
from coatround.intake.text import decode
from coatround.intake.vcard import household_of_card, read_vcards

Kind = Literal["csv", "xlsx", "vcard", "ical"]
KINDS: tuple[Kind, ...] = get_args(Kind)
MOST_BYTES = 32_000_000
_DATED = ("born", "vaccinated", "last_groom", "next_date")


@dataclass(frozen=True)
class SourceRow:
    """One row, card or event: the household it tells of, or the reason why there is none; and what it said."""

    row: int
    shown: str
    household: Household | None
    reason: str
    cells: tuple[Cell, ...] = ()
    lines: tuple[str, ...] = ()


@dataclass(frozen=True)
class Reading:
    """A whole file as it was read; nothing in it is joined to anything yet.

    `unsettled` shows dates that a person has to settle first; `remarks` say what was not read and why.
    """

    kind: Kind
    name: str
    rows: tuple[SourceRow, ...]
    today: date
    columns: Columns | None = None
    dates: Settled = "not-needed"
    unsettled: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()
    delimiter: str = ","
    encoding: str = ""
    zone_lines: tuple[str, ...] = ()


def read(
    data: bytes,
    name: str,
    *,
    kind: Kind | None = None,
    country: str,
    dates: DateOrder | None = None,
    columns: Mapping[int, str] | None = None,
    today: date,
    zone: ZoneInfo,
    exponent: int = 2,
) -> Reading:
    """Read a file's bytes; raises Unreadable, in words, where nothing in it can be read.

    `kind` overrules what the file looks like, `dates` what its dates say, `columns` (column from 0 to field) what
    was guessed from its headings. `zone` is the firm's, `exponent` the decimals of its currency.
    """
    if not data.strip(b"\0 \t\r\n\xef\xbb\xbf\xff\xfe"):
        raise Unreadable(f"The file {name} is empty. Expected a list of households, contacts or appointments.")
    if len(data) > MOST_BYTES:
        raise Unreadable(
            f"The file {name} has {len(data) / 10**6:.1f} MB; {MOST_BYTES // 10**6} MB is the most. "
            "Leave out pictures, or bring it in as two files."
        )
    setting = Setting(country, exponent, dates, today)
    match kind or kind_of(data):
        case "xlsx":
            return _read_table("xlsx", name, read_xlsx(data), setting, columns)
        case "vcard":
            return _read_cards(data, name, setting)
        case "ical":
            return _read_diary(data, name, setting, zone)
        case _:
            return _read_table("csv", name, read_csv(data), setting, columns)


def kind_of(data: bytes) -> Kind:
    """What kind of file the bytes are, from the bytes alone; raises Unreadable for kinds that are not read."""
    if data.startswith(b"PK"):
        return "xlsx"
    for start, what in _OTHERS:
        if data.lstrip()[:64].lower().startswith(start):
            raise Unreadable(f"The file is {what}. Expected CSV, XLSX, vCard or iCalendar: save it as one of those.")
    head = decode(data[:4096]).text.upper() if not data.startswith(b"PK") else ""
    lines = [line.strip() for line in head.splitlines()]
    if "BEGIN:VCARD" in lines:
        return "vcard"
    return "ical" if "BEGIN:VCALENDAR" in lines or "BEGIN:VEVENT" in lines else "csv"


_OTHERS = (
    (b"\xd0\xcf\x11\xe0", "an old XLS spreadsheet or a locked one"),
    (b"%pdf", "a PDF"),
    (b"<!doctype html", "a web page"),
    (b"<html", "a web page"),
    (b"<?xml", "XML"),
    (b"{\\rtf", "a text document"),
    (b"\x89png", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
)


def _read_table(kind: Kind, name: str, table: Table, setting: Setting, changes: Mapping[int, str] | None) -> Reading:
    columns = guess_columns(table.rows)
    if changes:
        columns = columns.changed(changes)
    above = [row for row in table.rows if columns.heading_row and row.number < columns.heading_row]
    rows = [row for row in table.rows if not columns.heading_row or row.number > columns.heading_row]
    if not rows:
        raise Unreadable(f"The file {name} has headings but no rows below them. Expected a row for each household.")
    dated = [row.cells[at] for field in _DATED for at in columns.where(field) for row in rows if at < len(row.cells)]
    settled = settle_dates(dated)
    order = setting.order or (settled if settled in ("day-first", "month-first") else None)
    unsettled = _open_dates(dated) if settled == "unsettled" and not setting.order else ()
    setting = Setting(setting.country, setting.exponent, order, setting.today)
    remarks = [f"Row {row.number} '{_shown(row)}' stands above the headings and was not read." for row in above]
    bare = [at for at in columns.where("weight") if not heading_unit(columns.heading(at))]
    if any(re.fullmatch(r"[\d.,]+", one_line(row.cells[at])) for at in bare for row in rows if at < len(row.cells)):
        remarks.append(f"Weights that name no unit were read as {setting.weight_unit}.")
    return Reading(
        kind=kind,
        name=name,
        rows=tuple(_source_row(row, columns, setting) for row in rows),
        today=setting.today,
        columns=columns,
        dates=settled,
        unsettled=unsettled,
        remarks=(*table.remarks, *remarks),
        delimiter=table.delimiter,
        encoding=table.encoding,
    )


def _open_dates(cells: list[Cell]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(one_line(cell) for cell in cells if numeric_date(cell)))[:5]


def _source_row(row: Row, columns: Columns, setting: Setting) -> SourceRow:
    if columns.heading_row and _repeats_headings(row, columns):
        found: Household | str = "this row repeats the headings. Nothing to do: take it out of the file."
    else:
        found = household_of_row(row, columns, setting)
    if isinstance(found, str):
        return SourceRow(row.number, _shown(row), None, f"Row {row.number} ('{_shown(row)}'): {found}", row.cells)
    return SourceRow(row.number, _shown(row), found, "", row.cells)


def _repeats_headings(row: Row, columns: Columns) -> bool:
    asked = [at for at, field in enumerate(columns.fields) if field != "why"]
    said = [one_line(row.cells[at]) if at < len(row.cells) else "" for at in asked]
    return said == [columns.headings[at] for at in asked]


def _shown(row: Row) -> str:
    said = ", ".join(one_line(cell) for cell in row.cells if words(cell))
    return said if len(said) <= 80 else said[:79] + "…"


def _read_cards(data: bytes, name: str, setting: Setting) -> Reading:
    cards = read_vcards(data)
    rows = []
    for card in cards.cards:
        found = household_of_card(card, setting)
        shown = next((line[3:] for line in card.lines if line.upper().startswith("FN:")), "")[:80]
        shown = shown.strip() or f"card {card.number}"
        reason = f"Card {card.number} ('{shown}'): {found}" if isinstance(found, str) else ""
        household = None if isinstance(found, str) else found
        rows.append(SourceRow(card.number, shown, household, reason, lines=card.lines))
    return Reading("vcard", name, tuple(rows), setting.today, remarks=cards.remarks)


def _read_diary(data: bytes, name: str, setting: Setting, zone: ZoneInfo) -> Reading:
    diary = read_ical(data, zone, setting.today)
    rows = []
    for event in diary.events:
        shown = (event.summary or event.location or f"event {event.number}")[:80]
        reason = f"Event {event.number} ('{shown}'): {event.fault}" if event.fault else ""
        household = None if event.fault else household_of_event(event, setting)
        rows.append(SourceRow(event.number, shown, household, reason, lines=event.lines))
    return Reading("ical", name, tuple(rows), setting.today, remarks=diary.remarks, zone_lines=diary.zone_lines)


def household_of_event(event: Event, setting: Setting) -> Household:
    """The household that an event tells of, as far as its summary and location say, marked to be named."""
    said = f"{event.summary}\n{event.location}\n{event.text}"
    mails = tuple(dict.fromkeys((*emails(said)[0], *(one for mail in event.emails for one in emails(mail)[0]))))
    person = Person("", numbers_in(said, setting.country), mails)
    notes = [*note_lines(event.text), *event.notes]
    name = clipped(event.summary or event.location, LONGEST_NAME, notes)
    place = Place(street=clipped(event.location, LONGEST_LINE, notes)) if _is_address(event.location) else None
    if place and event.point:
        place = replace(place, latitude=event.point[0], longitude=event.point[1])
    if event.location and place is None:
        notes.append(f"where: {event.location}")
    return Household(
        name=name,
        persons=(person,) if person.phones or person.emails else (),
        place=place,
        dogs=(Dog(TO_BE_NAMED),),
        notes=tuple(dict.fromkeys(notes)),
        past=event.dates,
        to_be_named=True,
    )


def _is_address(location: str) -> bool:
    return bool(folded(location)) and "://" not in location and any(c.isalpha() for c in location)

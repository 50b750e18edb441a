"""Refused rows written back in the format they came in, to be mended and brought in again."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass

from openpyxl import Workbook
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

from coatround.intake.cells import Cell, neutralised, words
from coatround.intake.columns import WHY_HEADING
from coatround.intake.preview import Kind, Reading, SourceRow
from coatround.intake.reconcile import Outcome
from coatround.intake.vcard import WHY_PROPERTY

_ENDINGS: dict[Kind, str] = {"csv": "csv", "xlsx": "xlsx", "vcard": "vcf", "ical": "ics"}
_FOLD_OCTETS = 75


@dataclass(frozen=True)
class RefusedFile:
    """A file's bytes, and the ending its name should have."""

    data: bytes
    ending: str


def refused_file(reading: Reading, outcome: Outcome) -> RefusedFile:
    """The refused rows of a reading in its own format, each with its reason beside it."""
    reasons = {one.row: one.reason for one in outcome.refused}
    rows = [(one, reasons[one.row]) for one in reading.rows if one.row in reasons]
    writers = {"csv": _csv, "xlsx": _xlsx, "vcard": _vcards, "ical": _ical}
    return RefusedFile(writers[reading.kind](reading, rows), _ENDINGS[reading.kind])


def _table(reading: Reading, rows: Sequence[tuple[SourceRow, str]]) -> list[list[Cell]]:
    """The heading row, if there is one, and the rows; the reason goes into a column of its own under the heading."""
    columns = reading.columns
    if columns is None or columns.heading_row is None:
        return [list(one.cells) for one, _ in rows]
    why = columns.where("why")
    keep = [at for at in range(len(columns.headings)) if at not in why]
    lines: list[list[Cell]] = [[*(columns.headings[at] for at in keep), WHY_HEADING]]
    for one, reason in rows:
        padded = one.cells + ("",) * (len(columns.headings) - len(one.cells))
        lines.append([*(padded[at] for at in keep), reason])
    return lines


def _csv(reading: Reading, rows: Sequence[tuple[SourceRow, str]]) -> bytes:
    text = io.StringIO()
    writer = csv.writer(text, delimiter=reading.delimiter or ",", lineterminator="\r\n", quoting=csv.QUOTE_ALL)
    writer.writerows([neutralised(_plain(cell)) for cell in line] for line in _table(reading, rows))
    return text.getvalue().encode("utf-8-sig", errors="replace")


def _plain(cell: Cell) -> str:
    return cell if isinstance(cell, str) else words(cell)


def _xlsx(reading: Reading, rows: Sequence[tuple[SourceRow, str]]) -> bytes:
    book = Workbook(write_only=True)
    sheet = book.create_sheet("Refused")
    for line in _table(reading, rows):
        sheet.append([_sheet_cell(cell) for cell in line])
    held = io.BytesIO()
    book.save(held)
    return held.getvalue()


def _sheet_cell(cell: Cell) -> Cell:
    if not isinstance(cell, str):
        return cell
    return neutralised(ILLEGAL_CHARACTERS_RE.sub("", cell))[:32_767]


def _vcards(reading: Reading, rows: Sequence[tuple[SourceRow, str]]) -> bytes:
    return _content_lines([line for one, reason in rows for line in _with_reason(one.lines, reason)])


def _ical(reading: Reading, rows: Sequence[tuple[SourceRow, str]]) -> bytes:
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Coatround//bringing in//EN", *reading.zone_lines]
    for one, reason in rows:
        lines += _with_reason(one.lines, reason)
    return _content_lines([*lines, "END:VCALENDAR"])


def _with_reason(lines: Sequence[str], reason: str) -> list[str]:
    """The lines as they came, the reason after the first; an earlier reason goes."""
    kept = [line for line in lines[1:] if not line.upper().startswith(f"{WHY_PROPERTY}:")]
    escaped = reason.replace("\\", "\\\\").replace("\n", "\\n").replace(",", "\\,").replace(";", "\\;")
    return [lines[0], f"{WHY_PROPERTY}:{escaped}", *kept]


def _content_lines(lines: Sequence[str]) -> bytes:
    return b"".join(_folded(line) + b"\r\n" for line in lines)


def _folded(line: str) -> bytes:
    """One content line folded at 75 octets, between characters."""
    parts: list[bytes] = []
    held = b""
    for character in line:
        octets = character.encode("utf-8", errors="replace")
        if len(held) + len(octets) > _FOLD_OCTETS - (1 if parts else 0):
            parts.append(held)
            held = b""
        held += octets
    return b"\r\n ".join([*parts, held])

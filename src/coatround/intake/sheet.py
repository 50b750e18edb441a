"""XLSX workbooks as the same rows of cells, dates and numbers as they were typed."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta
from itertools import islice
from typing import Any

from openpyxl import load_workbook
from openpyxl.xml import DEFUSEDXML

from coatround.intake.cells import Cell, marked_text, words
from coatround.intake.errors import Unreadable
from coatround.intake.table import Row, Table

_MOST_UNPACKED_BYTES = 400_000_000
_MOST_ROWS = 1_048_576
_MOST_COLUMNS = 1_000
_MOST_CELLS = 8_000_000
_BROKEN = (
    "The spreadsheet file is broken or is not an XLSX file. Open it in a spreadsheet program and save it again "
    "as XLSX, or as CSV."
)


def read_xlsx(data: bytes) -> Table:
    """Read the first sheet that holds anything; raises Unreadable where the file is broken, locked or far too big."""
    formulas = _looked_over(data)
    try:
        sheets = [(name, _rows(rows)) for name, rows in _sheets(data, shown_values=True)]
        if formulas:
            sheets = _with_formulas(sheets, data)
    except Unreadable:
        raise
    except Exception as error:  # a broken workbook fails in openpyxl with almost any exception
        raise Unreadable(_BROKEN) from error
    full = [(name, rows) for name, rows in sheets if rows]
    left = tuple(
        f"Sheet '{name}' ({len(rows)} rows) was not read: bring it in as a file of its own." for name, rows in full[1:]
    )
    return Table(tuple(full[0][1]) if full else (), "", "XLSX", left)


def _looked_over(data: bytes) -> bool:
    """Whether any sheet holds formulas; what unpacks to far more than a list of people is refused unread."""
    if not DEFUSEDXML:
        raise Unreadable("XLSX files cannot be read safely here: install defusedxml, or save the file as CSV.")
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            if sum(part.file_size for part in packed.infolist()) > _MOST_UNPACKED_BYTES:
                raise Unreadable(
                    f"The spreadsheet unpacks to more than {_MOST_UNPACKED_BYTES // 10**6} MB. "
                    "Expected a list of households: save that sheet alone as CSV."
                )
            names = [part.filename for part in packed.infolist()]
            if any(part.flag_bits & 1 for part in packed.infolist()):
                raise Unreadable("The spreadsheet is locked with a password. Take the password off and save it again.")
            if "xl/workbook.xml" not in names:
                raise Unreadable(_BROKEN)
            return any(_holds_formula(packed, name) for name in names if name.startswith("xl/worksheets/"))
    except (zipfile.BadZipFile, zipfile.LargeZipFile, OSError, ValueError, EOFError, NotImplementedError) as error:
        raise Unreadable(_BROKEN) from error
    except Exception as error:
        if isinstance(error, Unreadable):
            raise
        raise Unreadable(_BROKEN) from error


def _holds_formula(packed: zipfile.ZipFile, name: str) -> bool:
    unpacked = 0
    with packed.open(name) as part:
        tail = b""
        while block := part.read(1_000_000):
            unpacked += len(block)
            if unpacked > _MOST_UNPACKED_BYTES:
                raise Unreadable(_BROKEN)
            if b"<f>" in tail + block or b"<f " in tail + block:
                return True
            tail = block[-3:]
    return False


def _sheets(data: bytes, *, shown_values: bool) -> Iterator[tuple[str, Iterator[tuple[Any, ...]]]]:
    book = load_workbook(io.BytesIO(data), read_only=True, data_only=shown_values, keep_links=False)
    for sheet in book.worksheets:
        sheet.reset_dimensions()
        yield sheet.title, sheet.iter_rows(values_only=True)


def _rows(rows: Iterator[tuple[Any, ...]]) -> list[Row]:
    kept: list[Row] = []
    count = 0
    for number, values in enumerate(islice(rows, _MOST_ROWS), 1):
        cells = tuple(_cell(value) for value in values)
        if not any(words(cell) for cell in cells):
            continue
        while not words(cells[-1]):
            cells = cells[:-1]
        count += len(cells)
        if len(cells) > _MOST_COLUMNS or count > _MOST_CELLS:
            raise Unreadable("The sheet is far larger than a list of households. Save only the list as a file.")
        kept.append(Row(number, cells))
    return kept


def _with_formulas(sheets: list[tuple[str, list[Row]]], data: bytes) -> list[tuple[str, list[Row]]]:
    """Where a formula was saved without its value, the formula itself stands in the cell as text."""
    merged = []
    for (name, shown), (_, raw) in zip(sheets, _sheets(data, shown_values=False), strict=True):
        values = {row.number: row.cells for row in shown}
        merged.append((name, [Row(row.number, _filled(values.get(row.number, ()), row.cells)) for row in _rows(raw)]))
    return merged


def _filled(shown: tuple[Cell, ...], raw: tuple[Cell, ...]) -> tuple[Cell, ...]:
    padded = shown + (None,) * (len(raw) - len(shown))
    return tuple(value if words(value) else formula for value, formula in zip(padded, raw, strict=False))


def _cell(value: Any) -> Cell:
    if isinstance(value, str):
        return marked_text(value)
    if value is None or isinstance(value, (bool, int, float, datetime, date, time, timedelta)):
        return value
    return str(getattr(value, "text", value))

"""CSV, TSV and semicolon files as rows of cells, each with the number a spreadsheet shows beside it."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice

from coatround.intake.cells import Cell, marked_text, words
from coatround.intake.errors import Unreadable
from coatround.intake.text import decode

_SAMPLE_LINES = 200
_DELIMITERS = (",", ";", "\t", "|")
_MOST_COLUMNS = 1_000
_LONGEST_CELL = 200_000


@dataclass(frozen=True)
class Row:
    """One row that is not blank; `number` counts from 1 as a spreadsheet does, blank rows and heading included."""

    number: int
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class Table:
    """All rows that are not blank, and how the file was written."""

    rows: tuple[Row, ...]
    delimiter: str
    encoding: str
    remarks: tuple[str, ...] = ()


def read_csv(data: bytes) -> Table:
    """Read delimited text; raises Unreadable where it is not text or a cell is beyond all measure."""
    decoded = decode(data)
    lines = list(io.StringIO(decoded.text, newline=""))
    told = lines[0].strip().casefold() if lines else ""
    if told.startswith("sep=") and len(told) == 5:
        delimiter, lines = lines[0].strip()[4], lines[1:]
    else:
        delimiter = sniffed_delimiter(lines[:_SAMPLE_LINES])
    rows = [
        Row(number, tuple(marked_text(cell) for cell in cells))
        for number, cells in enumerate(_records(lines, delimiter), 1)
        if any(words(cell) for cell in cells)
    ]
    if any(len(row.cells) > _MOST_COLUMNS for row in rows):
        raise Unreadable(f"A row has more than {_MOST_COLUMNS} columns. Expected a list of households, a row each.")
    return Table(tuple(rows), delimiter, decoded.encoding)


def sniffed_delimiter(sample: Sequence[str]) -> str:
    """The delimiter by which most rows have as many columns as the first, the more columns the better."""
    return max(_DELIMITERS, key=lambda mark: _evenness(sample, mark))


def _evenness(sample: Sequence[str], delimiter: str) -> float:
    widths = [len(cells) for cells in _records(sample, delimiter) if any(cell.strip() for cell in cells)]
    if not widths:
        return 0.0
    modal, times = Counter(widths).most_common(1)[0]
    if max(widths) == 1:
        return 0.0
    modal = max(modal, 2) if widths[0] > 1 else modal
    first_fits = 1.0 if widths[0] >= modal else 0.3
    return first_fits * times / len(widths) * (1 - 1 / modal) + widths[0] / 10_000


def _records(lines: Sequence[str], delimiter: str) -> Iterator[list[str]]:
    """Records in order; a quotation mark that nothing closes is taken as a plain character of its line."""
    csv.field_size_limit(_LONGEST_CELL)
    start = 0
    while start < len(lines):
        held: list[str] | None = None
        began = ended = start
        stray: int | None = None
        reader = csv.reader(islice(lines, start, None), delimiter=delimiter)
        try:
            for cells in reader:
                if held is not None:
                    yield held
                held, began, ended = cells, ended, start + reader.line_num
        except csv.Error:
            stray = ended
        if stray is None and len(lines) - began > 1 and _ends_inside_quotes(lines[began:], delimiter):
            held, stray = None, began
        if held is not None:
            yield held
        if stray is None:
            return
        yield _plain_record(lines[stray], delimiter)
        start = stray + 1


def _ends_inside_quotes(lines: Sequence[str], delimiter: str) -> bool:
    try:
        list(csv.reader(lines, delimiter=delimiter, strict=True))
    except csv.Error as error:
        return "unexpected end" in str(error)
    return False


def _plain_record(line: str, delimiter: str) -> list[str]:
    if len(line) > _LONGEST_CELL:
        raise Unreadable(
            f"One cell is longer than {_LONGEST_CELL} characters. Expected a list of households, a row each."
        )
    return next(csv.reader([line], delimiter=delimiter, quoting=csv.QUOTE_NONE), [])

"""Dates, times of day and weekdays in cells, in whatever order and shape they were written."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date, datetime, time
from typing import Literal

from coatround.intake.cells import Cell, one_line
from coatround.intake.errors import BadCell

DateOrder = Literal["day-first", "month-first"]
Settled = Literal["day-first", "month-first", "unsettled", "not-needed"]

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_NUMERIC_DATE = re.compile(r"(\d{1,2})\s*[/.\-]\s*(\d{1,2})\s*[/.\-]\s*(\d{4}|\d{2})(?!\d)")
_ISO_DATE = re.compile(r"(\d{4})\s*[-/.]\s*(\d{1,2})\s*[-/.]\s*(\d{1,2})(?!\d)")
_COMPACT_DATE = re.compile(r"(19|20)(\d\d)(\d\d)(\d\d)(?!\d)")
_WORD_DATE = re.compile(
    r"(\d{1,2})(?:st|nd|rd|th)?[\s\-./,]*(?:of\s+)?([A-Za-z]{3,9})\.?[\s\-./,]+'?(\d{4}|\d{2})(?!\d)"
)
_WORD_DATE_US = re.compile(r"([A-Za-z]{3,9})\.?[\s\-./]*(\d{1,2})(?:st|nd|rd|th)?[\s\-./,]+'?(\d{4}|\d{2})(?!\d)")
_TIME = re.compile(r"(\d{1,2})(?:[:.h](\d{2}))?(?::\d{2}(?:\.\d+)?)?\s*([ap])?\.?(?:m\.?)?", re.IGNORECASE)


def settle_dates(cells: Iterable[Cell]) -> Settled:
    """Which of day and month comes first, as far as the file's own dates say.

    One date such as 25/12/2025 settles all of them; one of each kind settles nothing.
    """
    day_first = month_first = open_dates = 0
    for cell in cells:
        found = numeric_date(cell)
        if found:
            first, second = found
            day_first += first > 12 >= second
            month_first += second > 12 >= first
            open_dates += first <= 12 and second <= 12 and first != second
    if day_first and not month_first:
        return "day-first"
    if month_first and not day_first:
        return "month-first"
    return "unsettled" if open_dates or day_first else "not-needed"


def numeric_date(cell: Cell) -> tuple[int, int] | None:
    """The first and second number of a date such as 3/4/2025, or None for any other cell."""
    if not isinstance(cell, str):
        return None
    found = _NUMERIC_DATE.match(cell.strip())
    return (int(found[1]), int(found[2])) if found else None


def day(field: str, cell: Cell, order: DateOrder | None, today: date) -> date | BadCell:
    """A cell as a date; `order` says how 3/4/2025 is read."""
    if isinstance(cell, datetime):
        return cell.date()
    if isinstance(cell, date):
        return cell
    text = one_line(cell)
    parts = _date_parts(text, order, today)
    if parts is None:
        return BadCell(field, text, "expected a date such as 2025-03-28 or 28 March 2025.")
    try:
        found = date(*parts)
    except ValueError:
        return BadCell(field, text, f"there is no such date when read {order or 'as written'}.")
    if not 1980 <= found.year <= today.year + 5:
        return BadCell(field, text, f"the year {found.year} is too far away; check it.")
    return found


def _date_parts(text: str, order: DateOrder | None, today: date) -> tuple[int, int, int] | None:
    text = re.sub(r"(?i)^(?:mon|tues?|wed(?:nes)?|thu(?:rs)?|fri|sat(?:ur)?|sun)(?:day)?[\s,.]+", "", text)
    if found := _ISO_DATE.match(text):
        return int(found[1]), int(found[2]), int(found[3])
    if found := _COMPACT_DATE.match(text):
        return int(found[1] + found[2]), int(found[3]), int(found[4])
    if found := _NUMERIC_DATE.match(text):
        first, second, year = int(found[1]), int(found[2]), _year(found[3], today)
        return (year, first, second) if order == "month-first" else (year, second, first)
    if found := _WORD_DATE.match(text):
        return _with_month(found[3], found[2], found[1], today)
    if found := _WORD_DATE_US.match(text):
        return _with_month(found[3], found[1], found[2], today)
    return None


def _with_month(year: str, month: str, day_text: str, today: date) -> tuple[int, int, int] | None:
    name = month.lower()[:3]
    return (_year(year, today), _MONTHS.index(name) + 1, int(day_text)) if name in _MONTHS else None


def _year(text: str, today: date) -> int:
    if len(text) == 4:
        return int(text)
    guess = today.year - today.year % 100 + int(text)
    return guess - 100 if guess > today.year + 2 else guess


def born(field: str, cell: Cell, order: DateOrder | None, today: date) -> str | BadCell:
    """A date of birth as ISO 8601, as precise as it was told: 2019, 2019-05 or 2019-05-28."""
    text = one_line(cell)
    if re.fullmatch(r"(19[89]|20\d)\d", text):
        return text if int(text) <= today.year else BadCell(field, text, "this year is still to come; check it.")
    if found := re.fullmatch(r"([A-Za-z]{3,9})\.?[\s\-./,]*(\d{4})", text):
        month = found[1].lower()[:3]
        return f"{found[2]}-{_MONTHS.index(month) + 1:02}" if month in _MONTHS else BadCell(field, text, _NOT_BORN)
    if found := re.fullmatch(r"(\d{4})[-/](\d{1,2})|(\d{1,2})[-/](\d{4})", text):
        year, month_number = found[1] or found[4], int(found[2] or found[3])
        return f"{year}-{month_number:02}" if 1 <= month_number <= 12 else BadCell(field, text, _NOT_BORN)
    found_day = day(field, cell, order, today)
    if isinstance(found_day, BadCell):
        return found_day
    return found_day.isoformat() if found_day <= today else BadCell(field, text, "this day is still to come; check it.")


_NOT_BORN = "expected a date, a month and year, or a year."


def clock(field: str, cell: Cell) -> time | BadCell:
    """A cell as wall-clock time to the minute."""
    if isinstance(cell, datetime):
        cell = cell.time()
    if isinstance(cell, time):
        return cell.replace(second=0, microsecond=0, tzinfo=None)
    if isinstance(cell, float) and 0 <= cell < 1:
        minutes = round(cell * 1440)
        return time(minutes // 60 % 24, minutes % 60)
    text = one_line(cell)
    wrong = BadCell(field, text, "expected a time such as 09:30 or 9.30am.")
    if re.fullmatch(r"\d{3,4}", text):
        text = f"{text[:-2]}:{text[-2:]}"
    if text.lower() in ("noon", "midday"):
        return time(12)
    found = _TIME.fullmatch(text)
    if not found or not (found[2] or found[3]):
        return wrong
    hour, minute, half = int(found[1]), int(found[2] or 0), (found[3] or "").lower()
    if half and not 1 <= hour <= 12:
        return wrong
    if half:
        hour = hour % 12 + (12 if half == "p" else 0)
    return time(hour, minute) if hour < 24 and minute < 60 else wrong


def weekday(field: str, cell: Cell) -> int | BadCell:
    """A cell as a day of the week, 0 for Monday."""
    text = one_line(cell)
    names = [_WEEKDAYS.index(word[:3]) for word in re.findall(r"[a-z]+", text.lower()) if word[:3] in _WEEKDAYS]
    if len(set(names)) != 1:
        return BadCell(field, text, "expected one day of the week, such as Tuesday.")
    return names[0]

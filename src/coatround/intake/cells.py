"""One cell read as what its column holds: a value, or a BadCell with the reason and what to do."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal, InvalidOperation
from functools import lru_cache
from typing import Literal

from coatround.intake.errors import BadCell

Cell = str | int | float | bool | date | datetime | time | timedelta | None
DateOrder = Literal["day-first", "month-first"]
Settled = Literal["day-first", "month-first", "unsettled", "not-needed"]

_RUNS = re.compile(r"'*[=+\-@\t\r]")
_MARKED = re.compile(r"'+[=+\-@\t\r]")
_EMAIL = re.compile(r"[^\s@<>,;:\"()\[\]]+@[^\s@<>,;:\"()\[\]]+\.[^\s@<>,;:\"()\[\].]+")
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
_NUMBER_WORDS = {
    word: number
    for number, word in enumerate(
        [
            "zero",
            "one",
            "two",
            "three",
            "four",
            "five",
            "six",
            "seven",
            "eight",
            "nine",
            "ten",
            "eleven",
            "twelve",
            "thirteen",
        ]
    )
}
_INTERVAL_WORDS = {
    "weekly": 1,
    "fortnightly": 2,
    "fortnight": 2,
    "biweekly": 2,
    "bi weekly": 2,
    "bimonthly": 9,
    "monthly": 4,
    "quarterly": 13,
    "half yearly": 26,
    "twice a year": 26,
    "yearly": 52,
    "annually": 52,
}
_GRAMS = {
    "kg": Decimal(1000),
    "kilo": Decimal(1000),
    "g": Decimal(1),
    "gram": Decimal(1),
    "lb": Decimal("453.59237"),
    "pound": Decimal("453.59237"),
    "oz": Decimal("28.349523125"),
    "ounce": Decimal("28.349523125"),
    "st": Decimal("6350.29318"),
    "stone": Decimal("6350.29318"),
}
_HEAVIEST_GRAMS = 150_000


@dataclass(frozen=True)
class Interval:
    """Weeks from one groom to the next, the days it may be early or late if told, and a remark if it was rounded."""

    weeks: int
    days_early: int | None = None
    days_late: int | None = None
    remark: str = ""


def words(cell: Cell) -> str:
    """Any cell as a person would read it, outer blanks off; a midnight instant is its date."""
    if cell is None:
        return ""
    if isinstance(cell, str):
        return cell.strip(" \t\r\n\xa0\u200b\ufeff")
    if isinstance(cell, datetime):
        midnight = cell.time() == time(0)
        return cell.date().isoformat() if midnight else cell.strftime("%Y-%m-%d %H:%M")
    if isinstance(cell, time):
        return cell.strftime("%H:%M")
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    return cell.isoformat() if isinstance(cell, date) else str(cell)


def one_line(cell: Cell) -> str:
    """The words of a cell with every run of blanks and line ends as one blank."""
    return " ".join(words(cell).split())


def is_formula(text: str) -> bool:
    """Whether a spreadsheet would run this text as a formula."""
    return text[:1] in ("=", "+", "-", "@", "\t", "\r")


def neutralised(text: str) -> str:
    """Text with an apostrophe in front if a spreadsheet would run it; `marked_text` takes it off again."""
    return f"'{text}" if _RUNS.match(text) else text


def marked_text(text: str) -> str:
    """Text as it was before `neutralised`."""
    return text[1:] if _MARKED.match(text) else text


def emails(cell: Cell) -> tuple[tuple[str, ...], tuple[BadCell, ...]]:
    """Every email address in a cell, in small letters, and what is left over."""
    text = words(cell)
    found = tuple(dict.fromkeys(one.rstrip(".").lower() for one in _EMAIL.findall(text)))
    left = _EMAIL.sub(" ", re.sub(r"(?i)mailto:", " ", text))
    left = " ".join(left.translate(str.maketrans(",;<>/|()", "        ")).split())
    if not text or (found and not left):
        return found, ()
    if found and "@" not in left:
        return found, (BadCell("email", left, "stood beside the address and was kept here."),)
    return found, (BadCell("email", left or text, "expected name@place.example; write it again or ring them."),)


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


def grams(field: str, cell: Cell, unit: str) -> int | BadCell:
    """A cell as whole grams; `unit` (kg or lb) is for a number that names none."""
    text = one_line(cell).lower().replace(",", ".")
    pairs = re.findall(r"(\d+(?:\.\d+)?)\s*([a-z]*)", text)
    rest = re.sub(r"\d+(?:\.\d+)?\s*[a-z]*|[\s.~]|about|approx", "", text)
    units = [_GRAMS.get(name.removesuffix("s") if name != "s" else name) for _, name in pairs]
    total = Decimal(0)
    for (number, name), factor in zip(pairs, units, strict=True):
        factor = _GRAMS[unit] if not name else factor
        if factor is None:
            return BadCell(field, one_line(cell), "expected a weight such as 12 kg or 26 lb.")
        total += Decimal(number) * factor
    if not pairs or rest or len(pairs) > 2 or (len(pairs) == 2 and pairs[0][1] == pairs[1][1]):
        return BadCell(field, one_line(cell), "expected one weight such as 12 kg or 26 lb.")
    if not 200 <= total <= _HEAVIEST_GRAMS:
        return BadCell(field, one_line(cell), "expected a dog's weight between 0.2 and 150 kg; check the unit.")
    return round(total)


@lru_cache(maxsize=1024)
def interval(field: str, cell: Cell, unit: str = "week") -> Interval | BadCell:
    """A cell as an interval in weeks; `unit` is for a number that names none. A month is 52/12 weeks."""
    text = re.sub(r"[^a-z0-9.\-/ ]", " ", one_line(cell).lower().replace("–", "-").replace(" to ", "-"))
    text = " ".join(text.replace("every", " ").replace("each", " ").split())
    wrong = BadCell(field, one_line(cell), "expected an interval such as 6 weeks or every 6-8 weeks.")
    if text.replace("-", " ") in _INTERVAL_WORDS:
        return Interval(_INTERVAL_WORDS[text.replace("-", " ")])
    for word, number in _NUMBER_WORDS.items():
        text = re.sub(rf"\b{word}\b", str(number), text)
    text = f"1 {text}" if text in ("week", "month", "fortnight") else text
    found = re.fullmatch(r"(\d{1,3}(?:\.\d+)?)(?:\s*[-/]\s*(\d{1,3}))?[\s\-]*([a-z]*)\.?(?:ly)?", text)
    if not found:
        return wrong
    named = found[3][:1] if re.fullmatch(r"w|wk|wks|weeks?|weekly|d|days?|m|mo|mths?|months?|monthly", found[3]) else ""
    if found[3] and not named:
        return wrong
    days_each = {"w": Decimal(7), "d": Decimal(1), "m": Decimal(364) / 12}[named or unit[0]]
    low = Decimal(found[1]) * days_each
    high = Decimal(found[2]) * days_each if found[2] else low
    return _weeks_between(low, high, wrong, one_line(cell))


def _weeks_between(low: Decimal, high: Decimal, wrong: BadCell, said: str) -> Interval | BadCell:
    middle = (low + high) / 2
    weeks = int((middle / 7).to_integral_value())
    if low > high or not 1 <= weeks <= 104:
        return wrong
    exact = low == high and low % 7 == 0
    remark = "" if exact or low != high else f"'{said}' was read as {weeks} weeks"
    if low == high:
        return Interval(weeks, remark=remark)
    return Interval(weeks, max(0, weeks * 7 - round(low)), max(0, round(high) - weeks * 7))


def minor_units(field: str, cell: Cell, exponent: int) -> int | BadCell:
    """A cell as money in whole minor units of a currency with `exponent` decimals (ISO 4217)."""
    text = one_line(cell)
    wrong = BadCell(field, text, "expected one amount such as 85.00.")
    number = re.sub(r"(?i)^[a-z]{0,3}\s*[$£€¥₹]?\s*|\s*[$£€¥₹]?\s*[a-z]{0,3}$", "", text).replace("\xa0", " ")
    if isinstance(cell, float):
        number = repr(round(cell, 6))
    if not re.fullmatch(r"\d[\d.,' ]*", number):
        return wrong
    number = number.replace("'", "").replace(" ", "")
    if exponent == 2 and re.fullmatch(r"\d{1,3}[.,]\d{3}", number) and not number.endswith("000"):
        return BadCell(field, text, f"{number[-4]} may part decimals or thousands; write it with two decimals.")
    plain = _plain_decimal(number, exponent)
    try:
        amount = Decimal(plain).scaleb(exponent)
    except InvalidOperation:
        return wrong
    if amount != amount.to_integral_value():
        return BadCell(field, text, f"this currency has {exponent} decimals; write the amount with no more.")
    return int(amount) if amount < 10**9 else BadCell(field, text, "this is too much for one groom; check it.")


def _plain_decimal(number: str, exponent: int) -> str:
    """Digits with a decimal point: the last mark, unless three digits follow it and it may group thousands."""
    marks = [c for c in number if c in ".,"]
    if not marks:
        return number
    last = marks[-1]
    head, _, tail = number.rpartition(last)
    grouping = len(tail) == 3 and (exponent != 3 or marks.count(last) > 1) and not (len(set(marks)) > 1)
    if grouping:
        return head.replace(last, "") + tail
    return re.sub(r"[.,]", "", head) + "." + tail


def microchip(field: str, cell: Cell) -> str | BadCell:
    """A microchip number of ISO 11784 shape: fifteen digits, a country or maker's code first."""
    text = one_line(cell)
    if re.fullmatch(r"\d+(?:[.,]\d+)?[eE]\+?\d+", text):
        return BadCell(field, text, "a spreadsheet has rounded it; type the 15 digits again, with the column as text.")
    digits = re.sub(r"[\s.\-]", "", text)
    if not re.fullmatch(r"\d{15}", digits):
        return BadCell(field, text, "expected the 15 digits of ISO 11784; read the chip again.")
    if digits[:3] in ("000", "999"):
        return BadCell(field, text, "it begins with a code that ISO 11784 gives to no country or maker.")
    return digits


def sex(field: str, cell: Cell) -> str | BadCell:
    """'female', 'male', or 'spayed', 'neutered' where that was told."""
    text = one_line(cell).lower()
    said = set(re.findall(r"[a-z]+", text))
    female = said & {"f", "female", "bitch", "girl", "fs", "spayed", "she", "fn"}
    male = said & {"m", "male", "dog", "boy", "mn", "castrated", "he"}
    if bool(female) == bool(male):
        return BadCell(field, one_line(cell), "expected female or male.")
    whole = said & {"entire", "intact", "unneutered", "unspayed", "not"}
    cut = said & {"neutered", "spayed", "castrated", "desexed", "fs", "fn", "mn", "speyed"}
    return ("spayed" if female else "neutered") if cut and not whole else "female" if female else "male"


def point(text: str) -> tuple[float, float] | None:
    """Latitude and longitude in degrees from a pair as maps and RFC 5870 write it, or None."""
    found = re.match(r"\s*(?:geo:)?\s*(-?\d{1,3}(?:\.\d+)?)\s*[;, ]\s*(-?\d{1,3}(?:\.\d+)?)", text, re.IGNORECASE)
    if not found:
        return None
    latitude, longitude = round(float(found[1]), 6), round(float(found[2]), 6)
    if abs(latitude) > 90 or abs(longitude) > 180 or (latitude == 0 and longitude == 0):
        return None
    return latitude, longitude


_COATS = {
    "smooth": "smooth short flat sleek shorthaired",
    "double": "double thick undercoat shedding heavy",
    "wire": "wire wiry broken rough wirehaired",
    "curly": "curly curl curls wool woolly wooly fleece poodle",
    "silky": "silky silk long drop feathered longhaired",
    "hairless": "hairless bald naked",
    "": "mixed mix",
}
_SIZES = {
    "tiny": "tiny toy xs teacup",
    "small": "small s mini miniature little sml",
    "": "medium m med standard average",
    "large": "large l big lge lrg",
    "giant": "giant xl xxl huge",
}


def coat(field: str, cell: Cell) -> str | BadCell:
    """A coat as one of the trade's words; mixed, which says no more than nothing, is ''."""
    return _closed(field, cell, _COATS, "smooth, double, wire, curly, silky, hairless or mixed")


def size(field: str, cell: Cell) -> str | BadCell:
    """A size as tiny, small, large or giant; medium, which says no more than nothing, is ''."""
    return _closed(field, cell, _SIZES, "tiny, small, medium, large or giant")


def _closed(field: str, cell: Cell, known: dict[str, str], expected: str) -> str | BadCell:
    said = re.findall(r"[a-z]+", one_line(cell).lower())
    found = [word for word, others in known.items() if any(one in others.split() for one in said)]
    return found[0] if len(found) == 1 else BadCell(field, one_line(cell), f"expected {expected}.")

"""One cell read as what its column holds: a value, or a BadCell with the reason and what to do."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal, InvalidOperation
from functools import lru_cache

from coatround.intake.errors import BadCell

Cell = str | int | float | bool | date | datetime | time | timedelta | None

_RUNS = re.compile(r"'*[=+\-@\t\r]")
_MARKED = re.compile(r"'+[=+\-@\t\r]")
_EMAIL = re.compile(r"[^\s@<>,;:\"()\[\]]+@[^\s@<>,;:\"()\[\]]+\.[^\s@<>,;:\"()\[\].]+")
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

"""Small strict readers of plain JSON values: each gives the value as it is kept, or refuses it with a code and words.

A reader takes a value and its path (`body.findings[0].grade`) and raises Refused; it raises nothing else on any JSON.
"""

import datetime as dt
import re
import uuid
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass
from typing import Any

type Reader = Callable[[object, str], Any]

FIRST_YEAR, LAST_YEAR = 2000, 2100
LONGEST_INSTANT = 40
_UUID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}", re.ASCII | re.IGNORECASE)
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_CLOCK = re.compile(r"([01]\d|2[0-3]):([0-5]\d)", re.ASCII)
_UNKEEPABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff]")


@dataclass(frozen=True)
class Refusal:
    """Why something is not accepted: a code that stays the same, words for people, and the path to what is wrong."""

    code: str
    words: str
    path: str = ""


class Refused(Exception):
    """Raised by a reader; carries the refusal."""

    def __init__(self, code: str, words: str, path: str = "") -> None:
        self.refusal = Refusal(code, words, path)
        super().__init__(words)


@dataclass(frozen=True)
class Key:
    """How one key of an object is read, and whether it must be there."""

    read: Reader
    needed: bool = False


def shown(value: object) -> str:
    """A value as it would stand in a sentence, short and on one line."""
    if isinstance(value, dict):
        return "an object"
    if isinstance(value, list | tuple):
        return "a list"
    if isinstance(value, bool) or value is None:
        return {True: "true", False: "false", None: "nothing"}[value]
    if isinstance(value, int) and abs(value) >= 10**15:
        return "a very large number"
    text = _UNKEEPABLE.sub("?", repr(value) if isinstance(value, str) else str(value))
    return text if len(text) <= 60 else text[:57] + "..."


def wrong(code: str, path: str, value: object, expected: str) -> Refused:
    """A refusal in three parts: what is wrong, what was expected, what to do next."""
    words = f"{path or 'What was given'} is {shown(value)}; expected {expected}. Mend it, then try again."
    return Refused(code, words, path)


def whole_object(value: object, path: str, keys: Mapping[str, Key]) -> dict[str, Any]:
    """The keys of an object as read; a key not named in `keys` is refused, and so is a needed one that is missing."""
    if not isinstance(value, dict):
        raise wrong("not-an-object", path, value, "an object with named values")
    for name in value:
        if name not in keys:
            raise Refused(
                "unknown-key",
                f"{shown(name)} in {path or 'what was given'} is not known. Known: {', '.join(keys)}. Leave it out.",
                path,
            )
    for name, key in keys.items():
        if key.needed and value.get(name) is None:
            raise Refused(
                "missing-key",
                f"{inside(path, name)} is missing; it is needed. Add it, then try again.",
                inside(path, name),
            )
    return {name: keys[name].read(part, inside(path, name)) for name, part in value.items() if part is not None}


def inside(path: str, name: str) -> str:
    """The path of a key in the object at `path`."""
    return f"{path}.{name}" if path else name


def yes_or_no(value: object, path: str) -> bool:
    """Reads true or false, and nothing else that may pass for them."""
    if not isinstance(value, bool):
        raise wrong("wrong-type", path, value, "true or false")
    return value


def whole(low: int, high: int) -> Reader:
    """Reads a whole number from low to high; true, NaN and 5.0 are refused."""

    def read(value: object, path: str) -> int:
        if type(value) is not int:
            raise wrong("wrong-type", path, value, f"a whole number from {low} to {high}")
        if not low <= value <= high:
            raise wrong("out-of-range", path, value, f"a whole number from {low} to {high}")
        return value

    return read


def tenths(low: int, high: int) -> Reader:
    """Reads a finite number from low to high, kept to one decimal; a whole one stays whole."""

    def read(value: object, path: str) -> float:
        if type(value) not in (int, float):
            raise wrong("wrong-type", path, value, f"a number from {low} to {high}")
        assert isinstance(value, int | float)
        if not low <= value <= high:  # false for NaN and infinity; isfinite() breaks on a very large whole number
            raise wrong("out-of-range", path, value, f"a number from {low} to {high}")
        kept = round(value, 1)
        return int(kept) if kept == int(kept) else kept

    return read


def number(low: float, high: float, *, above: bool = False) -> Reader:
    """Reads a finite number from low to high as it is; with `above`, low itself is refused."""
    expected = f"a number above {low:g}, at most {high:g}" if above else f"a number from {low:g} to {high:g}"

    def read(value: object, path: str) -> float:
        if type(value) not in (int, float):
            raise wrong("wrong-type", path, value, expected)
        assert isinstance(value, int | float)
        if not low <= value <= high or (above and value == low):
            raise wrong("out-of-range", path, value, expected)
        return value

    return read


def text(longest: int, *, least: int = 0) -> Reader:
    """Reads text without control characters; blanks at its ends go."""

    def read(value: object, path: str) -> str:
        if not isinstance(value, str):
            raise wrong("wrong-type", path, value, "text")
        if len(value) > 10 * longest or len(value.strip()) > longest:
            raise Refused(
                "too-long",
                f"{path} has {len(value)} letters; at most {longest} can be kept. Shorten it and save it again.",
                path,
            )
        if _UNKEEPABLE.search(value):
            raise wrong("unreadable-text", path, value, "text without control characters")
        if len(value.strip()) < least:
            raise wrong("empty-text", path, value, "some words")
        return value.strip()

    return read


def one_of(words: Sequence[str]) -> Reader:
    """Reads one word of a closed list."""

    def read(value: object, path: str) -> str:
        if not isinstance(value, str) or value not in words:
            raise wrong("unknown-word", path, value, f"one of: {', '.join(words)}")
        return value

    return read


def list_of(read_item: Reader, most: int) -> Reader:
    """Reads a list of at most so many items into a tuple."""

    def read(value: object, path: str) -> tuple[Any, ...]:
        if not isinstance(value, list):
            raise wrong("wrong-type", path, value, "a list")
        if len(value) > most:
            raise Refused("too-many", f"{path} holds {len(value)}; at most {most} are kept. Send fewer.", path)
        return tuple(read_item(item, f"{path}[{number}]") for number, item in enumerate(value))

    return read


def row_id(value: object, path: str) -> uuid.UUID:
    """Reads the id of a row: a UUID written in five groups."""
    if not isinstance(value, str) or not _UUID.fullmatch(value):
        raise wrong("not-an-id", path, value, "an id like 01998a3c-0000-7000-8000-000000000000")
    return uuid.UUID(value)


def record_id(value: object, path: str) -> uuid.UUID:
    """Reads the id of a record: a UUID of version 7 (RFC 9562), made where the record was written."""
    found = row_id(value, path)
    if found.version != 7 or found.variant != uuid.RFC_4122:
        raise wrong("not-an-id", path, value, "a UUID of version 7")
    return found


def instant(value: object, path: str) -> dt.datetime:
    """Reads an ISO 8601 instant with its offset from UTC; kept in UTC."""
    expected = "an instant with its offset, like 2026-03-02T09:30:00+11:00"
    if not isinstance(value, str) or len(value) > LONGEST_INSTANT:
        raise wrong("not-an-instant", path, value, expected)
    try:
        found = dt.datetime.fromisoformat(value)
    except ValueError:
        raise wrong("not-an-instant", path, value, expected) from None
    if found.tzinfo is None:
        raise wrong("not-an-instant", path, value, expected)
    if not FIRST_YEAR <= found.year < LAST_YEAR:
        raise wrong("far-off", path, value, f"a year from {FIRST_YEAR} to {LAST_YEAR - 1}")
    return found.astimezone(dt.UTC)


def date(value: object, path: str) -> dt.date:
    """Reads a date written YYYY-MM-DD (ISO 8601)."""
    try:
        if not isinstance(value, str) or not _DATE.fullmatch(value):
            raise ValueError
        found = dt.date.fromisoformat(value)
    except ValueError:
        raise wrong("not-a-date", path, value, "a date like 2026-03-02") from None
    if not FIRST_YEAR <= found.year < LAST_YEAR:
        raise wrong("far-off", path, value, f"a year from {FIRST_YEAR} to {LAST_YEAR - 1}")
    return found


def clock(value: object, path: str) -> dt.time:
    """Reads a wall-clock time written HH:MM."""
    match = _CLOCK.fullmatch(value) if isinstance(value, str) else None
    if match is None:
        raise wrong("not-a-time", path, value, "a time like 09:30")
    return dt.time(int(match[1]), int(match[2]))


def plain(value: object) -> Any:
    """A read value as JSON again: what was not said is left out, a trailing underscore of a name goes."""
    if is_dataclass(value) and not isinstance(value, type):
        pairs = ((field, getattr(value, field.name)) for field in fields(value))
        return {
            field.name.rstrip("_"): _keyed(part) if field.metadata.get("keyed") else plain(part)
            for field, part in pairs
            if part is not None and part not in ((), "")
        }
    if isinstance(value, tuple):
        return [plain(item) for item in value]
    if isinstance(value, dt.time):
        return value.isoformat("minutes")
    if isinstance(value, dt.date):  # a datetime is one too
        return value.isoformat()
    return str(value) if isinstance(value, uuid.UUID) else value


def _keyed(rows: Sequence[Any]) -> dict[str, Any]:
    return {row.part: {name: part for name, part in plain(row).items() if name != "part"} for row in rows}

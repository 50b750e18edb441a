"""Strict reading of JSON: every refusal names the path to what is wrong, `visits[3].days[1].windows[0]`."""

import datetime
import json
import math
import re
from collections.abc import Callable, Iterable, Sequence
from typing import Any

from coatround.core.errors import BadInput

MOST = 1_000_000_000
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)


class _Object(dict[str, Any]):
    """A JSON object that remembers a key written twice."""

    twice: str | None = None


def _pairs(pairs: list[tuple[str, Any]]) -> _Object:
    found = _Object()
    for key, value in pairs:
        if key in found and found.twice is None:
            found.twice = key
        found[key] = value
    return found


def parse(text: str | bytes) -> Any:
    """The JSON value in `text` (UTF-8 if bytes), ready for the readers below; BadInput if it is none."""
    try:
        if isinstance(text, bytes):
            text = text.decode("utf-8-sig")
        return json.loads(text, object_pairs_hook=_pairs)
    except UnicodeDecodeError as error:
        raise BadInput("", f"not UTF-8 text (byte {error.start})") from None
    except json.JSONDecodeError as error:
        raise BadInput("", f"not JSON: {error.msg} (line {error.lineno}, column {error.colno})") from None
    except RecursionError:
        raise BadInput("", "not JSON that can be read: nested too deeply") from None
    except ValueError:
        raise BadInput("", "not JSON that can be read: a number with too many digits") from None


def shown(value: Any) -> str:
    """A value as it would stand in the file, short and on one line."""
    text = json.dumps(value, default=str)
    return text if len(text) <= 60 else text[:57] + "..."


def inside(path: str, key: str) -> str:
    """The path of `key` in the object at `path`."""
    name = key if re.fullmatch(r"\w+", key, re.ASCII) else shown(key)
    return f"{path}.{name}" if path else name


def whole_object(value: Any, path: str, needed: Sequence[str], optional: Sequence[str] = ()) -> dict[str, Any]:
    """`value` as an object with all of `needed`, perhaps some of `optional`, and nothing else."""
    if not isinstance(value, dict):
        raise BadInput(path, f"{shown(value)}, expected an object")
    if isinstance(value, _Object) and value.twice is not None:
        raise BadInput(inside(path, value.twice), "this key stands twice")
    for key in value:
        if key not in needed and key not in optional:
            raise BadInput(inside(path, key), "unknown key")
    for key in needed:
        if key not in value:
            raise BadInput(inside(path, key), "missing")
    return value


def whole_list(value: Any, path: str) -> list[Any]:
    """`value` as a list."""
    if not isinstance(value, list):
        raise BadInput(path, f"{shown(value)}, expected a list")
    return value


def each[T](value: Any, path: str, read: Callable[[Any, str], T]) -> tuple[T, ...]:
    """Every item of the list `value`, read by `read`."""
    return tuple(read(item, f"{path}[{i}]") for i, item in enumerate(whole_list(value, path)))


def whole_number(value: Any, path: str) -> int:
    """`value` as a whole number from 0 to a thousand million; booleans, NaN and 5.0 are refused."""
    if type(value) is not int:
        raise BadInput(path, f"{shown(value)}, expected a whole number")
    if value < 0:
        raise BadInput(path, f"{value}, expected 0 or more")
    if value > MOST:
        raise BadInput(path, f"{shown(value)}, expected at most {MOST}")
    return value


def number_between(value: Any, path: str, low: float, high: float) -> float:
    """`value` as a finite number from `low` to `high`."""
    if type(value) not in (int, float) or (type(value) is float and not math.isfinite(value)):
        raise BadInput(path, f"{shown(value)}, expected a number")
    if not low <= value <= high:
        raise BadInput(path, f"{shown(value)}, expected {low:g} to {high:g}")
    return float(value)


def text_of(value: Any, path: str) -> str:
    """`value` as text that is not empty and can be written as UTF-8."""
    if not isinstance(value, str):
        raise BadInput(path, f"{shown(value)}, expected text")
    if not value:
        raise BadInput(path, "empty text")
    if any("\ud800" <= letter <= "\udfff" for letter in value):
        raise BadInput(path, f"{shown(value)}, not text that UTF-8 can hold")
    return value


def yes_or_no(value: Any, path: str) -> bool:
    """`value` as true or false."""
    if not isinstance(value, bool):
        raise BadInput(path, f"{shown(value)}, expected true or false")
    return value


def date_of(value: Any, path: str) -> datetime.date:
    """`value` as a date written YYYY-MM-DD (ISO 8601)."""
    if not isinstance(value, str) or not _DATE.fullmatch(value):
        raise BadInput(path, f"{shown(value)}, expected a date like 2026-03-02")
    try:
        return datetime.date.fromisoformat(value)
    except ValueError:
        raise BadInput(path, f"{shown(value)}, no such date") from None


def refuse_twice(values: Iterable[object], path: str, key: str, what: str) -> None:
    """Refuses a value that an earlier item of the list at `path` already has under `key`."""
    seen = set()
    for i, value in enumerate(values):
        if value in seen:
            place = f"{path}[{i}].{key}" if key else f"{path}[{i}]"
            raise BadInput(place, f"{what} {shown(value)} stands twice")
        seen.add(value)

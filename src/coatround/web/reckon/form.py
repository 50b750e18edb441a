"""A reckoner's form: what was typed, in the firm's units, and the JSON that is reckoned from it."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from django.http import QueryDict
from django.utils.translation import gettext as _

from coatround.core.reckon.asked import Reckoner, Value
from coatround.core.reckon.measures import System, from_people, to_people, unit_name

SPARE_ROWS = 2
MOST_ROWS = 60
NUMBER = re.compile(r"[-+]?\d{1,15}([.,]\d{1,12})?")


@dataclass
class Field:
    """One field as it stands on the page."""

    name: str
    value: Value
    unit: str
    typed: str = ""
    error: str = ""
    parts: dict[str, str] = field(default_factory=dict)

    @property
    def wrong_id(self) -> str:
        return f"wrong-{self.name}"


@dataclass
class Rows:
    """A list of rows as it stands on the page."""

    value: Value
    rows: list[list[Field]]
    error: str = ""

    @property
    def kind(self) -> str:
        return "rows"


@dataclass
class Form:
    """All fields, and what was typed as JSON: a number that can't be read stays text, so that it is refused by name."""

    fields: list[Field | Rows]
    asked: dict[str, Any]

    def blame(self, path: str, words: str) -> None:
        """Puts a refusal's words beside what they speak of; at the top where it is nowhere."""
        found = re.fullmatch(r"(\w+)\[(\d+)\]\.?(\w+)?.*", path)
        for one in self.fields:
            if isinstance(one, Rows) and found and one.value.name == found[1] and found[3]:
                filled = [row for row in one.rows if any(part.typed or part.parts.get("product") for part in row)]
                row = filled[int(found[2])] if int(found[2]) < len(filled) else one.rows[0]
                for part in row:
                    if part.value.name == found[3]:
                        part.error = words
                        return
            if one.value.name == path.partition("[")[0].partition(".")[0]:
                one.error = words
                return
        self.fields[0].error = words


def read(reckoner: Reckoner, typed: QueryDict, system: System) -> Form:
    """The form as it was sent."""
    fields: list[Field | Rows] = []
    asked: dict[str, Any] = {}
    for value in reckoner.values:
        if value.kind == "rows":
            rows, found = _read_rows(value, typed, system)
            fields.append(Rows(value, rows))
            asked[value.name] = found
            continue
        one = _field(value, value.name, typed, system)
        fields.append(one)
        kept = _kept(one, system)
        if kept is not None:
            asked[value.name] = kept
    return Form(fields, asked)


def example(reckoner: Reckoner, system: System) -> Form:
    """The form filled with values that can be tried."""
    typed = QueryDict(mutable=True)
    for value in reckoner.values:
        if value.example is not None:
            _type(typed, value, value.name, value.example, system)
    return read(reckoner, typed, system)


def _type(typed: QueryDict, value: Value, name: str, said: Any, system: System) -> None:
    if value.kind == "rows":
        for place, row in enumerate(said):
            for part in value.of:
                if part.name in row:
                    _type(typed, part, f"{name}-{place}-{part.name}", row[part.name], system)
    elif value.kind == "ratio":
        rule = "water" if "water" in said else "total"
        typed[f"{name}-product"], typed[f"{name}-other"] = str(said["product"]), str(said[rule])
        typed[f"{name}-rule"] = rule
    elif value.kind == "numbers":
        typed[name] = " ".join(f"{to_people(one, value.unit, system):.6g}" for one in said)
    elif value.kind == "groups":
        typed[name] = "\n".join(f"{group}: {' '.join(f'{one:g}' for one in part)}" for group, part in said.items())
    elif value.kind == "yes":
        typed[name] = "yes" if said else "no"
    elif value.kind in ("number", "whole"):
        typed[name] = f"{to_people(said, value.unit, system):.6g}"
    else:
        typed[name] = str(said)


def _read_rows(value: Value, typed: QueryDict, system: System) -> tuple[list[list[Field]], list[dict[str, Any]]]:
    pattern = re.compile(rf"{value.name}-(\d{{1,3}})-")
    places = {int(place[1]) for name in typed if (place := pattern.match(name))}
    rows: list[list[Field]] = []
    found: list[dict[str, Any]] = []
    for number in range(min(max(places, default=-1) + 1, MOST_ROWS)):
        row = [_field(part, f"{value.name}-{number}-{part.name}", typed, system) for part in value.of]
        kept = {part.value.name: said for part in row if (said := _kept(part, system)) is not None}
        if kept:
            rows.append(row)
            found.append(kept)
    rows = [
        [_renamed(part, f"{value.name}-{number}-{part.value.name}") for part in row] for number, row in enumerate(rows)
    ]
    for number in range(len(rows), len(rows) + SPARE_ROWS):
        rows.append([_field(part, f"{value.name}-{number}-{part.name}", QueryDict(), system) for part in value.of])
    return rows, found


def _renamed(part: Field, name: str) -> Field:
    return Field(name, part.value, part.unit, part.typed, part.error, part.parts)


def _field(value: Value, name: str, typed: QueryDict, system: System) -> Field:
    unit = unit_name(value.unit, system) if value.unit else ""
    parts = {}
    if value.kind == "ratio":
        parts = {part: typed.get(f"{name}-{part}", "").strip()[:40] for part in ("product", "other", "rule")}
    return Field(name, value, unit, typed.get(name, "").strip()[:20_000], parts=parts)


def _kept(one: Field, system: System) -> Any:
    """What was typed as it is reckoned with; None where nothing was typed."""
    value, typed = one.value, one.typed
    if value.kind == "ratio":
        product, other, rule = (one.parts[part] for part in ("product", "other", "rule"))
        if not product and not other:
            return None
        return {"product": number_of(product), rule if rule in ("water", "total") else "water": number_of(other)}
    if value.kind == "yes":
        return typed == "yes" if typed else False
    if not typed:
        return None
    if value.kind in ("number", "whole"):
        found = number_of(typed)
        return found if isinstance(found, str) else _converted(found, value.unit, system)
    if value.kind == "numbers":
        numbers = [number_of(word) for word in re.split(r"[\s;]+", typed) if word]
        return [one if isinstance(one, str) else _converted(one, value.unit, system) for one in numbers]
    if value.kind == "groups":
        return _groups(typed)
    return typed


def _converted(number: float, unit: str, system: System) -> float:
    return number if system == "metric" else from_people(number, unit, system)


def _groups(typed: str) -> dict[str, list[float | str]]:
    found: dict[str, list[float | str]] = {}
    for line in typed.splitlines():
        name, colon, said = line.partition(":")
        if line.strip():
            found.setdefault(name.strip() if colon else line.strip(), []).extend(
                number_of(word) for word in re.split(r"[\s;]+", said) if word
            )
    return found


def number_of(typed: str) -> float | str:
    """The number that was typed, with a point or a comma; else the text itself."""
    if not NUMBER.fullmatch(typed):
        return typed
    plain = typed.replace(",", ".")
    return float(plain) if "." in plain else int(plain)


def in_words(words: str, labels: Mapping[str, str]) -> str:
    """A refusal's words with what the page calls each value in place of its key."""
    for name in sorted(labels, key=len, reverse=True):
        words = re.sub(rf"(?<!\w){re.escape(name)}(?!\w)", labels[name], words)
    return words or _("Something is wrong.")

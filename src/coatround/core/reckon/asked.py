"""What a reckoner asks for: named values with their unit and range, read strictly; what it gives back."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any, Literal

from coatround.core.checking import (
    Key,
    Reader,
    Refused,
    inside,
    list_of,
    number,
    one_of,
    text,
    whole,
    whole_object,
    wrong,
    yes_or_no,
)
from coatround.core.errors import BadInput
from coatround.core.trade.mix import Ratio

MOST_ROWS = 2000
MOST_GROUPS, MOST_VALUES = 100, 20_000
Kind = Literal["number", "whole", "word", "ratio", "rows", "numbers", "groups", "yes"]


@dataclass(frozen=True, slots=True)
class Value:
    """One named value: words for people, its unit ("" for none), how it is read; `of` are the values of each row."""

    name: str
    words: str
    unit: str
    kind: Kind
    read: Reader
    needed: bool = True
    choices: tuple[str, ...] = ()
    of: tuple["Value", ...] = ()
    example: Any = None

    @property
    def key(self) -> Key:
        return Key(self.read, self.needed)


@dataclass(frozen=True, slots=True)
class Reckoner:
    """One question of the trade: what it asks, how it is reckoned, and what stands beside its answer.

    `reckon` takes the values as read and gives plain JSON. `caution` is there whenever the answer touches health, heat,
    lifting, noise, hot water or chemicals, and goes into the answer.
    """

    name: str
    title: str
    words: str
    values: tuple[Value, ...]
    reckon: Callable[[Mapping[str, Any]], dict[str, Any]]
    formula: str
    source: str
    caution: str = ""

    def answer(self, asked: object) -> dict[str, Any]:
        """The answer to a JSON object. Raises Refused with the key that is missing or wrong."""
        read = whole_object(asked, "", {value.name: value.key for value in self.values})
        try:
            found = self.reckon(read)
        except BadInput as error:
            raise Refused("wrong-value", f"{error}. Mend it, then try again.", error.path) from None
        except (OverflowError, ZeroDivisionError):
            raise Refused("out-of-range", "These numbers are too far apart to reckon with. Mend them.", "") from None
        rounded: dict[str, Any] = tidy(found)
        return {**rounded, "caution": self.caution} if self.caution else rounded

    def explained(self, asked: object) -> dict[str, Any]:
        """The answer with its formula, the values it was reckoned from, its source and its caution."""
        return {
            "answer": self.answer(asked),
            "formula": self.formula,
            "values": asked,
            "source": self.source,
            "caution": self.caution,
        }

    @property
    def example(self) -> dict[str, Any]:
        """Values that can be tried at once."""
        return {value.name: value.example for value in self.values if value.example is not None}


def tidy(value: Any) -> Any:
    """Numbers rounded to nine decimals, so that 0.1 + 0.2 reads 0.3; lists and objects likewise."""
    if isinstance(value, float):
        return round(value, 9)
    if isinstance(value, dict):
        return {name: tidy(part) for name, part in value.items()}
    return [tidy(part) for part in value] if isinstance(value, list | tuple) else value


def a_number(
    name: str, words: str, unit: str, low: float, high: float, example: float | None = None, *, needed: bool = True,
    above: bool = False,
) -> Value:  # fmt: skip
    """A number from low to high."""
    return Value(name, words, unit, "number", number(low, high, above=above), needed, example=example)


def a_whole(
    name: str, words: str, unit: str, low: int, high: int, example: int | None = None, *, needed: bool = True
) -> Value:
    """A whole number from low to high."""
    return Value(name, words, unit, "whole", whole(low, high), needed, example=example)


def a_word(name: str, words: str, choices: Sequence[str], example: str, *, needed: bool = True) -> Value:
    """One of some words."""
    return Value(name, words, "", "word", one_of(tuple(choices)), needed, tuple(choices), example=example)


def yes(name: str, words: str, example: bool) -> Value:
    """True or false."""
    return Value(name, words, "", "yes", yes_or_no, example=example)


def named(name: str, words: str, example: str = "") -> Value:
    """A name in a few words."""
    return Value(name, words, "", "word", text(80, least=1), example=example or None)


def rows(name: str, words: str, of: Sequence[Value], example: object, most: int = 200) -> Value:
    """A list of objects."""
    keys = {value.name: value.key for value in of}

    def read(value: object, path: str) -> tuple[Any, ...]:
        found: tuple[Any, ...] = list_of(lambda one, where: whole_object(one, where, keys), most)(value, path)
        if not found:
            raise wrong("empty-list", path, value, "at least one")
        return found

    return Value(name, words, "", "rows", read, of=tuple(of), example=example)


def numbers(name: str, words: str, unit: str, low: float, high: float, example: object, *, least: int = 1) -> Value:
    """A list of numbers."""

    def read(value: object, path: str) -> tuple[float, ...]:
        found: tuple[float, ...] = list_of(number(low, high), MOST_ROWS)(value, path)
        if len(found) < least:
            raise Refused("too-few", f"{path} holds {len(found)}; expected at least {least}. Add some.", path)
        return found

    return Value(name, words, unit, "numbers", read, example=example)


def groups(name: str, words: str, example: object) -> Value:
    """Lists of numbers by name."""
    read_list = list_of(number(-1e9, 1e9), MOST_ROWS)

    def read(value: object, path: str) -> dict[str, tuple[float, ...]]:
        if not isinstance(value, dict) or not value:
            raise wrong("not-an-object", path, value, "an object of names, each with a list of numbers")
        found = {group: read_list(part, inside(path, group)) for group, part in value.items()}
        if len(found) > MOST_GROUPS or sum(map(len, found.values())) > MOST_VALUES:
            words = f"{path} holds too much; at most {MOST_GROUPS} groups with {MOST_VALUES} values. Give fewer."
            raise Refused("too-many", words, path)
        return found

    return Value(name, words, "", "groups", read, example=example)


def a_ratio(name: str, words: str, example: object) -> Value:
    """A label's ratio by its rule: {"product": 1, "water": 32}, or {"product": 1, "total": 32}; never "1:32"."""
    return Value(name, words, "", "ratio", read_ratio, example=example)


def read_ratio(value: object, path: str) -> Ratio:
    """Reads a ratio as one of its two rules."""
    expected = '{"product": 1, "water": 32} (one part and 32 of water) or {"product": 1, "total": 32} (one part in 32)'
    parts = number(0, 100_000)
    if not isinstance(value, dict) or set(value) not in ({"product", "water"}, {"product", "total"}):
        raise wrong("not-a-ratio", path, value, expected)
    rule: Literal["water", "total"] = "water" if "water" in value else "total"
    product, other = (exact(parts(value[name], inside(path, name))) for name in ("product", rule))
    scale = product.denominator * other.denominator
    try:
        return Ratio(int(product * scale), int(other * scale), rule)
    except BadInput as error:
        raise wrong(
            "not-a-ratio", inside(path, rule if error.path == "other" else "product"), value, expected
        ) from None


def exact(value: float) -> Fraction:
    """A number as it was written: 0.1 is one tenth, not its nearest binary fraction."""
    return Fraction(Decimal(str(value)))

"""Asking the index of addresses: what typed words may stand for, in several ways, and how well a name fits them."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from coatround.roads.address_words import KIND_WORDS, Reading, short

KIND_COST, PART_COST, WORD_COST = 0.25, 0.5, 1.0
"""What it costs that a name has more than was typed: a word like street or road, the rest of a word, another word."""


@dataclass(frozen=True, slots=True)
class Word:
    """A typed word: what it may stand for with what each costs, and whether it may be only a beginning."""

    typed: str
    meant: dict[str, float]
    begun: bool

    def cost(self, word: str) -> float | None:
        """What it costs to take this for a word of a street's name; None where it can't be."""
        meant = self.meant.get(word, self.meant.get(short(word)))
        return PART_COST if meant is None and self.begun and word.startswith(self.typed) else meant

    @property
    def asked(self) -> str:
        """As the index is asked; words hold letters and digits only, so nothing of them is taken for a sign."""
        return " OR ".join([f'"{word}"' for word in self.meant] + ([f'"{self.typed}"*'] if self.begun else []))


def plain(reading: Reading) -> list[Word]:
    pairs = zip(reading.words, reading.begun, strict=True)
    return [Word(word, {short(word): 0.0, word: 0.0}, begun) for word, begun in pairs]


def exact(reading: Reading) -> Iterator[list[Word]]:
    """The words as they stand; then with the beginnings among them."""
    words = plain(reading)
    yield [Word(word.typed, word.meant, False) for word in words]
    if any(reading.begun):
        yield words


def begun_or_joined(reading: Reading) -> Iterator[list[Word]]:
    """Every word as a beginning; then each two as one."""
    words = [Word(word.typed, word.meant, True) for word in plain(reading)]
    yield words
    for at in range(len(words) - 1):
        joined = words[at].typed + words[at + 1].typed
        yield [*words[:at], Word(joined, {joined: 0.0}, True), *words[at + 2 :]]


def without_some(reading: Reading) -> Iterator[list[Word]]:
    yield from shorter(plain(reading))


def shorter(words: list[Word]) -> Iterator[list[Word]]:
    """The words without the last ones, which may name a place that isn't known; then without the first ones."""
    some = [words[:count] for count in range(len(words) - 1, 0, -1)] + [words[count:] for count in range(1, len(words))]
    yield from (left for left in some if any(word.typed not in KIND_WORDS for word in left))


def cost_of(names: str, words: list[Word]) -> float:
    """How far a street's name is from the words: the least of all its names."""
    return min(_name_cost(name.split(), words) for name in names.split("|"))


def _name_cost(left: list[str], words: list[Word]) -> float:
    total = 0.0
    for word in words:
        fitting = min(
            ((cost, at) for at, part in enumerate(left) if (cost := word.cost(part)) is not None), default=None
        )
        if fitting:
            total += fitting[0]
            del left[fitting[1]]
        elif word.typed in KIND_WORDS:
            total += KIND_COST
    return total + sum(KIND_COST if part in KIND_WORDS else WORD_COST for part in left)


def spelt(
    reading: Reading, is_known: Callable[[Word], bool], guess: Callable[[Word], dict[str, int]]
) -> Iterator[list[Word]]:
    """The words, those that aren't known taken for others that are written nearly alike; then all of them so."""
    words = plain(reading)
    known = [is_known(word) for word in words]
    alike = [{} if sure else guess(word) for word, sure in zip(words, known, strict=True)]
    if any(alike):
        yield _or_alike(words, alike)
    if any(known):
        alike = [guess(word) if sure else others for word, sure, others in zip(words, known, alike, strict=True)]
        if any(alike):
            yield _or_alike(words, alike)


def _or_alike(words: list[Word], alike: list[dict[str, int]]) -> list[Word]:
    pairs = zip(words, alike, strict=True)
    return [Word(word.typed, {**others, **word.meant}, word.begun) for word, others in pairs]

"""What a letter is made from, and the letter itself: plain frozen data, names and dates already as words."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Found:
    """A finding: part of the body, kind, grade 0 to 3, and the groomer's own words."""

    part: str
    kind: str
    grade: int
    words: str = ""


@dataclass(frozen=True, slots=True)
class Cotton:
    """Pieces of cotton put into the ears, and how each ended."""

    put_in: int = 0
    taken_out: int = 0
    fell_out: int = 0
    swallowed: int = 0
    not_found: int = 0

    @property
    def missing(self) -> int:
        """Pieces that nobody has seen again, counted or not."""
        return max(self.not_found, self.put_in - self.taken_out - self.fell_out - self.swallowed)

    @property
    def is_lost(self) -> bool:
        """A vet is to be rung now."""
        return self.swallowed > 0 or self.missing > 0


@dataclass(frozen=True, slots=True)
class CutPart:
    """What one part of the body got; mm as digits, for a blade or a comb."""

    part: str
    how: str
    mm: str = ""


@dataclass(frozen=True, slots=True)
class Happened:
    """An incident with a dog."""

    dog: str
    kind: str
    words: str = ""
    what_was_done: str = ""
    owner_told: bool = False


@dataclass(frozen=True, slots=True)
class LetterGroom:
    """One dog's groom, as far as an owner is told of it."""

    dog: str
    done: bool = True
    why_not: str = ""
    vet_first: bool = False
    steps: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()
    products: tuple[str, ...] = ()
    cut: tuple[CutPart, ...] = ()
    found: tuple[Found, ...] = ()
    cotton: Cotton = Cotton()
    weight: str = ""
    lost_percent: int = 0
    vet: str = ""


@dataclass(frozen=True, slots=True)
class LetterVisit:
    """A visit, as far as its household is told of it; dates and times as words.

    `next_day` is agreed, with its window or without; `next_due` is only when the next groom falls due.
    """

    owners: tuple[str, ...]
    date: str
    grooms: tuple[LetterGroom, ...]
    happened: tuple[Happened, ...] = ()
    next_day: str = ""
    next_from: str = ""
    next_until: str = ""
    next_due: str = ""
    groomer: str = ""
    firm: str = ""
    phone: str = ""


@dataclass(frozen=True, slots=True)
class Part:
    """Paragraphs under one heading; an urgent part stands first and is set apart."""

    heading: str
    paragraphs: tuple[str, ...]
    urgent: bool = False


@dataclass(frozen=True, slots=True)
class LetterText:
    """A letter, ready to be read through."""

    greeting: str
    parts: tuple[Part, ...]
    closing: tuple[str, ...]

"""What each kind of visit record says, one frozen type a kind. Grams, millilitres, litres, seconds, cents."""

import datetime as dt
import uuid
from dataclasses import dataclass, field


@dataclass(frozen=True)
class FitBody:
    """What was seen or told at the door, the answer, and the reason where it is not the rule's."""

    dog: uuid.UUID
    answer: str
    signs: tuple[str, ...] = ()
    reason: str = ""


@dataclass(frozen=True)
class StepDone:
    """One step as it was done, or that it was left out."""

    step: str
    done: bool = True
    product: uuid.UUID | None = None
    product_ml: int | None = None
    seconds: int | None = None
    words: str = ""


@dataclass(frozen=True)
class Cotton:
    """Pieces of cotton put in the ears, and where each ended; `in_` is the sum of the other four."""

    in_: int = 0
    taken_out: int = 0
    fell_out: int = 0
    swallowed: int = 0
    not_found: int = 0

    @property
    def ring_now(self) -> bool:
        """A piece was swallowed or not found: the owner and a vet are rung now."""
        return self.swallowed + self.not_found > 0


@dataclass(frozen=True)
class Found:
    """What was seen or felt on a part of the body, grade 0 to 3. Never a diagnosis."""

    part: str
    kind: str
    grade: int
    words: str = ""


@dataclass(frozen=True)
class CutPart:
    """How one part of the coat was cut; the length in millimetres where there is one."""

    part: str
    how: str
    mm: float | None = None


@dataclass(frozen=True)
class Measures:
    """What was weighed, felt or graded; nothing of it has to be."""

    weight_grams: int | None = None
    condition: int | None = None
    left_ear: int | None = None
    right_ear: int | None = None
    skin: int | None = None
    hair_grams: int | None = None
    hair_grade: int | None = None


@dataclass(frozen=True)
class GroomBody:
    """The work on one dog. With `usual_done`, the routine was done as usual but for the steps and cut named here."""

    dog: uuid.UUID
    state: str = "COMPLETED"
    usual_done: bool = True
    steps: tuple[StepDone, ...] = ()
    started_at: dt.datetime | None = None
    ended_at: dt.datetime | None = None
    work_seconds: int | None = None
    water_l: int | None = None
    cotton: Cotton | None = None
    findings: tuple[Found, ...] = ()
    cut: tuple[CutPart, ...] = field(default=(), metadata={"keyed": True})
    measures: Measures | None = None
    stood: str = ""
    notes: str = ""
    why_not: str = ""


@dataclass(frozen=True)
class Next:
    """The next date as agreed at the door: the usual, an opening, none, or they will ring."""

    how: str
    date: dt.date | None = None
    from_: dt.time | None = None
    until: dt.time | None = None


@dataclass(frozen=True)
class HandingBackBody:
    """Price, what was paid and how, the tip apart, and the next date. Paid without an amount is the whole price."""

    price_cents: int
    paid: str
    next: Next
    paid_cents: int | None = None
    tip_cents: int = 0
    notes: str = ""


@dataclass(frozen=True)
class IncidentBody:
    """A nick, burn, bite, fall, escape or collapse: when, what was done, who was told."""

    dog: uuid.UUID
    kind: str
    happened_at: dt.datetime
    words: str
    what_was_done: str = ""
    owner_told: bool = False
    vet_rung: bool = False
    insurer_told: bool = False


@dataclass(frozen=True)
class VisitChangeBody:
    """What changed about the visit itself: its state, the household's answer, the window told."""

    state: str = ""
    answer: str = ""
    told_from: dt.time | None = None
    told_until: dt.time | None = None
    why: str = ""


@dataclass(frozen=True)
class CautionSeenBody:
    """The cautions of a dog that this groomer has read."""

    dog: uuid.UUID
    cautions: tuple[uuid.UUID, ...]


@dataclass(frozen=True)
class KeysSeenBody:
    """A look at the keys and codes of the visit's place, where there was no signal to ask for them."""

    place: uuid.UUID


@dataclass(frozen=True)
class ChoiceBody:
    """Of two that say different things about one visit, the record that stands and the one that is left."""

    kept: uuid.UUID
    left: uuid.UUID


type Body = (
    FitBody | GroomBody | HandingBackBody | IncidentBody | VisitChangeBody | CautionSeenBody | KeysSeenBody | ChoiceBody
)

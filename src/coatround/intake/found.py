"""What a file says about people and dogs, as frozen records, and how two accounts of one household become one."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, fields, replace
from datetime import date, time
from functools import lru_cache

from coatround.intake.cells import Interval

TO_BE_NAMED = "to be named"


@dataclass(frozen=True)
class Person:
    """Someone of the household, with phones in E.164 and emails in small letters."""

    name: str
    phones: tuple[str, ...] = ()
    emails: tuple[str, ...] = ()


@dataclass(frozen=True)
class Place:
    """An address as it was written; `street` holds the whole of it where the file does not part it.

    `keys` are keys, gate and alarm codes: never for a preview, a print or an export.
    """

    street: str = ""
    suburb: str = ""
    region: str = ""
    postcode: str = ""
    latitude: float | None = None
    longitude: float | None = None
    gate: str = ""
    parking: str = ""
    keys: tuple[str, ...] = ()

    @property
    def address(self) -> str:
        """Street, suburb, region and postcode on one line."""
        return ", ".join(part for part in (self.street, self.suburb, self.region, self.postcode) if part)


@dataclass(frozen=True)
class Caution:
    """A thing that can hurt the dog or the groomer: its kind, and the words that were written."""

    kind: str
    words: str


@dataclass(frozen=True)
class Usual:
    """What is settled for a dog; weekday 0 is Monday, price is in minor units."""

    interval: Interval | None = None
    price: int | None = None
    weekday: int | None = None
    hour: time | None = None


@dataclass(frozen=True)
class Dog:
    """A dog as the file tells it; `born` is ISO 8601, as precise as it was told; coat, size, sex are closed."""

    name: str
    breed: str = ""
    coat: str = ""
    size: str = ""
    grams: int | None = None
    born: str = ""
    sex: str = ""
    microchip: str = ""
    vet: str = ""
    vaccinated_until: date | None = None
    vaccination_told: bool = False
    cautions: tuple[Caution, ...] = ()
    last_groom: date | None = None
    usual: Usual = Usual()


@dataclass(frozen=True)
class Appointment:
    """One date in a diary: wall-clock start in the firm's zone (None for a whole day) and minutes."""

    date: date
    start: time | None
    minutes: int | None
    summary: str = ""
    location: str = ""


@dataclass(frozen=True)
class Household:
    """One household; `notes` are single lines, `told` are dates to come that it was promised."""

    name: str
    persons: tuple[Person, ...] = ()
    place: Place | None = None
    dogs: tuple[Dog, ...] = ()
    notes: tuple[str, ...] = ()
    told: tuple[Appointment, ...] = ()
    past: tuple[Appointment, ...] = ()
    to_be_named: bool = False

    @property
    def phones(self) -> tuple[str, ...]:
        """Every phone of everyone."""
        return tuple(phone for person in self.persons for phone in person.phones)

    @property
    def emails(self) -> tuple[str, ...]:
        """Every email of everyone."""
        return tuple(email for person in self.persons for email in person.emails)


def folded(text: str) -> str:
    """Text for comparing: small letters, single blanks, no marks around the words."""
    return " ".join(re.sub(r"[^\w']+", " ", text.casefold()).split())


def fold_in(have: Household, new: Household) -> Household:
    """What `have` becomes when `new` is told about it: blanks are filled, nothing that stands is overwritten.

    What contradicts becomes a line in the notes. Folding the same account in twice changes nothing.
    """
    lines: list[str] = list(new.notes)
    place = _folded_place(have.place, new.place, lines)
    dogs = _folded_dogs(have, new, lines)
    persons = _folded_persons(have.persons, new.persons)
    notes = _with_lines(have.notes, lines)
    named = have.to_be_named and not new.to_be_named
    return replace(
        have,
        name=new.name if named else have.name,
        to_be_named=have.to_be_named and new.to_be_named,
        persons=persons,
        place=place,
        dogs=dogs,
        notes=notes,
        told=_told(have.told, new.told),
        past=_dates(have.past, new.past),
    )


def _with_lines(have: tuple[str, ...], lines: Iterable[str]) -> tuple[str, ...]:
    fresh = [line for line in dict.fromkeys(lines) if line]
    return have + tuple(line for line in fresh if line not in set(have)) if fresh else have


def _dates(have: tuple[Appointment, ...], new: tuple[Appointment, ...]) -> tuple[Appointment, ...]:
    if not new:
        return have
    known = {(one.date, one.start) for one in have}
    fresh = {(one.date, one.start): one for one in new if (one.date, one.start) not in known}
    return have + tuple(fresh.values())


def _told(have: tuple[Appointment, ...], new: tuple[Appointment, ...]) -> tuple[Appointment, ...]:
    """One arrival a day: what is told for a day stands, and of several that are new the earliest counts."""
    known = {one.date for one in have}
    fresh: dict[date, Appointment] = {}
    for one in sorted(new, key=lambda one: (one.date, one.start or time(0))):
        if one.date not in known:
            fresh.setdefault(one.date, one)
    return have + tuple(fresh.values())


def _folded_persons(have: tuple[Person, ...], new: tuple[Person, ...]) -> tuple[Person, ...]:
    persons = list(have)
    for person in new:
        at = _same_person(persons, person)
        if at is None:
            persons.append(person)
            continue
        other = {phone for i, one in enumerate(persons) if i != at for phone in one.phones}
        mailed = {email for i, one in enumerate(persons) if i != at for email in one.emails}
        known = persons[at]
        persons[at] = replace(
            known,
            name=known.name or person.name,
            phones=tuple(dict.fromkeys(known.phones + tuple(p for p in person.phones if p not in other))),
            emails=tuple(dict.fromkeys(known.emails + tuple(e for e in person.emails if e not in mailed))),
        )
    return tuple(persons)


def _same_person(persons: list[Person], person: Person) -> int | None:
    name = folded(person.name)
    for at, one in enumerate(persons):
        if folded(one.name) == name:
            return at
    if name and not (set(person.phones) | set(person.emails)):
        return None
    shared = (set(one.phones) & set(person.phones) or set(one.emails) & set(person.emails) for one in persons)
    found = next((i for i, both in enumerate(shared) if both), None)
    if found is not None and (not name or not persons[found].name):
        return found
    return None if name or not persons else 0


def _folded_place(have: Place | None, new: Place | None, lines: list[str]) -> Place | None:
    if have is None or new is None:
        return have or new
    if have.address and new.address and not same_address(have.address, new.address):
        lines.append(f"another address was given: {new.address}")
        new = replace(new, street="", suburb="", region="", postcode="", latitude=None, longitude=None)
    if have.address:
        new = _address_beyond(have, new)
        if new.street:
            have = replace(have, street="")
    keys = have.keys + tuple(key for key in new.keys if key not in have.keys)
    return replace(_filled(have, new, "place", lines), keys=keys)


def _address_beyond(have: Place, new: Place) -> Place:
    """What `new` adds to the same address: a longer line over a shorter one, else only the parts that are missing."""
    mine, told = address_key(have.address), address_key(new.address)
    if mine and told and not (have.suburb or have.postcode or new.suburb or new.postcode):
        return new if told.rest > mine.rest else replace(new, street="", region="")
    said = folded(have.address)
    return replace(
        new,
        street="" if have.street else new.street,
        suburb="" if folded(new.suburb) in said else new.suburb,
        region="" if folded(new.region) in said else new.region,
        postcode="" if folded(new.postcode) in said else new.postcode,
    )


def _folded_dogs(have: Household, new: Household, lines: list[str]) -> tuple[Dog, ...]:
    dogs = list(have.dogs)
    for dog in new.dogs:
        at = next((i for i, one in enumerate(dogs) if folded(one.name) == folded(dog.name)), None)
        if at is not None:
            dogs[at] = _folded_dog(dogs[at], dog, lines)
        elif dog.name == TO_BE_NAMED and dogs:
            dogs = [_folded_dog(one, replace(dog, name=one.name), lines) for one in dogs]
        elif len(dogs) == 1 and dogs[0].name == TO_BE_NAMED:
            dogs[0] = _folded_dog(replace(dogs[0], name=dog.name), dog, lines)
        else:
            dogs.append(dog)
    return tuple(dogs)


def _folded_dog(have: Dog, new: Dog, lines: list[str]) -> Dog:
    usual = _filled(have.usual, new.usual, have.name, lines)
    last = max((day for day in (have.last_groom, new.last_groom) if day), default=None)
    until = max((day for day in (have.vaccinated_until, new.vaccinated_until) if day), default=None)
    said = {folded(one.words) for one in have.cautions}
    filled = _filled(replace(have, usual=usual), replace(new, name=have.name), have.name, lines)
    return replace(
        filled,
        last_groom=last,
        vaccinated_until=until,
        vaccination_told=have.vaccination_told or new.vaccination_told,
        cautions=have.cautions + tuple(one for one in new.cautions if folded(one.words) not in said),
    )


_FOLDED_APART = frozenset({"usual", "last_groom", "vaccinated_until", "vaccination_told", "cautions", "keys"})


def _filled[T: (Usual, Dog, Place)](have: T, new: T, of: str, lines: list[str]) -> T:
    changes: dict[str, object] = {}
    for field in fields(have):
        mine, told = getattr(have, field.name), getattr(new, field.name)
        if told in ("", None) or mine == told or field.name in _FOLDED_APART:
            continue
        if mine in ("", None):
            changes[field.name] = told
        elif not _agree(mine, told):
            lines.append(f"{of}: {field.name.replace('_', ' ')} {_said(told)} was given; {_said(mine)} was kept")
    return replace(have, **changes) if changes else have  # type: ignore[arg-type]


def _agree(mine: object, told: object) -> bool:
    if isinstance(mine, str) and isinstance(told, str):
        return folded(mine) == folded(told) or told in mine
    if isinstance(mine, float) and isinstance(told, float):
        return abs(mine - told) < 0.0005
    if isinstance(mine, time) and isinstance(told, time):
        return mine.hour == told.hour
    return isinstance(mine, Interval) and isinstance(told, Interval) and mine.weeks == told.weeks


def _said(value: object) -> str:
    return f"{value.weeks} weeks" if isinstance(value, Interval) else f"'{value}'"


_SHORT = {
    "st": "street", "rd": "road", "ave": "avenue", "av": "avenue", "ln": "lane", "dr": "drive", "cl": "close",
    "ct": "court", "cres": "crescent", "cr": "crescent", "pl": "place", "tce": "terrace", "ter": "terrace",
    "pde": "parade", "hwy": "highway", "bvd": "boulevard", "blvd": "boulevard", "sq": "square", "gdns": "gardens",
    "gr": "grove", "wy": "way", "pkwy": "parkway", "esp": "esplanade", "mt": "mount",
}  # fmt: skip
_TYPES = frozenset(_SHORT.values()) | {
    "row", "walk", "hill", "green", "park", "track", "mews", "rise", "quay", "view", "loop", "end", "circuit",
    "broadway",
}  # fmt: skip
_UNIT_WORDS = frozenset({"unit", "flat", "apt", "apartment", "no", "number", "u", "suite"})


@dataclass(frozen=True)
class AddressKey:
    """The street part that must be the same, and the other words, of which neither side may contradict the other."""

    street: str
    rest: frozenset[str]


@lru_cache(maxsize=65_536)
def address_key(address: str) -> AddressKey | None:
    """How an address is compared, or None where it is too vague to say that two are the same."""
    segments = [_address_words(part) for part in re.split(r"[,\n;]", address)]
    segments = [part for part in segments if part]
    tokens = [word for part in segments for word in part]
    if len(tokens) < 2:
        return None
    if not any(any(c.isdigit() for c in word) for word in tokens[:4]):
        return AddressKey(" ".join(tokens), frozenset())
    cut = _street_end(tokens)
    if cut is None:
        cut = len(segments[0]) if len(segments[0]) > 1 or len(segments) == 1 else len(segments[0]) + len(segments[1])
    return AddressKey(" ".join(tokens[:cut]), frozenset(tokens[cut:]))


def _address_words(part: str) -> list[str]:
    found = re.findall(r"[^\W_]+", part.casefold().replace("'", ""))
    return [_SHORT.get(word, word) if at else word for at, word in enumerate(found) if word not in _UNIT_WORDS]


def _street_end(tokens: list[str]) -> int | None:
    seen_digit = False
    for at, word in enumerate(tokens):
        if seen_digit and word in _TYPES and not tokens[at - 1].isdigit():
            return at + 1
        seen_digit = seen_digit or any(c.isdigit() for c in word)
    return None


def agree(one: AddressKey, other: AddressKey) -> bool:
    """Whether two keys may be one address: the same street part, and no word that only contradicts."""
    return one.street == other.street and (one.rest <= other.rest or other.rest <= one.rest)


def same_address(one: str, other: str) -> bool:
    """Whether two addresses are the same, `St` for `Street` and missing parts allowed."""
    first, second = address_key(one), address_key(other)
    return folded(one) == folded(other) if not first or not second else agree(first, second)

"""Finding an address while it is typed, in the index made of an extract."""

import sqlite3
import threading
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache, partial
from itertools import islice
from pathlib import Path
from typing import NamedTuple

from coatround.roads.address_asking import (
    WORD_COST,
    Word,
    begun_or_joined,
    cost_of,
    exact,
    shorter,
    spelt,
    without_some,
)
from coatround.roads.address_index import build_addresses
from coatround.roads.address_points import Spot, metres_between
from coatround.roads.address_words import KIND_WORDS, Reading, house_of, number_key, readings, span
from coatround.roads.spelling import guesses

__all__ = ["Addresses", "Found", "build_addresses"]

MOST_MATCHES, MOST_STREETS = 1_000, 150
"""Streets that hold the words, and those of them looked at: the nearest, else those with most houses."""
MOST_FURTHER = 4
SAME_METRES = 500
NEAR_NUMBERS = 30
"""A known number further than this from the one typed says little of where that is: our own default."""
SPELT = 2
"""The way of asking that is tried too where streets were found, but not the number."""
STREETS = """
SELECT id, name, names, suburb, postcode, lat, lon, houses
FROM (SELECT rowid FROM street_words WHERE street_words MATCH ? LIMIT ?) JOIN streets ON id = rowid ORDER BY """
KNOWN = "SELECT 1 FROM street_words WHERE street_words MATCH ? LIMIT 1"
FIRST_NEAR = "(lat - ?) * (lat - ?) + (lon - ?) * (lon - ?) * 0.4 LIMIT ?"
FIRST_LONG = "houses DESC, id LIMIT ?"
HOUSES = "SELECT street, number, key, first, last, postcode, lat, lon FROM houses WHERE "
WITH_NUMBER = f"""
{HOUSES} street IN (SELECT value FROM json_each(?)) AND first = ?
UNION ALL {HOUSES} street IN (SELECT value FROM json_each(?)) AND last > first AND first < ? AND last >= ?"""  # noqa: S608
BELOW = f"{HOUSES} street = ? AND first < ? ORDER BY first DESC LIMIT 2"
ABOVE = f"{HOUSES} street = ? AND first > ? ORDER BY first LIMIT 2"
LONGER = f"{HOUSES} street = ? AND key LIKE ? ORDER BY first, key LIMIT ?"


@dataclass(frozen=True, slots=True)
class Found:
    """An address, or (`is_street`) a street on which the number that was typed is not known, or none was typed.

    The point of a street is that of its `nearest` known number to the one typed, else one on the street itself.
    Degrees north and east; `suburb`, `postcode` and `nearest` may be empty.
    """

    line: str
    suburb: str
    postcode: str
    lat: float
    lon: float
    is_street: bool
    nearest: str = ""


class Street(NamedTuple):
    """A street as it stands in the index; `names` are folded, with strokes between them."""

    id: int
    name: str
    names: str
    suburb: str
    postcode: str
    lat: float
    lon: float
    houses: int


class House(NamedTuple):
    """A house as it stands in the index."""

    street: int
    number: str
    key: str
    first: int
    last: int
    postcode: str
    lat: float
    lon: float


@dataclass(slots=True)
class Hit:
    """A street that may be meant, by which reading, at what cost; with its houses of that number, best first."""

    street: Street
    reading: Reading
    cost: float
    houses: list[tuple[int, House]] = field(default_factory=list)

    @property
    def has_number(self) -> bool:
        return bool(self.houses) and self.houses[0][0] < 2


class Addresses:
    """Finds addresses in the file that `build_addresses` wrote; several threads may ask at once."""

    def __init__(self, database: Path) -> None:
        self._at = f"{database.resolve().as_uri()}?mode=ro&immutable=1"
        self._own = threading.local()

    @property
    def _db(self) -> sqlite3.Connection:
        """This thread's connection."""
        if not hasattr(self._own, "db"):
            self._own.db = sqlite3.connect(self._at, uri=True)
            self._own.guesses = lru_cache(maxsize=1000)(partial(guesses, self._own.db))
            self._own.is_number_first = bool(self._own.db.execute("SELECT is_number_first FROM about").fetchone()[0])
        return self._own.db  # type: ignore[no-any-return]

    def find(self, typed: str, most: int = 8, near: Spot | None = None) -> list[Found]:
        """What may be meant by something typed, whole or begun, likeliest first; empty where nothing is like it.

        `near` (degrees north and east) puts the nearer of two equals first. Any text may be typed;
        sqlite3.OperationalError only where the file is gone.
        """
        hits: dict[int, Hit] = {}
        asked = readings(typed)
        for level, way in enumerate((exact, begun_or_joined, self._spelt, without_some, self._spelt_without_some)):
            is_sure = any(hit.has_number or not hit.reading.number for hit in hits.values())
            if is_sure or (hits and level != SPELT):
                continue
            for reading in asked:
                if reading.number or not hits:
                    self._add(hits, reading, way(reading), level, most, near)
        return self._told(list(hits.values()), most, near)

    def _add(
        self,
        hits: dict[int, Hit],
        reading: Reading,
        ways: Iterator[list[Word]],
        level: int,
        most: int,
        near: Spot | None,
    ) -> None:
        """Adds the streets of one reading, until there are enough."""
        new: dict[int, Hit] = {}
        for words in ways:
            for street in self._streets(words, near):
                cost = level + cost_of(street.names, words) + (len(reading.words) - len(words)) * WORD_COST
                if street.id not in new or new[street.id].cost > cost:
                    new[street.id] = Hit(street, reading, cost)
            if len(new) >= (most if level == 0 else 1):
                break
        if reading.number:
            self._add_houses(new, reading)
        for number, hit in new.items():
            if number not in hits or (hit.cost, not hit.has_number) < (hits[number].cost, not hits[number].has_number):
                hits[number] = hit

    def _streets(self, words: list[Word], near: Spot | None) -> Iterator[Street]:
        """Streets that hold all the words, at least one of them in the name, and not only Street or Road."""
        telling = [word for word in words if word.typed not in KIND_WORDS] or words
        asked = " AND ".join(f"({word.asked})" for word in words)
        asked += f" AND name : ({' OR '.join(word.asked for word in telling)})"
        order, values = (FIRST_NEAR, (near[0], near[0], near[1], near[1])) if near else (FIRST_LONG, ())
        rows = self._db.execute(STREETS + order, (asked, MOST_MATCHES, *values, MOST_STREETS))
        return map(Street._make, rows)

    def _add_houses(self, hits: dict[int, Hit], reading: Reading) -> None:
        """Gives each street its houses of the number: 0 the very one, 1 a range or unit of it, 2 another letter."""
        streets = f"[{','.join(map(str, hits))}]"
        house = house_of(reading.number, self._own.is_number_first)
        first, _ = span(house)
        for row in self._db.execute(WITH_NUMBER, (streets, first, streets, first, first)):
            found = House._make(row)
            if found.key in (reading.number, house):
                rank = 0
            elif house.isdigit() and _holds(found, first):
                rank = 1
            else:
                rank = 2
            hits[found.street].houses.append((rank, found))
        for hit in hits.values():
            hit.houses.sort(
                key=lambda pair: (pair[0], pair[1].key != reading.number, *_postcode_and_key(pair[1], reading))
            )

    def _spelt(self, reading: Reading) -> Iterator[list[Word]]:
        def is_known(word: Word) -> bool:
            return self._db.execute(KNOWN, (word.asked,)).fetchone() is not None

        return spelt(reading, is_known, lambda word: self._own.guesses(word.typed, begun=word.begun))

    def _spelt_without_some(self, reading: Reading) -> Iterator[list[Word]]:
        for words in self._spelt(reading):
            yield from shorter(words)

    def _told(self, hits: list[Hit], most: int, near: Spot | None) -> list[Found]:
        """The likely streets, then further houses of them, then the other streets."""

        def order(hit: Hit) -> tuple[float, ...]:
            where = hit.houses[0][1] if hit.houses else hit.street
            metres = metres_between(near, (where.lat, where.lon)) if near else 0.0
            missing = bool(hit.reading.number) and not hit.has_number
            elsewhere = bool(hit.houses) and _postcode_and_key(hit.houses[0][1], hit.reading)[0]
            return round(hit.cost, 2), missing, elsewhere, metres, -hit.street.houses, hit.street.id

        told: list[Found] = []
        hits = sorted(hits, key=order)[:most]
        likely = [hit for hit in hits if hit.has_number or hit.cost < hits[0].cost + WORD_COST]
        firsts = (self._first(hit) for hit in (*likely, *(hit for hit in hits if hit not in likely)))
        for found in (*islice(firsts, len(likely)), *self._further(likely), *firsts):
            if len(told) < most and not any(_is_same(found, other) for other in told):
                told.append(found)
        return told

    def _first(self, hit: Hit) -> Found:
        """The house that was meant, else the street with the number nearest to it."""
        if hit.has_number:
            return self._house(hit.street, hit.houses[0][1])
        street = hit.street
        near = self._nearest(hit)[:1] if hit.reading.number else []
        near = [house for house in near if abs(house.first - self._number(hit)) <= NEAR_NUMBERS]
        where, number = (near[0], near[0].number) if near else (street, "")
        return Found(street.name, street.suburb, where.postcode, where.lat, where.lon, True, number)

    def _nearest(self, hit: Hit) -> list[House]:
        """The known houses nearest in number, those of the same side of the street first."""
        first = self._number(hit)
        beside = [House._make(row) for sql in (BELOW, ABOVE) for row in self._db.execute(sql, (hit.street.id, first))]
        beside.sort(key=lambda house: abs(house.first - first) + 2.5 * ((house.first - first) % 2))
        return [house for _, house in hit.houses] + beside

    def _number(self, hit: Hit) -> int:
        return span(house_of(hit.reading.number, self._own.is_number_first))[0]

    def _further(self, hits: list[Hit]) -> Iterator[Found]:
        """Some other houses of the streets: of the same number, those that it may become, those beside it."""
        for hit in (hit for hit in hits if hit.reading.number):
            others = [house for _, house in hit.houses[1:]] if hit.has_number else self._nearest(hit)
            if hit.reading.is_number_last and hit.reading.number.isdigit():
                longer = self._db.execute(LONGER, (hit.street.id, f"{hit.reading.number}%", MOST_FURTHER))
                others = [house for _, house in hit.houses] + [House._make(row) for row in longer] + others
            yield from (self._house(hit.street, house) for house in dict.fromkeys(others[: MOST_FURTHER + 1]))

    def _house(self, street: Street, house: House) -> Found:
        words = (house.number, street.name) if self._own.is_number_first else (street.name, house.number)
        return Found(" ".join(words), street.suburb, house.postcode, house.lat, house.lon, False)


def _holds(house: House, number: int) -> bool:
    """Whether a house's numbers hold one: 14-20 holds 16 and not 17; 3/12 holds 12."""
    if house.first == house.last:
        return house.first == number and "/" in house.key
    step = 1 if (house.last - house.first) % 2 else 2
    return house.first <= number <= house.last and (number - house.first) % step == 0


def _postcode_and_key(house: House, reading: Reading) -> tuple[bool, bool, str]:
    """Puts first a house whose postcode was typed, then one that has any."""
    return number_key(house.postcode) not in reading.words, not house.postcode, house.key


def _is_same(one: Found, other: Found) -> bool:
    same = (one.line, one.suburb) == (other.line, other.suburb)
    return same and metres_between((one.lat, one.lon), (other.lat, other.lon)) < SAME_METRES

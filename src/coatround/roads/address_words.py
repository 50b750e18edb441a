"""The words of an address: folded, shortened, and what somebody who types one may mean by it."""

import re
import unicodedata
from dataclasses import dataclass
from functools import lru_cache

MOST_TYPED = 200
"""Characters of what was typed that are looked at; no address is longer."""
MOST_WORDS = 10
MOST_NUMBERS = 3

KINDS = {
    "st": "street str strasse straat",
    "rd": "road",
    "av": "avenue ave avenida avda aven",
    "cr": "crescent cres crs",
    "ct": "court crt",
    "pl": "place plaza platz plats plads plac plein",
    "dr": "drive drv",
    "ln": "lane laan",
    "hwy": "highway",
    "pde": "parade",
    "tce": "terrace ter terr",
    "cl": "close",
    "sq": "square",
    "cct": "circuit",
    "cir": "circle",
    "bd": "boulevard blvd bvd bvard boul bulevar",
    "esp": "esplanade",
    "gr": "grove gve grv",
    "gdns": "gardens gdn",
    "pkwy": "parkway pwy",
    "trl": "trail",
    "trk": "track",
    "wy": "way",
    "all": "allee",
    "ch": "chemin che",
    "imp": "impasse",
    "rte": "route",
    "c": "calle carrer",
    "pza": "piazza",
    "ul": "ulica",
    "al": "aleja",
    "os": "osiedle",
    "rue": "",
    "quay": "quai",
    "via": "",
    "viale": "",
}
"""The shortest usual form of a word that says what kind of street it is, and the others: common practice."""
OTHERS = {
    "st": "saint sankt sint sainte",
    "mt": "mount",
    "dr": "doctor doktor docteur",
    "n": "north",
    "s": "south",
    "e": "east",
    "w": "west",
}
SHORT = {word: short for table in (KINDS, OTHERS) for short, rest in table.items() for word in rest.split()}
KIND_WORDS = frozenset(KINDS) | {word for rest in KINDS.values() for word in rest.split()}
FIRST_AFTER = frozenset(["rue", "avenue", "boulevard", "chemin", "impasse", "allee", "place", "route", "quai"])
"""Words that begin a street's name where the house number stands before it, as in French."""
FIRST_BEFORE = frozenset(
    ["street", "road", "avenue", "crescent", "court", "place", "drive", "lane", "highway", "parade", "terrace", "close"]
)
"""Words that end a street's name where the house number stands before it, as in English."""
UNIT_WORDS = "unit|flat|apt|apartment|suite|shop|level|floor|villa|room|lgh|whg|wohnung"
UNIT = re.compile(
    rf"(?<!\w)(?:(?:{UNIT_WORDS}|u)\b\.?\s*\#?\s*[0-9]{{1,4}}[a-z]?|u[0-9]{{1,4}}[a-z]?(?=\s*/)"
    rf"|(?:unit|flat|apt|apartment|suite)\.?\s+[a-z]|\#\s*[0-9]{{1,4}}[a-z]?)(?!\w)\s*[/,]?"
)
LETTER = r"(?:\s?(?:[a-z]|bis|ter)(?!\w))?"
NUMBER = re.compile(rf"(?<!\w)[0-9]{{1,5}}{LETTER}(?:\s?[-/]\s?[0-9]{{1,5}}{LETTER})*(?!\w)")
WORD = re.compile(r"([^\W_]+)(\.?)")
APART = str.maketrans({"ø": "o", "æ": "ae", "œ": "oe", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "ı": "i"})
DROPPED = str.maketrans({"'": None, "’": None, "ʼ": None, "`": None, "–": "-", "—": "-", "_": " "})


def fold(text: str) -> str:
    """Lower case without accents and apostrophes."""
    plain = text.translate(DROPPED)
    if plain.isascii():
        return plain.lower()
    plain = unicodedata.normalize("NFKD", plain).casefold().translate(APART)
    return "".join(letter for letter in plain if not unicodedata.combining(letter))


def words(text: str) -> list[str]:
    """The folded words of a text, in order."""
    return [found.group(1) for found in WORD.finditer(fold(text))]


@lru_cache(maxsize=50_000)
def short(word: str) -> str:
    """The shortest usual form of a folded word: `st` for street and saint, `muhlstr` for muhlstrasse."""
    return SHORT.get(word) or (word[:-4] if word.endswith("strasse") else word)


@lru_cache(maxsize=10_000)
def name_key(name: str) -> str:
    """What two ways of writing one street's name have in common."""
    return " ".join(short(word) for word in words(name))


@lru_cache(maxsize=10_000)
def has_number_first(name: str) -> bool:
    """Whether house numbers are said before a street of this name, guessed by its words."""
    parts = words(name)
    return bool(parts) and (parts[0] in FIRST_AFTER or parts[-1] in FIRST_BEFORE)


@dataclass(frozen=True, slots=True)
class Reading:
    """One way to understand what was typed: a house number (`12a`, `3/12`, or empty) and words.

    `begun` says of each word whether it may be only the beginning of one; `is_number_last` that nothing follows
    the number, so that its digits may go on.
    """

    number: str
    words: tuple[str, ...]
    begun: tuple[bool, ...]
    is_number_last: bool = False


def readings(typed: str) -> list[Reading]:
    """What may be meant, likeliest first; the last is always that without a number. Empty where no word was typed."""
    text = fold(typed[:MOST_TYPED])[:MOST_TYPED].lstrip()
    without_unit = UNIT.sub(" ", text)
    text = without_unit if WORD.search(without_unit) else text
    made = []
    for number in list(NUMBER.finditer(text))[:MOST_NUMBERS]:
        key = re.sub(r"\s", "", number.group())
        is_last = not text[number.end() :].strip()
        made.append(_reading(key, text[: number.start()], text[number.end() :], is_last))
        apart = re.fullmatch(r"([0-9]+)\s([a-z])", number.group())
        if apart:  # the letter may begin a street's name as well
            made.append(_reading(apart[1], text[: number.start()], apart[2] + text[number.end() :], False))
    made.append(_reading("", text, "", False))
    return [one for one in made if one.words]


def _reading(number: str, before: str, after: str, is_last: bool) -> Reading:
    rest = f"{before} {after}" if after else before
    found = [(part.group(1), bool(part.group(2))) for part in WORD.finditer(rest)][:MOST_WORDS]
    if found and not is_last and rest[-1:].isalnum():
        found[-1] = (found[-1][0], True)
    return Reading(number, tuple(word for word, _ in found), tuple(begun for _, begun in found), is_last)


def house_numbers(written: str) -> list[str]:
    """The numbers that a house number in the map gives: `5;7` two of them, `2, floor 3` and `11 B 9` one."""
    pieces = [piece.strip() for piece in re.split(r"[;,]", written.replace("–", "-"))]
    first = NUMBER.match(pieces[0].lower())
    numbers = [pieces[0][: first.end()]] if first else []
    return numbers + [piece for piece in pieces[1:] if NUMBER.fullmatch(piece.lower())]


def number_key(number: str) -> str:
    """The number as it is compared: `12a`, `14-20`, `3/12`."""
    return re.sub(r"\s", "", number.lower())


def house_of(key: str, number_first: bool) -> str:
    """The house of a number with a unit: behind the slash where numbers come first (3/12), else before it (12/3)."""
    parts = key.split("/")
    return parts[-1 if number_first else 0]


def span(house: str) -> tuple[int, int]:
    """First and last number of a house: `14-20` reaches from 14 to 20, `12a` from 12 to 12."""
    ends = [int(found) for found in re.findall(r"[0-9]+", house)]
    first, last = ends[0], ends[-1]
    return (first, last) if first < last <= first + 100 else (first, first)

"""Where names stand on the street picture: along their streets, none over another, and seldom twice."""

import math
import unicodedata
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from coatround.roads.street_kinds import AREAS, KINDS, Line, Named, Spot, Square

PLACE_SIZES = (17, 15, 14, 13)
PLACE_ZOOMS = ((0, 15), (9, 15), (12, 16), (14, 17))
"""From and until which zoom a place's name is shown, by its rank."""
LETTER = 0.55
"""The width of a letter as a share of its size: a rough mean of plain typefaces."""
BEND = 0.22
"""Radians by which a street may turn under its name."""
AGAIN_PIXELS = 600
"""How far from its name a street bears it again."""
CELL = 6
"""Room is taken in cells of so many pixels."""
TOUCH_PIXELS = 0.6

Piece = tuple[Spot, Spot]


@dataclass(frozen=True, slots=True)
class Label:
    """A name at its middle, in pixels of a square; its look, its size, its half length and its slope in degrees."""

    name: str
    look: str
    size: int
    middle: Spot
    half: float
    slope: float = 0.0


def labels(square: Square, lines: Iterable[Line], places: Iterable[Named]) -> list[Label]:
    """The names that have room in a square: those of places first, then of streets, the more important first."""
    taken: set[tuple[int, int]] = set()
    named = {place.name: place for place in reversed(list(places))}  # a town's middle may bear its name again
    seen = [place for place in reversed(named.values()) if _is_shown(square, place)]
    made = [label for label in map(_of_place, seen) if _takes_room(label, square, taken)]
    streets: dict[str, list[Line]] = defaultdict(list)
    for line in lines:
        if line.name and square.z >= KINDS[line.kind].names_from:
            streets[line.name].append(line)
    order = sorted(streets.items(), key=lambda one: (min(KINDS[line.kind].rank for line in one[1]), one[0]))
    for name, parts in order:
        there: list[Label] = []
        for label in _of_street(square, name, parts):
            is_far = all(math.dist(label.middle, other.middle) > AGAIN_PIXELS for other in there)
            if is_far and _takes_room(label, square, taken):
                there.append(label)
        made += there
    return made


def _is_shown(square: Square, place: Named) -> bool:
    first, last = PLACE_ZOOMS[place.rank]
    return first <= square.z <= last


def _of_place(place: Named) -> Label:
    size = PLACE_SIZES[place.rank]
    return Label(place.name, "place", size, place.spot, _length(place.name, size) / 2)


def _of_street(square: Square, name: str, parts: Sequence[Line]) -> Iterator[Label]:
    """Where a street's name could stand, the best first."""
    line = min(parts, key=lambda part: KINDS[part.kind].rank)
    kind = KINDS[line.kind]
    size = (14 if kind.rank <= 3 else 13) + (square.z > 16) - (square.z < 16)
    look = f"{kind.look} name" if kind.look in ("water", "green") else "name"
    half = _length(name, size) / 2
    if line.kind in AREAS:
        yield from _of_area(parts, name, look, size, half)
        return
    straight = [piece for chain in joined([part.spots for part in parts]) for piece in _straight(chain, square.side)]
    for start, end in sorted(straight, key=lambda piece: -math.dist(*piece)):
        length = math.dist(start, end)
        if length < 2 * half + 4:
            return
        if end[0] < start[0] - 1e-6:
            start, end = end, start
        slope = math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))
        room = (half + 2) / length
        for share in _shares(room, length):
            middle = (start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1]))
            yield Label(name, look, size, middle, half, slope)


def _of_area(parts: Sequence[Line], name: str, look: str, size: int, half: float) -> Iterator[Label]:
    """In the middle of a lake or a park that is wide enough."""
    for part in parts:
        acrosses, downs = zip(*part.spots, strict=True)
        if max(acrosses) - min(acrosses) > 2 * half:
            middle = ((max(acrosses) + min(acrosses)) / 2, (max(downs) + min(downs)) / 2)
            yield Label(name, look, size, middle, half)


def _shares(room: float, length: float) -> Iterator[float]:
    """Where along a straight piece a name is tried: its middle, then further and further towards both ends."""
    yield 0.5
    step = max(24 / length, 0.06)
    for number in range(1, 12):
        for share in (0.5 + number * step, 0.5 - number * step):
            if room <= share <= 1 - room:
                yield share


def _length(name: str, size: int) -> float:
    return sum(1.0 if unicodedata.east_asian_width(letter) in "WF" else LETTER for letter in name) * size


def _takes_room(label: Label, square: Square, taken: set[tuple[int, int]]) -> bool:
    """Whether a label lies wholly in the square and over no other; then its room is taken."""
    slope = math.radians(label.slope)
    along, beside = (math.cos(slope), math.sin(slope)), (-math.sin(slope), math.cos(slope))
    cells = set()
    reach, high = label.half + 3, label.size * 0.62
    for forth in _steps(reach):
        for off in (-high, 0.0, high):
            across = label.middle[0] + forth * along[0] + off * beside[0]
            down = label.middle[1] + forth * along[1] + off * beside[1]
            if not (0 <= across < square.side and 0 <= down < square.side):
                return False
            cells.add((int(across / CELL), int(down / CELL)))
    if cells & taken:
        return False
    taken |= cells
    return True


def _steps(reach: float) -> list[float]:
    count = max(2, math.ceil(2 * reach / (CELL * 0.7)))
    return [-reach + 2 * reach * number / count for number in range(count + 1)]


def joined(lines: Sequence[list[Spot]]) -> list[list[Spot]]:
    """Lines that touch end to end as one, since a street is many short ways."""
    chains = [list(line) for line in lines if len(line) > 1]
    done: list[list[Spot]] = []
    while chains:
        chain = chains.pop()
        while (number := next((at for at, other in enumerate(chains) if _grown(chain, other)), None)) is not None:
            del chains[number]
        done.append(chain)
    return done


def _grown(chain: list[Spot], other: list[Spot]) -> bool:
    """Adds a line to whichever end of the chain it touches."""
    for piece in (other, other[::-1]):
        if math.dist(chain[-1], piece[0]) < TOUCH_PIXELS:
            chain += piece[1:]
            return True
        if math.dist(chain[0], piece[-1]) < TOUCH_PIXELS:
            chain[:0] = piece[:-1]
            return True
    return False


def _straight(spots: Sequence[Spot], side: float) -> list[Piece]:
    """The pieces of a line that are nearly straight, cut to the square."""
    pieces: list[Piece] = []
    begin, before = spots[0], spots[0]
    slope: float | None = None
    for start, end in pairwise(spots):
        if start == end:
            continue
        turned = math.atan2(end[1] - start[1], end[0] - start[0])
        if slope is not None and abs(math.remainder(turned - slope, math.tau)) > BEND:
            pieces.append((begin, before))
            begin, slope = before, None
        slope = turned if slope is None else slope
        before = end
    pieces.append((begin, before))
    return [cut for piece in pieces if (cut := _cut(*piece, side))]


def _cut(start: Spot, end: Spot, side: float) -> Piece | None:
    """A straight piece cut to the square (Liang and Barsky 1984); None where it lies outside."""
    low, high = 0.0, 1.0
    for at in (0, 1):
        step = end[at] - start[at]
        for edge, sign in ((2.0, -1.0), (side - 2.0, 1.0)):
            along, room = sign * step, sign * (edge - start[at])
            if along == 0:
                if room < 0:
                    return None
            elif along > 0:
                high = min(high, room / along)
            else:
                low = max(low, room / along)
    if low >= high:
        return None
    (a, b), (c, d) = start, end
    return (a + low * (c - a), b + low * (d - b)), (a + high * (c - a), b + high * (d - b))

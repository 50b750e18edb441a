"""The big roads of the invented town: between suburbs, in rings round the middle, and over the river."""

import math
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from itertools import pairwise

from coatround.demo.crossings import Line, Spot, between, crossing
from coatround.demo.names import suburb_name
from coatround.demo.town import SPACING_METRES, from_middle, river, river_metres_at, suburb

RINGS = {12: ("Hollow Ring", 90), 60: ("Tarrow Ring", 100), 250: ("Outer Ring", 100), 800: ("Far Ring", 100)}
"""A ring runs round so many of the suburbs: its name and limit."""
KINDS = ("Road", "Drive", "Parade", "Way")
MERGED_METRES = 90.0
NEAR_METRES = 4_000.0
STRAIGHT = -0.55
APART_METRES = 1_700.0
HALF_BRIDGE_METRES = 28.0
BY_RIVER_METRES = 90.0
SLANT = 0.35
"""The least sine of the angle between a bridge and the river."""

Edge = tuple[int, int]


@dataclass
class Cells:
    """The part of the land that belongs to each suburb: corners, the edges between two suburbs, each cell's corners."""

    corners: list[Spot] = field(default_factory=list)
    between: dict[Edge, Edge] = field(default_factory=dict)
    around: list[list[Spot]] = field(default_factory=list)


def cells_of(seed: int, suburbs: int) -> Cells:
    """Every place belongs to the suburb whose middle is nearest; corners near each other are one."""
    beyond = math.ceil((math.sqrt(suburbs) + 2.6) ** 2)
    middles = [from_middle(suburb(number, seed).middle) for number in range(beyond)]
    near = _near_middles(middles)
    shapes = [_cell(number, middles, near[number]) for number in range(suburbs)]
    corner_of, cells = _merged([corner for shape in shapes for corner, _ in shape])
    for number, shape in enumerate(shapes):
        numbers = [corner_of[corner] for corner, _ in shape]
        cells.around.append([cells.corners[each] for each in dict.fromkeys(numbers)])
        for (_, other), one, next_ in zip(shape, numbers, numbers[1:] + numbers[:1], strict=True):
            if one != next_:
                cells.between.setdefault((min(one, next_), max(one, next_)), (number, other))
    return cells


def _near_middles(middles: list[Spot]) -> list[list[int]]:
    """For each middle the others within reach; those of suburbs of about the same distance from the town's middle."""
    found = []
    for number, middle in enumerate(middles):
        far = math.sqrt(number + 0.5)
        reach = NEAR_METRES / SPACING_METRES
        first, last = math.floor(max(0.0, far - reach) ** 2), math.ceil((far + reach) ** 2)
        others = range(first, min(len(middles), last + 1))
        found.append([each for each in others if each != number and math.dist(middles[each], middle) < NEAR_METRES])
    return found


def _cell(number: int, middles: list[Spot], near: list[int]) -> list[tuple[Spot, int]]:
    """A suburb's cell, anticlockwise: each corner with the suburb on the other side of the edge that begins there."""
    x, y = middles[number]
    wide = NEAR_METRES
    shape = [((x + right * wide, y + up * wide), -1) for right, up in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    for other in near:
        ax, ay = middles[other][0] - x, middles[other][1] - y
        limit = (ax * (x + middles[other][0]) + ay * (y + middles[other][1])) / 2
        over = [ax * corner[0] + ay * corner[1] - limit for corner, _ in shape]
        if max(over) > 0:
            shape = list(_clipped(shape, over, other))
    return shape


def _clipped(shape: list[tuple[Spot, int]], over: list[float], other: int) -> Iterator[tuple[Spot, int]]:
    for at, (corner, beyond) in enumerate(shape):
        (next_, _), here, there = shape[(at + 1) % len(shape)], over[at], over[(at + 1) % len(shape)]
        share = here / (here - there) if (here > 0) != (there > 0) else 0.0
        cut = corner[0] + share * (next_[0] - corner[0]), corner[1] + share * (next_[1] - corner[1])
        if here <= 0:
            yield corner, beyond
            if there > 0:
                yield cut, other
        elif there <= 0:
            yield cut, beyond


def _merged(corners: list[Spot]) -> tuple[dict[Spot, int], Cells]:
    """Corners within 90 m of each other become one, in the middle of them."""
    grid: dict[tuple[int, int], list[Spot]] = defaultdict(list)
    for corner in dict.fromkeys(corners):
        grid[math.floor(corner[0] / MERGED_METRES), math.floor(corner[1] / MERGED_METRES)].append(corner)
    number_of: dict[Spot, int] = {}
    cells = Cells()
    for corner in dict.fromkeys(corners):
        if corner in number_of:
            continue
        group = [corner]
        number_of[corner] = len(cells.corners)
        for each in group:
            column, row = math.floor(each[0] / MERGED_METRES), math.floor(each[1] / MERGED_METRES)
            around = [(column + right, row + up) for right in (-1, 0, 1) for up in (-1, 0, 1)]
            for near in (near for cell in around for near in grid.get(cell, ())):
                if near not in number_of and math.dist(near, each) < MERGED_METRES:
                    number_of[near] = len(cells.corners)
                    group.append(near)
        middle = sum(x for x, _ in group) / len(group), sum(y for _, y in group) / len(group)
        cells.corners.append(_on_land(middle))
    return number_of, cells


def _on_land(spot: Spot) -> Spot:
    """The spot, or the nearest north or south of it that is so far from the river that a bridge can end there."""
    x, y = spot
    spots = ((x, y + way * step) for step in range(0, 300, 10) for way in (1, -1))
    return next(each for each in spots if river_metres_at(*each) > BY_RIVER_METRES)


def arterial_lines(cells: Cells) -> list[Line]:
    """The big roads, named, with a few bridges; where no bridge is they still run through the river."""
    roads = [line for chain in _chains(cells) for line in _named(chain, cells)]
    bridges = _bridges(roads)
    return [part for at, line in enumerate(roads) for part in _with_bridge(line, bridges.get(at))]


def _ring(cells: Cells, edge: Edge) -> int:
    one, other = cells.between[edge]
    return next((inside for inside in RINGS if (one < inside) != (other < inside) and inside <= len(cells.around)), 0)


def _chains(cells: Cells) -> Iterator[list[int]]:
    """Edges that follow each other straight on, or along a ring, as corners in order."""
    at: dict[int, list[Edge]] = defaultdict(list)
    for edge in cells.between:
        for corner in edge:
            at[corner].append(edge)
    follows: dict[tuple[int, Edge], Edge] = {}
    for corner, edges in at.items():
        pairs = sorted(
            (_straightness(cells, corner, one, other), one, other)
            for place, one in enumerate(edges)
            for other in edges[:place]
        )
        for straightness, one, other in pairs:
            if straightness < STRAIGHT and (corner, one) not in follows and (corner, other) not in follows:
                follows[corner, one], follows[corner, other] = other, one
    left = dict.fromkeys(cells.between)
    while left:
        edge = left.popitem()[0]
        chain = list(edge)
        for _ in range(2):
            while (onward := follows.get((chain[-1], edge))) in left:
                assert onward is not None
                del left[onward]
                edge = onward
                chain.append(onward[1] if onward[0] == chain[-1] else onward[0])
            chain.reverse()
            edge = (min(chain[-2:]), max(chain[-2:]))
        yield chain


def _straightness(cells: Cells, corner: int, one: Edge, other: Edge) -> float:
    """-1 where two edges go straight on at their corner; a ring goes on with itself and with nothing else."""
    rings = _ring(cells, one), _ring(cells, other)
    if rings[0] or rings[1]:
        return -2.0 if rings[0] == rings[1] else 1.0
    ends = [cells.corners[edge[0] if edge[1] == corner else edge[1]] for edge in (one, other)]
    here = cells.corners[corner]
    (ax, ay), (bx, by) = ((end[0] - here[0], end[1] - here[1]) for end in ends)
    return (ax * bx + ay * by) / (math.hypot(ax, ay) * math.hypot(bx, by))


def _named(chain: list[int], cells: Cells) -> Iterator[Line]:
    """The chain's edges as lines of one name: a ring, a primary road in or out of town, or a secondary one across."""
    spots = [cells.corners[corner] for corner in chain]
    edges = [(min(pair), max(pair)) for pair in pairwise(chain)]
    ring = _ring(cells, edges[0])
    if ring:
        name, limit = RINGS[ring]
        kind = "trunk"
    else:
        beside = max(1, *(min(cells.between[edge]) for edge in edges))
        name = f"{suburb_name(beside)} {KINDS[chain[0] % len(KINDS)]}"
        inwards = abs(math.hypot(*spots[0]) - math.hypot(*spots[-1])) > 0.6 * math.dist(spots[0], spots[-1])
        kind, limit = ("primary", 70) if inwards and len(chain) > 2 else ("secondary", 60)
        if min(min(cells.between[edge]) for edge in edges) > min(RINGS):
            limit += 10
    for one, other in pairwise(spots):
        yield Line((one, other), kind, name, limit)


def _bridges(roads: list[Line]) -> dict[int, float]:
    """Which of the lines get a bridge, and at which share of the line: the biggest roads first, none near another."""
    most_east = max(abs(spot[0]) for line in roads for spot in line.spots)
    water = list(pairwise(from_middle(point) for point in river(most_east)))
    wanted = []
    for at, line in enumerate(roads):
        one, other = line.spots
        share = _share_over(one, other, water)
        if share is not None and min(river_metres_at(*one), river_metres_at(*other)) > 2 * HALF_BRIDGE_METRES:
            east = between(one, other, share)[0]
            wanted.append((("trunk", "primary", "secondary").index(line.kind), abs(east), at, east, share))
    built: dict[int, float] = {}
    places: list[float] = []
    for rank, _, at, east, share in sorted(wanted):
        if all(abs(east - place) > (APART_METRES if rank else 0) for place in places):
            built[at] = share
            places.append(east)
    return built


def _share_over(one: Spot, other: Spot, water: list[tuple[Spot, Spot]]) -> float | None:
    """At which share of a road it goes over the river, where it does so once and not too slantwise."""
    left, right = sorted((one[0], other[0]))
    met = [
        (shares[0], begin, end)
        for begin, end in water
        if begin[0] <= right and end[0] >= left and (shares := crossing(one, other, begin, end))
    ]
    if len(met) != 1:
        return None
    share, begin, end = met[0]
    ax, ay, bx, by = other[0] - one[0], other[1] - one[1], end[0] - begin[0], end[1] - begin[1]
    slant = abs(ax * by - ay * bx) / (math.hypot(ax, ay) * math.hypot(bx, by))
    return share if slant > SLANT else None


def _with_bridge(line: Line, share: float | None) -> Iterator[Line]:
    if share is None:
        yield line
        return
    one, other = line.spots
    half = HALF_BRIDGE_METRES / math.dist(one, other)
    begin, end = between(one, other, share - half), between(one, other, share + half)
    yield replace(line, spots=(one, begin), dry=True)
    yield replace(line, spots=(begin, end), bridge=True, dry=True)
    yield replace(line, spots=(end, other), dry=True)

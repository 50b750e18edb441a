"""Lines of roads joined to one network: none goes through the river, and none of its parts is cut off by it."""

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import pairwise

from coatround.demo.crossings import Line, Network, Spot, between, crossed
from coatround.demo.town import river_metres_at

DRY_METRES = 30.0
STEP_METRES = 10.0
NEAR_METRES = 800.0
MOST_ROUNDS = 4


def joined(lines: list[Line], sites: Iterable[tuple[Spot, Line]]) -> Network:
    """One network of all lines, with a lane to each site, and to parts that the river cuts off."""
    dry = [part for line in lines for part in ([line] if line.dry else _dry_parts(line))]
    network = crossed(dry)
    near = _Near(network)
    links = [lane for spot, line in sites if (lane := _lane(spot, line, near))]
    for _ in range(MOST_ROUNDS):
        links += _links(network)
        network = crossed(dry + links)
        if len(_parts(network)) == 1:
            break
    return network


def _dry_parts(line: Line) -> Iterator[Line]:
    """The line without what lies in the river or on its bank."""
    part: list[Spot] = []
    before = line.spots[0]
    for spot, is_corner in _stepped(line.spots):
        if river_metres_at(*spot) < DRY_METRES:
            if part:
                yield from _as_line(part, before, line)
            part = []
        elif is_corner or not part:
            part.append(spot)
        before = spot
    if part:
        yield from _as_line(part, before, line)


def _as_line(part: list[Spot], tip: Spot, line: Line) -> Iterator[Line]:
    if part[-1] != tip:
        part.append(tip)
    if len(part) > 1:
        yield replace(line, spots=tuple(part))


def _stepped(spots: tuple[Spot, ...]) -> Iterator[tuple[Spot, bool]]:
    """Points some metres apart along a line, and whether each is one of the line's own."""
    yield spots[0], True
    for one, other in pairwise(spots):
        steps = max(1, math.ceil(math.dist(one, other) / STEP_METRES))
        for step in range(1, steps):
            yield between(one, other, step / steps), False
        yield other, True


def _parts(network: Network) -> list[list[int]]:
    """Nodes that hang together, most first."""
    beside: dict[int, list[int]] = defaultdict(list)
    for piece in network.pieces:
        for one, other in pairwise(piece.nodes):
            beside[one].append(other)
            beside[other].append(one)
    left, parts = dict.fromkeys(beside), []
    while left:
        part = [left.popitem()[0]]
        for node in part:
            for near in beside[node]:
                if near in left:
                    del left[near]
                    part.append(near)
        parts.append(part)
    return sorted(parts, key=len, reverse=True)


class _Near:
    """The nodes of a network by where they lie, to find those near a spot."""

    def __init__(self, network: Network) -> None:
        self.spots = network.spots
        self.cells: dict[tuple[int, int], list[int]] = defaultdict(list)
        for node in sorted({node for piece in network.pieces for node in piece.nodes}):
            self.cells[self._cell(self.spots[node])].append(node)

    def _cell(self, spot: Spot) -> tuple[int, int]:
        return math.floor(spot[0] / NEAR_METRES), math.floor(spot[1] / NEAR_METRES)

    def nodes(self, spot: Spot) -> list[tuple[float, int]]:
        """Nodes up to 800 m away or somewhat more, with how far."""
        column, row = self._cell(spot)
        around = [(column + right, row + up) for right in (-1, 0, 1) for up in (-1, 0, 1)]
        return sorted((math.dist(spot, self.spots[node]), node) for cell in around for node in self.cells.get(cell, ()))


def _links(network: Network) -> list[Line]:
    """A lane from each part that hangs alone to the nearest other part that no river parts it from."""
    parts = _parts(network)
    part_of = {node: number for number, part in enumerate(parts) for node in part}
    near = _Near(network) if len(parts) > 1 else None
    found = []
    for number, part in enumerate(parts[1:], 1):
        assert near is not None
        pairs = (
            (metres, node, other)
            for node in sorted(part)[:: max(1, len(part) // 40)]
            for metres, other in near.nodes(network.spots[node])
            if part_of[other] < number
        )
        ends = ((network.spots[node], network.spots[other]) for _, node, other in sorted(pairs))
        best = next((pair for pair in ends if _is_dry(*pair)), None)
        if best:
            found.append(Line(best, "unclassified", "", 40))
    return found


def _is_dry(one: Spot, other: Spot) -> bool:
    return all(river_metres_at(*spot) > DRY_METRES - 5 for spot, _ in _stepped((one, other)))


def _lane(site: Spot, line: Line, near: _Near) -> Line | None:
    """A lane to a site from the nearest node on its side of the river."""
    ends = next((node for _, node in near.nodes(site) if _is_dry(near.spots[node], site)), None)
    return None if ends is None else replace(line, spots=(near.spots[ends], site))

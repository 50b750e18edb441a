"""Lines of roads split where they cross: nodes, and the pieces of road between them."""

import math
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

Spot = tuple[float, float]
"""Metres east and north of the town's middle."""
SAME_METRES = 3.0
STUB_METRES = 12.0
CELL_METRES = 150.0


@dataclass(frozen=True, slots=True)
class Line:
    """A road as it is laid out, before others cross it; `suburb` is the number of the one it is in."""

    spots: tuple[Spot, ...]
    kind: str
    name: str
    limit: int
    suburb: int = -1
    bridge: bool = False
    dry: bool = False
    """On a bridge or leading to one: nothing of it is taken away at the river."""
    one_way_within: float = 0.0
    """Metres from the suburb's middle up to which it is a one-way street, along its points; below 0, against them."""


@dataclass(slots=True)
class Piece:
    """A stretch of a line from one crossing or end to the next, by the numbers of its nodes."""

    nodes: list[int]
    line: Line
    one_way: bool = False
    roundabout: bool = False


@dataclass(slots=True)
class Network:
    """Nodes by their number, and the pieces of road between them."""

    spots: list[Spot]
    pieces: list[Piece]

    def touching(self) -> dict[int, list[Piece]]:
        """The pieces that begin or end at each node."""
        found: dict[int, list[Piece]] = defaultdict(list)
        for piece in self.pieces:
            for end in (piece.nodes[0], piece.nodes[-1]):
                found[end].append(piece)
        return found

    def metres(self, piece: Piece) -> float:
        return sum(math.dist(self.spots[one], self.spots[other]) for one, other in pairwise(piece.nodes))


def between(one: Spot, other: Spot, share: float) -> Spot:
    return one[0] + share * (other[0] - one[0]), one[1] + share * (other[1] - one[1])


class _Nodes:
    """Nodes by where they lie; what lies nearer than 3 m to one is that one."""

    def __init__(self) -> None:
        self.spots: list[Spot] = []
        self.cells: dict[tuple[int, int], list[int]] = defaultdict(list)

    def at(self, spot: Spot) -> int:
        column, row = (math.floor(value / SAME_METRES) for value in spot)
        for near in ((column + right, row + up) for right in (0, -1, 1) for up in (0, -1, 1)):
            for node in self.cells.get(near, ()):
                if math.dist(self.spots[node], spot) < SAME_METRES:
                    return node
        self.cells[column, row].append(len(self.spots))
        self.spots.append(spot)
        return len(self.spots) - 1


def crossed(lines: list[Line]) -> Network:
    """The lines with a node wherever two meet, split there; bits that stick out a few metres are left away."""
    nodes = _Nodes()
    cuts = _cuts(lines, nodes)
    seen: set[tuple[int, int]] = set()
    chains: list[tuple[list[int], Line]] = []
    for number, line in enumerate(lines):
        chain: list[int] = []
        for at, (one, other) in enumerate(pairwise(line.spots)):
            cut = [node for _, node in sorted(cuts.get((number, at), ()))]
            for node in (nodes.at(one), *cut, nodes.at(other)):
                if chain and node == chain[-1]:
                    continue
                if chain and (min(chain[-1], node), max(chain[-1], node)) in seen:
                    chains.append((chain, line))
                    chain = []
                elif chain:
                    seen.add((min(chain[-1], node), max(chain[-1], node)))
                chain.append(node)
        chains.append((chain, line))
    return _trimmed(nodes.spots, [chain for chain in chains if len(chain[0]) > 1])


def _cuts(lines: list[Line], nodes: _Nodes) -> dict[tuple[int, int], list[tuple[float, int]]]:
    """For each segment of a line where others cross it: at which share of it, at which node."""
    cells: dict[tuple[int, int], list[tuple[int, int, Spot, Spot]]] = defaultdict(list)
    cuts: dict[tuple[int, int], list[tuple[float, int]]] = defaultdict(list)
    for number, line in enumerate(lines):
        for spot in line.spots:
            nodes.at(spot)
        for at, (one, other) in enumerate(pairwise(line.spots)):
            met: set[tuple[int, int]] = set()
            mine = [cells[cell] for cell in _cells(one, other)]
            for crossed, place, begin, end in (segment for cell in mine for segment in cell):
                if crossed == number or (crossed, place) in met:
                    continue
                met.add((crossed, place))
                shares = crossing(one, other, begin, end)
                if shares:
                    node = nodes.at(between(one, other, shares[0]))
                    cuts[number, at].append((shares[0], node))
                    cuts[crossed, place].append((shares[1], node))
            for cell in mine:
                cell.append((number, at, one, other))
    return cuts


def _cells(one: Spot, other: Spot) -> Iterator[tuple[int, int]]:
    left, right = sorted(math.floor(spot[0] / CELL_METRES) for spot in (one, other))
    low, high = sorted(math.floor(spot[1] / CELL_METRES) for spot in (one, other))
    return ((column, row) for column in range(left, right + 1) for row in range(low, high + 1))


def crossing(one: Spot, other: Spot, begin: Spot, end: Spot) -> tuple[float, float] | None:
    """At which shares of two segments they cross."""
    ax, ay, bx, by = other[0] - one[0], other[1] - one[1], end[0] - begin[0], end[1] - begin[1]
    turn = ax * by - ay * bx
    if abs(turn) < 1e-6:
        return None
    x, y = begin[0] - one[0], begin[1] - one[1]
    mine, its = (x * by - y * bx) / turn, (x * ay - y * ax) / turn
    return (mine, its) if 0 <= mine <= 1 and 0 <= its <= 1 else None


def _trimmed(spots: list[Spot], chains: list[tuple[list[int], Line]]) -> Network:
    """The chains without short stubs, split at every node where more than two roads meet."""
    while True:
        meets: dict[int, int] = defaultdict(int)
        for chain, _ in chains:
            for at, node in enumerate(chain):
                meets[node] += 1 if at in (0, len(chain) - 1) else 2
        short = False
        for chain, _ in chains:
            for end, beside in ((0, 1), (-1, -2)):
                is_loose = len(chain) > 1 and meets[chain[end]] == 1
                if is_loose and math.dist(spots[chain[end]], spots[chain[beside]]) < STUB_METRES:
                    chain.pop(end)
                    short = True
        chains = [each for each in chains if len(each[0]) > 1]
        if not short:
            return Network(spots, [piece for chain, line in chains for piece in _split(chain, line, meets)])


def _split(chain: list[int], line: Line, meets: dict[int, int]) -> Iterator[Piece]:
    piece = [chain[0]]
    for node in chain[1:]:
        piece.append(node)
        if meets[node] > 2:
            yield Piece(piece, line)
            piece = [node]
    if len(piece) > 1:
        yield Piece(piece, line)

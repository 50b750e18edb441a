"""What stands at the invented town's crossings: roundabouts, lights, one-way streets, turns that may not be made."""

import math
from collections import defaultdict
from dataclasses import dataclass, field, replace
from itertools import pairwise
from random import Random

from coatround.demo.crossings import Network, Piece, Spot
from coatround.demo.town import river_metres_at

BIG = ("trunk", "primary", "secondary")
ROUND_METRES = 20.0
CLEAR_METRES = 45.0
LEAST_ANGLE = math.radians(45)
LIT_METRES = 3_500.0
ROUND_LIMIT = 40
TURNS = (("no_right_turn", 60, 120), ("only_straight_on", 160, 200))
"""Turns by how many degrees anticlockwise the road taken lies from the one come from."""


@dataclass(frozen=True, slots=True)
class Turn:
    """A turn that may not be made, or alone may, by the word of it."""

    word: str
    onto: Piece
    node: int
    begin: Piece


@dataclass(slots=True)
class Signs:
    """The nodes with lights, and the turns that are ruled."""

    lights: list[int] = field(default_factory=list)
    turns: list[Turn] = field(default_factory=list)


def put_signs(network: Network, seed: int, middles: list[Spot]) -> Signs:
    """Changes the network's pieces where it puts roundabouts and one-way streets; every place can still be reached."""
    chance = Random(f"{seed}/signs")
    signs = Signs()
    for node, pieces in sorted(network.touching().items()):
        big = sum(piece.line.kind in BIG for piece in pieces)
        if len(pieces) < 3 or big < 2:
            continue
        if chance.random() < 0.35 and big > 2 and _may_be_round(network, node, pieces):
            _make_round(network, node, pieces)
        elif math.hypot(*network.spots[node]) < LIT_METRES and chance.random() < (0.8 if _is_busy(pieces) else 0.1):
            signs.lights.append(node)
            signs.turns += _turns(network, node, pieces, chance)
    _make_one_way(network, middles)
    return signs


def _is_busy(pieces: list[Piece]) -> bool:
    return sum(piece.line.kind in (*BIG, "tertiary") for piece in pieces) > 2


def _arm(network: Network, node: int, piece: Piece) -> tuple[float, float]:
    """At which angle a piece leaves a node, and how far it is to the piece's next node."""
    next_ = piece.nodes[1] if piece.nodes[0] == node else piece.nodes[-2]
    (x, y), (there_x, there_y) = network.spots[node], network.spots[next_]
    return math.atan2(there_y - y, there_x - x), math.hypot(there_x - x, there_y - y)


def _may_be_round(network: Network, node: int, pieces: list[Piece]) -> bool:
    arms = sorted(_arm(network, node, piece) for piece in pieces)
    gaps = [(other[0] - one[0]) % math.tau for one, other in pairwise([*arms, arms[0]])]
    return (
        min(gaps) > LEAST_ANGLE
        and min(metres for _, metres in arms) > CLEAR_METRES
        and river_metres_at(*network.spots[node]) > CLEAR_METRES
        and all(piece.nodes[0] != piece.nodes[-1] for piece in pieces)
    )


def _make_round(network: Network, node: int, pieces: list[Piece]) -> None:
    """A ring in place of the node, driven clockwise, since traffic keeps left."""
    x, y = network.spots[node]
    at: list[tuple[float, int]] = []
    for piece in pieces:
        angle, _ = _arm(network, node, piece)
        at.append((angle, _new_node(network, x, y, angle)))
        piece.nodes[0 if piece.nodes[0] == node else -1] = at[-1][1]
    at.sort()
    for (angle, _), (next_angle, _) in pairwise([*at, (at[0][0] + math.tau, 0)]):
        steps = math.ceil((next_angle - angle) / 0.7)
        at.extend(
            (between := angle + (next_angle - angle) * step / steps, _new_node(network, x, y, between))
            for step in range(1, steps)
        )
    ring = [number for _, number in sorted(at, key=lambda each: -(each[0] % math.tau))]
    biggest = min((piece.line for piece in pieces if piece.line.kind in BIG), key=lambda line: BIG.index(line.kind))
    line = replace(biggest, name="", limit=ROUND_LIMIT, suburb=-1)
    network.pieces.append(Piece([*ring, ring[0]], line, one_way=True, roundabout=True))


def _new_node(network: Network, x: float, y: float, angle: float) -> int:
    network.spots.append((x + ROUND_METRES * math.cos(angle), y + ROUND_METRES * math.sin(angle)))
    return len(network.spots) - 1


def _turns(network: Network, node: int, pieces: list[Piece], chance: Random) -> list[Turn]:
    """Here and there no right turn across the traffic, straight on alone, or no turning back."""
    if chance.random() > 0.4 or any(piece.nodes[0] == piece.nodes[-1] for piece in pieces):
        return []
    begin, *others = chance.sample(pieces, len(pieces))
    angle, _ = _arm(network, node, begin)
    for onto in others:
        turned = math.degrees((_arm(network, node, onto)[0] - angle) % math.tau)
        word = next((word for word, low, high in TURNS if low < turned < high), "")
        if word:
            return [Turn(word, onto, node, begin)]
    return [Turn("no_u_turn", begin, node, begin)]


def _make_one_way(network: Network, middles: list[Spot]) -> None:
    """Streets meant to be one-way become so where none is cut off by it."""
    for piece in network.pieces:
        within = piece.line.one_way_within
        spot = network.spots[piece.nodes[len(piece.nodes) // 2]]
        if within and all(_far(network, node, middles[piece.line.suburb]) < abs(within) + 25 for node in piece.nodes):
            piece.one_way = math.dist(spot, middles[piece.line.suburb]) < abs(within) + 25
            if within < 0:
                piece.nodes.reverse()
    while cut_off := _cut_off(network):
        for piece in network.pieces:
            if piece.one_way and not piece.roundabout and not cut_off.isdisjoint(piece.nodes):
                piece.one_way = False


def _far(network: Network, node: int, middle: Spot) -> float:
    return math.dist(network.spots[node], middle)


def _cut_off(network: Network) -> set[int]:
    """Nodes that can't be reached from the first one, or from which it can't be reached."""
    onward: dict[int, list[int]] = defaultdict(list)
    back: dict[int, list[int]] = defaultdict(list)
    for piece in network.pieces:
        for one, other in pairwise(piece.nodes):
            onward[one].append(other)
            back[other].append(one)
            if not piece.one_way:
                onward[other].append(one)
                back[one].append(other)
    start = network.pieces[0].nodes[0]
    return (set(onward) | set(back)) - (_reached(start, onward) & _reached(start, back))


def _reached(start: int, beside: dict[int, list[int]]) -> set[int]:
    seen, waiting = {start}, [start]
    while waiting:
        new = [node for node in beside[waiting.pop()] if node not in seen]
        seen.update(new)
        waiting.extend(new)
    return seen

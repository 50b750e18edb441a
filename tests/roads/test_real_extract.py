"""The real extract of Helsinki's centre goes in, and its drives agree with an independent shortest way."""

import random
from pathlib import Path

import numpy as np
import osmium
import pytest

from coatround.roads.addresses import Addresses
from coatround.roads.drives import drives_between
from coatround.roads.engine import NEAREST_ROAD, Engine, Point, engine_of
from coatround.roads.in_use import Roads
from tests.roads.shortest_ways import Network, Piece, metres_between, read_network

PAIRS = 50
LEAST_METRES = 1500
"""The engine keeps whole metres between two crossings, which on shorter ways comes to more than 0.5 %."""
SNAP_METRES = 5
"""The engine's own: an end nearer than this to a crossing is taken to be at the crossing."""


@pytest.fixture(scope="module")
def network(helsinki_file: Path) -> Network:
    return read_network(helsinki_file)


@pytest.fixture(scope="module")
def homes(helsinki_file: Path) -> list[Point]:
    """A hundred addresses, drawn from all that are nodes."""
    numbered = osmium.FileProcessor(str(helsinki_file), osmium.osm.NODE).with_filter(
        osmium.filter.KeyFilter("addr:housenumber")
    )
    return random.Random(5).sample(
        [(node.lat, node.lon) for node in numbered if isinstance(node, osmium.osm.Node)], 100
    )


def pairs_of(network: Network) -> tuple[dict[tuple[int, int], float], list[tuple[int, int]]]:
    """So many random pairs of nodes with their metres, shorter ones left out, and those between which no road leads."""
    alone = [node for node, point in network.at.items() if node in network.after and is_alone(network, node, point)]
    chance, pairs, apart = random.Random(3), dict[tuple[int, int], float](), list[tuple[int, int]]()
    while len(pairs) < PAIRS:
        start, end = chance.sample(alone, 2)
        metres = network.least(start, end, network.metres)
        if metres is None:
            apart.append((start, end))
        elif metres >= LEAST_METRES:
            pairs[start, end] = metres
    return pairs, apart


def is_alone(network: Network, node: int, point: Point) -> bool:
    return all(
        metres_between(point, other) > SNAP_METRES
        for number, other in network.at.items()
        if number != node and abs(other[0] - point[0]) < 1e-4
    )


def test_it_goes_in(helsinki: Roads) -> None:
    about = helsinki.about
    assert (about.country, about.drives_on) == ("FI", "right")
    assert about.roads > 900
    assert 30_000 < about.road_metres < 40_000
    assert about.addresses > 600
    assert about.streets > 50
    assert about.covers(60.1699, 24.9384)
    assert not about.covers(60.3, 24.9384)
    assert Addresses(helsinki.addresses).find("Mannerheimintie 1")


def test_a_hundred_homes(helsinki: Roads, homes: list[Point]) -> None:
    asked = engine_of(helsinki.folder).pairs_asked
    drives = drives_between(homes, helsinki)
    assert drives.by_road.all()
    assert engine_of(helsinki.folder).pairs_asked - asked <= len(homes) ** 2
    far = ~np.eye(len(homes), dtype=bool)
    assert (drives.metres[far] < 10_000).all()
    assert np.median(drives.seconds[far]) > 60


def test_lengths_agree_with_an_independent_dijkstra(helsinki: Roads, network: Network) -> None:
    engine = Engine(helsinki.folder)
    for (start, end), expected in pairs_of(network)[0].items():
        _, metres = engine.matrix([network.at[start]], [network.at[end]], shortest=True)
        assert metres[0, 0] == pytest.approx(expected, rel=0.005), (start, end)


def test_where_the_dijkstra_finds_no_way_there_is_none(helsinki: Roads, network: Network) -> None:
    """One-way roads that leave the extract, or come into it; asked of the very road, not of one that leads on."""
    engine = Engine(helsinki.folder)
    apart = pairs_of(network)[1]
    assert apart
    for start, end in apart:
        asked = "timedistancematrix", NEAREST_ROAD, [network.at[start]], [network.at[end]], True
        assert np.isnan(engine._asked(*asked)[0]).all(), (start, end)


def test_no_time_is_below_free_flow(helsinki: Roads, network: Network) -> None:
    """Below it lie a second at most: the engine's seconds are whole."""
    seconds_of: dict[Piece, float] = {
        piece: metres / network.km_h[piece] * 3.6 for piece, metres in network.metres.items()
    }
    engine = Engine(helsinki.folder)
    for start, end in pairs_of(network)[0]:
        free = network.least(start, end, seconds_of)
        assert free is not None
        for shortest in (False, True):
            seconds, _ = engine.matrix([network.at[start]], [network.at[end]], shortest=shortest)
            assert seconds[0, 0] >= free - 1, (start, end)


def test_the_way_is_the_drive_of_the_matrix(helsinki: Roads, homes: list[Point]) -> None:
    """The run sheet shows the one, the planner uses the other; near the edge of an extract roads lead nowhere."""
    engine = Engine(helsinki.folder)
    seconds, metres = engine.matrix(homes, homes)
    chance = random.Random(4)
    pairs = [tuple(chance.sample(range(len(homes)), 2)) for _ in range(300)]
    ways = [engine.way(homes[start], homes[end]) for start, end in pairs]
    for (start, end), way in zip(pairs, ways, strict=True):
        assert way.seconds == pytest.approx(seconds[start, end], rel=0.05, abs=2)
        assert way.metres == pytest.approx(metres[start, end], rel=0.05, abs=20)

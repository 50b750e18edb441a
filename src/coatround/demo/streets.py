"""The streets of the invented town's suburbs as lines: those with houses, and the newer ones round them."""

import itertools
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from random import Random

from coatround.demo.crossings import Line, Spot
from coatround.demo.names import street_name
from coatround.demo.town import APART_METRES, Suburb, from_middle

STEP_METRES = 25.0
MARGIN_METRES = 55.0
"""How far from a big road a street ends that doesn't lead into it."""
ONTO_METRES = -3.0
FARTHEST_METRES = 2_500.0
OUTER_METRES = 240.0


@dataclass(frozen=True, slots=True)
class Ground:
    """A suburb with its number, the corners of its land (anticlockwise), and how far out its streets are crossed."""

    number: int
    place: Suburb
    corners: list[Spot]
    crossed: float

    def at(self, along: float, aside: float) -> Spot:
        return from_middle(self.place.lie.spot(along, aside))

    def inside(self, spot: Spot) -> float:
        """How far inside the suburb's land a spot is, metres."""
        x, y = spot
        least = math.inf
        for (ax, ay), (bx, by) in zip(self.corners, self.corners[1:] + self.corners[:1], strict=True):
            least = min(least, ((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / math.hypot(bx - ax, by - ay))
        return least

    def beyond(self, start: float, until: float, *, aside: float | None = None, along: float = 0.0) -> list[Spot]:
        """From `start` away from the middle, until so far out or near a big road; infinite leads onto that road."""

        def spot(out: float) -> Spot:
            return self.at(out, aside) if aside is not None else self.at(along, out)

        way, found = math.copysign(1, until), list[Spot]()
        margin = ONTO_METRES if math.isinf(until) else MARGIN_METRES
        for step in range(1, int(FARTHEST_METRES / STEP_METRES)):
            out = start + way * step * STEP_METRES
            if self.inside(spot(out)) < margin:
                return [*found, spot(self._edge(spot, out - way * STEP_METRES, out, margin))]
            is_last = (out - until) * way >= 0
            if is_last or step % 3 == 0:
                found.append(spot(out))
            if is_last:
                break
        return found

    def _edge(self, spot: Callable[[float], Spot], near: float, far: float, margin: float) -> float:
        for _ in range(6):
            middle = (near + far) / 2
            near, far = (near, middle) if self.inside(spot(middle)) < margin else (middle, far)
        return near

    def across(self, along: float, low: float, high: float) -> tuple[Spot, ...]:
        """A street that crosses the parallel ones."""
        before, after = self.beyond(0, low, along=along), self.beyond(0, high, along=along)
        return (*reversed(before), self.at(along, 0), *after)

    def beside(self, aside: float, low: float, high: float) -> tuple[Spot, ...]:
        """A street parallel to those with houses."""
        before, after = self.beyond(0, low, aside=aside), self.beyond(0, high, aside=aside)
        return (*reversed(before), self.at(0, aside), *after)


def street_lines(number: int, place: Suburb, corners: list[Spot], seed: int) -> Iterator[Line]:
    """All streets of a suburb, each crossing others or ending dead, some leading onto the big roads round it."""
    crossed = min(street.half_metres for street in place.streets[:-1]) - 6
    ground = Ground(number, place, corners, crossed)
    chance = Random(f"{seed}/streets/{number}")
    yield from _with_houses(ground)
    taken = {street.name for street in place.streets}
    names = (name for name in map(street_name, itertools.count(9 * number + 336)) if name not in taken)
    for spots, kind, limit in _without_houses(ground, chance):
        if ground.inside(spots[len(spots) // 2]) > MARGIN_METRES:
            yield Line(spots, kind, next(names) if kind != "service" else "", limit, number)


def _with_houses(ground: Ground) -> Iterator[Line]:
    """The suburb's own streets, led on: the crossing one both ways onto the big roads, the middle ones one way."""
    *parallel, crossing = ground.place.streets
    outer = ground.crossed + OUTER_METRES + 20
    on = ((0, math.inf), (-math.inf, outer), (-outer, math.inf), (-math.inf, 0))
    is_one_way = ground.number < 3 or ground.number % 4 == 0
    for at, (street, (low, high)) in enumerate(zip(parallel, on, strict=True)):
        aside, half = (at - 1.5) * APART_METRES, street.half_metres
        before = ground.beyond(-half, low, aside=aside) if low else []
        after = ground.beyond(half, high, aside=aside) if high else []
        own = (from_middle(point) for point in street.points)
        within = ground.crossed * (1, -1)[at - 1] if is_one_way and at in (1, 2) else 0.0
        spots = (*reversed(before), *own, *after)
        yield Line(spots, "residential", street.name, 50, ground.number, one_way_within=within)
    half = crossing.half_metres
    before, after = ground.beyond(-half, -math.inf), ground.beyond(half, math.inf)
    spots = (*reversed(before), *(from_middle(point) for point in crossing.points), *after)
    yield Line(spots, "tertiary", crossing.name, 50, ground.number)


def _without_houses(ground: Ground, chance: Random) -> Iterator[tuple[tuple[Spot, ...], str, int]]:
    """Streets that join the ends of the parallel ones, newer streets further out, and lanes behind houses."""
    crossed, outer = ground.crossed, ground.crossed + OUTER_METRES
    ends = 250 + chance.uniform(80, 420), 250 + chance.uniform(80, 420)
    yield ground.across(-crossed, -ends[0], math.inf), "residential", 50
    yield ground.across(crossed, -math.inf, ends[1]), "residential", 50
    for aside in (-560, -400, 400, 560):
        slow = abs(aside) > 500 and chance.random() < 0.4
        low, high = (crossed + chance.uniform(-160, 300) for _ in range(2))
        yield ground.beside(aside, -low, high), *(("living_street", 20) if slow else ("residential", 50))
    yield ground.across(outer, -250 - chance.uniform(40, 300), 90 + chance.uniform(20, 300)), "residential", 50
    yield ground.across(-outer, -90 - chance.uniform(20, 300), 250 + chance.uniform(40, 300)), "residential", 50
    if ground.number % 2 == 0:
        yield (ground.at(-3, 0), ground.at(crossed / 2, 0), ground.at(crossed + 3, 0)), "service", 20

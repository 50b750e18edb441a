"""The drives of a round: by road where roads are in use and lead there, else an estimate; parking where one arrives."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

import numpy as np
from django.conf import settings
from django.utils.translation import gettext as _
from numpy.typing import NDArray

from coatround.core.learn.drives import FAST_KM_H, KINDS, SLOW_KM_H
from coatround.core.rounds.problem import Problem
from coatround.roads.drives import Drives, Group, drives_between, with_travel
from coatround.roads.in_use import Roads, roads_in_use
from coatround.web.base.templatetags.coatround import kilometres
from coatround.web.records.models import Place
from coatround.web.rounds.drives_seen import learned_now

Numbers = NDArray[Any]


@dataclass(frozen=True, slots=True)
class Leg:
    """A drive: whole seconds with the parking at its end, whole metres, and whether it is known by road.

    `engine_seconds` are what the engine or the estimate says, before any correction.
    """

    seconds: int
    metres: int
    by_road: bool = False
    engine_seconds: int = 0


@dataclass(frozen=True, slots=True)
class Travelled:
    """A problem with its travel; between which of its places a drive is known by road; which places lie off the roads.

    `off_road` says for each place, by id, what is wrong with its pin, in words. `stamp` names the roads, or is empty.
    """

    problem: Problem
    by_road: NDArray[np.bool_]
    stamp: str = ""
    off_road: Mapping[str, str] = field(default_factory=dict)

    def is_by_road(self, start: str, end: str) -> bool:
        """Whether the drive from one place to another is known by road."""
        number = {place.id: at for at, place in enumerate(self.problem.places)}
        return bool(self.by_road[number[start], number[end]])


def roads_now() -> Roads | None:
    """The roads in use in this home."""
    return roads_in_use(settings.HOME)


def travelled(problem: Problem, parking: Mapping[str, int], groups: Sequence[Group] | None = None) -> Travelled:
    """The problem with its travel filled; `parking` are extra seconds by place, `groups` the drives that are needed."""
    roads = roads_now()
    seconds = [parking[place.id] for place in problem.places]
    filled, drives = with_travel(problem, roads, seconds, groups, learned_factors)
    if roads is None:
        return Travelled(filled, drives.by_road)
    return Travelled(
        filled, drives.by_road, roads.about.stamp, off_road([place.id for place in problem.places], drives)
    )


def off_road(ids: Sequence[str], drives: Drives) -> dict[str, str]:
    """What is wrong with the pins that lie off the roads, by id, in words."""
    found: dict[str, str] = {}
    for id_, snapped in zip(ids, drives.snapped, strict=True):
        if snapped is None:
            found[id_] = _("no road of the extract is anywhere near")
        elif not snapped.is_on_road:
            words = {"far": kilometres(snapped.metres), "road": snapped.road or _("a road without a name")}
            found[id_] = _("the nearest road, %(road)s, is %(far)s away") % words
    return found


def learned_factors(seconds: Numbers, metres: Numbers) -> Numbers:
    """What drives of such seconds and metres are multiplied by, learnt from those that happened."""
    learned = learned_now()
    km_h = metres / np.maximum(seconds, 1) * 3.6
    kinds = np.searchsorted([SLOW_KM_H, FAST_KM_H], km_h, side="right")
    return np.array([learned.factor(kind, None).median for kind in KINDS])[kinds]


def engine_seconds(problem: Problem, ways: Sequence[tuple[str, str]]) -> list[int]:
    """What the engine or the estimate says of drives between places of a problem, before any correction."""
    number = {place.id: at for at, place in enumerate(problem.places)}
    groups = [([number[start]], [number[end]]) for start, end in ways]
    drives = drives_between([(place.lat, place.lon) for place in problem.places], roads_now(), groups)
    return [int(drives.seconds[number[start], number[end]]) for start, end in ways]


def legs_between(places: Sequence[Place]) -> list[Leg]:
    """The drives from each place to the next."""
    points = [(float(place.lat or 0), float(place.lon or 0)) for place in places]
    groups = [([a], [b]) for a, b in pairwise(range(len(points)))]
    drives = drives_between(points, roads_now(), groups)
    return [_leg(drives, places, a, b) for a, b in pairwise(range(len(points)))]


def _leg(drives: Drives, places: Sequence[Place], a: int, b: int) -> Leg:
    metres, engine = int(drives.metres[a, b]), int(drives.seconds[a, b])
    factor = float(learned_factors(np.array([engine]), np.array([metres]))[0])
    parking = places[b].parking_seconds if metres else 0
    return Leg(round(engine * factor) + parking, metres, bool(drives.by_road[a, b]), engine)

"""What a map shows: stops that bear the dogs' names, and the way between them as a line."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from coatround.roads.in_use import Roads

SAME_DEGREES = 5
"""Stops alike to so many decimals of a degree, about a metre, share one label."""


@dataclass(frozen=True, slots=True)
class MapStop:
    """A point that bears the names of the dogs there; `words` are said when its label is tapped."""

    lat: float | Decimal
    lon: float | Decimal
    names: tuple[str, ...]
    words: str = ""
    is_home: bool = False


@dataclass(frozen=True, slots=True)
class MapShown:
    """Stops in their order and the way between them as latitude and longitude; either may be empty."""

    stops: tuple[MapStop, ...] = ()
    line: tuple[tuple[float, float], ...] = ()

    def __bool__(self) -> bool:
        return bool(self.stops or self.line)


def home_stop(lat: float | Decimal, lon: float | Decimal, words: str = "") -> MapStop:
    """Where a run starts or ends, drawn as "home"."""
    return MapStop(lat, lon, (_("home"),), words, is_home=True)


def names_in_words(names: Sequence[str]) -> str:
    """Quill and Fig; Mop, Quill and Fig."""
    if len(names) < 2:
        return "".join(names)
    return _("%(first)s and %(last)s") % {"first": ", ".join(names[:-1]), "last": names[-1]}


def one_a_point(stops: Iterable[MapStop]) -> list[MapStop]:
    """The stops with those at one point made one, in the order in which each point comes first."""
    points: dict[tuple[float, float], list[MapStop]] = {}
    for stop in stops:
        points.setdefault((round(float(stop.lat), SAME_DEGREES), round(float(stop.lon), SAME_DEGREES)), []).append(stop)
    return [_one_of(there) for there in points.values()]


def _one_of(stops: Sequence[MapStop]) -> MapStop:
    names = tuple(dict.fromkeys(name for stop in stops for name in stop.names))
    words = dict.fromkeys(stop.words for stop in stops if stop.words)
    is_home = all(stop.is_home for stop in stops)
    return replace(stops[0], names=names, words="; ".join(words), is_home=is_home)


def map_data(shown: MapShown, roads: Roads) -> dict[str, Any]:
    """What the map's script is given."""
    return {
        "stamp": roads.about.stamp,
        "bounds": roads.about.bounds,
        "stops": [
            {
                "lat": float(stop.lat),
                "lon": float(stop.lon),
                "names": names_in_words(stop.names),
                "words": stop.words,
                "home": stop.is_home,
            }
            for stop in one_a_point(shown.stops)
        ],
        "line": [[round(float(lat), 6), round(float(lon), 6)] for lat, lon in shown.line],
    }

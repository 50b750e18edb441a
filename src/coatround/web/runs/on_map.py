"""A run on the map: its stops bear the dogs' names, and the drives between them are the line."""

from collections.abc import Mapping, Sequence

from django.utils.translation import gettext as _

from coatround.web.records.models import Place
from coatround.web.roads.map import MapShown, MapStop, home_stop
from coatround.web.rounds.models import Run, Stop
from coatround.web.runs.ways import Drive, point_of


def run_on_map(run: Run, stops: Sequence[Stop], drives: Mapping[str, Drive]) -> MapShown:
    """The run's pinned stops in order and the line it drives; a straight piece where no road is known."""
    shown = [home_stop(*point_of(run.start_place), str(run.start_place))] if run.start_place.is_pinned else []
    line: list[tuple[float, float]] = []
    here: Place | None = run.start_place
    for stop in stops:
        there = stop.visit.place if stop.visit else stop.place
        if stop.kind == "break" or there is None or not there.is_pinned:
            continue
        shown.append(MapStop(*point_of(there), _names(stop), str(there)))
        line += _piece(here, there, drives.get(str(stop.pk)))
        here = there
    line += _piece(here, run.end_place, drives.get("home"))
    return MapShown(tuple(shown), tuple(line))


def _names(stop: Stop) -> tuple[str, ...]:
    """What the label of a stop says."""
    if stop.visit is None:
        return (_("fill and empty"),)
    return tuple(row.dog.name for row in stop.visit.visit_dogs.all()) or (stop.visit.household.name,)


def _piece(start: Place | None, end: Place, drive: Drive | None) -> list[tuple[float, float]]:
    if drive is not None:
        return list(drive.way.line)
    if start is None or not (start.is_pinned and end.is_pinned):
        return []
    return [point_of(start), point_of(end)]

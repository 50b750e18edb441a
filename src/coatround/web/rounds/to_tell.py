"""The window to tell: of a visit that stands, of one on a planned run, of one that would be put in."""

from collections.abc import Sequence

from coatround.core.rounds.arrivals import Arrival
from coatround.core.rounds.by_hand import as_ordered
from coatround.core.rounds.plan import BreakStop, PlannedRun, RefillStop, VisitStop
from coatround.core.rounds.plan import Stop as PlanStop
from coatround.core.rounds.problem import Problem
from coatround.web.due.facts import seconds_of
from coatround.web.rounds.arriving import StopTimes, Window, share_now, windows_now
from coatround.web.rounds.models import Run, Stop


def window_to_tell(stop: Stop) -> Arrival | None:
    """The windows of a visit on a run that stands, whatever it was told so far."""
    stops, told, number = _standing(stop)
    return None if number is None else windows_now(stop.run.leave_seconds, stops, told).get(number)


def share_held(stop: Stop, window: Window) -> float | None:
    """The share of days on which a window would hold that this visit is told; who is there sooner waits."""
    stops, told, number = _standing(stop)
    if number is None:
        return None
    told[number] = window[0]
    return share_now(stop.run.leave_seconds, stops, told, number, window)


def _standing(stop: Stop) -> tuple[list[StopTimes], list[int | None], int | None]:
    """The stops of its run, from when each household was told to expect the van, and the number of this one."""
    rows = list(Stop.objects.filter(run=stop.run_id).select_related("visit").order_by("order"))
    told = [seconds_of(one.visit.told_from) if one.visit and one.visit.is_told else None for one in rows]
    number = next((n for n, one in enumerate(rows) if one.pk == stop.pk), None)
    if number is not None:
        told[number] = None
    return [_times_of(one) for one in rows], told, number


def run_windows_to_tell(run: Run, rows: Sequence[Stop]) -> dict[int, Window]:
    """The window to tell of each visit of a run, by its number among the stops.

    Whom a window was told that the run still meets is not worked on sooner; everyone else is told anew.
    """
    told = [_met(one) for one in rows]
    stops = [_times_of(one) for one in rows]
    return {n: one.told for n, one in windows_now(run.leave_seconds, stops, told).items()}


def _met(row: Stop) -> int | None:
    """From when a household expects the van, where its run still comes inside what was told."""
    if row.visit is None or not row.visit.is_told:
        return None
    from_, until = seconds_of(row.visit.told_from), seconds_of(row.visit.told_until)
    return from_ if from_ is not None and from_ <= row.start_seconds <= (until or from_) else None


def _times_of(row: Stop) -> StopTimes:
    return StopTimes(row.kind, row.start_seconds, row.arrive_seconds, row.end_seconds, row.drive_seconds)


def planned_windows(problem: Problem, planned: PlannedRun) -> dict[str, Arrival]:
    """The windows of the visits of a planned run by their ids; nobody is worked on before their hours there begin."""
    date = next(run.date for run in problem.runs if run.id == planned.id)
    days = {visit.id: day for visit in problem.visits for day in visit.days if day.date == date}
    free, stops, opens = planned.leave, list[StopTimes](), list[int | None]()
    for stop in planned.stops:
        stops.append(_times(stop, free))
        windows = days[stop.visit].windows if isinstance(stop, VisitStop) and stop.visit in days else ()
        opens.append(max((from_ for from_, to in windows if from_ <= stops[-1].start < to), default=None))
        free = stop.end
    found = windows_now(planned.leave, stops, opens)
    return {stop.visit: found[n] for n, stop in enumerate(planned.stops) if isinstance(stop, VisitStop)}


def _times(stop: PlanStop, free: int) -> StopTimes:
    """A stop of a plan that the van comes to from where it was free."""
    if isinstance(stop, BreakStop):
        return StopTimes("break", stop.start, stop.start, stop.end, 0)
    if isinstance(stop, RefillStop):
        return StopTimes("refill", stop.arrive, stop.arrive, stop.end, stop.arrive - free)
    return StopTimes("visit", stop.start, stop.arrive, stop.end, stop.arrive - free)


def window_put_in(problem: Problem, run: str, order: Sequence[str], visit: str) -> Arrival:
    """The windows of a visit of a run that is driven in this order, which is how it is driven once it is put in."""
    return planned_windows(problem, as_ordered(problem, run, order).planned)[visit]

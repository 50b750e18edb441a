"""Where a household's next visit fits into the runs that stand: three openings near a date."""

import datetime as dt
import uuid
from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from django.utils import formats
from django.utils.translation import gettext as _

from coatround.core.due_visits import visit_near
from coatround.core.rounds.openings import Opening as Found
from coatround.core.rounds.openings import openings
from coatround.core.rounds.problem import Day, Problem, Run, Window
from coatround.core.rounds.problem import Place as Point
from coatround.core.rounds.problem import Visit as PlannerVisit
from coatround.roads.drives import Group
from coatround.web.base.firm import firm_today, the_firm
from coatround.web.base.templatetags.coatround import clock, minutes
from coatround.web.due.facts import seconds_of
from coatround.web.due.visits import core_dogs, place_of_households, setting_for, work_days_of
from coatround.web.records.models import Dog, Household, Place, Van
from coatround.web.rounds.arriving import times_of
from coatround.web.rounds.gather import (
    CannotPlan,
    costs_of,
    degrees_apart,
    has_two_people,
    open_vans,
    refill_places,
    run_id,
    runs_of,
)
from coatround.web.rounds.models import Stop
from coatround.web.rounds.to_tell import planned_windows
from coatround.web.rounds.travel import travelled
from coatround.web.visits.models import Visit, VisitDog

REACH = dt.timedelta(days=10)
"""How far from the date asked for an opening may lie: our own default."""

GIVE_SECONDS = 45 * 60
"""How far a visit that is only pencilled in may move to make room: our own default."""

NEAREST_VANS = 12
"""Only so many vans are looked at, those with the nearest home; our own default, so that a big firm waits no longer."""


@dataclass(frozen=True, slots=True)
class Opening:
    """An opening for people: the day, the window to tell, what more it drives, and all of it in words."""

    date: dt.date
    van_id: uuid.UUID
    from_time: dt.time
    until_time: dt.time
    drive_seconds: int
    words: str


def three_openings(
    visit_or_household: Visit | Household, dog_ids: Collection[uuid.UUID], *, around: dt.date
) -> list[Opening]:
    """The three cheapest openings within ten days of a date, from tomorrow on; none where nothing fits or is known."""
    if isinstance(visit_or_household, Visit):
        place: Place | None = visit_or_household.place
    else:
        place_id = place_of_households([visit_or_household.pk]).get(visit_or_household.pk)
        place = Place.objects.filter(pk=place_id).first() if place_id else None
    if place is None or not place.is_pinned or not dog_ids:
        return []
    today = firm_today()
    first, last = max(around - REACH, today + dt.timedelta(days=1)), around + REACH
    try:
        return _openings(place, dog_ids, max(around, first), first, last, today)
    except CannotPlan:
        return []


def _openings(
    place: Place, dog_ids: Collection[uuid.UUID], around: dt.date, first: dt.date, last: dt.date, today: dt.date
) -> list[Opening]:
    firm, all_vans = the_firm(), open_vans()
    vans = sorted(all_vans, key=lambda van: degrees_apart(van.home, place))[:NEAREST_VANS]
    days = work_days_of(vans, firm, first, last)
    rows = list(Dog.objects.filter(pk__in=dog_ids).order_by("pk"))
    if not days or not rows:
        return []
    refills = refill_places()
    two_people = any(row.two_people for row in rows) and has_two_people(len(all_vans))
    runs = runs_of(vans, days, refills, two_people=two_people)
    dogs = core_dogs(rows, today, place=place.pk)
    new = visit_near("new", dogs, around, _taken(dog_ids), setting_for(firm, vans, first, last, days))
    standing = _standing_stops(vans, first, last)
    others, orders = _standing_visits(runs, standing)
    filled_at = {refill.place for run in runs for refill in run.refills}
    taps = [row for row in refills if str(row.pk) in filled_at]
    spots = {str(row.pk): _spot(row) for row in (place, *taps, *(van.home for van in vans))}
    spots |= {stop.place: stop.spot for stops in standing.values() for stop in stops}
    problem = Problem(
        costs_of(firm),
        tuple(Point(id_, spot[0], spot[1]) for id_, spot in sorted(spots.items())),
        None,
        runs,
        (*others, new),
    )
    parking = {id_: spot[2] for id_, spot in spots.items()}
    found = travelled(problem, parking, _needed(problem, orders))
    is_estimate = not found.stamp or str(place.pk) in found.off_road
    return [_for_people(found.problem, one, is_estimate=is_estimate) for one in openings(found.problem, orders, "new")]


def _needed(problem: Problem, orders: Mapping[str, Sequence[str]]) -> list[Group]:
    """The drives that openings are reckoned from: round the new visit, and among each van's homes, taps and stops."""
    number = {place.id: at for at, place in enumerate(problem.places)}
    place_of = {visit.id: number[visit.place] for visit in problem.visits}
    everywhere, new = range(len(problem.places)), [place_of["new"]]
    groups: list[Group] = [(new, everywhere), (everywhere, new)]
    for van in sorted({run.van for run in problem.runs}):
        own = [run for run in problem.runs if run.van == van]
        ends = {number[place] for run in own for place in _ends(run)}
        stops = {place_of[visit] for run in own for visit in orders.get(run.id, ())}
        groups += [(sorted(ends), sorted(ends | stops)), (sorted(stops), sorted(ends))]
        groups += [(at, at) for run in own if (at := sorted(place_of[visit] for visit in orders.get(run.id, ())))]
    return groups


def _ends(run: Run) -> set[str]:
    """Where a run begins, ends and fills."""
    return {run.start_place, run.end_place, *(refill.place for refill in run.refills)}


def _taken(dog_ids: Collection[uuid.UUID]) -> set[dt.date]:
    links = VisitDog.objects.filter(dog__in=dog_ids).exclude(visit__state="CANCELLED")
    return set(links.values_list("visit__date", flat=True))


Spot = tuple[float, float, int]
"""Degrees north and east, and the extra seconds to park."""


@dataclass(frozen=True, slots=True)
class _StandingStop:
    """A visit of a run that stands; clock times in seconds after midnight."""

    visit: str
    place: str
    spot: Spot
    start: int
    end: int
    water_l: int
    told: tuple[int, int] | None


def _spot(row: Place) -> Spot:
    return float(row.lat or 0), float(row.lon or 0), row.parking_seconds


def _standing_stops(vans: Collection[Van], first: dt.date, last: dt.date) -> dict[str, list[_StandingStop]]:
    """The visits of the runs that stand, in order, by run; plain columns, for a firm has many."""
    found: dict[str, list[_StandingStop]] = defaultdict(list)
    rows = Stop.objects.filter(run__date__range=(first, last), run__van__in=vans, visit__isnull=False)
    rows = rows.exclude(visit__state="CANCELLED").order_by("run_id", "order")
    columns = ("run__van_id", "run__date", "visit_id", "start_seconds", "end_seconds", "water_l", "visit__state")
    at = tuple(f"visit__place__{name}" for name in ("id", "lat", "lon", "parking_seconds"))
    for van, date, visit, start, end, water_l, state, from_, until, *where in rows.values_list(
        *columns, "visit__told_from", "visit__told_until", *at
    ):
        place, lat, lon, parking = where
        told = _told(from_, until) if state == "CONFIRMED" else None
        spot = (float(lat or 0), float(lon or 0), parking)
        stop = _StandingStop(str(visit), str(place), spot, start, end, water_l, told)
        found[run_id(van, date)].append(stop)
    return found


def _told(from_: dt.time | None, until: dt.time | None) -> tuple[int, int] | None:
    begins, ends = seconds_of(from_), seconds_of(until)
    return None if begins is None else (begins, begins if ends is None else ends)


def _standing_visits(
    runs: Sequence[Run], standing: Mapping[str, Sequence[_StandingStop]]
) -> tuple[list[PlannerVisit], dict[str, list[str]]]:
    """What stands on the runs, each visit on its day: told windows kept, pencilled ones free to give a little."""
    visits, orders = [], {}
    for run in runs:
        if run.id in standing:
            visits += [_standing_visit(stop, run) for stop in standing[run.id]]
            orders[run.id] = [stop.visit for stop in standing[run.id]]
    return visits, orders


def _standing_visit(stop: _StandingStop, run: Run) -> PlannerVisit:
    seconds = stop.end - stop.start
    return PlannerVisit(
        id=stop.visit,
        place=stop.place,
        seconds=seconds,
        water_l=stop.water_l,
        left_out_cents=0,
        days=(Day(run.date, 0, (_window(stop, seconds),)),),
        vans=(run.van,),
    )


def _window(stop: _StandingStop, seconds: int) -> Window:
    if stop.told is None:
        return max(0, stop.start - GIVE_SECONDS), stop.end + GIVE_SECONDS
    from_, until = stop.told
    return from_, until + seconds


def _for_people(problem: Problem, found: Found, *, is_estimate: bool) -> Opening:
    from_, until = times_of(planned_windows(problem, found.planned)["new"].told)
    words = _("%(day)s, %(from)s to %(until)s, %(more)s") % {
        "day": formats.date_format(found.date, "l j F"),
        "from": clock(seconds_of(from_)),
        "until": clock(seconds_of(until)),
        "more": _more_words(found, is_estimate=is_estimate),
    }
    return Opening(found.date, uuid.UUID(found.van), from_, until, found.drive_seconds, words)


def _more_words(found: Found, *, is_estimate: bool) -> str:
    drive = _("no more driving")
    if found.drive_seconds >= 60:
        drive = _("%(minutes)s more driving") % {"minutes": minutes(found.drive_seconds)}
    elif found.drive_seconds <= -60:
        drive = _("%(minutes)s less driving") % {"minutes": minutes(-found.drive_seconds)}
    if is_estimate:
        drive = _("%(drive)s (estimate)") % {"drive": drive}
    if found.overtime_seconds < 60:
        return drive
    return _("%(drive)s, %(minutes)s overtime") % {"drive": drive, "minutes": minutes(found.overtime_seconds)}

"""The round problem gathered from the records: runs, places, visits, and what each id of it stands for."""

import datetime as dt
import math
import uuid
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from django.db.models import Q
from django.utils.translation import gettext as _

from coatround.core.due_visits import DueVisit
from coatround.core.rounds.problem import Break, Costs, Problem, Refill, Run
from coatround.core.rounds.problem import Place as Point
from coatround.core.rounds.problem import Visit as PlannerVisit
from coatround.core.rush import held_on
from coatround.core.workdays import Workday
from coatround.web.base.firm import the_firm
from coatround.web.base.models import Firm, Worker
from coatround.web.due.because import because_words
from coatround.web.due.facts import seconds_of
from coatround.web.due.queries import due_visits
from coatround.web.due.visits import rushes_between, work_days_of
from coatround.web.due.words import reason_words
from coatround.web.records.models import Dog, Household, Place, Van
from coatround.web.rounds.models import Stop
from coatround.web.rounds.supposed import Supposed
from coatround.web.rounds.travel import Travelled, travelled
from coatround.web.visits.models import Fit, Groom, HandingBack, Visit

MAX_REFILLS = 2
NEAREST_TAPS = 4  # our own default
BIG_TUB, TWO_PEOPLE = "big tub", "two people"
ROAD_SECONDS = 3600
"""So much of a day is left for the road beside what is settled, before a rush holds anything back: our own default."""


class CannotPlan(Exception):
    """Something is missing before anything can be planned; the message says what, and what to do."""


@dataclass(frozen=True, slots=True)
class Gathered:
    """The problem with its travel, and as plain JSON what its visits, runs and places stand for."""

    problem: Problem
    travelled: Travelled
    names: dict[str, Any] = field(default_factory=dict)

    def standing(self) -> dict[str, list[str]]:
        """The visits of each run of the plan that stands, in order, by ids of the problem."""
        found: dict[str, list[tuple[int, str]]] = {}
        for id_, names in self.names["visits"].items():
            if (stands := names["stands"]) and stands["start"] is not None:
                run = run_id(stands["van"], stands["date"])
                found.setdefault(run, []).append((stands["start"], id_))
        return {run: [id_ for _, id_ in sorted(visits)] for run, visits in found.items()}


def gather(
    first: dt.date,
    last: dt.date,
    *,
    today: dt.date,
    van: Van | None = None,
    with_begun: bool = False,
    also: Iterable[Place] = (),
    supposed: Supposed | None = None,
    holding: bool = False,
) -> Gathered:
    """Everything to plan between two dates, for all vans or one; raises CannotPlan when something is missing.

    A day under way is left out unless `with_begun`; `also` are places that the travel is to hold too; `supposed` is
    what a what-if makes of the facts, here only. `holding` keeps free what a rush holds back for regulars.
    """
    firm = the_firm()
    vans = open_vans(van)
    first = max(first, today)
    if last < first:
        raise CannotPlan(_("These days are over. Plan from today on."))
    begun = set() if with_begun else days_begun(today)
    days = [day for day in work_days_of(vans, firm, first, last) if day.date not in begun]
    supposed = supposed or Supposed()
    vans, days = supposed.vans(vans), supposed.days(days)
    if not days:
        raise CannotPlan(_("No van works on these days. Write its hours down, or choose other days."))
    due = supposed.visits(due_visits(first, last, today=today, van=van, firm=firm, supposing=supposed.dogs))
    pinned = _pinned_places(due, vans) | {str(row.pk): row for row in also if row.is_pinned}
    planned = [visit for visit in due if visit.visit.place in pinned]
    runs = runs_of(vans, days, refill_places(), two_people=has_two_people())
    if holding:
        runs = held_back(runs, [visit.visit for visit in planned if visit.settled], today)
    problem = Problem(
        costs=costs_of(firm),
        places=tuple(Point(id_, float(row.lat or 0), float(row.lon or 0)) for id_, row in sorted(pinned.items())),
        travel=None,
        runs=runs,
        visits=tuple(visit.visit for visit in planned),
    )
    names = {
        "visits": _visit_names(due, today),
        "runs": {run.id: _run_names(run, vans) for run in runs},
        "places": {id_: str(row) for id_, row in pinned.items()},
        "unpinned": [visit.visit.id for visit in due if visit.visit.place not in pinned],
        "van": str(van.pk) if van else "",
    }
    found = travelled(problem, {id_: row.parking_seconds for id_, row in pinned.items()})
    names |= {"roads": found.stamp, "off_road": dict(found.off_road)}
    return Gathered(found.problem, found, names)


def open_vans(van: Van | None = None) -> list[Van]:
    """The vans to plan for, each with a home that has a pin; raises CannotPlan in words where that is missing."""
    vans = [van] if van else list(Van.objects.filter(closed_on__isnull=True).select_related("home").order_by("name"))
    if not vans:
        raise CannotPlan(_("There is no van yet. Set one up first: its tanks, hours and home."))
    for one in vans:
        if not one.home.is_pinned:
            words = {"van": one.name, "home": str(one.home)}
            raise CannotPlan(_("The home of %(van)s, %(home)s, has no pin on the map. Set its pin first.") % words)
    return vans


def days_begun(today: dt.date) -> set[dt.date]:
    """Today, once anything has been recorded on it: a run under way is not planned again here."""
    visits = Visit.objects.filter(date=today).values("pk")
    begun = (
        Groom.objects.filter(date=today).exists()
        or Fit.objects.filter(visit__in=visits).exists()
        or HandingBack.objects.filter(visit__in=visits).exists()
    )
    return {today} if begun else set()


def costs_of(firm: Firm) -> Costs:
    """What driving and overtime cost the firm."""
    return Costs(firm.cents_per_drive_hour, firm.cents_per_km, firm.cents_per_overtime_hour, 0)


def has_two_people(vans: int | None = None) -> bool:
    """Whether a second pair of hands rides along: more groomers than vans (counted when not given)."""
    groomers = Worker.objects.filter(is_groomer=True, is_active=True, closed_on__isnull=True).count()
    return groomers > (Van.objects.filter(closed_on__isnull=True).count() if vans is None else vans)


def runs_of(
    vans: Sequence[Van], days: Iterable[Workday], refills: Sequence[Place], *, two_people: bool
) -> tuple[Run, ...]:
    """One run a van and working day."""
    known = {str(van.pk): van for van in vans}
    taps = {str(van.pk): _taps_of(van, refills) for van in vans}
    return tuple(_run(known[day.van], day, taps[day.van], two_people) for day in days)


def held_back(runs: Sequence[Run], settled: Iterable[PlannerVisit], today: dt.date) -> tuple[Run, ...]:
    """The runs with so much less time as a rush holds back; none is made too short for what is settled on its date."""
    rushes = rushes_between(runs[0].date, runs[-1].date) if runs else ()
    visits = list(settled) if rushes else []
    found = []
    for run in runs:
        held = held_on(rushes, run.date, today)
        whole = run.paid_seconds + run.max_overtime_seconds
        fits = held and whole - held >= _seconds_settled(run, visits) + ROAD_SECONDS
        found.append(replace(run, paid_seconds=max(0, run.paid_seconds - held)) if fits else run)
    return tuple(found)


def _seconds_settled(run: Run, settled: Iterable[PlannerVisit]) -> int:
    """What the settled visits of that date take of a run: their work, or from the first window told to the last."""
    own = [visit for visit in settled if visit.vans is None or run.van in visit.vans]
    own = [visit for visit in own if visit.days and visit.days[0].date == run.date]
    told = [window for visit in own if visit.told for window in visit.days[0].windows]
    span = max(until for _, until in told) - min(from_ for from_, _ in told) if told else 0
    return max(span, sum(visit.seconds for visit in own))


def _taps_of(van: Van, refills: Sequence[Place]) -> tuple[Refill, ...]:
    """Where a van fills: at home and at the few places nearest to it, so that many taps do not slow every run."""
    nearest = sorted(refills, key=lambda place: (degrees_apart(van.home, place), place.pk))[:NEAREST_TAPS]
    places = {str(place.pk): place for place in (van.home, *nearest)}
    return tuple(Refill(id_, place.refill_seconds) for id_, place in places.items())


def degrees_apart(one: Place, other: Place) -> float:
    """A measure of distance that is good enough to say which is nearer: degrees of latitude."""
    lat, lon = float(one.lat or 0), float(one.lon or 0)
    shrink = math.cos(math.radians(lat))
    return math.hypot(float(other.lat or 0) - lat, (float(other.lon or 0) - lon) * shrink)


def _run(van: Van, day: Workday, taps: tuple[Refill, ...], two_people: bool) -> Run:
    has = [BIG_TUB] if van.has_big_tub else []
    return Run(
        id=run_id(van.pk, day.date),
        van=day.van,
        date=day.date,
        start_place=str(van.home_id),
        end_place=str(van.home_id),
        open=day.hours.open,
        close=max(day.hours.open, day.hours.close),
        paid_seconds=van.paid_minutes * 60,
        max_overtime_seconds=van.max_overtime_minutes * 60,
        water_l=min(van.clean_l, van.grey_l),
        max_refills=MAX_REFILLS,
        power_wh=van.battery_wh,
        refills=taps,
        break_=_break(day),
        has=tuple(has + ([TWO_PEOPLE] if two_people else [])),
    )


def _break(day: Workday) -> Break | None:
    """The weekday's break; one without times of its own falls in the middle half of the day."""
    hours = day.hours
    quarter = (hours.close - hours.open) // 4
    from_ = hours.open + quarter if hours.break_from is None else hours.break_from
    until = hours.close - quarter if hours.break_until is None else hours.break_until
    if hours.break_seconds <= 0 or until - from_ < hours.break_seconds:
        return None
    return Break(hours.break_seconds, from_, until)


def run_id(van: uuid.UUID | str, date: dt.date | str) -> str:
    return f"{van}:{date}"


def refill_places() -> list[Place]:
    return list(
        Place.objects.filter(refills=True, closed_on__isnull=True, lat__isnull=False, lon__isnull=False).order_by("pk")
    )


def _pinned_places(due: Iterable[DueVisit], vans: Iterable[Van]) -> dict[str, Place]:
    """The places of the problem that have a pin, by id."""
    wanted = {uuid.UUID(visit.visit.place) for visit in due if visit.visit.place} | {van.home_id for van in vans}
    rows = Place.objects.filter(Q(pk__in=wanted) | Q(refills=True, closed_on__isnull=True))
    return {str(row.pk): row for row in rows if row.is_pinned}


def _visit_names(due: Sequence[DueVisit], today: dt.date) -> dict[str, dict[str, Any]]:
    """What each visit stands for: household, dogs, reasons, what was told, where it stands now."""
    households = dict(Household.objects.filter(pk__in={visit.household for visit in due}).values_list("pk", "name"))
    rows_of_dogs = Dog.objects.filter(pk__in={dog for visit in due for dog in visit.dogs}).values_list("pk", "name")
    dogs = {str(pk): name for pk, name in rows_of_dogs}
    ids = [uuid.UUID(visit.visit.id) for visit in due if not visit.visit.id.startswith("due-")]
    rows = {str(row.pk): row for row in Visit.objects.filter(pk__in=ids)}
    stops = {str(stop.visit_id): stop for stop in Stop.objects.filter(visit__in=ids).select_related("run")}
    return {
        visit.visit.id: {
            "household": visit.household,
            "household_name": households.get(uuid.UUID(visit.household), ""),
            "place": visit.visit.place,
            "dogs": [{"id": dog, "name": dogs.get(dog, "")} for dog in visit.dogs],
            "seconds": visit.visit.seconds,
            "water_l": visit.visit.water_l,
            "due": visit.due.isoformat(),
            "reasons": [reason_words(reason, today) for reason in visit.reasons],
            "usual_weekday": visit.usual_weekday,
            "usual_start": visit.usual_start,
            "work_is_default": visit.work_is_default,
            "settled": visit.settled,
            "days": [day.date.isoformat() for day in visit.visit.days],
            "needs": list(visit.visit.needs),
            "because": [words for words in (because_words(one, dogs) for one in visit.because) if words],
            **_standing_names(rows.get(visit.visit.id), stops.get(visit.visit.id)),
        }
        for visit in due
    }


def _standing_names(row: Visit | None, stop: Stop | None) -> dict[str, Any]:
    if row is None:
        return {"visit": None, "told": False, "told_from": None, "told_until": None, "stands": None}
    stands = {
        "date": (stop.run.date if stop else row.date).isoformat(),
        "start": stop.start_seconds if stop else None,
        "van": str(stop.run.van_id) if stop else None,
    }
    return {
        "visit": str(row.pk),
        "told": row.state == "CONFIRMED",
        "told_from": seconds_of(row.told_from),
        "told_until": seconds_of(row.told_until),
        "stands": stands,
    }


def _run_names(run: Run, vans: Iterable[Van]) -> dict[str, Any]:
    van = next(one for one in vans if str(one.pk) == run.van)
    return {
        "van": run.van,
        "van_name": van.name,
        "date": run.date.isoformat(),
        "water_l": run.water_l,
        "groomer": str(van.groomer_id) if van.groomer_id else None,
        "home": str(van.home_id),
    }

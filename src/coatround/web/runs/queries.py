"""Gathers one run's rows in a fixed number of queries and makes its sheet; finds today's run and the coming ones."""

import datetime as dt
import uuid
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from django.db.models import Count, Prefetch, Q, QuerySet

from coatround.core.due_work import power_wh
from coatround.core.run import Kind, PlannedDay, PlannedStop, day_now
from coatround.core.trade.kit import kit
from coatround.core.trade.own_day import rule_of
from coatround.core.units import HOUR, MINUTE
from coatround.web.base.firm import firm_today, firm_zone, the_firm
from coatround.web.base.models import Firm, Worker
from coatround.web.records.models import Caution, Person, PlaceKey, RoutineStep, Usual, Weather, WorkingHours
from coatround.web.records.seasons import HEAT_KINDS, hot_times
from coatround.web.rounds.models import Run, Stop
from coatround.web.runs.ahead import windows_ahead
from coatround.web.runs.building import SheetRows, groom_plans, sheet_stop, turns_of
from coatround.web.runs.done import done_so_far, off_the_list, run_seconds
from coatround.web.runs.on_map import run_on_map
from coatround.web.runs.sheet import HotHours, RunSheet, SheetDrive
from coatround.web.runs.through import dose_line, through_picture
from coatround.web.runs.ways import Drive, drives_of
from coatround.web.runs.weather import closed_by, heat_of, weather_on
from coatround.web.runs.words import distance_words
from coatround.web.visits.models import Visit, VisitDog
from coatround.web.visits.queries import pasts_of

KINDS: dict[str, Kind] = {"visit": "visit", "refill": "refill", "break": "break"}


def run_sheet(run_id: uuid.UUID, now: dt.datetime | None, firm: Firm | None = None) -> RunSheet:
    """One run as it stands at `now` on the firm's wall clock; `now` None gives the plan alone, as it is printed.

    Raises Run.DoesNotExist.
    """
    firm = firm or the_firm()
    run = Run.objects.select_related("van", "groomer", "start_place", "end_place").get(pk=run_id)
    stops = _stops_of(run)
    drives = drives_of(run, stops)
    visits = [stop.visit for stop in stops if stop.visit is not None]
    rows = _rows(run, visits)
    is_today = now is not None and now.date() == run.date
    seconds_now = run_seconds(now, run.date) if now is not None and is_today else None
    done = done_so_far(stops, run.date, firm_zone(firm)) if now is not None else off_the_list(stops)
    is_over = seconds_now is not None and seconds_now > run.back_seconds and not any(one.started for one in done)
    if is_over:  # nothing was recorded on the way: times reckoned from here would help nobody
        seconds_now = None
    day = day_now(_planned_day(run, stops, drives), done, seconds_now)
    by_key = {str(stop.pk): stop for stop in stops}
    weather = weather_on(run.date)
    noise = dose_line(day.stops, day.leave, day.back, rule_of(firm.country), firm.figures)
    likely = windows_ahead(day, seconds_now) if run.date >= firm_today(firm) and not is_over else {}
    return RunSheet(
        id=run.pk,
        date=run.date,
        van=run.van.name,
        groomer=run.groomer.name if run.groomer else "",
        is_today=is_today,
        seconds_now=seconds_now,
        is_over=is_over,
        tank_l=_tank_l(run),
        bath_l=run.van.bath_l,
        units=firm.units,
        start=str(run.start_place),
        end=str(run.end_place),
        day=day,
        stops=tuple(
            sheet_stop(by_key[key], stop, rows, run, firm.units, drives.get(key), likely.get(key))
            for stop in day.stops
            for key in (stop.plan.key,)
        ),
        on_map=run_on_map(run, stops, drives),
        home=_way_home(run, drives.get("home"), firm.units),
        kit=kit(
            groom_plans(visits, rows, run.van.bath_l),
            [stop.water_l for stop in stops if stop.kind == "visit"],
            _tank_l(run),
            sum(stop.kind == "refill" for stop in stops),
        ),
        hot=_hot(run, visits, rows, firm, weather),
        heat=heat_of(weather, day.leave, day.back, firm.figures, fahrenheit=firm.units == "us"),
        degrees="°F" if firm.units == "us" else "°C",
        through=through_picture(day, noise, run.van.battery_wh),
        through_rows=tuple((round(at), round(percent)) for at, percent in noise[2:-1:2]),
        dose_percent=round(noise[-1][1]),
    )


def _hot(run: Run, visits: Sequence[Visit], rows: SheetRows, firm: Firm, weather: Weather | None) -> HotHours | None:
    """The day's hot hours, where a dog on the run has a caution for them: by its weather, else by the season."""
    dogs = [link.dog for visit in visits for link in visit.visit_dogs.all()]
    if weather is not None:
        return closed_by(weather, dogs, rows.cautions, firm.figures)
    names = tuple(
        dog.name for dog in dogs if any(caution.kind in HEAT_KINDS for caution in rows.cautions.get(dog.pk, ()))
    )
    times = hot_times(firm, run.date, run.start_place) if names else None
    return HotHours(_clock(times[0]), _clock(times[1]), names) if times else None


def _stops_of(run: Run) -> list[Stop]:
    dogs = Prefetch("visit__visit_dogs", VisitDog.objects.select_related("dog").order_by("order", "id"))
    stops = run.stops.select_related("visit__household", "visit__place", "place").prefetch_related(dogs)
    return list(stops.order_by("order"))


def _tank_l(run: Run) -> int:
    """A bath ends when the clean tank is empty or the grey one full."""
    return min(run.van.clean_l, run.van.grey_l)


def _way_home(run: Run, drive: Drive | None, units: str) -> SheetDrive:
    return SheetDrive(run.home_metres, distance_words(run.home_metres, units), run.home_by_road, turns_of(drive, units))


def _planned_day(run: Run, stops: Sequence[Stop], drives: Mapping[str, Drive]) -> PlannedDay:
    hours = WorkingHours.objects.filter(van=run.van_id, weekday=run.date.weekday()).first()
    close = (hours.close.hour * HOUR + hours.close.minute * MINUTE) if hours else 0
    return PlannedDay(
        run.leave_seconds,
        run.back_seconds,
        max(close, run.back_seconds),
        tuple(_planned_stop(stop, drives.get(str(stop.pk))) for stop in stops),
        _tank_l(run),
        run.van.battery_wh,
    )


def _planned_stop(stop: Stop, drive: Drive | None) -> PlannedStop:
    visit = stop.visit
    told = None
    if visit is not None and visit.told_from is not None and visit.told_until is not None:
        told = (_clock(visit.told_from), _clock(visit.told_until))
    return PlannedStop(
        str(stop.pk),
        KINDS[stop.kind],
        stop.arrive_seconds,
        stop.start_seconds,
        stop.end_seconds,
        drive.seconds if drive and stop.by_road else stop.drive_seconds,
        stop.water_l,
        0 if visit is None or visit.place.plug == "may use" else power_wh(stop.end_seconds - stop.start_seconds),
        told=told,
    )


def _clock(time: dt.time) -> int:
    return time.hour * HOUR + time.minute * MINUTE


def _rows(run: Run, visits: Sequence[Visit]) -> SheetRows:
    dogs = {row.dog_id for visit in visits for row in visit.visit_dogs.all()}
    cautions: dict[uuid.UUID, list[Caution]] = defaultdict(list)
    lasting = Q(until__isnull=True) | Q(until__gte=run.date)
    for caution in Caution.objects.filter(lasting, dog_id__in=dogs, closed_on__isnull=True):
        cautions[caution.dog_id].append(caution)
    people: dict[uuid.UUID, list[Person]] = defaultdict(list)
    households = {visit.household_id for visit in visits}
    for person in Person.objects.filter(household_id__in=households, closed_on__isnull=True).exclude(phone=""):
        people[person.household_id].append(person)
    places = {visit.place_id for visit in visits}
    keyed = PlaceKey.objects.filter(place_id__in=places, closed_on__isnull=True).values_list("place_id", flat=True)
    return SheetRows(_usuals(dogs, run.date), cautions, pasts_of(dogs, run.date), people, set(keyed))


def _usuals(dogs: Iterable[uuid.UUID], date: dt.date) -> dict[uuid.UUID, Usual]:
    """What was settled for each dog on that date, with the steps of its routine."""
    steps = Prefetch("steps", RoutineStep.objects.select_related("product").order_by("order"))
    valid = Q(valid_until__isnull=True) | Q(valid_until__gte=date)
    usuals = Usual.objects.filter(valid, dog_id__in=dogs, valid_from__lte=date, closed_on__isnull=True)
    return {usual.dog_id: usual for usual in usuals.order_by("valid_from", "id").prefetch_related(steps)}


def runs_of(worker: Worker, date: dt.date) -> list[Run]:
    """A day's runs of this groomer's vans; of all vans for someone who has none."""
    runs = Run.objects.filter(date=date).select_related("van").order_by("leave_seconds", "van__name")
    if worker.vans.filter(closed_on__isnull=True).exists() or runs.filter(groomer=worker).exists():
        runs = runs.filter(Q(groomer=worker) | Q(groomer__isnull=True, van__groomer=worker))
    return list(runs)


def coming_runs(today: dt.date) -> QuerySet[Run]:
    """The runs after today, soonest first, with how many visits each has."""
    visits = Count("stops", filter=Q(stops__kind="visit"))
    return (
        Run.objects.filter(date__gt=today).select_related("van").annotate(visits=visits).order_by("date", "van__name")
    )

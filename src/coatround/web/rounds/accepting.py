"""What accepting some dates of a plan writes: runs, stops, visits; and what becomes of visits that fall out."""

import datetime as dt
import uuid
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _

from coatround.core.rounds.plan import BreakStop, Plan, PlannedRun, RefillStop, VisitStop
from coatround.core.rounds.problem import Problem
from coatround.web.base.models import Worker
from coatround.web.rounds.mend import mend
from coatround.web.rounds.models import Run, Stop
from coatround.web.rounds.propose import legs_of
from coatround.web.rounds.travel import legs_between
from coatround.web.visits.models import Fit, Groom, HandingBack, Visit, VisitDog


@dataclass(frozen=True, slots=True)
class Chosen:
    """The part of a plan that is being accepted: its dates and runs, and the names of its visits."""

    problem: Problem
    plan: Plan
    names: dict[str, Any]
    dates: frozenset[dt.date]

    @property
    def run_dates(self) -> dict[str, dt.date]:
        return {run.id: run.date for run in self.problem.runs}

    @property
    def runs(self) -> list[PlannedRun]:
        return [run for run in self.plan.runs if self.run_dates[run.id] in self.dates]

    @property
    def date_of(self) -> dict[str, dt.date]:
        """The planned date of every visit of the whole plan."""
        return {visit: self.run_dates[run.id] for run in self.plan.runs for visit in run.visit_ids}


def write_runs(chosen: Chosen, who: Worker, version: int) -> None:
    """Puts the chosen runs in the place of those that stand on the same vans and dates."""
    days = {(uuid.UUID(run.van), run.date) for run in chosen.problem.runs if run.date in chosen.dates}
    standing = {
        (run.van_id, run.date): run
        for run in Run.objects.filter(date__in=chosen.dates)
        if (run.van_id, run.date) in days
    }
    before = set(Stop.objects.filter(run__in=standing.values(), visit__isnull=False).values_list("visit", flat=True))
    Stop.objects.filter(run__in=standing.values()).delete()
    rows = _write_visits(chosen)
    _take_from_other_runs([row.pk for row in rows.values()])
    kept = {
        _day(chosen, planned): _write_run(chosen, planned, standing.get(_day(chosen, planned)), who, version)
        for planned in chosen.runs
    }
    Stop.objects.bulk_create(
        stop for planned in chosen.runs for stop in _stops(chosen, planned, kept[_day(chosen, planned)], rows)
    )
    for day, run in standing.items():
        if day not in kept:
            run.delete()
    _settle_the_rest(chosen, before - {row.pk for row in rows.values()})


def rewrite_runs(chosen: Chosen, touched: Collection[str], who: Worker, version: int, *, pinned: str = "") -> None:
    """Writes some runs that stand anew as a person wants them; the visits of all of them are there already.

    A visit that falls on another day than before is only pencilled in, whatever was told; `pinned` names one to keep.
    """
    planned = {run.id: run for run in chosen.plan.runs if run.id in touched}
    days = {run: (uuid.UUID(chosen.names["runs"][run]["van"]), chosen.run_dates[run]) for run in touched}
    there = {(run.van_id, run.date): run for run in Run.objects.filter(date__in=chosen.dates)}
    ids = [visit for run in planned.values() for visit in run.visit_ids]
    rows = {str(row.pk): row for row in Visit.objects.filter(pk__in=ids)}
    Stop.objects.filter(run__in=[there[day] for day in days.values() if day in there]).delete()
    for id_, (van, date) in days.items():
        row = there.get((van, date))
        if id_ not in planned:
            if row is not None:
                row.delete()
            continue
        kept = _write_run(chosen, planned[id_], row, who, version)
        Stop.objects.bulk_create(_stops(chosen, planned[id_], kept, rows))
        for stop in planned[id_].stops:
            if isinstance(stop, VisitStop):
                _put_on(rows[stop.visit], van, date, stop.start, is_pinned=stop.visit == pinned)


def rewrite_rest(chosen: Chosen, planned: PlannedRun | None, run: Run, done: Collection[int]) -> None:
    """Writes what is still to do on a run under way anew; `done` are the primary keys of the stops that stay."""
    kept = list(run.stops.filter(pk__in=done).order_by("order"))
    run.stops.exclude(pk__in=done).delete()
    for order, stop in enumerate(kept):
        stop.order = order
    Stop.objects.bulk_update(kept, ["order"])
    if planned is None:
        home = legs_between([(kept[-1].visit or kept[-1]).place or run.start_place, run.end_place])[0] if kept else None
        run.back_seconds = kept[-1].end_seconds + home.seconds if kept and home else run.leave_seconds
    else:
        rows = {str(row.pk): row for row in Visit.objects.filter(pk__in=planned.visit_ids)}
        stops = list(_stops(chosen, planned, run, rows))
        for stop in stops:
            stop.order += len(kept)
        Stop.objects.bulk_create(stops)
        run.back_seconds, home = planned.back, legs_of(chosen.problem, planned, chosen.names)[-1]
    if home is not None:
        run.home_metres, run.home_by_road = home.metres, home.by_road
    run.save(update_fields=["back_seconds", "home_metres", "home_by_road"])


def _put_on(row: Visit, van: uuid.UUID, date: dt.date, start: int, *, is_pinned: bool) -> None:
    if row.date != date:
        row.state, row.answer, row.told_from, row.told_until = "TENTATIVE", "NEEDS-ACTION", None, None
    row.date, row.van_id = date, van
    row.pinned_seconds = start if is_pinned or row.is_pinned else None
    row.save(update_fields=["date", "van", "state", "answer", "told_from", "told_until", "pinned_seconds"])


def _day(chosen: Chosen, planned: PlannedRun) -> tuple[uuid.UUID, dt.date]:
    return uuid.UUID(chosen.names["runs"][planned.id]["van"]), chosen.run_dates[planned.id]


def _write_run(chosen: Chosen, planned: PlannedRun, run: Run | None, who: Worker, version: int) -> Run:
    names = chosen.names["runs"][planned.id]
    van, date = _day(chosen, planned)
    run = run or Run(van_id=van, date=date)
    run.groomer_id = uuid.UUID(names["groomer"]) if names["groomer"] else None
    run.start_place_id = run.end_place_id = uuid.UUID(names["home"])
    run.leave_seconds, run.back_seconds = planned.leave, planned.back
    home = legs_of(chosen.problem, planned, chosen.names)[-1]
    run.home_metres, run.home_by_road = home.metres, home.by_road
    run.accepted_at, run.accepted_by, run.version = timezone.now(), who, version
    run.save()
    return run


def _stops(chosen: Chosen, planned: PlannedRun, run: Run, rows: dict[str, Visit]) -> Iterable[Stop]:
    """The stops of one run in order, each with the drive that leads to it."""
    legs = iter(legs_of(chosen.problem, planned, chosen.names, with_engine=True))
    for order, stop in enumerate(planned.stops):
        made = Stop(run=run, order=order, end_seconds=stop.end)
        if isinstance(stop, BreakStop):
            made.kind, made.arrive_seconds, made.start_seconds = "break", stop.start, stop.start
        else:
            made.arrive_seconds = made.start_seconds = stop.arrive
            leg = next(legs)
            made.drive_seconds, made.drive_metres, made.by_road = leg.seconds, leg.metres, leg.by_road
            made.engine_seconds = leg.engine_seconds
        if isinstance(stop, RefillStop):
            made.kind, made.place_id = "refill", uuid.UUID(stop.refill)
        if isinstance(stop, VisitStop):
            made.kind, made.visit, made.start_seconds = "visit", rows[stop.visit], stop.start
            made.water_l = chosen.names["visits"][stop.visit]["water_l"]
        yield made


def _write_visits(chosen: Chosen) -> dict[str, Visit]:
    """The visits of the chosen runs: those that are there moved, the others made; a window told stays told."""
    where = {visit: planned for planned in chosen.runs for visit in planned.visit_ids}
    starts = {one.visit: one.start for run in chosen.runs for one in run.stops if isinstance(one, VisitStop)}
    ids = [uuid.UUID(found) for id_ in where if (found := chosen.names["visits"][id_]["visit"])]
    there = {row.pk: row for row in Visit.objects.filter(pk__in=ids)}
    rows, new = {}, []
    for id_, planned in where.items():
        names, (van, date) = chosen.names["visits"][id_], _day(chosen, planned)
        row = there.get(uuid.UUID(names["visit"])) if names["visit"] else None
        if row is None:
            row = Visit(household_id=uuid.UUID(names["household"]), place_id=uuid.UUID(names["place"]))
            new.append(row)
            names["visit"] = str(row.pk)
        if row.date != date and row.answer in ("DECLINED", "TENTATIVE"):
            row.answer = "NEEDS-ACTION"
        row.date, row.van_id = date, van
        if names.get("pinned"):
            row.pinned_seconds = starts[id_]
        rows[id_] = row
    Visit.objects.bulk_create(new)
    Visit.objects.bulk_update(there.values(), ["date", "van", "answer", "pinned_seconds"])
    _write_dogs(chosen, rows)
    return rows


def _write_dogs(chosen: Chosen, rows: dict[str, Visit]) -> None:
    """Each visit's dogs as planned; visits whose date was settled keep their own."""
    planned = {id_: row for id_, row in rows.items() if not chosen.names["visits"][id_]["settled"]}
    VisitDog.objects.filter(visit__in=planned.values()).delete()
    VisitDog.objects.bulk_create(
        VisitDog(visit=row, dog_id=uuid.UUID(dog["id"]), order=order)
        for id_, row in planned.items()
        for order, dog in enumerate(chosen.names["visits"][id_]["dogs"])
    )


def _take_from_other_runs(visits: Collection[uuid.UUID]) -> None:
    """A visit that comes from another day leaves its run there; that run keeps its other times."""
    stops = Stop.objects.filter(visit__in=visits)
    runs = list(Run.objects.filter(stops__in=stops).distinct())
    stops.delete()
    for run in runs:
        mend(run)


def _settle_the_rest(chosen: Chosen, before: set[uuid.UUID]) -> None:
    """Visits of these dates that the plan has elsewhere wait there; those it left out are removed or called off."""
    own_van = chosen.names.get("van")
    loose = Visit.objects.filter(date__in=chosen.dates, stops__isnull=True).exclude(state="CANCELLED")
    if own_van:
        loose = loose.filter(van=uuid.UUID(own_van))
    placed = {uuid.UUID(names["visit"]): id_ for id_, names in chosen.names["visits"].items() if names["visit"]}
    date_of, out = chosen.date_of, {left.visit for left in chosen.plan.left_out}
    for row in Visit.objects.filter(pk__in=before | set(loose.values_list("pk", flat=True))):
        id_ = placed.get(row.pk)
        if id_ in date_of:
            row.date = date_of[id_]
            row.save(update_fields=["date"])
        elif id_ in out or (id_ is None and _is_only_pencilled(row)):
            _fall_out(row)


def _is_only_pencilled(row: Visit) -> bool:
    return row.state == "TENTATIVE" and row.source == "plan" and row.told_at is None


def _fall_out(row: Visit) -> None:
    has_records = any(table.objects.filter(visit=row.pk).exists() for table in (Fit, Groom, HandingBack))
    if has_records:
        return
    if _is_only_pencilled(row):
        row.delete()
        return
    row.state, row.called_off_why = "CANCELLED", _("No room in the plan that was accepted.")
    row.save()

"""The plan that stands: its version, its runs as the page shows them, what it drives."""

import datetime as dt
import uuid
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from django.db.models import Prefetch, Q, QuerySet
from django.http import HttpRequest

from coatround.web.due.facts import seconds_of
from coatround.web.records.models import Van
from coatround.web.rounds.models import Proposal, Run, Standing, Stop
from coatround.web.visits.models import Visit


@dataclass(frozen=True, slots=True)
class PageDog:
    """A dog as a page names it."""

    id: str
    name: str


@dataclass(frozen=True, slots=True)
class PageStop:
    """One stop of a run as a page shows it; clock times in seconds after midnight.

    `visit` is the id of a visit that exists; a stop of a proposal may have none yet, and has its `planned` id there.
    """

    kind: str
    arrive: int
    start: int
    end: int
    litres: int = 0
    dogs: tuple[PageDog, ...] = ()
    household: str = ""
    household_name: str = ""
    place: str = ""
    visit: str | None = None
    state: str = ""
    state_words: str = ""
    answer_words: str = ""
    told_from: int | None = None
    told_until: int | None = None
    reasons: tuple[str, ...] = ()
    drive_seconds: int = 0
    by_road: bool = False
    planned: str = ""

    @property
    def is_told(self) -> bool:
        return self.state == "CONFIRMED" and self.told_from is not None


@dataclass(frozen=True, slots=True)
class DayRun:
    """One van's day as a page shows it."""

    id: str
    van: str
    van_name: str
    date: dt.date
    leave: int
    back: int
    tank_l: int
    stops: tuple[PageStop, ...]
    drive_seconds: int
    run: str | None = None
    home_by_road: bool = False

    @property
    def visits(self) -> tuple[PageStop, ...]:
        return tuple(stop for stop in self.stops if stop.kind == "visit")

    @property
    def by_road(self) -> bool:
        """Whether every drive of it is known by road."""
        return self.home_by_road and all(stop.by_road for stop in self.stops if stop.kind != "break")


def standing_version() -> int:
    """The version of the plan that stands; 0 before the first acceptance."""
    return Standing.objects.order_by("pk").values_list("version", flat=True).first() or 0


def open_proposal() -> Proposal | None:
    """The proposal that is being planned or waits to be accepted; its problem stays in the database."""
    return (
        Proposal.objects.filter(state__in=("waiting", "planning", "ready", "failed"), supposed__isnull=True)
        .defer("problem")
        .order_by("-made_at", "-id")
        .first()
    )


def runs_between(first: dt.date, last: dt.date, van: Van | None = None) -> "QuerySet[Run]":
    """Accepted runs with their stops, visits and dogs, in a few queries."""
    stops = Stop.objects.order_by("order").select_related("visit__household", "visit__place", "place")
    stops = stops.prefetch_related("visit__visit_dogs__dog")
    runs = Run.objects.filter(date__gte=first, date__lte=last).select_related("van").order_by("date", "van__name")
    if van is not None:
        runs = runs.filter(van=van)
    return runs.prefetch_related(
        Prefetch("stops", queryset=stops),
    )


def standing_runs(first: dt.date, last: dt.date, van: Van | None = None) -> tuple[DayRun, ...]:
    """The plan that stands between two dates."""
    return tuple(_day_run(run) for run in runs_between(first, last, van))


def _day_run(run: Run) -> DayRun:
    stops = tuple(_page_stop(stop) for stop in run.stops.all())
    return DayRun(
        id=f"{run.van_id}:{run.date}",
        van=str(run.van_id),
        van_name=run.van.name,
        date=run.date,
        leave=run.leave_seconds,
        back=run.back_seconds,
        tank_l=min(run.van.clean_l, run.van.grey_l),
        stops=stops,
        drive_seconds=run_drive_seconds(run),
        run=str(run.pk),
        home_by_road=run.home_by_road,
    )


def run_drive_seconds(run: Run) -> int:
    """Seconds of driving in a run, the way home included."""
    stops = list(run.stops.all())
    way_home = run.back_seconds - stops[-1].end_seconds if stops else 0
    return sum(stop.drive_seconds for stop in stops) + max(0, way_home)


def _page_stop(stop: Stop) -> PageStop:
    visit = stop.visit
    times = (stop.arrive_seconds, stop.start_seconds, stop.end_seconds)
    if visit is None:
        place = str(stop.place) if stop.place else ""
        return PageStop(stop.kind, *times, place=place, drive_seconds=stop.drive_seconds, by_road=stop.by_road)
    return PageStop(
        stop.kind,
        *times,
        litres=stop.water_l,
        dogs=tuple(PageDog(str(link.dog_id), link.dog.name) for link in visit.visit_dogs.all()),
        household=str(visit.household_id),
        household_name=visit.household.name,
        place=str(visit.place),
        visit=str(visit.pk),
        state=visit.state,
        state_words=visit.get_state_display(),
        answer_words=visit.get_answer_display() if visit.state == "CONFIRMED" or visit.answer != "NEEDS-ACTION" else "",
        told_from=seconds_of(visit.told_from),
        told_until=seconds_of(visit.told_until),
        drive_seconds=stop.drive_seconds,
        by_road=stop.by_road,
    )


def standing_totals(days: Collection[tuple[str, dt.date]]) -> dict[str, int]:
    """What the standing runs of these vans and dates drive in all; zeros where none stand."""
    dates = [date for _van, date in days]
    runs = Run.objects.filter(date__range=(min(dates), max(dates))).prefetch_related("stops") if dates else []
    own = [run for run in runs if (str(run.van_id), run.date) in days]
    return {
        "drive_seconds": sum(run_drive_seconds(run) for run in own),
        "runs": len(own),
        "visits": sum(stop.kind == "visit" for run in own for stop in run.stops.all()),
    }


def without_a_run(first: dt.date, last: dt.date) -> "QuerySet[Visit]":
    """Visits that are pencilled in or told between two dates and stand on no run."""
    return (
        Visit.objects.filter(date__range=(first, last), stops__isnull=True)
        .exclude(state="CANCELLED")
        .select_related("household")
        .prefetch_related("visit_dogs__dog")
        .order_by("date", "told_from", "pk")
    )


def van_asked_for(request: HttpRequest, vans: Sequence[Van]) -> Van | None:
    """The van that a page is to show: the one asked for, else the signed-in groomer's own, else the first."""
    own = next((van for van in vans if van.groomer_id == request.user.pk), vans[0] if vans else None)
    return van_by_id(request.GET.get("van", "")) or own


def open_vans_by_name() -> list[Van]:
    """The vans that are in use, by name."""
    return list(Van.objects.filter(closed_on__isnull=True).select_related("home").order_by("name"))


def van_by_id(typed: str) -> Van | None:
    """The open van a page's address names; None for all vans, and for what is no van."""
    try:
        id_ = uuid.UUID(typed)
    except ValueError:
        return None
    return Van.objects.filter(Q(pk=id_), closed_on__isnull=True).select_related("home").first()

"""The round as the page shows it: weeks of days, each a ribbon and a list that says the same."""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from coatround.core.units import HOUR
from coatround.core.workdays import monday_of
from coatround.web.base.templatetags.coatround import clock, day
from coatround.web.due.facts import seconds_of
from coatround.web.rounds.arriving import times_of, windows_now
from coatround.web.rounds.models import Proposal
from coatround.web.rounds.queries import DayRun, PageDog, PageStop
from coatround.web.rounds.ribbon import Block, Ribbon, RibbonRun, Span, ribbon_of
from coatround.web.visits.models import Visit

PHONE_PX, DESK_PX = 328, 620


@dataclass(frozen=True, slots=True)
class Line:
    """One stop in the list: clock times, and the window a household would be told."""

    stop: PageStop
    tell_from: dt.time | None = None
    tell_until: dt.time | None = None


@dataclass(frozen=True, slots=True)
class ShownDay:
    """One run of the page; `is_accepted` when a proposal's day stands already."""

    run: DayRun
    ribbons: tuple[Ribbon, ...]
    lines: tuple[Line, ...]
    is_accepted: bool = False

    @property
    def work_seconds(self) -> int:
        return sum(stop.end - stop.start for stop in self.run.visits)


@dataclass(frozen=True, slots=True)
class ShownWeek:
    """A week of the page."""

    monday: dt.date
    days: tuple[ShownDay, ...]

    @property
    def by_road(self) -> bool:
        """Whether every drive of it is known by road."""
        return all(one.run.by_road for one in self.days)

    @property
    def drive_seconds(self) -> int:
        return sum(one.run.drive_seconds for one in self.days)

    @property
    def visits(self) -> int:
        return sum(len(one.run.visits) for one in self.days)


def weeks_of(
    runs: Sequence[DayRun], *, small: bool, today: dt.date, accepted: Iterable[str] = ()
) -> tuple[ShownWeek, ...]:
    """Runs by week, all ribbons on one clock so that they can be compared; a day that is over offers no telling."""
    done = set(accepted)
    from_ = min((run.leave for run in runs), default=0) // HOUR * HOUR
    until = -(-max((run.back for run in runs), default=0) // HOUR) * HOUR
    tallest = max((stop.litres for run in runs for stop in run.visits), default=0)
    days = [
        ShownDay(
            run,
            _ribbons(run, from_, until, tallest, small),
            _lines(run, run.date >= today and not small),
            run.date.isoformat() in done,
        )
        for run in runs
    ]
    return tuple(ShownWeek(monday, tuple(part)) for monday, part in groupby(days, lambda one: monday_of(one.run.date)))


def _ribbons(run: DayRun, from_: int, until: int, tallest: int, small: bool) -> tuple[Ribbon, ...]:
    drawn = ribbon_run(run, from_, until, tallest)
    key = f"r-{run.van[:8]}-{run.date:%m%d}"
    return (
        ribbon_of(drawn, PHONE_PX, key=f"{key}-p", small=small, size="phone"),
        ribbon_of(drawn, DESK_PX, key=f"{key}-d", small=small, size="desk"),
    )


def ribbon_run(run: DayRun, from_: int, until: int, tallest: int) -> RibbonRun:
    """A day of the round as a ribbon draws it."""
    count = len(run.visits)
    visits = ngettext("%(count)d visit", "%(count)d visits", count) % {"count": count}
    title = _("%(day)s, van %(van)s: %(visits)s") % {"day": day(run.date), "van": run.van_name, "visits": visits}
    return RibbonRun(
        title=title,
        leave=run.leave,
        back=run.back,
        blocks=tuple(_block(stop) for stop in run.visits),
        tank_l=run.tank_l,
        tank=_tank(run),
        refills=tuple(Span(stop.start, stop.end) for stop in run.stops if stop.kind == "refill"),
        breaks=tuple(Span(stop.start, stop.end) for stop in run.stops if stop.kind == "break"),
        clock_from=from_,
        clock_until=until,
        tallest_l=tallest,
    )


def _block(stop: PageStop) -> Block:
    names = tuple(dog.name for dog in stop.dogs) or (stop.household_name,)
    told = Span(stop.told_from, stop.told_until or stop.told_from) if stop.told_from is not None else None
    return Block(names, stop.start, stop.end, stop.litres, stop.arrive, told if stop.is_told else None)


def _tank(run: DayRun) -> tuple[tuple[int, float], ...]:
    """The tank along the run: full at the start, falling through each visit, full again after a refill."""
    litres, points = run.tank_l, [(run.leave, float(run.tank_l))]
    for stop in run.stops:
        if stop.kind == "break":
            continue
        points.append((stop.start, float(litres)))
        litres = run.tank_l if stop.kind == "refill" else max(0, litres - stop.litres)
        points.append((stop.end, float(litres)))
    return (*points, (run.back, float(litres)))


def _lines(run: DayRun, can_tell: bool) -> tuple[Line, ...]:
    """The stops with the window to tell beside each that was told none yet, where that can be done."""
    to_tell = [n for n, stop in enumerate(run.stops) if stop.kind == "visit" and stop.state == "TENTATIVE"]
    if not can_tell or not to_tell:
        return tuple(Line(stop) for stop in run.stops)
    told = [stop.told_from if stop.is_told else None for stop in run.stops]
    windows = windows_now(run.leave, run.stops, told)
    return tuple(
        Line(stop, *times_of(windows[n].told)) if n in to_tell else Line(stop) for n, stop in enumerate(run.stops)
    )


def proposed_runs(proposal: Proposal, rows: Mapping[str, Visit]) -> tuple[DayRun, ...]:
    """The runs of a ready proposal in the order of their dates."""
    runs = [_proposed_run(proposal, run, rows) for run in (proposal.plan or {"runs": []})["runs"]]
    return tuple(sorted(runs, key=lambda run: (run.date, run.van_name)))


def _proposed_run(proposal: Proposal, run: Mapping[str, Any], rows: Mapping[str, Visit]) -> DayRun:
    names, free, drive = proposal.names["runs"][run["id"]], run["leave"], 0
    estimated, here = {tuple(pair) for pair in proposal.names.get("estimated", ())}, names["home"]
    has_roads, stops = bool(proposal.names.get("roads")), []
    for stop in run["stops"]:
        seconds, there = 0, here
        if "break" not in stop:
            seconds, there = stop["arrive"] - free, _place_of(proposal, stop)
        made = _proposed_stop(proposal, stop, seconds, rows)
        stops.append(replace(made, by_road=has_roads and (here, there) not in estimated))
        free, drive, here = stop["end"], drive + seconds, there
    return DayRun(
        id=run["id"],
        van=names["van"],
        van_name=names["van_name"],
        date=dt.date.fromisoformat(names["date"]),
        leave=run["leave"],
        back=run["back"],
        tank_l=names["water_l"],
        stops=tuple(stops),
        drive_seconds=drive + run["back"] - free,
        home_by_road=has_roads and (here, names["home"]) not in estimated,
    )


@dataclass(frozen=True, slots=True)
class OffRoad:
    """A place of a proposal whose pin lies off the roads, and what is wrong with it."""

    place: str
    address: str
    words: str
    household: str = ""
    household_name: str = ""


def off_road_rows(proposal: Proposal) -> list[OffRoad]:
    """The places of a proposal that lie off the roads, with their households."""
    at: dict[str, Mapping[str, Any]] = {names["place"]: names for names in proposal.names["visits"].values()}
    return [
        OffRoad(
            place,
            proposal.names["places"].get(place, ""),
            words,
            at.get(place, {}).get("household", ""),
            at.get(place, {}).get("household_name", ""),
        )
        for place, words in proposal.names.get("off_road", {}).items()
    ]


def _place_of(proposal: Proposal, stop: Mapping[str, Any]) -> str:
    """The id of the place where a visit or refill of a proposal is."""
    return str(stop["refill"] if "refill" in stop else proposal.names["visits"][stop["visit"]]["place"])


def _proposed_stop(
    proposal: Proposal, stop: Mapping[str, Any], drive_seconds: int, rows: Mapping[str, Visit]
) -> PageStop:
    if "break" in stop:
        return PageStop("break", stop["start"], stop["start"], stop["end"])
    if "refill" in stop:
        place = proposal.names["places"].get(stop["refill"], "")
        return PageStop("refill", stop["arrive"], stop["arrive"], stop["end"], place=place, drive_seconds=drive_seconds)
    names = proposal.names["visits"][stop["visit"]]
    row = rows.get(names["visit"] or "")
    return PageStop(
        "visit",
        stop["arrive"],
        stop["start"],
        stop["end"],
        litres=names["water_l"],
        dogs=tuple(PageDog(dog["id"], dog["name"]) for dog in names["dogs"]),
        household=names["household"],
        household_name=names["household_name"],
        place=proposal.names["places"].get(names["place"], ""),
        visit=names["visit"],
        state=row.state if row and row.state == "CONFIRMED" else "",
        state_words=_state_words(row, names),
        told_from=seconds_of(row.told_from) if row else None,
        told_until=seconds_of(row.told_until) if row else None,
        reasons=tuple(names["reasons"]),
        drive_seconds=drive_seconds,
        planned=stop["visit"],
    )


def _state_words(row: Visit | None, names: Mapping[str, Any]) -> str:
    if row is None:
        return _("new in the round")
    stands = names["stands"]
    if row.state != "CONFIRMED" and stands and stands["start"] is not None:
        was = dt.date.fromisoformat(stands["date"])
        return _("pencilled in %(day)s, %(clock)s") % {"day": day(was), "clock": clock(stands["start"])}
    return str(row.get_state_display())

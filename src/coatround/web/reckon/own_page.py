"""The groomer's own page: noise, lifts, hours at the wheel and on the table, breaks, by day and week."""

import datetime as dt
import uuid
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Sum
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _

from coatround.core.reckon.cautions import LIFT, NOISE
from coatround.core.trade import hearing, own_day
from coatround.core.trade.figures import Own, figure, step_dba
from coatround.core.trade.water import GRAMS_BY_SIZE
from coatround.core.units import MINUTE
from coatround.core.workdays import monday_of
from coatround.web.base.firm import firm_today, the_firm
from coatround.web.base.models import Worker
from coatround.web.base.picture import Drawn, Picture, picture
from coatround.web.due.facts import counted_grooms
from coatround.web.rounds.drives_seen import came_and_left, until_today
from coatround.web.rounds.models import Run, Stop
from coatround.web.visits.models import GroomStep

WEEKS = 4


@dataclass(frozen=True, slots=True)
class OwnDay:
    """One day of one groomer."""

    date: dt.date
    dogs: int
    dose_percent: float | None
    dryer_minutes: int
    table_minutes: int
    wheel_minutes: int
    lifts: own_day.Lifts
    break_minutes: int | None


def page(request: HttpRequest) -> HttpResponse:
    """The weeks up to today of the one who looks, the latest day first."""
    today = firm_today()
    asked = request.GET.get("rule", "")
    rule = hearing.RULES.get(asked, own_day.rule_of(the_firm().country))
    assert isinstance(request.user, Worker)
    own = the_firm().figures
    days = days_of(request.user, monday_of(today) - dt.timedelta(weeks=WEEKS - 1), today, rule, own)
    given = {
        "days": days,
        "weeks": _weeks(days),
        "rule": rule.name,
        "rules": tuple(hearing.RULES),
        "picture": _picture(days) if len(days) > 1 else None,
        "cautions": (NOISE, LIFT),
        "dryer_dba": figure(own, "dryer"),
        "clip_dba": figure(own, "clippers"),
        "other_dba": figure(own, "other"),
    }
    return render(request, "reckon/own-day.html", given)


def days_of(worker: Worker, first: dt.date, last: dt.date, rule: hearing.Rule, own: Own) -> list[OwnDay]:
    """The days on which this groomer worked, the latest first; a few queries for any number of them."""
    columns = "id", "date", "visit", "work_seconds", "dog__weight_grams", "dog__size", "dog__two_people"
    rows = list(
        counted_grooms().filter(who=worker, date__range=(first, last)).order_by("date", "id").values_list(*columns)
    )
    steps: dict[uuid.UUID, dict[str, int]] = defaultdict(dict)
    done = GroomStep.objects.filter(groom__in=[row[0] for row in rows], done=True)
    for groom, step, seconds in done.values_list("groom", "step", "seconds"):
        steps[groom][step] = steps[groom].get(step, 0) + (seconds or 0)
    worked: dict[dt.date, list[own_day.Worked]] = defaultdict(list)
    visits: dict[dt.date, set[uuid.UUID]] = defaultdict(set)
    for groom, date, visit, seconds, grams, size, two_people in rows:
        weight = grams or GRAMS_BY_SIZE.get(size, GRAMS_BY_SIZE["medium"])
        worked[date].append(own_day.Worked(seconds or 0, steps[groom], frozenset(steps[groom]), weight, not two_people))
        visits[date].add(visit)
    breaks = _breaks(visits)
    wheel, levels, other = _wheel(worker, first, last), step_dba(own), figure(own, "other")
    found = []
    for date in sorted(worked, reverse=True):
        some = worked[date]
        dose = own_day.dose_of(some, rule, levels, other)
        dryer = sum(part.minutes for part in own_day.noise(some, levels, other) if part.dba == levels["dryer"])
        table = sum(groom.seconds for groom in some) // MINUTE
        percent = dose.percent if dose else None
        lifts = own_day.lifts(some)
        found.append(OwnDay(date, len(some), percent, round(dryer), table, wheel.get(date, 0), lifts, breaks.get(date)))
    return found


def _wheel(worker: Worker, first: dt.date, last: dt.date) -> dict[dt.date, int]:
    """Minutes of driving as planned, the way home included."""
    runs = Run.objects.filter(groomer=worker, date__range=(first, last))
    found: dict[dt.date, int] = defaultdict(int)
    for date, drive in runs.order_by().values_list("date").annotate(Sum("stops__drive_seconds")):
        found[date] += drive or 0
    ends = dict(Stop.objects.filter(run__in=runs).order_by("order").values_list("run", "end_seconds"))
    for run, date, back in runs.order_by().values_list("pk", "date", "back_seconds"):
        found[date] += max(0, back - ends.get(run, back))
    return {date: seconds // MINUTE for date, seconds in found.items()}


def _breaks(visits: dict[dt.date, set[uuid.UUID]]) -> dict[dt.date, int]:
    """The longest pause of each day that has two visits with times, in minutes; 0 where none was found."""
    every = {visit for some in visits.values() for visit in some}
    _today, _last, times = until_today()
    happened = came_and_left(every, times)
    drives = dict(Stop.objects.filter(visit__in=every).values_list("visit", "drive_seconds"))
    found = {}
    for date, some in visits.items():
        known = [
            (one.arrived.timestamp(), one.left.timestamp(), drives.get(visit, 0))
            for visit in some
            if (one := happened[visit]).arrived and one.left
        ]
        if len(known) > 1:
            found[date] = own_day.longest_break(known) // MINUTE
    return found


@dataclass(frozen=True, slots=True)
class OwnWeek:
    """A week's sums."""

    monday: dt.date
    days: int
    dose_percent: float
    table_minutes: int
    wheel_minutes: int
    lifts: int
    missed: int


def _weeks(days: Sequence[OwnDay]) -> list[OwnWeek]:
    weeks: dict[dt.date, list[OwnDay]] = defaultdict(list)
    for day in days:
        weeks[monday_of(day.date)].append(day)
    return [
        OwnWeek(
            monday,
            len(some),
            sum(day.dose_percent or 0 for day in some),
            sum(day.table_minutes for day in some),
            sum(day.wheel_minutes for day in some),
            sum(day.lifts.count for day in some),
            sum(day.break_minutes == 0 for day in some),
        )
        for monday, some in weeks.items()
    ]


def _picture(days: Sequence[OwnDay]) -> Picture:
    dots = [(float(day.date.toordinal()), day.dose_percent or 0.0) for day in reversed(days)]
    out = [dot for dot in dots if dot[1] > 100]
    ends = [(dots[0][0], f"{days[-1].date:%-d %b}"), (dots[-1][0], f"{days[0].date:%-d %b}")]
    limit = Drawn("limit", [(dots[0][0], 100), (dots[-1][0], 100)])
    words = _("The noise dose of each day in percent; a broken line at 100, a ring around each day above it.")
    return picture(
        [Drawn("line", dots), Drawn("dots", dots), limit, Drawn("care", out)],
        _("Noise dose by day"),
        words,
        x_words=ends,
        y_words=[(0, "0 %"), (100, "100 %")],
    )

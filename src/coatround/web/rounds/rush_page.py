"""The weeks before a holiday: how full they will be, what is held back for regulars, and who waits."""

import datetime as dt
import uuid
from collections import defaultdict
from dataclasses import dataclass
from statistics import median
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_POST

from coatround.core.rush import REGULAR_GROOMS, Rush, Wanting, WeekLoad, week_loads
from coatround.web.base import changes
from coatround.web.base.firm import firm_today, the_firm
from coatround.web.base.forms import DateInput, RowPage
from coatround.web.due.facts import counted_grooms
from coatround.web.due.queries import due_visits
from coatround.web.due.visits import work_days_of
from coatround.web.records.models import Rush as RushRow
from coatround.web.records.models import Van
from coatround.web.rounds.actions import worker_of
from coatround.web.rounds.models import Stop, Waiting
from coatround.web.rounds.queries import open_vans_by_name, van_asked_for
from coatround.web.rounds.waiting import take_off_list, who_waits

AHEAD = dt.timedelta(weeks=26)
DRIVES_SEEN = dt.timedelta(days=60)
USUAL_DRIVE = 900
"""A drive to a visit, until there are some on record: our own default."""


class RushForm(RowPage):
    """A rush: its weeks, what is held back on each of its days, and until when."""

    class Meta:
        model = RushRow
        fields = ("name", "first", "last", "held_minutes", "open_days")
        widgets = {"first": DateInput, "last": DateInput}
        labels = {"name": gettext_lazy("Called"), "first": gettext_lazy("From"), "last": gettext_lazy("To and with")}

    def clean(self) -> dict[str, Any]:
        typed = super().clean() or {}
        first, last = typed.get("first"), typed.get("last")
        if first and last and last < first:
            self.add_error("last", _("This is before the first day. Write a later day."))
        if last and last < firm_today():
            self.add_error("last", _("This rush is over. Write a day that is still to come."))
        if first and last and last - first > AHEAD:
            self.add_error("last", _("This is over half a year after the first day. A rush is some weeks long."))
        if (minutes := typed.get("held_minutes")) and minutes > 600:
            self.add_error(
                "held_minutes", _("%(typed)d minutes are more than a day holds. Write 0 to 600.") % {"typed": minutes}
            )
        return typed


@dataclass(frozen=True, slots=True)
class Bar:
    """One week for people: its load, and how long each part of its bar is, of 100 for the fullest week."""

    load: WeekLoad
    regulars: int
    others: int
    held: int
    works: int

    @property
    def others_x(self) -> int:
        return self.regulars

    @property
    def held_x(self) -> int:
        return self.regulars + self.others


@require_http_methods(["GET", "HEAD", "POST"])
def page(request: HttpRequest) -> HttpResponse:
    """The rushes to come with their weeks, the waiting list, and a form for one more."""
    form = RushForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        changes.save(form.save(commit=False), worker_of(request))
        messages.success(request, _("Written down. Plan again, so that it counts."))
        return redirect("round:rush")
    rows = RushRow.objects.filter(last__gte=firm_today())
    vans = open_vans_by_name()
    van = van_asked_for(request, vans)
    given = {
        "form": form,
        "vans": vans,
        "van": van,
        "rushes": [(row, _bars(row, van)) for row in rows] if van else [],
        "waits": who_waits(),
        "regular": REGULAR_GROOMS,
    }
    return render(request, "rounds/rush.html", given, status=422 if form.is_bound else 200)


@require_POST
def drop(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Takes a rush back; nothing is held back for it any more."""
    changes.remove(get_object_or_404(RushRow, pk=pk), worker_of(request))
    messages.info(request, _("Taken back. Nothing is held back for it any more."))
    return redirect("round:rush")


@require_POST
def no_longer(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Someone waits no longer."""
    row = get_object_or_404(Waiting, pk=pk, state="waiting")
    take_off_list([row], "gone", worker_of(request))
    messages.info(request, _("%(household)s: off the list.") % {"household": row.household})
    return redirect("round:rush")


def _bars(row: RushRow, van: Van) -> list[Bar]:
    rush = Rush(row.name, row.first, row.last, row.held_minutes * 60, row.open_days)
    loads = week_loads(rush, _days(rush, van), _wanting(rush, van), firm_today())
    most = max((max(one.works, one.regulars + one.others + one.held) for one in loads), default=0) or 1
    return [
        Bar(one, *(round(100 * part / most) for part in (one.regulars, one.others, one.held, one.works)))
        for one in loads
    ]


def _days(rush: Rush, van: Van) -> list[tuple[dt.date, int]]:
    days = work_days_of([van], the_firm(), rush.first, rush.last)
    return [(day.date, van.paid_minutes * 60) for day in days]


def _wanting(rush: Rush, van: Van) -> list[Wanting]:
    """What comes up for a van by the end of a rush, each visit with the middle drive of its last weeks."""
    today = firm_today()
    due = due_visits(max(rush.first, today), rush.last, today=today, van=van)
    counts: dict[uuid.UUID, int] = defaultdict(int)
    dogs = {uuid.UUID(dog) for visit in due for dog in visit.dogs}
    for dog in counted_grooms().filter(dog__in=dogs).values_list("dog", flat=True):
        counts[dog] += 1
    drive = _middle_drive(today, van)
    return [
        Wanting(
            max(visit.due, rush.first),
            visit.visit.seconds + drive,
            any(counts[uuid.UUID(dog)] >= REGULAR_GROOMS for dog in visit.dogs),
        )
        for visit in due
    ]


def _middle_drive(today: dt.date, van: Van) -> int:
    stops = Stop.objects.filter(run__van=van, run__date__range=(today - DRIVES_SEEN, today), kind="visit")
    drives = list(stops.values_list("drive_seconds", flat=True))
    return round(median(drives)) if drives else USUAL_DRIVE

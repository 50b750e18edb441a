"""Who must be told what: the visits of the coming runs without a time told, and those that no longer keep theirs."""

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods

from coatround.ids import uuid7
from coatround.web.base.firm import firm_today, the_firm
from coatround.web.base.models import Worker
from coatround.web.base.templatetags.coatround import clock, day
from coatround.web.base.writing import writing
from coatround.web.due.facts import seconds_of
from coatround.web.notes.actions import draft
from coatround.web.notes.models import Note
from coatround.web.records.models import Van
from coatround.web.roads.map import names_in_words
from coatround.web.rounds.actions import worker_of
from coatround.web.rounds.arriving import Window, times_of
from coatround.web.rounds.models import Run, Stop
from coatround.web.rounds.queries import open_vans_by_name, van_asked_for, van_by_id
from coatround.web.rounds.to_tell import run_windows_to_tell

AHEAD = (7, 14, 28)
"""Days ahead that the page can show; the first unless another is asked for."""


@dataclass(frozen=True, slots=True)
class ToTell:
    """One visit whose household must be told something: the window, and what they were told that no longer holds."""

    stop: Stop
    dogs: str
    window: Window
    was_told: str
    has_draft: bool

    @property
    def words(self) -> str:
        """What a note to them says."""
        visit = self.stop.visit
        assert visit is not None
        about = {
            "firm": the_firm().name,
            "dogs": self.dogs,
            "day": day(visit.date),
            "from": clock(self.window[0]),
            "until": clock(self.window[1]),
        }
        words = _(
            "Hello, this is %(firm)s. We plan to be with %(dogs)s on %(day)s between %(from)s and %(until)s. "
            "Please tell us if that does not suit you."
        )
        return words % about


@require_http_methods(["GET", "HEAD", "POST"])
def page(request: HttpRequest) -> HttpResponse:
    """The list by day, with one button that drafts a note to each."""
    asked = request.POST.get("days", "") or request.GET.get("days", "")
    days = int(asked) if asked in {str(one) for one in AHEAD} else AHEAD[0]
    vans = open_vans_by_name()
    van = van_by_id(request.POST.get("van", "")) or van_asked_for(request, vans)
    rows = list(to_be_told(firm_today() + dt.timedelta(days=1), firm_today() + dt.timedelta(days=days), van))
    if request.method == "POST":
        count = draft_all([one for one in rows if not one.has_draft], worker_of(request))
        words = ngettext("%(count)d note is drafted.", "%(count)d notes are drafted.", count) % {"count": count}
        messages.success(request, words)
        return redirect("notes:page")
    drafts = sum(not one.has_draft for one in rows)
    given = {"rows": rows, "days": days, "choices": AHEAD, "drafts": drafts, "vans": vans, "van": van}
    return render(request, "rounds/to-tell.html", given)


def draft_all(rows: Sequence[ToTell], who: Worker) -> int:
    """Drafts a note to each household, as one act."""
    batch = uuid7()
    with writing():
        for one in rows:
            assert one.stop.visit is not None
            draft(one.stop.visit, "told", one.words, who, batch, times_of(one.window))
    return len(rows)


def to_be_told(first: dt.date, last: dt.date, van: Van | None) -> Iterator[ToTell]:
    """The visits on a van's runs between two dates whose household was told nothing, or a window that is missed."""
    runs = Run.objects.filter(date__range=(first, last), van=van).order_by("date")
    rows = list(runs.prefetch_related("stops__visit__visit_dogs__dog", "stops__visit__household"))
    drafts = Note.objects.filter(state="DRAFT", about="told", visit__stops__run__in=rows)
    drafted = set(drafts.values_list("visit", "date", "told_from"))
    for run in rows:
        stops = list(run.stops.all())
        windows = run_windows_to_tell(run, stops)
        for n, stop in enumerate(stops):
            if stop.visit is None or stop.visit.state == "CANCELLED" or (stop.visit.is_told and _is_kept(stop)):
                continue
            dogs = names_in_words(tuple(link.dog.name for link in stop.visit.visit_dogs.all()))
            told = ""
            if stop.visit.is_told:
                told = "-".join(f"{one:%H:%M}" for one in (stop.visit.told_from, stop.visit.told_until) if one)
            key = stop.visit_id, run.date, times_of(windows[n])[0]
            yield ToTell(stop, dogs, windows[n], told, key in drafted)


def _is_kept(stop: Stop) -> bool:
    visit = stop.visit
    assert visit is not None
    from_, until = seconds_of(visit.told_from), seconds_of(visit.told_until)
    if from_ is None:
        return True
    return from_ <= stop.start_seconds <= (from_ if until is None else until)

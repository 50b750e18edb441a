"""The page of what is due in the coming weeks."""

import datetime as dt
import uuid
from dataclasses import dataclass
from itertools import groupby

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _

from coatround.core.workdays import monday_of
from coatround.digits import whole_number
from coatround.web.base.firm import firm_today
from coatround.web.due.queries import DueDog, dogs_without_usual, due_dogs, due_order, visits_ahead
from coatround.web.due.words import date_words, over_words
from coatround.web.records.models import Dog
from coatround.web.visits.models import Visit

WEEKS = (1, 2, 4, 8, 12)
PAGE_DOGS = 50
UNSETTLED_SHOWN = 5


@dataclass(frozen=True, slots=True)
class Line:
    """One dog of the page, with the visit that stands for it."""

    dog: DueDog
    visit: Visit | None
    over: str


def page(request: HttpRequest) -> HttpResponse:
    """Dogs due until so many weeks from now, overdue first, then by week."""
    today = firm_today()
    weeks = _weeks(request.GET.get("weeks", ""))
    until = today + dt.timedelta(weeks=weeks)
    last_text, today_text = until.isoformat(), today.isoformat()
    order = [(due, dog) for due, dog in due_order(today) if due <= last_text]
    paged = Paginator(order, PAGE_DOGS)
    shown = paged.get_page(request.GET.get("page"))
    dogs = due_dogs([uuid.UUID(dog) for _due, dog in shown.object_list], today=today)
    ahead = visits_ahead([dog.dog_id for dog in dogs], today)
    lines = [Line(dog, ahead.get(dog.dog_id), over_words(dog.days_over) if dog.days_over else "") for dog in dogs]
    unsettled = list(dogs_without_usual().values_list("pk", flat=True))
    given = {
        "groups": [(name, list(part)) for name, part in groupby(lines, lambda line: _group(line.dog.due, today))],
        "shown": shown,
        "count": paged.count,
        "overdue": sum(due < today_text for due, _dog in order),
        "weeks": weeks,
        "choices": WEEKS,
        "until": until,
        "unsettled_count": len(unsettled),
        "unsettled": Dog.objects.filter(pk__in=unsettled[:UNSETTLED_SHOWN]).select_related("household"),
        "no_dogs": not paged.count and not Dog.objects.filter(closed_on__isnull=True).exists(),
    }
    return render(request, "due/page.html", given)


def _weeks(typed: str) -> int:
    weeks = whole_number(typed)
    return weeks if weeks in WEEKS else 4


def _group(due: dt.date, today: dt.date) -> str:
    if due < today:
        return _("Overdue")
    monday = monday_of(due)
    if monday <= today:
        return _("This week")
    return _("Week of %(date)s") % {"date": date_words(monday, today)}

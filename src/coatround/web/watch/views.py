"""The watch: dogs with something changed, and one dog over time."""

import datetime as dt
import uuid
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.translation import gettext as _

from coatround.core import watch_for
from coatround.web.base.firm import firm_today, the_firm
from coatround.web.base.templatetags.coatround import weight_text
from coatround.web.due.queries import due_dogs
from coatround.web.records.models import Dog
from coatround.web.visits.models import Finding
from coatround.web.visits.words import MEASURES
from coatround.web.watch import queries
from coatround.web.watch.chart import Chart, chart

ON_A_PAGE = 25
IN_A_TABLE = 6
GRADE, CONDITION = (0, 3), (1, 9)
SCALES = {
    "condition": CONDITION,
    "left ear": GRADE,
    "right ear": GRADE,
    "skin": GRADE,
    "hair grade": GRADE,
}


@dataclass(frozen=True, slots=True)
class Series:
    """One measure over time: its picture, and its latest values for the table beside it."""

    kind: str
    words: str
    picture: Chart
    low: str
    high: str
    rows: tuple[tuple[dt.date, str], ...]
    count: int


def page(request: HttpRequest) -> HttpResponse:
    """Dogs with something changed, what can wait least first."""
    shown = Paginator(queries.by_dog(queries.changed(firm_today())), ON_A_PAGE).get_page(request.GET.get("page"))
    weeks = queries.LATELY.days // 7
    return render(
        request, "watch/page.html", {"page": shown, "watched": queries.watched(shown.object_list), "weeks": weeks}
    )


def dog(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """One dog over time: measures, findings, what changed, when it is due."""
    row = get_object_or_404(Dog.objects.select_related("household"), pk=pk)
    today = firm_today()
    found = queries.watched(queries.by_dog(queries.changed(today, [row.pk])))
    shown = Paginator(queries.findings(row), ON_A_PAGE).get_page(request.GET.get("page"))
    given = {
        "dog": row,
        "changes": found[0].changes if found else (),
        "series": _series(row),
        "page": shown,
        "said": [(finding.groom, _said(finding), finding.words) for finding in shown],
        "due": next(iter(due_dogs([row.pk], today=today)), None),
    }
    return render(request, "watch/dog.html", given)


def _said(finding: Finding) -> str:
    return watch_for.seen_words(finding.part, finding.kind, finding.grade, _)


def _series(row: Dog) -> list[Series]:
    found = queries.series(row)
    return [_one_series(kind, str(words), found[kind]) for kind, words in MEASURES if found.get(kind)]


def _one_series(kind: str, words: str, points: Sequence[tuple[dt.date, int]]) -> Series:
    say, picture = _saying(kind), chart(points, SCALES.get(kind))
    rows = tuple((date, say(value)) for date, value in reversed(points[-IN_A_TABLE:]))
    heading = _("weight") if kind == "weight" else words
    return Series(kind, heading, picture, say(picture.low), say(picture.high), rows, len(points))


def _saying(kind: str) -> Callable[[int], str]:
    if kind == "weight":
        units = the_firm().units
        return lambda grams: weight_text(grams, units)
    if kind == "hair":
        return lambda grams: _("%(grams)d g") % {"grams": grams}
    return str

"""The watch: dogs with something changed, and one dog over time."""

import uuid

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.translation import gettext as _

from coatround.core import watch_for
from coatround.core.reckon.cautions import BODY, FOOD, HAIR
from coatround.web.base.firm import firm_today
from coatround.web.due.queries import due_dogs
from coatround.web.records.models import Dog
from coatround.web.visits.models import Finding
from coatround.web.watch import over_time, queries

ON_A_PAGE = 25


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
    foods = list(row.foods.filter(closed_on__isnull=True))
    found = queries.watched(queries.by_dog(queries.changed(today, [row.pk])))
    shown = Paginator(queries.findings(row), ON_A_PAGE).get_page(request.GET.get("page"))
    given = {
        "dog": row,
        "changes": found[0].changes if found else (),
        "series": over_time.all_series(row, foods, today),
        "foods": foods,
        "beside": over_time.foods_beside(row, foods, today),
        "coat": over_time.coat_line(row),
        "cautions": (BODY, HAIR, FOOD),
        "page": shown,
        "said": [(finding.groom, _said(finding), finding.words) for finding in shown],
        "due": next(iter(due_dogs([row.pk], today=today)), None),
    }
    return render(request, "watch/dog.html", given)


def _said(finding: Finding) -> str:
    return watch_for.seen_words(finding.part, finding.kind, finding.grade, _)

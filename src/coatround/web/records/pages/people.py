"""People: the list of households, found by a few letters of anything."""

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext_lazy as _

from coatround.web.records.models import Household
from coatround.web.records.queries import found, households, with_lines

A_PAGE = 25
SHOWS = (("", _("all")), ("unnamed", _("to be named")), ("unpinned", _("without a pin")), ("closed", _("closed")))


def people(request: HttpRequest) -> HttpResponse:
    """The whole page, or only what was found when the find field asks while someone types."""
    typed = request.GET.get("find", "").strip()[:80]
    show = request.GET.get("show", "")
    show = show if show in dict(SHOWS) else ""
    rows = found(households(show), typed)
    page = Paginator(with_lines(rows), A_PAGE).get_page(request.GET.get("page"))
    context = {
        "typed": typed,
        "show": show,
        "shows": SHOWS,
        "page": page,
        "closed": found(households("closed"), typed).count() if typed and show != "closed" else 0,
        "is_empty": not typed and not page.object_list and not Household.objects.exists(),
    }
    is_part = request.htmx and not request.htmx.boosted  # type: ignore[attr-defined]
    return render(request, "records/found.html" if is_part else "records/people.html", context)

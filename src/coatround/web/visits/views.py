"""What happened, to be read at the desk: recent visits, one visit, a photo."""

import uuid

from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_safe

from coatround.digits import whole_number
from coatround.web.base.firm import firm_today
from coatround.web.visits import queries
from coatround.web.visits.models import Photo
from coatround.web.visits.photos import photo_path


@require_safe
def page(request: HttpRequest) -> HttpResponse:
    """Visits up to today, the latest first, 25 at a time."""
    typed = request.GET.get("find", "").strip()[:80]
    at = min(whole_number(request.GET.get("page", "")) or 0, 10_000)
    first = at * queries.PAGE_ROWS
    rows = list(queries.recent_visits(firm_today(), typed)[first : first + queries.PAGE_ROWS + 1])
    shown = {
        "visits": rows[: queries.PAGE_ROWS],
        "typed": typed,
        "newer": at - 1 if at else None,
        "older": at + 1 if len(rows) > queries.PAGE_ROWS else None,
    }
    return render(request, "visits/page.html", shown)


@require_safe
def visit(request: HttpRequest, visit_id: uuid.UUID) -> HttpResponse:
    """One visit with all that was recorded of it."""
    found = get_object_or_404(queries.visits_with_people(), pk=visit_id)
    facts = queries.visit_facts(found)
    shown = {"visit": found, "facts": facts, "dogs": queries.facts_to_show(facts), "today": firm_today()}
    return render(request, "visits/visit.html", shown)


@require_safe
@cache_control(private=True, max_age=31_536_000, immutable=True)
def photo(request: HttpRequest, photo_id: uuid.UUID) -> FileResponse:
    """A kept picture; its content never changes, so the browser may hold on to it."""
    kept = get_object_or_404(Photo, pk=photo_id)
    path = photo_path(kept.sha256)
    if not path.exists():
        raise Http404("The picture is not in the home folder; bring back a backup that holds it.")
    return FileResponse(path.open("rb"), content_type="image/jpeg")

"""The parts of an installed page: manifest, service worker, what to hold, and what is shown without signal."""

import json
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.templatetags.static import static
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from coatround.web.base.firm import firm_today
from coatround.web.base.models import Worker
from coatround.web.build import BUILD
from coatround.web.phone.answers import error, for_programs
from coatround.web.phone.holding import next_runs, to_hold
from coatround.web.runs.actions import give_keys

FILES = (
    "base/coatround.css",
    "base/icon.svg",
    "django_htmx/htmx-2.min.js",
    "phone/page.js",
    "phone/outbox.js",
    "phone/said.js",
    "phone/hold.js",
    "phone/overlay.js",
    "phone/groom.js",
    "phone/pin.js",
    "phone/timer.js",
    "phone/waiting.js",
    "phone/phone.css",
    "rounds/ribbon.css",
    "runs/runs.css",
)
"""What every held page needs. The map is not among it: it loads apart, and the list beside it says the same."""


@require_safe
@login_not_required
def worker_script(request: HttpRequest) -> HttpResponse:
    """The service worker, told its build and files; its address stays the same, so that a newer one is found."""
    found = finders.find("phone/sw.js")
    assert isinstance(found, str)
    script = Path(found).read_text(encoding="utf-8")
    told = {
        "build": BUILD,
        "files": [*(static(name) for name in FILES), reverse("words", args=[BUILD])],
        "first": [reverse("phone:no-signal")],
    }
    words = f"self.COATROUND = {json.dumps(told)};\n{script}"
    answer = HttpResponse(words, content_type="text/javascript; charset=utf-8")
    answer["Cache-Control"] = "no-cache"
    return answer


@require_safe
@login_not_required
def manifest(request: HttpRequest) -> JsonResponse:
    """The web app manifest (W3C): a name, an icon and where it opens."""
    icons: list[dict[str, str]] = [
        {"src": static(f"base/icon-{size}.png"), "sizes": f"{size}x{size}", "type": "image/png"} for size in (192, 512)
    ]
    told: dict[str, Any] = {
        "name": "Coatround",
        "short_name": "Coatround",
        "description": _("The round, the run and the visit of a mobile dog groomer."),
        "id": "/",
        "start_url": reverse("runs:today"),
        "scope": "/",
        "display": "standalone",
        "background_color": "#f6f3ea",
        "theme_color": "#f6f3ea",
        "icons": [*icons, {"src": static("base/icon.svg"), "sizes": "any", "type": "image/svg+xml"}],
    }
    return JsonResponse(told, content_type="application/manifest+json")


@require_safe
@never_cache
@login_not_required
def pages_to_hold(request: HttpRequest) -> JsonResponse:
    """What the phone of the one who is signed in holds; 401 in words for nobody."""
    who = request.user
    if not isinstance(who, Worker):
        return error(401, "not-signed-in", _("You are not signed in. Sign in again; what waits stays on the phone."))
    found = to_hold(who)
    runs = [{"id": str(run.pk), "date": run.date.isoformat(), "van": run.van.name} for run in found.runs]
    return JsonResponse({"worker": str(who.pk), "build": BUILD, "runs": runs, "pages": found.pages})


@for_programs
def keys_today(request: HttpRequest) -> JsonResponse:
    """Keys and codes of today's places, and of no other day; given to the phone of the one who is signed in."""
    who: Worker = request.user  # type: ignore[assignment]
    today = firm_today()
    return JsonResponse({"date": today.isoformat(), "places": give_keys(next_runs(who), who, today=today)})


@require_safe
@login_not_required
def no_signal(request: HttpRequest) -> HttpResponse:
    """What is shown for a page that is not held; the same for everybody, so it may be held before anyone signs in."""
    return render(request, "phone/no-signal.html")


@require_safe
def waiting(request: HttpRequest) -> HttpResponse:
    """This phone: what waits to be sent, was sent or was refused, and what is held."""
    who: Worker = request.user  # type: ignore[assignment]
    shown = {"runs": next_runs(who), "https": settings.HTTPS}
    return render(request, "phone/waiting.html", shown)

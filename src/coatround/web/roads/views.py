"""Tiles of the street picture, and addresses found while they are typed."""

import re
import sqlite3
from functools import lru_cache
from pathlib import Path

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.utils.translation import gettext as _
from django.views.decorators.cache import cache_control, never_cache
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_safe

from coatround.roads.addresses import Addresses, Found
from coatround.roads.in_use import roads_in_use
from coatround.roads.streets import StreetPicture

LEAST_ZOOM, DEEPEST_ZOOM = 8, 19
A_YEAR_SECONDS = 365 * 24 * 3600
LONGEST_TYPED = 120
NUMBER_FIRST, NUMBER_LAST = re.compile(r"\s*(\d[\w/-]*)[\s,]+\S"), re.compile(r".*\S\s+(\d[\w/-]*)\s*", re.S)


@lru_cache(maxsize=2)
def _picture(database: Path) -> StreetPicture:
    return StreetPicture(database)


@lru_cache(maxsize=2)
def _addresses(database: Path) -> Addresses:
    return Addresses(database)


@require_safe
@gzip_page
@cache_control(private=True, max_age=A_YEAR_SECONDS, immutable=True)
def streets(request: HttpRequest, stamp: str, z: int, x: int, y: int) -> HttpResponse:
    """One tile of the roads in use; it may be kept, since newer roads have another stamp."""
    roads = roads_in_use(settings.HOME)
    if roads is None or roads.about.stamp != stamp or not LEAST_ZOOM <= z <= DEEPEST_ZOOM or max(x, y) >= 2**z:
        raise Http404
    try:
        tile = _picture(roads.streets).tile(z, x, y, dark=request.GET.get("dark") == "1")
    except sqlite3.Error as error:
        raise Http404 from error
    return HttpResponse(tile, content_type="image/svg+xml")


@require_safe
@never_cache
def find(request: HttpRequest) -> JsonResponse:
    """Addresses that may be meant by what is typed so far, likeliest first; without any, why."""
    typed = request.GET.get("q", "")[:LONGEST_TYPED]
    roads = roads_in_use(settings.HOME)
    if roads is None:
        return JsonResponse({"found": [], "why": _("No roads are in use, so no address can be looked up.")})
    try:
        found = _addresses(roads.addresses).find(typed, near=_point(request.GET.get("near", "")))
    except sqlite3.Error:
        return JsonResponse({"found": [], "why": _("The addresses can't be read. Add the extract again.")})
    return JsonResponse({"found": [_told(one, typed) for one in found]})


def _told(found: Found, typed: str) -> dict[str, object]:
    """One address as the form takes it; a number that was typed is kept where the map knows the street alone."""
    line = _with_number(found.line, typed) if found.is_street else found.line
    words = ", ".join(part for part in (line, f"{found.suburb} {found.postcode}".strip()) if part)
    return {
        "line": line,
        "suburb": found.suburb,
        "postcode": found.postcode,
        "lat": round(found.lat, 6),
        "lon": round(found.lon, 6),
        "words": words,
        "about": _about(found, line),
    }


def _about(found: Found, line: str) -> str:
    """How good the point is, in words; empty where it is the house itself."""
    if not found.is_street:
        return ""
    if found.nearest:
        return _("The map does not know this number. The pin is at number %(number)s.") % {"number": found.nearest}
    if line != found.line:
        return _("The map does not know this number. The pin is somewhere on the street.")
    return _("The pin is somewhere on the street.")


def _with_number(street: str, typed: str) -> str:
    first, last = NUMBER_FIRST.match(typed), NUMBER_LAST.fullmatch(typed)
    if first:
        return f"{first[1]} {street}"
    return f"{street} {last[1]}" if last else street


def _point(typed: str) -> tuple[float, float] | None:
    """A latitude and longitude with a comma between; None for anything else."""
    try:
        lat, lon = (float(part) for part in typed[:40].split(","))
    except ValueError:
        return None
    return (lat, lon) if abs(lat) <= 90 and abs(lon) <= 180 else None

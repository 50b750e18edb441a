"""What every page is given: the firm, the navigation, the build, and whether a phone fetches it to hold it."""

from typing import Any

from django.http import HttpRequest
from django.utils.translation import gettext_lazy as _

from coatround.web.build import BUILD

NAVIGATION = (  # address name, word
    ("runs:today", _("Today")),
    ("round:page", _("Round")),
    ("due:page", _("Due")),
    ("people", _("People")),
    ("letters:list", _("Letters")),
    ("books:page", _("Books")),
    ("shelf:page", _("Shelf")),
    ("watch:page", _("Watch")),
    ("set-up", _("Set up")),
)


def page(request: HttpRequest) -> dict[str, Any]:
    return {
        "firm": getattr(request, "firm", None),
        "navigation": NAVIGATION,
        "build": BUILD,
        "is_to_hold": "X-Held" in request.headers,
    }

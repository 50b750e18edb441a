"""What every page is given: the firm and the navigation."""

from typing import Any

from django.http import HttpRequest
from django.utils.translation import gettext_lazy as _

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
    return {"firm": getattr(request, "firm", None), "navigation": NAVIGATION}

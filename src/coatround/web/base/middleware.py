"""Each request runs in the firm's own time zone; an installation without a firm is led to set one up."""

import zoneinfo
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from coatround.web.base.firm import asked_once, firm_or_none

OPEN_BEFORE_SET_UP = ("/set-up/", "/sign-in", "/sign-out", "/static/", "/health", "/phone/")


class FirmMiddleware:
    """Puts the firm on the request and its zone in force."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        firm = firm_or_none()
        request.firm = firm  # type: ignore[attr-defined]
        if firm is None:
            if request.user.is_authenticated and not request.path.startswith(OPEN_BEFORE_SET_UP):
                return redirect("set-up")
            return self.get_response(request)
        with asked_once(firm), timezone.override(zoneinfo.ZoneInfo(firm.zone)):
            return self.get_response(request)

"""The one firm of this installation, and its own today and now."""

import datetime as dt
import os
import zoneinfo
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from django.utils import timezone

from coatround.web.base.models import Firm


class NoFirmYet(Exception):
    """The installation is not set up: there is no name, no country, no zone."""


_of_this_request: ContextVar[Firm | None] = ContextVar("firm_of_this_request", default=None)


def firm_or_none() -> Firm | None:
    return Firm.objects.order_by("made_at").first()


@contextmanager
def asked_once(firm: Firm) -> Iterator[None]:
    """Within it, the_firm() answers with this row instead of asking the database again."""
    token = _of_this_request.set(firm)
    try:
        yield
    finally:
        _of_this_request.reset(token)


def the_firm() -> Firm:
    """The firm, for reading; raises NoFirmYet when nothing is set up. To change it, take firm_or_none()."""
    firm = _of_this_request.get() or firm_or_none()
    if firm is None:
        raise NoFirmYet("Nothing is set up yet. Sign in and enter your name and country first.")
    return firm


def firm_zone(firm: Firm | None = None) -> zoneinfo.ZoneInfo:
    return zoneinfo.ZoneInfo((firm or the_firm()).zone)


def firm_now(firm: Firm | None = None) -> dt.datetime:
    """This instant on the firm's wall clock; on the day that is held still, if one is (COATROUND_TODAY)."""
    now, held = timezone.now().astimezone(firm_zone(firm)), held_today()
    return now if held is None else dt.datetime.combine(held, now.time(), now.tzinfo)


def firm_today(firm: Firm | None = None) -> dt.date:
    """Today's date where the firm works; the demo may hold it still (COATROUND_TODAY)."""
    held = held_today()
    return held or firm_now(firm).date()


def held_today() -> dt.date | None:
    """The date named by COATROUND_TODAY, for the demo and the tests."""
    named = os.environ.get("COATROUND_TODAY", "")
    return dt.date.fromisoformat(named) if named else None

"""The one firm of this installation, and its own today and now."""

import datetime as dt
import os
import zoneinfo

from django.utils import timezone

from coatround.web.base.models import Firm


class NoFirmYet(Exception):
    """The installation is not set up: there is no name, no country, no zone."""


def firm_or_none() -> Firm | None:
    return Firm.objects.order_by("made_at").first()


def the_firm() -> Firm:
    """The firm; raises NoFirmYet when nothing is set up."""
    firm = firm_or_none()
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

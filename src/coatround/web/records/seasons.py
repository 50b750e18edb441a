"""Which months are hot where the firm works."""

import datetime as dt

from coatround.web.base.models import Firm
from coatround.web.records.models import Van

HEAT_KINDS = ("airway", "heat", "heart", "age")
"""Cautions that keep a dog out of the hot hours; what a dog can bear is for its vet to say."""

SOUTH, NORTH = (1, 2, 12), (6, 7, 8)


def hot_months(firm: Firm) -> tuple[int, ...]:
    """The months written down as hot, 1 for January; else the summer of the half of the world where the van lives."""
    if firm.hot_months is not None:
        return tuple(firm.hot_months)
    van = Van.objects.filter(closed_on__isnull=True, home__lat__isnull=False).select_related("home").first()
    return SOUTH if van is not None and float(van.home.lat or 0) < 0 else NORTH


def hot_times(firm: Firm, date: dt.date) -> tuple[dt.time, dt.time] | None:
    """From when to when a date is hot; None in a month that is not."""
    return (firm.hot_from, firm.hot_until) if date.month in hot_months(firm) else None

"""Which months are hot where the firm works."""

import datetime as dt

from coatround.web.base.models import Firm
from coatround.web.records.models import Place, Van

HEAT_KINDS = ("airway", "heat", "heart", "age")
"""Cautions that keep a dog out of the hot hours; what a dog can bear is for its vet to say."""

SOUTH, NORTH = (1, 2, 12), (6, 7, 8)


def hot_months(firm: Firm, home: Place | None = None) -> tuple[int, ...]:
    """The months written down as hot, 1 for January; else the summer of the half of the world where the van lives.

    `home` is where it lives, where the caller knows it already.
    """
    if firm.hot_months is not None:
        return tuple(firm.hot_months)
    if home is None:
        van = Van.objects.filter(closed_on__isnull=True, home__lat__isnull=False).select_related("home").first()
        home = van.home if van is not None else None
    return SOUTH if home is not None and float(home.lat or 0) < 0 else NORTH


def hot_times(firm: Firm, date: dt.date, home: Place | None = None) -> tuple[dt.time, dt.time] | None:
    """From when to when a date is hot; None in a month that is not."""
    return (firm.hot_from, firm.hot_until) if date.month in hot_months(firm, home) else None

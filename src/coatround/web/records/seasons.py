"""Which months are hot where the firm works."""

from coatround.web.base.models import Firm
from coatround.web.records.models import Van

SOUTH, NORTH = (1, 2, 12), (6, 7, 8)


def hot_months(firm: Firm) -> tuple[int, ...]:
    """The months written down as hot, 1 for January; else the summer of the half of the world where the van lives."""
    if firm.hot_months is not None:
        return tuple(firm.hot_months)
    van = Van.objects.filter(closed_on__isnull=True, home__lat__isnull=False).select_related("home").first()
    return SOUTH if van is not None and float(van.home.lat or 0) < 0 else NORTH

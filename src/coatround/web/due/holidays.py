"""Public holidays of the firm's country, as plain dates for the core."""

import datetime as dt
from functools import lru_cache

import holidays


@lru_cache(maxsize=32)
def _of_year(country: str, year: int) -> dict[dt.date, str]:
    try:
        return dict(holidays.country_holidays(country, years=year))
    except NotImplementedError:
        return {}


def public_holidays(country: str, first: dt.date, last: dt.date) -> dict[dt.date, str]:
    """The country's own public holidays from first to last with their names; none for a country that is not listed."""
    years = range(first.year, last.year + 1)
    return {
        date: name for year in years for date, name in sorted(_of_year(country, year).items()) if first <= date <= last
    }

"""What follows from a country: currency, tax, units, time zone. All of it is shown and can be changed."""

import functools
import zoneinfo
from dataclasses import dataclass

from babel import Locale
from babel.core import get_global
from babel.numbers import get_currency_name, get_territory_currencies

# The rate is the ordinary one of the country's law; who is registered, and for what, only the groomer knows.
KNOWN = {  # country: (currency, what the tax is called, its rate in percent, units, zone of most people)
    "AU": ("AUD", "GST", "10", "metric", "Australia/Sydney"),
    "NZ": ("NZD", "GST", "15", "metric", "Pacific/Auckland"),
    "GB": ("GBP", "VAT", "20", "metric", "Europe/London"),
    "IE": ("EUR", "VAT", "23", "metric", "Europe/Dublin"),
    "US": ("USD", "sales tax", "0", "us", "America/New_York"),
    "CA": ("CAD", "GST/HST", "5", "metric", "America/Toronto"),
}
US_UNITS = {"US", "LR", "MM"}  # Unicode CLDR, measurement systems by territory
# Territories of CLDR that are no ISO 3166 country codes of their own.
NOT_ISO = {"AC", "CP", "CQ", "DG", "EA", "EU", "EZ", "IC", "QO", "TA", "UN", "XA", "XB", "XK", "ZZ"}
TAX_NUMBERS = {"AU": "abn", "NZ": "ird", "GB": "vat", "IE": "vat", "CA": "bn"}


@dataclass(frozen=True)
class Follows:
    """What a country suggests."""

    currency: str
    tax_name: str
    tax_rate_percent: str
    units: str
    zone: str


def follows_from(country: str) -> Follows:
    """The country's own row, else what CLDR and the zone database say of it, else the plainest guess."""
    if country in KNOWN:
        return Follows(*KNOWN[country])
    currencies = get_territory_currencies(country) or ["USD"]
    zones = zones_of(country)
    return Follows(currencies[0], "", "0", "us" if country in US_UNITS else "metric", zones[0] if zones else "UTC")


@functools.cache
def countries() -> tuple[tuple[str, str], ...]:
    """Every ISO 3166 country as (code, English name), by name."""
    names = Locale("en").territories
    found = [(code, name) for code, name in names.items() if len(code) == 2 and code not in NOT_ISO]
    return tuple(sorted(found, key=lambda pair: pair[1]))


@functools.cache
def country_codes() -> frozenset[str]:
    return frozenset(code for code, _ in countries())


@functools.cache
def zones_of(country: str) -> tuple[str, ...]:
    """The time zones of a country, the best known one first."""
    known = KNOWN[country][4] if country in KNOWN else ""
    zones = sorted(set(get_global("territory_zones").get(country, ())) & zoneinfo.available_timezones())
    return tuple([known] if known else []) + tuple(zone for zone in zones if zone != known)


@functools.cache
def all_zones() -> tuple[str, ...]:
    """Every place's zone by name; the zones that only name an offset are left out, UTC is kept."""
    zones = (
        zone for zone in zoneinfo.available_timezones() if "/" in zone and not zone.startswith(("Etc/", "SystemV/"))
    )
    return (*sorted(zones), "UTC")


@functools.cache
def currencies() -> tuple[tuple[str, str], ...]:
    """Every currency that is in use somewhere, as (ISO 4217 code, code and English name)."""
    codes = {code for country, _ in countries() for code in get_territory_currencies(country)}
    return tuple((code, f"{code}, {get_currency_name(code, locale='en')}") for code in sorted(codes))


def country_of_browser(accept_language: str) -> str:
    """The country of the first language a browser asks for ("en-AU,en;q=0.9" is AU), or nothing."""
    for part in accept_language.split(","):
        region = part.split(";")[0].strip().replace("_", "-").split("-")[-1].upper()
        if region in country_codes():
            return region
    return ""

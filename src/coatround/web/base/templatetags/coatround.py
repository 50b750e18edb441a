"""Filters that show times, money and lengths as people read them."""

import datetime as dt
from typing import Any

from django import template
from django.utils import formats
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from coatround.web.base.firm import the_firm
from coatround.web.base.money import amount_text, money_text

register = template.Library()


@register.filter
def clock(seconds: int | None) -> str:
    """Seconds after midnight as 9:05; past midnight it goes on as 24:10."""
    return "" if seconds is None else f"{int(seconds) // 3600}:{int(seconds) % 3600 // 60:02d}"


@register.filter
def minutes(seconds: int | None) -> str:
    """Seconds as minutes, or hours and minutes from 100 minutes."""
    if seconds is None:
        return ""
    whole = round(int(seconds) / 60)
    if whole < 100:
        return _("%(count)d min") % {"count": whole}
    return _("%(hours)d h %(minutes)02d") % {"hours": whole // 60, "minutes": whole % 60}


@register.filter
def kilometres(metres: int | None) -> str:
    if metres is None:
        return ""
    if the_firm().units == "us":
        return _("%(count).1f miles") % {"count": metres / 1609.344}
    return _("%(count).1f km") % {"count": metres / 1000}


@register.filter
def weight(grams: int | None) -> str:
    return "" if grams is None else weight_text(grams, the_firm().units)


def weight_text(grams: int, units: str) -> str:
    """A weight in the firm's units."""
    if units == "us":
        return _("%(count).1f lb") % {"count": grams / 453.59237}
    return _("%(count).1f kg") % {"count": grams / 1000}


@register.simple_tag(takes_context=True)
def money(context: dict[str, Any], cents: int | None) -> str:
    firm = context.get("firm") or the_firm()
    return "" if cents is None else money_text(cents, firm)


@register.filter
def amount(cents: int | None) -> str:
    return "" if cents is None else amount_text(cents, the_firm())


@register.filter
def day(date: dt.date | None) -> str:
    """Tuesday 3 March."""
    return "" if date is None else formats.date_format(date, "l j F")


@register.filter
def short_day(date: dt.date | None) -> str:
    """Tue 3 Mar."""
    return "" if date is None else formats.date_format(date, "D j M")


@register.filter
def wall(time: dt.time | None) -> str:
    """A wall-clock time as 9:05."""
    return "" if time is None else f"{time.hour}:{time.minute:02d}"


@register.filter
def get(mapping: Any, key: Any) -> Any:
    """mapping[key], or nothing."""
    return mapping.get(key) if hasattr(mapping, "get") else None


@register.simple_tag
def field(bound: Any) -> SafeString:
    """One labelled form field with its help and errors, tied together for screen readers."""
    return SafeString(bound.as_field_group())

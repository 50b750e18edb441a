"""Shows phones, microchips and ratios as people read them."""

from typing import Any

from django import template
from django.utils.dates import WEEKDAYS_ABBR
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from coatround.web.base.firm import the_firm
from coatround.web.records.microchip import microchip_words
from coatround.web.records.models import Product
from coatround.web.records.phones import phone_words

register = template.Library()
register.filter("microchip", microchip_words)


@register.simple_tag(takes_context=True)
def phone(context: dict[str, Any], number: str) -> str:
    """A number as the firm's country writes it."""
    firm = context.get("firm") or the_firm()
    return phone_words(number, firm.country) if number else ""


@register.simple_tag(takes_context=True)
def call(context: dict[str, Any], number: str) -> SafeString:
    """A number that can be rung with a tap."""
    return (
        format_html('<a class="line number" href="tel:{}">{}</a>', number, phone(context, number))
        if number
        else SafeString("")
    )


@register.filter
def chosen(value: Any, choices: Any) -> str:
    """The words of a stored choice."""
    return str(dict(choices).get(value, value))


@register.filter
def is_kept(row: Any) -> bool:
    """A row that is in the database, not one that is being entered."""
    return bool(row) and not row._state.adding


@register.filter
def weekday_short(number: int) -> str:
    """0 is Mon."""
    return str(WEEKDAYS_ABBR[number])


@register.filter
def ratio(product: Product) -> str:
    """A label's ratio in words, so that nobody has to guess what the second number counts."""
    part, other = product.ratio_product, product.ratio_other
    if other == 0 or (product.ratio_rule == "total" and other == part):
        return _("as it is, no water")
    if product.ratio_rule == "total":
        return _("%(part)d in %(all)d in all") % {"part": part, "all": other}
    return _("%(part)d part to %(water)d of water") % {"part": part, "water": other}

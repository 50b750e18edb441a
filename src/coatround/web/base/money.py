"""Money for people: whole minor units shown by the firm's currency."""

import decimal

from babel.numbers import format_currency, get_currency_precision

from coatround.web.base.models import Firm


def currency_decimals(currency: str) -> int:
    """How many decimals a currency has (ISO 4217)."""
    return int(get_currency_precision(currency))


def money_text(cents: int, firm: Firm) -> str:
    """An amount as a person reads it, with its currency's sign."""
    amount = decimal.Decimal(cents).scaleb(-firm.currency_decimals)
    return format_currency(amount, firm.currency, locale=f"en_{firm.country}")


def amount_text(cents: int, firm: Firm) -> str:
    """An amount as it stands in a form field: digits and a point."""
    return f"{decimal.Decimal(cents).scaleb(-firm.currency_decimals):.{firm.currency_decimals}f}"


def cents_from(words: str, firm: Firm) -> int:
    """The minor units of a typed amount; raises ValueError with what was expected."""
    typed = words.strip().replace(" ", "").lstrip("$£€¥").replace(",", ".")
    try:
        amount = decimal.Decimal(typed)
    except decimal.InvalidOperation:
        amount = decimal.Decimal("NaN")
    cents = amount.scaleb(firm.currency_decimals) if amount.is_finite() else amount
    if not cents.is_finite() or cents != cents.to_integral_value() or abs(cents) > 10**9:
        raise ValueError(f"{words!r} is not an amount. Write it like {amount_text(8550, firm)}.")
    return int(cents)

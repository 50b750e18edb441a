"""Tax on a sale, exactly: fractions all the way, rounded once or by line as the country's law says.

Amounts are whole minor units of the currency (yen have no decimals, dollars two, dinars three), so to round is always
to round to a whole number. What a household pays is settled with them; this only says how much of it is tax.
Sources: AU: GST Act 1999 s 9-90 (total invoice rule, taxable supply rule; a half goes up) and the Explanatory
Memorandum of the Indirect Tax Bill 2000, para 6.2 (1/11 of an inclusive price). NZ: GST Act s 19O (half a cent or less
is dropped). Elsewhere: by rate, a half going up, which is our own default.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from coatround.core.errors import BadInput

Half = Literal["up", "dropped"]
Rounded = Literal["total", "line"]
HALF_BY_COUNTRY: dict[str, Half] = {"NZ": "dropped"}


@dataclass(frozen=True, slots=True)
class TaxRule:
    """How much tax, and how it is rounded: a half up or dropped, once on the total or on each line."""

    rate_percent: Decimal
    half: Half = "up"
    rounded: Rounded = "total"

    def __post_init__(self) -> None:
        if not self.rate_percent.is_finite() or not 0 <= self.rate_percent <= 100:
            raise BadInput("rate_percent", f"a tax rate is from 0 to 100 percent, not {self.rate_percent}")


def tax_rule(country: str, rate_percent: Decimal, *, rounded: Rounded = "total") -> TaxRule:
    """The country's rule (ISO 3166 letters) at a rate in percent; NZ drops a half, all others round it up."""
    return TaxRule(rate_percent, HALF_BY_COUNTRY.get(country.upper(), "up"), rounded)


def whole(amount: Fraction, half: Half = "up") -> int:
    """The nearest whole number; a half goes away from zero ("up") or to it ("dropped"), so refunds mirror sales."""
    size, middle = abs(amount), Fraction(1, 2)
    nearest = math.floor(size + middle) if half == "up" else math.ceil(size - middle)
    return nearest if amount >= 0 else -nearest


def tax_on(net_cents: Iterable[int], rule: TaxRule) -> int:
    """The tax to add to lines priced without it, in minor units."""
    return _tax(net_cents, Fraction(rule.rate_percent) / 100, rule)


def tax_in(gross_cents: Iterable[int], rule: TaxRule) -> int:
    """The tax already inside lines priced with it, in minor units: at 10 % one eleventh."""
    rate = Fraction(rule.rate_percent)
    return _tax(gross_cents, rate / (100 + rate), rule)


def _tax(cents: Iterable[int], share: Fraction, rule: TaxRule) -> int:
    if rule.rounded == "line":
        return sum(whole(line * share, rule.half) for line in cents)
    return whole(sum(cents) * share, rule.half)


def minor_units(amount: Decimal, decimals: int) -> int:
    """An amount as whole minor units of a currency with so many decimals; raises BadInput when it is finer."""
    scaled = amount.scaleb(decimals) if amount.is_finite() else amount
    if not scaled.is_finite() or scaled != scaled.to_integral_value():
        raise BadInput("amount", f"{amount} can't be paid in a currency with {decimals} decimals")
    return int(scaled)

"""Tax by published examples, and by what must hold for any amount."""

import decimal
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatround.core.errors import BadInput
from coatround.core.trade.tax import TaxRule, minor_units, tax_in, tax_on, tax_rule, whole

TEN, FIFTEEN = Decimal(10), Decimal(15)


def test_australia_total_invoice_rule() -> None:
    """GST Act 1999 s 9-90: the unrounded sum is rounded once. 3 x 33.33 gives 9.999, so 10.00; 1.015 gives 1.02."""
    rule = tax_rule("AU", TEN)
    assert tax_on([3333, 3333, 3333], rule) == 1000
    assert tax_on([5, 5, 1005], rule) == 102


def test_australia_taxable_supply_rule() -> None:
    """GST Act 1999 s 9-90: each supply is rounded, then summed. 3 x 3.33 is 9.99; 0.01 + 0.01 + 1.01 is 1.03."""
    rule = tax_rule("AU", TEN, rounded="line")
    assert tax_on([3333, 3333, 3333], rule) == 999
    assert tax_on([5, 5, 1005], rule) == 103


def test_australia_inclusive_price_is_eleven_parts() -> None:
    """Explanatory Memorandum, Indirect Tax Bill 2000, para 6.2: one eleventh. 3 x 4.95 holds 1.35 by either rule."""
    assert tax_in([495, 495, 495], tax_rule("AU", TEN)) == 135
    assert tax_in([495, 495, 495], tax_rule("AU", TEN, rounded="line")) == 135


def test_new_zealand_drops_half_a_cent() -> None:
    """NZ GST Act s 19O: half a cent or less is dropped. By line 0.00 + 0.00 + 1.00; on the total 1.015 is 1.01."""
    assert tax_on([5, 5, 1005], tax_rule("NZ", TEN, rounded="line")) == 100
    assert tax_on([5, 5, 1005], tax_rule("NZ", TEN)) == 101
    assert tax_on([6], tax_rule("NZ", TEN)) == 1  # 0.006: more than half goes up


@pytest.mark.parametrize(
    ("amount", "up", "dropped"),
    [
        ("0.005", 1, 0),  # half a cent
        ("1.005", 101, 100),  # binary floats make 1.0 of it
        ("2.675", 268, 267),  # binary floats make 2.67 of it
        ("-1.005", -101, -100),  # a refund mirrors its sale
        ("1.0049", 100, 100),
        ("1.0051", 101, 101),
        ("3", 300, 300),
        ("0", 0, 0),
    ],
)
def test_halves(amount: str, up: int, dropped: int) -> None:
    cents = Fraction(Decimal(amount)) * 100
    assert (whole(cents, "up"), whole(cents, "dropped")) == (up, dropped)


def test_by_rate_elsewhere() -> None:
    """A UK price of 60.00 with 20 % inside holds 10.00; in the US 8.875 % of 85.00 is 7.54 (7.54375)."""
    assert tax_in([6000], tax_rule("GB", Decimal(20))) == 1000
    assert tax_on([8500], tax_rule("US", Decimal("8.875"))) == 754


def test_no_tax_when_the_rate_is_nothing() -> None:
    assert tax_in([8500], tax_rule("US", Decimal(0))) == tax_on([8500], tax_rule("US", Decimal(0))) == 0


@pytest.mark.parametrize(
    ("written", "decimals", "units", "tax_at_ten"),
    [("1005", 0, 1005, 101), ("10.05", 2, 1005, 101), ("1.005", 3, 1005, 101), ("1200", 0, 1200, 120)],
)
def test_currencies_with_no_two_and_three_decimals(written: str, decimals: int, units: int, tax_at_ten: int) -> None:
    """ISO 4217: yen have none, dollars two, dinars three; tax is a whole number of the smallest unit in each."""
    assert minor_units(Decimal(written), decimals) == units
    assert tax_on([units], tax_rule("AU", TEN)) == tax_at_ten


def test_an_amount_finer_than_its_currency_is_refused() -> None:
    for amount, decimals in (("10.5", 0), ("10.055", 2), ("NaN", 2)):
        with pytest.raises(BadInput, match="decimals"):
            minor_units(Decimal(amount), decimals)


def test_a_rate_that_is_none_is_refused() -> None:
    for rate in ("-1", "101", "NaN"):
        with pytest.raises(BadInput, match="from 0 to 100"):
            TaxRule(Decimal(rate))


CENTS = st.lists(st.integers(-(10**7), 10**7), max_size=8)
RATES = st.decimals(0, 30, places=3)


@settings(max_examples=80)
@given(CENTS, RATES, st.sampled_from(["AU", "NZ", "GB"]), st.sampled_from(["total", "line"]))
def test_a_sale_and_its_refund_cancel(cents: list[int], rate: Decimal, country: str, rounded: str) -> None:
    rule = tax_rule(country, rate, rounded=rounded)  # type: ignore[arg-type]
    back = [-line for line in cents]
    assert tax_in(cents, rule) + tax_in(back, rule) == 0
    assert tax_on(cents, rule) + tax_on(back, rule) == 0


@settings(max_examples=80)
@given(st.integers(0, 10**9), RATES)
def test_one_line_agrees_with_decimal_rounding(cents: int, rate: Decimal) -> None:
    """The standard library's half-up and half-down, in 60 digits, say the same."""
    with decimal.localcontext() as context:
        context.prec = 60
        exact = Decimal(cents) * rate / 100
        up = exact.to_integral_value(decimal.ROUND_HALF_UP)
        down = exact.to_integral_value(decimal.ROUND_HALF_DOWN)
    assert tax_on([cents], tax_rule("AU", rate)) == up
    assert tax_on([cents], tax_rule("NZ", rate)) == down


@settings(max_examples=80)
@given(CENTS, RATES)
def test_both_rules_differ_by_less_than_a_unit_a_line(cents: list[int], rate: Decimal) -> None:
    total = tax_on(cents, tax_rule("AU", rate))
    by_line = tax_on(cents, tax_rule("AU", rate, rounded="line"))
    assert 2 * abs(total - by_line) <= len(cents) + 1

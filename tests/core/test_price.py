"""A price by hand, and that its parts are all of it."""

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from coatround.core.trade.price import price

amounts = st.fractions(0, 10_000, max_denominator=100)


def test_by_hand() -> None:
    """60 min and 30 min on the road at 40.00 an hour, 10 km at 0.90, 2.00 of product, 30 l at 0.005, 3.00 of wear."""
    values = (60, 30, 4000, 10, 90, 200, 30, Fraction(1, 2), 300)
    found = price(*map(Fraction, values))
    assert (found.work_cents, found.drive_cents, found.water_cents) == (6000, 900, 15)
    assert (found.cost_cents, found.price_cents) == (1415, 7415)


@given(st.tuples(*[amounts] * 9))
def test_more_of_anything_never_costs_less(values: tuple[Fraction, ...]) -> None:
    base = price(*values).price_cents
    for place in range(9):
        more = [value + (place == spot) for spot, value in enumerate(values)]
        assert price(*more).price_cents >= base

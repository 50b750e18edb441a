"""What a groom costs its groomer, and the price for the hourly return that is wanted. Money in minor units."""

from dataclasses import dataclass
from fractions import Fraction

from coatround.core.trade.tax import whole


@dataclass(frozen=True, slots=True)
class PriceParts:
    """What a price is made of, whole minor units each: time, driving, products, water, wear."""

    work_cents: int
    drive_cents: int
    product_cents: int
    water_cents: int
    wear_cents: int

    @property
    def cost_cents(self) -> int:
        """What it costs apart from one's own time on the dog and the road."""
        return self.drive_cents + self.product_cents + self.water_cents + self.wear_cents

    @property
    def price_cents(self) -> int:
        """The price, before tax, that leaves the hourly return wanted."""
        return self.work_cents + self.cost_cents


def price(
    work_minutes: Fraction,
    drive_minutes: Fraction,
    hourly_cents: Fraction,
    drive_km: Fraction,
    cents_a_km: Fraction,
    product_cents: Fraction,
    water_litres: Fraction,
    cents_a_litre: Fraction,
    wear_cents: Fraction,
) -> PriceParts:
    """The parts of a price; each is rounded once, a half up."""
    return PriceParts(
        whole((work_minutes + drive_minutes) * hourly_cents / 60),
        whole(drive_km * cents_a_km),
        whole(product_cents),
        whole(water_litres * cents_a_litre),
        whole(wear_cents),
    )

"""What goes into the bath: label ratios, millilitres, minutes of contact, and what is not for this dog.

The label governs. A ratio is kept with its rule, never as "1:32": texts mean one part and 32 of water by it, or one
part in 32 altogether, which differ by 3 % at 32 and by 10 % at 10. Nothing mixed is kept overnight: diluted or old
shampoo can carry the germs of an infection after the bath (Cain and Mauldin 2015, J Am Vet Med Assoc 246:522).
"""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from coatround.core.errors import BadInput
from coatround.core.units import rounded_half_up

ML_A_LITRE = 1000
Rule = Literal["water", "total"]


@dataclass(frozen=True, slots=True)
class Ratio:
    """A label's ratio: `product` parts in `other` parts of water added (rule "water") or of the whole ("total").

    Raises BadInput for no product, parts below zero, a whole smaller than its product, another rule.
    """

    product: int
    other: int
    rule: Rule

    def __post_init__(self) -> None:
        if self.rule not in ("water", "total"):
            raise BadInput("rule", f'is {self.rule!r}, expected "water" or "total"')
        if self.product < 1:
            raise BadInput("product", f"is {self.product} parts, expected 1 or more")
        if self.other < 0:
            raise BadInput("other", f"is {self.other} parts, expected 0 or more")
        if self.rule == "total" and self.other < self.product:
            raise BadInput("other", f"is {self.other} parts in all, expected at least the {self.product} of product")

    @property
    def share(self) -> Fraction:
        """The product's share of the mix: 1/33 for 1 part and 32 of water, 1/32 for 1 part in 32."""
        whole = self.other if self.rule == "total" else self.product + self.other
        return Fraction(self.product, whole)


@dataclass(frozen=True, slots=True)
class Product:
    """What the label says: its ratio, minutes of contact, and what it is not for, in the label's words."""

    name: str
    ratio: Ratio
    contact_minutes: int = 0
    not_for: str = ""


@dataclass(frozen=True, slots=True)
class Pour:
    """So many millilitres of one product in one bath, with the minutes its label wants it on."""

    product: Product
    ml: int


@dataclass(frozen=True, slots=True)
class Mix:
    """One bath: its products in the order they go in, and the water that makes up the rest."""

    litres: int
    pours: tuple[Pour, ...]
    water_ml: int

    @property
    def contact_minutes(self) -> int:
        """The longest contact any of its labels wants."""
        return max((pour.product.contact_minutes for pour in self.pours), default=0)


def product_ml(ratio: Ratio, bath_l: int | Fraction) -> int:
    """Millilitres of product in a bath of `bath_l` litres, to the nearest (a half up); BadInput below 0 litres."""
    if bath_l < 0:
        raise BadInput("bath_l", f"is {bath_l} litres, expected 0 or more")
    whole = ratio.share * bath_l * ML_A_LITRE
    return rounded_half_up(whole.numerator, whole.denominator)


def mix(products: Sequence[Product], bath_l: int) -> Mix:
    """Several products in one bath, each at its own ratio of the bath's litres.

    Raises BadInput when together they are more than the bath holds.
    """
    pours = tuple(Pour(product, product_ml(product.ratio, bath_l)) for product in products)
    water_ml = bath_l * ML_A_LITRE - sum(pour.ml for pour in pours)
    if water_ml < 0:
        names = " and ".join(product.name for product in products)
        raise BadInput("products", f"{names} make {-water_ml} ml more than the bath's {bath_l} litres")
    return Mix(bath_l, pours, water_ml)


@dataclass(frozen=True, slots=True)
class Caution:
    """A dog's caution as the mix sees it: its kind, and what to do about it."""

    kind: str
    words: str


@dataclass(frozen=True, slots=True)
class NotFor:
    """A product that a label or a caution speaks against. The person decides; it is shown, never swapped."""

    product: str
    why: Literal["label", "caution"]
    words: str


def not_for(product: Product, cautions: Iterable[Caution]) -> tuple[NotFor, ...]:
    """Where the label names one of the dog's cautions, or a caution names the product (whole words, any case)."""
    found = []
    for caution in cautions:
        if _names(product.not_for, caution.kind):
            found.append(NotFor(product.name, "label", product.not_for))
        if caution.kind in ("product", "skin") and _names(caution.words, product.name):
            found.append(NotFor(product.name, "caution", caution.words))
    return tuple(dict.fromkeys(found))


def _names(words: str, name: str) -> bool:
    return bool(name) and re.search(rf"(?<!\w){re.escape(name)}(?!\w)", words, re.IGNORECASE) is not None

"""Reads the shelf: what is left, what was used lately, what the planned runs will take."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Count, F, Q, QuerySet, Sum

from coatround.core.ledger import Entry, balance, balances
from coatround.web.records.models import Product, RoutineStep, Van
from coatround.web.shelf.models import Movement
from coatround.web.visits.grooms import ASKED_BATH_L, label_ml

USED_DAYS = 28
AHEAD_DAYS = 14


@dataclass(frozen=True, slots=True)
class Shelved:
    """A product with what is left of it, in millilitres and bottles."""

    product: Product
    left_ml: int
    used_ml: int
    wanted_ml: int

    @property
    def bottles(self) -> float:
        return self.left_ml / self.product.bottle_ml if self.product.bottle_ml else 0.0

    @property
    def is_short(self) -> bool:
        """What the planned runs take is more than what is left."""
        return self.wanted_ml > self.left_ml

    @property
    def is_impossible(self) -> bool:
        """Less than nothing is left: something bought or counted was not entered."""
        return self.left_ml < 0


def sums(rows: QuerySet[Movement]) -> list[Entry]:
    """Movements summed up by product in the database, as entries; grouping does not change the balance."""
    grouped = rows.order_by().values("product").annotate(ml=Sum("ml")).values_list("product", "ml")
    return [Entry(f"sum {product}", str(product), ml, dt.date.min) for product, ml in grouped]


def left_ml(product: Product) -> int:
    """What is reckoned to be left of a product."""
    return balance(sums(Movement.objects.filter(product=product)))


def shelf(today: dt.date, products: Iterable[Product] | None = None) -> list[Shelved]:
    """Every product in use, by name."""
    found = list(Product.objects.filter(closed_on__isnull=True)) if products is None else list(products)
    left = balances(sums(Movement.objects.filter(product__in=found)))
    lately = Movement.objects.filter(product__in=found, kind="used", date__gt=today - dt.timedelta(days=USED_DAYS))
    used = balances(sums(lately))
    wanted = wanted_ml(today)
    return [
        Shelved(product, left.get(key, 0), -used.get(key, 0), wanted.get(key, 0))
        for product in found
        if (key := str(product.pk))
    ]


def wanted_ml(today: dt.date) -> dict[str, int]:
    """Millilitres by product that the visits planned for the coming days take, if each goes as usual."""
    last = today + dt.timedelta(days=AHEAD_DAYS)
    ahead = Q(usual__dog__visits__date__gte=today, usual__dog__visits__date__lte=last)
    settled = Q(usual__valid_from__lte=today, usual__closed_on__isnull=True) & (
        Q(usual__valid_until__isnull=True) | Q(usual__valid_until__gt=today)
    )
    rows = (
        RoutineStep.objects.filter(ahead & settled & Q(product__isnull=False))
        .exclude(usual__dog__visits__state="CANCELLED")
        .order_by()
    )
    counts = rows.values(named=F("product")).annotate(baths=Count("id")).values_list("named", "baths")
    products = Product.objects.in_bulk([product for product, _baths in counts])
    van = Van.objects.filter(closed_on__isnull=True).first()
    bath_l = van.bath_l if van else ASKED_BATH_L
    return {str(product): baths * (label_ml(products[product], bath_l) or 0) for product, baths in counts}


def movements(product: Product) -> QuerySet[Movement]:
    """A product's movements, the latest first."""
    return Movement.objects.filter(product=product).select_related("who").order_by("-date", "-id")

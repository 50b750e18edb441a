"""Reads the shelf: what is left, what was used lately, what the planned runs will take."""

import datetime as dt
import uuid
from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Count, QuerySet, Sum

from coatround.core.ledger import Entry, balance, balances
from coatround.web.records.models import Product, Van
from coatround.web.records.usual import in_force
from coatround.web.shelf.models import Movement
from coatround.web.visits.grooms import ASKED_BATH_L, label_ml
from coatround.web.visits.models import Visit, VisitDog

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
    def bottle_count(self) -> int:
        """1 when the words are to say "bottle", else 2 or more."""
        return 1 if round(self.bottles, 1) == 1 else 2

    @property
    def percent(self) -> int:
        """How full the bottle begun is; a shelf of whole bottles is full."""
        if self.left_ml <= 0 or not self.product.bottle_ml:
            return 0
        return (self.left_ml % self.product.bottle_ml) * 100 // self.product.bottle_ml or 100

    @property
    def width(self) -> int:
        return self.percent * 4

    @property
    def short_ml(self) -> int:
        return -self.left_ml

    @property
    def lacking_ml(self) -> int:
        return self.wanted_ml - max(0, self.left_ml)

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
    ahead = Visit.objects.filter(date__gte=today, date__lte=last, state__in=["TENTATIVE", "CONFIRMED"])
    visits = Counter(VisitDog.objects.filter(visit__in=ahead).values_list("dog", flat=True))
    by_times: dict[int, list[uuid.UUID]] = defaultdict(list)
    for dog, times in visits.items():
        by_times[times].append(dog)
    baths: Counter[uuid.UUID] = Counter()
    for times, dogs in by_times.items():
        for product, steps in _steps_with_products(today, dogs):
            baths[product] += times * steps
    return _as_ml(baths)


def _steps_with_products(today: dt.date, dogs: list[uuid.UUID]) -> Iterable[tuple[uuid.UUID, int]]:
    """For each product, in how many steps of these dogs' routines it is used."""
    usuals = in_force(today).filter(dog__in=dogs, steps__product__isnull=False).order_by()
    return usuals.values_list("steps__product").annotate(steps_held=Count("steps"))


def _as_ml(baths: Counter[uuid.UUID]) -> dict[str, int]:
    products = Product.objects.in_bulk(list(baths))
    van = Van.objects.filter(closed_on__isnull=True).first()
    bath_l = van.bath_l if van else ASKED_BATH_L
    return {str(product): count * (label_ml(products[product], bath_l) or 0) for product, count in baths.items()}


def movements(product: Product) -> QuerySet[Movement]:
    """A product's movements, the latest first."""
    return Movement.objects.filter(product=product).select_related("who").order_by("-date", "-id")

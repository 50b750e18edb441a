"""Reads the books: a month, who owes how much since when, one household's movements."""

import datetime as dt
import uuid
from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet, Sum

from coatround.core.ledger import Entry, age_days, balances, lines
from coatround.web.books.models import PAYMENT_WAYS, Charge, Payment
from coatround.web.records.models import Household


@dataclass(frozen=True, slots=True)
class Month:
    """One month's money in minor units: charged with and without tax, received, tips, and received by way."""

    first: dt.date
    charged: int
    tax: int
    received: int
    tips: int
    ways: tuple[tuple[str, int, int], ...]

    @property
    def charged_without_tax(self) -> int:
        return self.charged - self.tax

    @property
    def before(self) -> dt.date:
        return (self.first - dt.timedelta(days=1)).replace(day=1)

    @property
    def after(self) -> dt.date:
        return (self.first + dt.timedelta(days=31)).replace(day=1)


@dataclass(frozen=True, slots=True)
class Owing:
    """A household that owes, with how much, and days since the oldest charge that is still open."""

    household: Household
    cents: int
    days: int | None


@dataclass(frozen=True, slots=True)
class Moved:
    """One charge or payment with the household's balance after it."""

    row: Charge | Payment
    balance: int
    is_turned: bool

    @property
    def is_charge(self) -> bool:
        return isinstance(self.row, Charge)

    @property
    def is_correctable(self) -> bool:
        return not self.is_turned and self.row.corrects is None


def month(day: dt.date) -> Month:
    """The money of the month in which a day lies."""
    first = day.replace(day=1)
    between = {"date__gte": first, "date__lt": (first + dt.timedelta(days=31)).replace(day=1)}
    charged = Charge.objects.filter(**between).aggregate(cents=Sum("cents"), tax=Sum("tax_cents"))
    paid = Payment.objects.filter(**between).order_by().values("way")
    by_way = {row["way"]: row for row in paid.annotate(sum=Sum("cents"), tips=Sum("tip_cents"))}
    ways = tuple((str(words), by_way[way]["sum"], by_way[way]["tips"]) for way, words in PAYMENT_WAYS if way in by_way)
    return Month(
        first=first,
        charged=charged["cents"] or 0,
        tax=charged["tax"] or 0,
        received=sum(cents for _words, cents, _tips in ways),
        tips=sum(tips for _words, _cents, tips in ways),
        ways=ways,
    )


def owing() -> list[Entry]:
    """Charges and payments summed up by household in the database; grouping does not change the balance."""
    return [*_sums(Charge.objects.all(), 1), *_sums(Payment.objects.all(), -1)]


def _sums(rows: QuerySet[Any], sign: int) -> list[Entry]:
    grouped = rows.order_by().values("household").annotate(sum=Sum("cents")).values_list("household", "sum")
    return [Entry("sum", str(household), sign * cents, dt.date.min) for household, cents in grouped]


def owing_households() -> list[tuple[str, int]]:
    """Who owes, the most first, as (household's id, minor units)."""
    return sorted(
        ((household, cents) for household, cents in balances(owing()).items() if cents > 0),
        key=lambda owed: (-owed[1], owed[0]),
    )


def with_age(owed: Collection[tuple[str, int]], today: dt.date) -> list[Owing]:
    """Those households with the age of what they owe."""
    ids = [uuid.UUID(household) for household, _cents in owed]
    households = Household.objects.in_bulk(ids)
    entries = defaultdict(list)
    for entry in entries_of(ids):
        entries[entry.account].append(entry)
    return [
        Owing(households[uuid.UUID(household)], cents, age_days(entries[household], today)) for household, cents in owed
    ]


def entries_of(households: Collection[uuid.UUID]) -> list[Entry]:
    """Every charge (above zero) and payment (below) of some households."""
    charges = Charge.objects.filter(household__in=households)
    payments = Payment.objects.filter(household__in=households)
    return [_entry(row) for row in charges] + [_entry(row) for row in payments]


def _entry(row: Charge | Payment) -> Entry:
    cents = row.cents if isinstance(row, Charge) else -row.cents
    return Entry(str(row.pk), str(row.household_id), cents, row.date, str(row.corrects) if row.corrects else None)


def moved(household: Household) -> list[Moved]:
    """A household's charges and payments, the latest first, with the balance after each."""
    rows: dict[str, Charge | Payment] = {}
    rows |= {str(row.pk): row for row in Charge.objects.filter(household=household).select_related("dog")}
    rows |= {str(row.pk): row for row in Payment.objects.filter(household=household)}
    turned = {row.corrects for row in rows.values() if row.corrects}
    told = lines(_entry(row) for row in rows.values())
    return [Moved(rows[line.entry.id], line.balance, rows[line.entry.id].pk in turned) for line in reversed(told)]

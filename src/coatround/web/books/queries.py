"""Reads the books: a month, who owes how much since when, one household's movements."""

import datetime as dt
import uuid
from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass

from django.db import connection
from django.db.models import Sum

from coatround.core.ledger import Entry, age_days, balance, lines
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
    def key(self) -> str:
        """The month as it stands in the address."""
        return f"{self.first:%Y-%m}"

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
    def signed_cents(self) -> int:
        """A charge as it stands, a payment below zero: what it adds to what is owed."""
        return self.row.cents if isinstance(self.row, Charge) else -self.row.cents

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


OWING = """
SELECT household_id, SUM(cents) FROM (
  SELECT household_id, SUM(cents) AS cents FROM books_charge GROUP BY household_id
  UNION ALL SELECT household_id, -SUM(cents) AS cents FROM books_payment GROUP BY household_id
) AS sums GROUP BY household_id HAVING SUM(cents) > 0 ORDER BY SUM(cents) DESC, household_id
"""


def owing_households() -> list[tuple[uuid.UUID, int]]:
    """Who owes, the most first, as (household's id, minor units); added up in the database, as any grouping may be."""
    with connection.cursor() as cursor:
        cursor.execute(OWING)
        return [(uuid.UUID(str(household)), int(cents)) for household, cents in cursor.fetchall()]


def owed_by(household: Household) -> int:
    """What one household owes; below zero when it has paid ahead."""
    return balance(entries_of([household.pk]))


def with_age(owed: Collection[tuple[uuid.UUID, int]], today: dt.date) -> list[Owing]:
    """Those households with the age of what they owe."""
    ids = [household for household, _cents in owed]
    households = Household.objects.in_bulk(ids)
    entries = defaultdict(list)
    for entry in entries_of(ids):
        entries[entry.account].append(entry)
    return [Owing(households[one], cents, age_days(entries[str(one)], today)) for one, cents in owed]


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

"""Movements and their balances. Money owed and millilitres on the shelf are the same fold."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass, replace

from coatround.core.errors import BadInput


@dataclass(frozen=True, slots=True)
class Entry:
    """One movement on an account: above zero in, below zero out, in whole minor units of money or in millilitres."""

    id: str
    account: str
    amount: int
    date: dt.date
    corrects: str | None = None


@dataclass(frozen=True, slots=True)
class Line:
    """An entry with the account's balance after it."""

    entry: Entry
    balance: int


@dataclass(frozen=True, slots=True)
class Open:
    """What is still open of one entry."""

    entry: Entry
    amount: int


def balances(entries: Iterable[Entry]) -> dict[str, int]:
    """The balance of every account named, whatever order or grouping the entries come in."""
    sums: dict[str, int] = {}
    for entry in entries:
        sums[entry.account] = sums.get(entry.account, 0) + entry.amount
    return sums


def balance(entries: Iterable[Entry]) -> int:
    """The sum of entries, which are taken to be of one account."""
    return sum(entry.amount for entry in entries)


def turned_round(entry: Entry, *, id: str, date: dt.date) -> Entry:
    """The entry that cancels another; raises BadInput when that one is itself a correction."""
    if entry.corrects is not None:
        raise BadInput(entry.id, "it is itself a correction; enter a new row instead of turning it round")
    return replace(entry, id=id, date=date, amount=-entry.amount, corrects=entry.id)


def standing(entries: Iterable[Entry]) -> list[Entry]:
    """The entries that no other turned round, without the ones that did the turning; the balance is the same.

    A correction whose original is not among the entries stays.
    """
    rows = list(entries)
    by_id = {entry.id: entry for entry in rows}
    pairs = [entry for entry in rows if _cancels(entry, by_id)]
    gone = {entry.id for entry in pairs} | {entry.corrects for entry in pairs}
    return [entry for entry in rows if entry.id not in gone]


def _cancels(entry: Entry, by_id: dict[str, Entry]) -> bool:
    original = by_id.get(entry.corrects or "")
    return original is not None and original.account == entry.account and original.amount == -entry.amount


def lines(entries: Iterable[Entry]) -> list[Line]:
    """The entries of one account by date (then id), each with the balance after it."""
    running, rows = 0, []
    for entry in sorted(entries, key=_order):
        running += entry.amount
        rows.append(Line(entry, running))
    return rows


def still_open(entries: Iterable[Entry]) -> list[Open]:
    """What is still open of each entry above zero on one account, when what goes out settles the oldest first.

    Entries that cancel each other are left aside. The sum is the balance, or nothing when the balance is below zero.
    """
    rows = standing(entries)
    out = -sum(entry.amount for entry in rows if entry.amount < 0)
    left = []
    for entry in sorted((entry for entry in rows if entry.amount > 0), key=_order):
        settled = min(out, entry.amount)
        out -= settled
        if settled < entry.amount:
            left.append(Open(entry, entry.amount - settled))
    return left


def age_days(entries: Iterable[Entry], today: dt.date) -> int | None:
    """Days since the oldest entry that is still open; None when nothing is."""
    left = still_open(entries)
    return (today - left[0].entry.date).days if left else None


def _order(entry: Entry) -> tuple[dt.date, str]:
    return entry.date, entry.id

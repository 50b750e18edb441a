"""Movements and balances: the order never matters, a correction cancels, the oldest is settled first."""

import datetime as dt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatround.core.errors import BadInput
from coatround.core.ledger import Entry, age_days, balance, balances, lines, standing, still_open, turned_round

MARCH = dt.date(2026, 3, 3)
AMOUNTS = st.integers(-50_000, 50_000)
DATES = st.dates(dt.date(2025, 1, 1), dt.date(2027, 12, 31))


@st.composite
def entries(draw: st.DrawFn, accounts: tuple[str, ...] = ("ash", "birch", "elm")) -> list[Entry]:
    rows = draw(st.lists(st.tuples(st.sampled_from(accounts), AMOUNTS, DATES), max_size=14))
    return [Entry(f"{number:03}", account, amount, date) for number, (account, amount, date) in enumerate(rows)]


def entry(id: str, amount: int, day: int = 0, account: str = "ash") -> Entry:
    return Entry(id, account, amount, MARCH + dt.timedelta(days=day))


def test_it_works() -> None:
    """Charged 85.00, paid 50.00: 35.00 is owed since the charge."""
    rows = [entry("a", 8500), entry("b", -5000, 2)]
    assert balances(rows) == {"ash": 3500}
    assert [line.balance for line in lines(rows)] == [8500, 3500]
    assert [(left.entry.id, left.amount) for left in still_open(rows)] == [("a", 3500)]
    assert age_days(rows, MARCH + dt.timedelta(days=30)) == 30


@settings(max_examples=60)
@given(entries(), st.randoms(use_true_random=False))
def test_any_order_gives_the_same_balance(rows: list[Entry], chance: object) -> None:
    mixed = list(rows)
    chance.shuffle(mixed)  # type: ignore[attr-defined]
    assert balances(mixed) == balances(rows)
    assert lines(mixed) == lines(rows)
    assert still_open(mixed) == still_open(rows)


@settings(max_examples=60)
@given(entries(("ash",)), st.integers(0, 14))
def test_sums_made_beforehand_give_the_same_balance(rows: list[Entry], cut: int) -> None:
    """What the database has summed up can be folded on: grouping does not matter."""
    summed = [Entry("sum", "ash", balance(rows[:cut]), MARCH), *rows[cut:]]
    assert balance(summed) == balance(rows)


@settings(max_examples=60)
@given(entries(), st.data())
def test_a_correction_cancels(rows: list[Entry], data: st.DataObject) -> None:
    wrong = Entry("wrong", "ash", data.draw(AMOUNTS), data.draw(DATES))
    right = turned_round(wrong, id="right", date=data.draw(DATES))
    before = balances([*rows, entry("zero", 0)])
    assert balances([*rows, entry("zero", 0), wrong, right]) == before
    assert standing([*rows, wrong, right]) == rows
    assert still_open([*rows, wrong, right]) == still_open(rows)


@settings(max_examples=60)
@given(entries(("ash",)))
def test_what_is_open_adds_up_to_the_balance(rows: list[Entry]) -> None:
    left = still_open(rows)
    assert sum(part.amount for part in left) == max(0, balance(rows))
    assert all(0 < part.amount <= part.entry.amount for part in left)
    last = lines(rows)[-1].balance if rows else 0
    assert last == balance(rows)


def test_payments_settle_the_oldest_first() -> None:
    rows = [entry("a", 4000), entry("b", 6000, 10), entry("c", -5000, 12)]
    assert [(left.entry.id, left.amount) for left in still_open(rows)] == [("b", 5000)]
    assert age_days(rows, MARCH + dt.timedelta(days=40)) == 30


def test_a_charge_turned_round_does_not_count_as_a_payment_of_an_older_one() -> None:
    """The older charge stays the oldest that is open."""
    older, wrong = entry("a", 4000), entry("b", 4000, 10)
    rows = [older, wrong, turned_round(wrong, id="c", date=MARCH)]
    assert [left.entry.id for left in still_open(rows)] == ["a"]


def test_nothing_is_open_when_paid_ahead() -> None:
    rows = [entry("a", -5000), entry("b", 3000, 1)]
    assert balances(rows) == {"ash": -2000}
    assert still_open(rows) == []
    assert age_days(rows, MARCH) is None


def test_the_same_fold_counts_millilitres() -> None:
    """A bottle bought, two baths, and a count that found 40 ml less than reckoned."""
    rows = [entry("a", 1000), entry("b", -250), entry("c", -250), entry("d", -40)]
    assert balance(rows) == 460


def test_a_correction_is_not_turned_round_again() -> None:
    once = turned_round(entry("a", 100), id="b", date=MARCH)
    with pytest.raises(BadInput, match="itself a correction"):
        turned_round(once, id="c", date=MARCH)


def test_a_correction_of_an_entry_not_shown_stays() -> None:
    lone = Entry("b", "ash", -100, MARCH, corrects="elsewhere")
    assert standing([lone]) == [lone]

"""Small problems solved for certain: every set of visits on every run, then the best way to share them out."""

import datetime
from collections.abc import Callable

from coatround.core.rounds.draft import Draft
from coatround.core.rounds.order import Ordered, best_of_each_subset
from coatround.core.rounds.table import Table

MOST_VISITS = 9
MOST_SETS = 2_048

_Dates = tuple[tuple[int, datetime.date], ...]
_Shared = dict[tuple[int, _Dates], tuple[int, tuple[int, ...]]]
"""Visits planned and the dates of those tied to others -> units so far, and the set taken by each run."""


def is_small(table: Table) -> bool:
    """Whether all sets of visits can be tried in a second or so."""
    return len(table.problem.visits) <= MOST_VISITS and sum(2 ** len(c) for c in table.choices) <= MOST_SETS


def cheapest(table: Table, ends: Callable[[], bool]) -> Draft | None:
    """The cheapest plan there is, or None if `ends()` came first."""
    visits = range(len(table.problem.visits))
    shared: _Shared = {(0, ()): (0, ())}
    for r in range(len(table.problem.runs)):
        if ends():
            return None
        shared = _with_run(table, r, best_of_each_subset(table, r, visits), shared)
    _, sets = min(
        (units + sum(table.left_out_units[v] for v in visits if not planned >> v & 1), sets)
        for (planned, _), (units, sets) in shared.items()
    )
    draft = Draft(table)
    for r, own in enumerate(sets):
        draft.put(r, [v for v in visits if own >> v & 1])
    return draft


def _with_run(table: Table, r: int, able: dict[int, Ordered], shared: _Shared) -> _Shared:
    """Every way to share out so far, with every set that run `r` can take besides."""
    found: _Shared = {}
    date = table.problem.runs[r].date
    for (planned, dates), (units, sets) in shared.items():
        for own, cost in [(0, 0), *((own, ordered.units) for own, ordered in able.items())]:
            if own & planned:
                continue
            tied = _dates_with(table, own, date, dates)
            if tied is None:
                continue
            key, value = (planned | own, tied), (units + cost, (*sets, own))
            if key not in found or value < found[key]:
                found[key] = value
    return found


def _dates_with(table: Table, own: int, date: datetime.date, dates: _Dates) -> _Dates | None:
    """The dates of tied visits once those in `own` fall on `date`, or None if that breaks a tie."""
    known = dict(dates)
    tied = {v for v, first in enumerate(table.first_of) if first is not None}
    tied |= {first for first in table.first_of if first is not None}
    known.update((v, date) for v in tied if own >> v & 1)
    for v, first in enumerate(table.first_of):
        link = table.problem.visits[v].follows
        if (
            link
            and v in known
            and first in known
            and not (link.least_days <= (known[v] - known[first]).days <= link.most_days)
        ):
            return None
    return tuple(sorted(known.items()))

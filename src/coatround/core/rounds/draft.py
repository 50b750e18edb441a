"""A plan in the making: the visits of each run, each run exactly ordered, and what may still go where."""

import datetime
from collections.abc import Iterable, Sequence
from copy import copy

from coatround.core.rounds.order import Ordered, best_order
from coatround.core.rounds.table import Table


class Draft:
    """Visits on runs, every run in its best order. Only `put` changes it, so it never holds what cannot be done."""

    def __init__(self, table: Table) -> None:
        self.table = table
        self.run_of: dict[int, int] = {}
        self.days: dict[int, Ordered] = {}
        self.orders: list[list[int]] = [[] for _ in table.problem.runs]
        self._known: dict[tuple[int, frozenset[int]], Ordered | None] = {}
        self._followers: dict[int, list[int]] = {}
        for v, first in enumerate(table.first_of):
            if first is not None:
                self._followers.setdefault(first, []).append(v)

    @property
    def evaluated(self) -> int:
        """How many runs were ordered so far, copies included."""
        return len(self._known)

    def best(self, r: int, visits: Sequence[int]) -> Ordered | None:
        """Run `r` with exactly these visits in the best order, remembered; None if it cannot be done."""
        key = (r, frozenset(visits))
        if key not in self._known:
            self._known[key] = best_order(self.table, r, visits)
        return self._known[key]

    def put(self, r: int, visits: Sequence[int]) -> bool:
        """Gives run `r` exactly these visits if that can be done; says whether it was."""
        ordered = self.best(r, visits) if visits else None
        if visits and ordered is None:
            return False
        for v in self.orders[r]:
            del self.run_of[v]
        self.days.pop(r, None)
        self.orders[r] = []
        if ordered is not None:
            self.days[r] = ordered
            self.orders[r] = [self.table.visit_number[v] for v in ordered.planned.visit_ids]
        for v in self.orders[r]:
            self.run_of[v] = r
        return True

    def units(self, r: int) -> int:
        """What run `r` costs as it stands, in UNIT-ths of a cent."""
        return self.days[r].units if r in self.days else 0

    def copy(self) -> "Draft":
        """A draft that can be changed apart; what was worked out about runs is shared."""
        other = copy(self)
        other.run_of, other.days = dict(self.run_of), dict(self.days)
        other.orders = [list(order) for order in self.orders]
        return other

    def take(self, other: "Draft") -> None:
        """Becomes what a changed copy is."""
        self.run_of, self.days, self.orders = other.run_of, other.days, other.orders

    def left_out(self) -> list[int]:
        """The visits not on any run, in the order of the problem."""
        return [v for v in range(len(self.table.problem.visits)) if v not in self.run_of]

    def cost_units(self) -> int:
        """What the whole draft costs, what is left out included, in UNIT-ths of a cent."""
        return sum(day.units for day in self.days.values()) + sum(self.table.left_out_units[v] for v in self.left_out())

    def date_of(self, v: int) -> datetime.date | None:
        """The date a visit falls on, or None while it is left out."""
        return self.table.problem.runs[self.run_of[v]].date if v in self.run_of else None

    def may(self, v: int, r: int) -> bool:
        """Whether visit `v` may go on run `r` as far as its days, needs and the visits it is tied to say."""
        return v in self.table.choices[r] and self.keeps_ties(v, self.table.problem.runs[r].date)

    def keeps_ties(self, v: int, date: datetime.date) -> bool:
        """Whether `date` is far enough from the visit that `v` follows, and from those that follow `v`."""
        first = self.table.first_of[v]
        if first is not None and not self._apart(v, self.date_of(first), date):
            return False
        return all(self._apart(w, date, self.date_of(w)) for w in self._followers.get(v, ()))

    def _apart(self, v: int, first: datetime.date | None, own: datetime.date | None) -> bool:
        link = self.table.problem.visits[v].follows
        if link is None or first is None or own is None:
            return True
        return link.least_days <= (own - first).days <= link.most_days

    def against(self, v: int, date: datetime.date) -> list[int]:
        """The planned visits whose ties bar `v` from that date."""
        first = self.table.first_of[v]
        barred = [w for w in self._followers.get(v, ()) if not self._apart(w, date, self.date_of(w))]
        if first is not None and not self._apart(v, self.date_of(first), date):
            barred.append(first)
        return barred

    def runs_open_to(self, v: int) -> Iterable[int]:
        """The runs that visit `v` may go on."""
        return (r for r in self.table.runs_for[v] if self.may(v, r))

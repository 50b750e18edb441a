"""From the search's orders to a draft that can be done, and better: exact orders, put in, exchange, move.

The search knows no breaks and only bounds power and noise, so a run may come back that cannot be done. Every
step here is judged by the exact order of the runs it touches, and only ever makes the plan cheaper.
"""

from collections.abc import Callable, Iterator
from itertools import combinations

from coatround.core.rounds.draft import Draft
from coatround.core.rounds.formulation import Orders
from coatround.core.rounds.table import Table

MOST_ORDERS = 2_000
"""Runs ordered in one polish at most, so that a plan by iterations ends."""

Ends = Callable[[], bool]


def drafted(table: Table, orders: Orders) -> Draft:
    """A draft of these orders; of a run that cannot be done, the visits that are cheapest to do without go."""
    draft = Draft(table)
    for r, order in enumerate(orders):
        able = [v for v in order if draft.may(v, r) and v not in draft.run_of]
        if not draft.put(r, able):
            draft.put(r, _most_worth(draft, r, able))
    return draft


def _most_worth(draft: Draft, r: int, visits: list[int], needed: int | None = None) -> list[int]:
    """The visits to keep, `needed` among them: as few as possible are dropped, and of those drops the cheapest."""
    left_out = draft.table.left_out_units
    for dropped in range(1, len(visits)):
        best = None
        for kept in combinations(visits, len(visits) - dropped):
            ordered = draft.best(r, kept) if needed is None or needed in kept else None
            if ordered is not None:
                cost = ordered.units - sum(left_out[v] for v in kept)
                best = min(best or (cost, kept), (cost, kept))
        if best is not None:
            return list(best[1])
    return []


def polish(draft: Draft, ends: Ends) -> None:
    """Makes the draft cheaper until nothing here helps, `ends()` says so, or MOST_ORDERS runs were ordered."""
    most = draft.evaluated + MOST_ORDERS

    def over() -> bool:
        return ends() or draft.evaluated >= most

    better = True
    while better and not over():
        better = any(step(draft, over) for step in (_put_in, _exchange, _move, _take_out, _force))


def _by_worth(draft: Draft) -> list[int]:
    return sorted(draft.left_out(), key=lambda v: (-draft.table.left_out_units[v], v))


def _best_run_for(draft: Draft, v: int, over: Ends, below: int, without: int | None = None) -> tuple[int, int] | None:
    """The cheapest run for visit `v` and what it adds there, if that is less than `below`; not on run `without`."""
    best = None
    for r in draft.runs_open_to(v):
        if over():
            break
        limit = best[0] if best else below
        if r == without or _least_added(draft, v, r) >= limit:
            continue
        ordered = draft.best(r, _with(draft, v, r))
        if ordered is not None and ordered.units - draft.units(r) < limit:
            best = (ordered.units - draft.units(r), r)
    return best


def _with(draft: Draft, v: int, r: int) -> list[int]:
    """The visits of run `r` with `v` in the gap where it costs least driving."""
    order = draft.orders[r]
    gap = min(range(len(order) + 1), key=lambda i: _detour(draft, v, r, i))
    return [*order[:gap], v, *order[gap:]]


def _detour(draft: Draft, v: int, r: int, gap: int) -> int:
    table, order = draft.table, draft.orders[r]
    before = table.place_of[order[gap - 1]] if gap else table.start_of[r]
    after = table.place_of[order[gap]] if gap < len(order) else table.end_of[r]
    own = table.place_of[v]
    return table.drive[before][own] + table.drive[own][after] - table.drive[before][after]


def _least_added(draft: Draft, v: int, r: int) -> int:
    """About the least that visit `v` can add to run `r`: its day and the shortest detour in today's order."""
    detour = min(_detour(draft, v, r, gap) for gap in range(len(draft.orders[r]) + 1))
    return draft.table.choices[r][v].day_units + detour


def _put_in(draft: Draft, over: Ends) -> bool:
    """Puts in what was left out wherever that is cheaper than leaving it out."""
    better = False
    for v in _by_worth(draft):
        best = _best_run_for(draft, v, over, draft.table.left_out_units[v])
        if best is not None:
            better |= draft.put(best[1], _with(draft, v, best[1]))
    return better


def _exchange(draft: Draft, over: Ends) -> bool:
    """Puts in a visit left out for another that goes elsewhere, or that costs less to leave out."""
    return any(_exchange_one(draft, v, over) for v in _by_worth(draft))


def _exchange_one(draft: Draft, v: int, over: Ends) -> bool:
    left_out = draft.table.left_out_units
    for r in draft.runs_open_to(v):
        for u in list(draft.orders[r]):
            if over():
                return False
            ordered = draft.best(r, [v if w == u else w for w in draft.orders[r]])
            if ordered is None:
                continue
            gain = left_out[v] + draft.units(r) - ordered.units
            if gain > 0 and _settles(draft, r, u, v, min(gain, left_out[u] + 1), over, gain > left_out[u]):
                return True
    return False


def _settles(draft: Draft, r: int, u: int, v: int, below: int, over: Ends, may_leave_out: bool) -> bool:
    """Swaps `u` for `v` on run `r` if `u` then finds another run for less than `below`, or may be left out."""
    before = list(draft.orders[r])
    draft.put(r, [v if w == u else w for w in before])
    elsewhere = _best_run_for(draft, u, over, below)
    if not draft.may(v, r) or (elsewhere is None and not may_leave_out):
        draft.put(r, before)
        return False
    if elsewhere is not None:
        draft.put(elsewhere[1], _with(draft, u, elsewhere[1]))
    return True


def _removable(draft: Draft, over: Ends) -> Iterator[tuple[int, int, list[int], int]]:
    """Each visit that its run can do without: visit, run, what stays there, units saved; until it is over."""
    for v in sorted(draft.run_of):
        r = draft.run_of[v]
        rest = [w for w in draft.orders[r] if w != v]
        without = draft.best(r, rest) if rest else None
        if over():
            return
        if not rest or without is not None:
            yield v, r, rest, draft.units(r) - (without.units if without else 0)


def _move(draft: Draft, over: Ends) -> bool:
    """Moves single visits to a run where they cost less."""
    better = False
    for v, r, rest, saved in _removable(draft, over):
        best = _best_run_for(draft, v, over, saved, without=r)
        if best is not None:
            draft.put(r, rest)
            better |= draft.put(best[1], _with(draft, v, best[1]))
    return better


def _take_out(draft: Draft, over: Ends) -> bool:
    """Leaves out visits that cost more where they are than they cost left out."""
    better = False
    for v, r, rest, saved in _removable(draft, over):
        if saved > draft.table.left_out_units[v]:
            better |= draft.put(r, rest)
    return better


def _force(draft: Draft, over: Ends) -> bool:
    """Puts in a visit left out whatever stands in its way, then those pushed out elsewhere, if all is cheaper then."""
    for v in _by_worth(draft):
        for r in draft.table.runs_for[v]:
            if over():
                return False
            trial = draft.copy()
            if not _pushed_in(trial, v, r):
                continue
            _put_in(trial, over)
            if trial.cost_units() < draft.cost_units():
                draft.take(trial)
                return True
    return False


def _pushed_in(draft: Draft, v: int, r: int) -> bool:
    """Puts `v` on run `r`, pushing out what is tied to it too closely and the visits that go most cheaply."""
    for w in draft.against(v, draft.table.problem.runs[r].date):
        own = draft.run_of[w]
        if not draft.put(own, [u for u in draft.orders[own] if u != w]):
            return False
    order = _with(draft, v, r)
    kept = order if draft.best(r, order) else _most_worth(draft, r, order, needed=v)
    return v in kept and draft.put(r, kept)

"""The best order of one run's visits, exactly: a dynamic programme over partial runs (labels)."""

from collections.abc import Sequence
from dataclasses import dataclass

from coatround.core.rounds.cost import overtime_units, run_units
from coatround.core.rounds.labels import FREE, OWED, SHORT, Label, Layout, Step, finished, next_labels
from coatround.core.rounds.plan import BreakStop, PlannedRun, RefillStop, Stop, VisitStop
from coatround.core.rounds.table import Table

LABELS_A_LAYER = 20_000
LABELS_A_LONG_LAYER = 2_000
LONG_RUN = 11
"""Above so many partial runs of one length the dearest are dropped: runs up to `LONG_RUN` visits hardly come near it,
longer ones, whose order is not certain anyway, are not to take seconds."""


@dataclass(frozen=True, slots=True)
class Ordered:
    """A run with its visits in the best order: exact cost (drive, overtime, days, run used) and clock times."""

    units: int
    planned: PlannedRun


def _keep(labels: list[Label], new: Label) -> bool:
    """Adds a label unless another is no worse in everything; drops those that the new one makes useless."""
    units, end, spent, latest, water, refills, _ = new
    for old in labels:
        if (
            old[0] <= units
            and old[1] <= end
            and old[2] <= spent
            and old[3] >= latest
            and old[4] >= water
            and old[5] <= refills
        ):
            return False
    labels[:] = [
        old
        for old in labels
        if not (
            units <= old[0]
            and end <= old[1]
            and spent <= old[2]
            and latest >= old[3]
            and water >= old[4]
            and refills <= old[5]
        )
    ]
    labels.append(new)
    return True


_States = dict[tuple[int, int, int], list[Label]]


class _Bound:
    """What is certainly still to come after a set of visits, to drop partial runs that cannot win."""

    def __init__(self, layout: Layout, at_most: int | None) -> None:
        self.layout, self.at_most = layout, at_most
        self._ahead: dict[int, tuple[int, int, int]] = {}

    def ahead(self, mask: int) -> tuple[int, int, int]:
        """Least seconds, least units and litres still to come once the visits in `mask` are done."""
        found = self._ahead.get(mask)
        if found is None:
            layout = self.layout
            rest = [k for k in range(len(layout.visits)) if not mask >> k & 1]
            found = self._ahead[mask] = (
                layout.home_seconds + sum(layout.least_seconds[k] for k in rest),
                layout.home_units + sum(layout.least_units[k] for k in rest),
                sum(layout.water[k] for k in rest),
            )
        return found

    def lets(self, label: Label, mode: int, mask: int) -> bool:
        """Whether this partial run can still be back in time and no dearer than what is already known."""
        layout = self.layout
        seconds, units, _ = self.ahead(mask)
        rest = layout.run.break_
        if mode == OWED and rest is not None:
            seconds += rest.seconds
        if label.end + seconds > layout.closes(mode):
            return False
        out = max(label.spent, label.end - label.latest) + seconds
        if out > layout.longest:
            return False
        if self.at_most is None:
            return True
        over = max(0, out - layout.run.paid_seconds)
        return label.units + units + overtime_units(layout.table.problem.costs, over) <= self.at_most


def best_order(table: Table, r: int, visits: Sequence[int]) -> Ordered | None:
    """The cheapest way to do exactly these visits on run `r`, or None if there is none.

    The order given is tried first: what it costs is the bound for all others. Equal costs go to the shorter day.
    """
    if any(v not in table.choices[r] for v in visits):
        return None
    layout = Layout(table, r, visits)
    everything = (1 << len(visits)) - 1
    if not visits or not layout.fits(everything):
        return None
    given = _in_given_order(layout)
    best = _best_finish(layout, given, everything)
    bound = _Bound(layout, best[0] if best else None)
    states: _States = {(0, -1, mode): [label] for mode, label in layout.first_labels()}
    for _ in visits:
        states = _next_layer(layout, states, bound)
    found = _best_finish(layout, states, everything) or best
    return _ordered(layout, everything, found) if found else None


def best_of_each_subset(table: Table, r: int, visits: Sequence[int]) -> dict[int, Ordered]:
    """For every set of `visits` that run `r` can do, as a bit mask, its cheapest order. Meant for up to 10 visits."""
    able = [v for v in visits if v in table.choices[r]]
    bits = [1 << k for k, v in enumerate(visits) if v in table.choices[r]]
    layout = Layout(table, r, able)
    layout.lower = [0] * len(able)
    bound = _Roaming(layout)
    states: _States = {(0, -1, mode): [label] for mode, label in layout.first_labels()}
    found: dict[int, Ordered] = {}
    for _ in able:
        states = _next_layer(layout, states, bound)
        for mask in sorted({mask for mask, _, _ in states}):
            best = _best_finish(layout, states, mask)
            if best and layout.fits(mask):
                wide = sum(bit for k, bit in enumerate(bits) if mask >> k & 1)
                found[wide] = _ordered(layout, mask, best)
    return found


class _Roaming(_Bound):
    """The bound when the run may go home after any visit: only the way home is still to come."""

    def __init__(self, layout: Layout) -> None:
        super().__init__(layout, None)

    def ahead(self, mask: int) -> tuple[int, int, int]:
        """As for _Bound, but nothing except the way home has to come; any visit may, so any thirst counts."""
        rest = sum(litres for k, litres in enumerate(self.layout.water) if not mask >> k & 1)
        return self.layout.home_seconds, self.layout.home_units, rest


def _next_layer(layout: Layout, states: _States, bound: _Bound) -> _States:
    """All partial runs one visit longer, the useless ones dropped."""
    following: _States = {}
    start = layout.table.start_of[layout.r]
    for (mask, last, mode), labels in states.items():
        here = start if last < 0 else layout.places[last]
        thirst = bound.ahead(mask)[2]
        for k in range(len(layout.visits)):
            bit = 1 << k
            if mask & bit or layout.lower[k] & ~mask or layout.higher[k] & mask:
                continue
            for label in labels:
                for way, new in next_labels(layout, label, mode, here, k, thirst):
                    if bound.lets(new, way, mask | bit):
                        _keep(following.setdefault((mask | bit, k, way), []), new)
    return _thinned(following, LABELS_A_LAYER if len(layout.visits) <= LONG_RUN else LABELS_A_LONG_LAYER)


def _thinned(states: _States, most: int) -> _States:
    if sum(map(len, states.values())) <= most:
        return states
    ranked = sorted(
        ((label.units, label.end, key, i) for key, labels in states.items() for i, label in enumerate(labels))
    )
    kept: _States = {}
    for _, _, key, i in ranked[:most]:
        kept.setdefault(key, []).append(states[key][i])
    return kept


def _in_given_order(layout: Layout) -> _States:
    """The labels that visit everything in the order given."""
    here, mask = layout.table.start_of[layout.r], 0
    states: _States = {(0, -1, mode): [label] for mode, label in layout.first_labels()}
    bound = _Bound(layout, None)
    for k, place in enumerate(layout.places):
        following: _States = {}
        if layout.higher[k] & mask:
            return {}
        thirst = bound.ahead(mask)[2]
        for (_, _, mode), labels in states.items():
            for label in labels:
                for way, new in next_labels(layout, label, mode, here, k, thirst):
                    _keep(following.setdefault((mask | 1 << k, k, way), []), new)
        here, mask, states = place, mask | 1 << k, following
    return states


def _best_finish(layout: Layout, states: _States, mask: int) -> tuple[int, int, Label] | None:
    best = None
    for last in range(len(layout.visits)):
        for mode in (FREE, SHORT):
            for label in states.get((mask, last, mode), ()):
                done = finished(layout, label, mode, layout.places[last])
                if done and (best is None or done[:2] < best[:2]):
                    best = done
    return best


def _ordered(layout: Layout, mask: int, found: tuple[int, int, Label]) -> Ordered:
    units, _, home = found
    days = sum(cents for k, cents in enumerate(layout.day_units) if mask >> k & 1)
    return Ordered(units + days + run_units(layout.table.problem.costs), _planned(layout, home))


def _planned(layout: Layout, home: Label) -> PlannedRun:
    """Clock times for the best label: leave as early as costs no waiting that a later leave would save."""
    leave = min(home.latest, home.end - home.spent)
    problem, table = layout.table.problem, layout.table
    here, free = table.start_of[layout.r], leave
    stops: list[Stop] = []
    for step in _steps(home.step):
        if step.visit is not None:
            visit = problem.visits[layout.visits[step.visit]]
            arrive = free + table.seconds[here][layout.places[step.visit]]
            start = max(arrive, step.from_)
            here, free = layout.places[step.visit], start + visit.seconds
            stops.append(VisitStop(visit.id, arrive, start, free))
        elif step.tap is not None:
            arrive = free + step.tap.seconds_there
            here, free = step.tap.place, arrive + step.tap.seconds_filling
            stops.append(RefillStop(problem.places[here].id, arrive, free))
        elif layout.run.break_ is not None:
            start = max(free, layout.run.break_.from_)
            free = start + layout.run.break_.seconds
            stops.append(BreakStop(layout.run.break_.seconds, start, free))
    return PlannedRun(layout.run.id, leave, free + table.seconds[here][table.end_of[layout.r]], tuple(stops))


def _steps(step: Step | None) -> list[Step]:
    steps = []
    while step is not None:
        steps.append(step)
        step = step.before
    return steps[::-1]

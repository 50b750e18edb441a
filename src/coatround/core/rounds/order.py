"""The best order of one run's visits, exactly: an exact dynamic programme with refills, break, windows, ranks.

A partial run is a label: its cost so far, and its end as a function of when the run leaves. That function is
max(`end`, leave + `spent`) for every leave up to `latest`, so the best leave time need not be guessed.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from coatround.core.rounds.cost import overtime_units, run_units
from coatround.core.rounds.plan import BreakStop, PlannedRun, RefillStop, Stop, VisitStop
from coatround.core.rounds.problem import Window
from coatround.core.rounds.table import Table, Tap

LABELS_A_LAYER = 20_000
"""Above so many partial runs of one length the dearest are dropped; only runs over 11 stops come near it."""

# Whether the break is taken or not due because the run leaves late (_FREE), still owed (_OWED), or not due
# because the run is back early (_SHORT).
_FREE, _OWED, _SHORT = 0, 1, 2


class _Step(NamedTuple):
    """One stop of a partial run, linked to the one before: a visit, a refill (tap), or a break (neither)."""

    before: "_Step | None"
    visit: int | None = None
    from_: int = 0
    tap: Tap | None = None


class _Label(NamedTuple):
    """A partial run: cost in UNIT-ths of a cent, clock times, litres left, refills used, and how it came about."""

    units: int
    end: int
    spent: int
    latest: int
    water: int
    refills: int
    step: _Step | None


@dataclass(frozen=True, slots=True)
class Ordered:
    """A run with its visits in the best order: exact cost (drive, overtime, days, run used) and clock times."""

    units: int
    planned: PlannedRun


class _Layout:
    """One run and a few visits with everything the programme looks up, by small numbers."""

    def __init__(self, table: Table, r: int, visits: Sequence[int]) -> None:
        problem, run = table.problem, table.problem.runs[r]
        self.table, self.r, self.run, self.visits = table, r, run, visits
        choices = [table.choices[r][v] for v in visits]
        self.starts = [choice.starts for choice in choices]
        self.day_units = [choice.day_units for choice in choices]
        self.places = [table.place_of[v] for v in visits]
        self.work = [problem.visits[v].seconds for v in visits]
        self.water = [problem.visits[v].water_l for v in visits]
        self.rank = [problem.visits[v].rank for v in visits]
        self.power = [problem.visits[v].power_wh for v in visits]
        self.noise = [problem.visits[v].noise_percent for v in visits]
        self.longest = run.paid_seconds + run.max_overtime_seconds
        self.full = run.water_l if run.water_at_start_l is None else run.water_at_start_l
        self.lower = [sum(1 << k for k, rank in enumerate(self.rank) if rank < own) for own in self.rank]
        self.higher = [sum(1 << k for k, rank in enumerate(self.rank) if rank > own) for own in self.rank]
        self.max_refills = run.max_refills if run.refills else 0
        self._least_ahead()

    def _least_ahead(self) -> None:
        """The least seconds and units that each visit and the way home still cost, whatever the order."""
        table, end = self.table, table_end(self.table, self.r)
        before = [table.start_of[self.r], *self.places]
        if sum(self.water) > self.full:
            before += [place for place, _ in table.taps_of[self.r]]
        self.least_seconds, self.least_units = [], []
        for k, place in enumerate(self.places):
            sources = [p for i, p in enumerate(before) if i != k + 1]
            self.least_seconds.append(self.work[k] + min(table.seconds[p][place] for p in sources))
            self.least_units.append(min(table.drive[p][place] for p in sources))
        last = self.places or [table.start_of[self.r]]
        self.home_seconds = min(table.seconds[p][end] for p in last)
        self.home_units = min(table.drive[p][end] for p in last)

    def closes(self, mode: int) -> int:
        """When the run must be back in this mode."""
        rest = self.run.break_
        return min(self.run.close, rest.to - 1) if mode == _SHORT and rest else self.run.close

    def first_labels(self) -> list[tuple[int, _Label]]:
        """The empty run in each mode: one without a break asked for, up to three with."""
        run, rest = self.run, self.run.break_

        def leaving(from_: int) -> _Label:
            return _Label(0, from_, 0, run.close, self.full, 0, None)

        if rest is None:
            return [(_FREE, leaving(run.open))]
        return [
            (_SHORT, leaving(run.open)),
            (_FREE, leaving(max(run.open, rest.from_ + 1))),
            (_OWED, leaving(run.open)),
        ]

    def fits(self, mask: int) -> bool:
        """Whether power and noise of these visits together stay within the run's."""
        run, on = self.run, [k for k in range(len(self.visits)) if mask >> k & 1]
        return (run.power_wh is None or sum(self.power[k] for k in on) <= run.power_wh) and (
            run.noise_percent is None or sum(self.noise[k] for k in on) <= run.noise_percent
        )


def table_end(table: Table, r: int) -> int:
    """The place where a run ends, by number."""
    return table.end_of[r]


def _rested(layout: _Layout, label: _Label) -> _Label | None:
    """The label after taking the break at the stop it has reached, or None when it is too late for it."""
    rest = layout.run.break_
    if rest is None or label.end > rest.to - rest.seconds:
        return None
    return label._replace(
        end=max(label.end, rest.from_) + rest.seconds,
        spent=label.spent + rest.seconds,
        latest=min(label.latest, rest.to - rest.seconds - label.spent),
        step=_Step(label.step),
    )


def _driven(layout: _Layout, label: _Label, mode: int, here: int, k: int, thirst: int) -> list[tuple[int, _Label]]:
    """The label on arriving at visit k, straight or by way of each refill worth taking, with or without a break."""
    table, there = layout.table, layout.places[k]
    seconds = table.seconds[here][there]
    ways = []
    if label.water >= layout.water[k]:
        ways.append(
            (
                mode,
                _Label(
                    label.units + table.drive[here][there],
                    label.end + seconds,
                    label.spent + seconds,
                    label.latest,
                    label.water,
                    label.refills,
                    label.step,
                ),
            )
        )
    if label.water < thirst and label.refills < layout.max_refills:
        for tap in table.taps(layout.r, here, there):
            ways += _refilled(layout, label, mode, tap)
    return ways


def _refilled(layout: _Layout, label: _Label, mode: int, tap: Tap) -> list[tuple[int, _Label]]:
    """The label on arriving at the stop after a refill, with the break taken there too where it is owed."""
    there = tap.seconds_there + tap.seconds_filling
    filled = _Label(
        label.units + tap.drive_units,
        label.end + there,
        label.spent + there,
        label.latest,
        layout.run.water_l,
        label.refills + 1,
        _Step(label.step, tap=tap),
    )
    ways = [(mode, filled)]
    if mode == _OWED and (rested := _rested(layout, filled)):
        ways.append((_FREE, rested))
    on = tap.seconds_on
    return [(mode, one._replace(end=one.end + on, spent=one.spent + on)) for mode, one in ways]


def _worked(layout: _Layout, label: _Label, k: int, window: Window) -> _Label | None:
    """The label after the work at visit k in one of its windows, or None when it is too late for that."""
    first, last = window
    if label.end > last:
        return None
    work = layout.work[k]
    return _Label(
        label.units,
        (label.end if label.end > first else first) + work,
        label.spent + work,
        min(label.latest, last - label.spent),
        label.water - layout.water[k],
        label.refills,
        _Step(label.step, k, first),
    )


def _next_labels(
    layout: _Layout, label: _Label, mode: int, here: int, k: int, thirst: int
) -> Iterable[tuple[int, _Label]]:
    """Every label that visiting k next can give."""
    for way, arrived in _driven(layout, label, mode, here, k, thirst):
        for window in layout.starts[k]:
            worked = _worked(layout, arrived, k, window)
            if worked is not None:
                yield way, worked
                if way == _OWED and (rested := _rested(layout, worked)):
                    yield _FREE, rested


def _finished(layout: _Layout, label: _Label, mode: int, here: int) -> tuple[int, int, _Label] | None:
    """(Units, seconds from leave to back, label back home), or None when it is back too late or too long out."""
    table, end = layout.table, layout.table.end_of[layout.r]
    seconds = table.seconds[here][end]
    back, spent = label.end + seconds, label.spent + seconds
    closes = layout.closes(mode)
    if mode == _OWED or back > closes:
        return None
    latest = min(label.latest, closes - spent)
    out = max(spent, back - latest)
    if out > layout.longest:
        return None
    over = overtime_units(table.problem.costs, max(0, out - layout.run.paid_seconds))
    home = label._replace(end=back, spent=spent, latest=latest)
    return label.units + table.drive[here][end] + over, out, home


def _keep(labels: list[_Label], new: _Label) -> bool:
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


_States = dict[tuple[int, int, int], list[_Label]]


class _Bound:
    """What is certainly still to come after a set of visits, to drop partial runs that cannot win."""

    def __init__(self, layout: _Layout, at_most: int | None) -> None:
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

    def lets(self, label: _Label, mode: int, mask: int) -> bool:
        """Whether this partial run can still be back in time and no dearer than what is already known."""
        layout = self.layout
        seconds, units, _ = self.ahead(mask)
        rest = layout.run.break_
        if mode == _OWED and rest is not None:
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
    layout = _Layout(table, r, visits)
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
    layout = _Layout(table, r, able)
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

    def __init__(self, layout: _Layout) -> None:
        super().__init__(layout, None)

    def ahead(self, mask: int) -> tuple[int, int, int]:
        """As for _Bound, but nothing except the way home has to come; any visit may, so any thirst counts."""
        rest = sum(litres for k, litres in enumerate(self.layout.water) if not mask >> k & 1)
        return self.layout.home_seconds, self.layout.home_units, rest


def _next_layer(layout: _Layout, states: _States, bound: _Bound) -> _States:
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
                for way, new in _next_labels(layout, label, mode, here, k, thirst):
                    if bound.lets(new, way, mask | bit):
                        _keep(following.setdefault((mask | bit, k, way), []), new)
    return _thinned(following)


def _thinned(states: _States) -> _States:
    if sum(map(len, states.values())) <= LABELS_A_LAYER:
        return states
    ranked = sorted(
        ((label.units, label.end, key, i) for key, labels in states.items() for i, label in enumerate(labels))
    )
    kept: _States = {}
    for _, _, key, i in ranked[:LABELS_A_LAYER]:
        kept.setdefault(key, []).append(states[key][i])
    return kept


def _in_given_order(layout: _Layout) -> _States:
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
                for way, new in _next_labels(layout, label, mode, here, k, thirst):
                    _keep(following.setdefault((mask | 1 << k, k, way), []), new)
        here, mask, states = place, mask | 1 << k, following
    return states


def _best_finish(layout: _Layout, states: _States, mask: int) -> tuple[int, int, _Label] | None:
    best = None
    for last in range(len(layout.visits)):
        for mode in (_FREE, _SHORT):
            for label in states.get((mask, last, mode), ()):
                done = _finished(layout, label, mode, layout.places[last])
                if done and (best is None or done[:2] < best[:2]):
                    best = done
    return best


def _ordered(layout: _Layout, mask: int, found: tuple[int, int, _Label]) -> Ordered:
    units, _, home = found
    days = sum(cents for k, cents in enumerate(layout.day_units) if mask >> k & 1)
    return Ordered(units + days + run_units(layout.table.problem.costs), _planned(layout, home))


def _planned(layout: _Layout, home: _Label) -> PlannedRun:
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


def _steps(step: _Step | None) -> list[_Step]:
    steps = []
    while step is not None:
        steps.append(step)
        step = step.before
    return steps[::-1]

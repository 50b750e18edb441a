"""Partial runs: what one more stop makes of them, with refills, the break, several windows and the tank.

A partial run is a label: its cost so far, and its end as a function of when the run leaves. That function is
max(`end`, leave + `spent`) for every leave up to `latest`, so the best leave time need not be guessed.
"""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from coatround.core.rounds.cost import overtime_units
from coatround.core.rounds.problem import Window
from coatround.core.rounds.table import Table, Tap

# Whether the break is taken or not due because the run leaves late (FREE), still owed (OWED), or not due
# because the run is back early (SHORT).
FREE, OWED, SHORT = 0, 1, 2


class Step(NamedTuple):
    """One stop of a partial run, linked to the one before: a visit, a refill (tap), or a break (neither)."""

    before: "Step | None"
    visit: int | None = None
    from_: int = 0
    tap: Tap | None = None


class Label(NamedTuple):
    """A partial run: cost in UNIT-ths of a cent, clock times, litres left, refills used, and how it came about."""

    units: int
    end: int
    spent: int
    latest: int
    water: int
    refills: int
    step: Step | None


class Layout:
    """One run and a few visits with everything the programme looks up, by small numbers."""

    def __init__(self, table: Table, r: int, visits: Sequence[int]) -> None:
        problem, run = table.problem, table.problem.runs[r]
        self.table, self.r, self.run, self.visits = table, r, run, visits
        choices = [table.choices[r][v] for v in visits]
        self.starts = [choice.starts for choice in choices]
        self.more_units = [choice.more_units for choice in choices]
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
        table, end = self.table, self.table.end_of[self.r]
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
        return min(self.run.close, rest.to - 1) if mode == SHORT and rest else self.run.close

    def first_labels(self) -> list[tuple[int, Label]]:
        """The empty run in each mode: one without a break asked for, up to three with."""
        run, rest = self.run, self.run.break_

        def leaving(from_: int) -> Label:
            return Label(0, from_, 0, run.close, self.full, 0, None)

        if rest is None:
            return [(FREE, leaving(run.open))]
        return [
            (SHORT, leaving(run.open)),
            (FREE, leaving(max(run.open, rest.from_ + 1))),
            (OWED, leaving(run.open)),
        ]

    def fits(self, mask: int) -> bool:
        """Whether power and noise of these visits together stay within the run's."""
        run, on = self.run, [k for k in range(len(self.visits)) if mask >> k & 1]
        return (run.power_wh is None or sum(self.power[k] for k in on) <= run.power_wh) and (
            run.noise_percent is None or sum(self.noise[k] for k in on) <= run.noise_percent
        )


def rested(layout: Layout, label: Label) -> Label | None:
    """The label after taking the break at the stop it has reached, or None when it is too late for it."""
    rest = layout.run.break_
    if rest is None or label.end > rest.to - rest.seconds:
        return None
    return label._replace(
        end=max(label.end, rest.from_) + rest.seconds,
        spent=label.spent + rest.seconds,
        latest=min(label.latest, rest.to - rest.seconds - label.spent),
        step=Step(label.step),
    )


def _driven(layout: Layout, label: Label, mode: int, here: int, k: int, thirst: int) -> list[tuple[int, Label]]:
    """The label on arriving at visit k, straight or by way of each refill worth taking, with or without a break."""
    table, there = layout.table, layout.places[k]
    seconds = table.seconds[here][there]
    ways = []
    if label.water >= layout.water[k]:
        ways.append(
            (
                mode,
                Label(
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


def _refilled(layout: Layout, label: Label, mode: int, tap: Tap) -> list[tuple[int, Label]]:
    """The label on arriving at the stop after a refill, with the break taken there too where it is owed."""
    there = tap.seconds_there + tap.seconds_filling
    filled = Label(
        label.units + tap.drive_units,
        label.end + there,
        label.spent + there,
        label.latest,
        layout.run.water_l,
        label.refills + 1,
        Step(label.step, tap=tap),
    )
    ways = [(mode, filled)]
    if mode == OWED and (rest := rested(layout, filled)):
        ways.append((FREE, rest))
    on = tap.seconds_on
    return [(mode, one._replace(end=one.end + on, spent=one.spent + on)) for mode, one in ways]


def _worked(layout: Layout, label: Label, k: int, window: Window, more_units: int) -> Label | None:
    """The label after the work at visit k in one of its windows, or None when it is too late for that."""
    first, last = window
    if label.end > last:
        return None
    work = layout.work[k]
    return Label(
        label.units + more_units,
        (label.end if label.end > first else first) + work,
        label.spent + work,
        min(label.latest, last - label.spent),
        label.water - layout.water[k],
        label.refills,
        Step(label.step, k, first),
    )


def next_labels(layout: Layout, label: Label, mode: int, here: int, k: int, thirst: int) -> Iterable[tuple[int, Label]]:
    """Every label that visiting k next can give."""
    for way, arrived in _driven(layout, label, mode, here, k, thirst):
        for window, more_units in zip(layout.starts[k], layout.more_units[k], strict=True):
            worked = _worked(layout, arrived, k, window, more_units)
            if worked is not None:
                yield way, worked
                if way == OWED and (rest := rested(layout, worked)):
                    yield FREE, rest


def finished(layout: Layout, label: Label, mode: int, here: int) -> tuple[int, int, Label] | None:
    """(Units, seconds from leave to back, label back home), or None when it is back too late or too long out."""
    table, end = layout.table, layout.table.end_of[layout.r]
    seconds = table.seconds[here][end]
    back, spent = label.end + seconds, label.spent + seconds
    closes = layout.closes(mode)
    if mode == OWED or back > closes:
        return None
    latest = min(label.latest, closes - spent)
    out = max(spent, back - latest)
    if out > layout.longest:
        return None
    over = overtime_units(table.problem.costs, max(0, out - layout.run.paid_seconds))
    home = label._replace(end=back, spent=spent, latest=latest)
    return label.units + table.drive[here][end] + over, out, home

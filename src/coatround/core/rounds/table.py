"""The problem laid out by number for the planner: which visit may go on which run, when, and what a leg costs."""

import datetime
from collections.abc import Collection, Mapping
from copy import copy
from dataclasses import dataclass, field
from functools import cached_property

from coatround.core.rounds.cost import UNIT, drive_units
from coatround.core.rounds.problem import Day, Problem, Run, Visit, Window

Starts = tuple[Window, ...]
"""The clock times between which work may start, one pair for each usable window."""


@dataclass(frozen=True, slots=True)
class Choice:
    """A visit on a run that may take it: what the day costs in UNIT-ths of a cent, and when work may start.

    `more_units` is what each of the `starts` costs beyond the day.
    """

    day_units: int
    starts: Starts
    more_units: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Tap:
    """A refill on the way between two places: which of the run's refill places, its legs and its seconds."""

    index: int
    place: int
    seconds_there: int
    seconds_filling: int
    seconds_on: int
    drive_units: int


def starts_on(visit: Visit, windows: tuple[Window, ...], run: Run) -> Starts:
    """When the work may start on this run: each window cut by the run's hours, less the work itself."""
    cut = ((max(a, run.open), min(b, run.close) - visit.seconds) for a, b in windows)
    return tuple((a, b) for a, b in cut if a <= b)


def pieces_on(visit: Visit, day: Day, run: Run) -> tuple[tuple[int, int, int], ...]:
    """When the work may start on this run, with what each stretch of it costs beyond the day, in cents."""
    kept, found = day.kept, list[tuple[int, int, int]]()
    for first, last in starts_on(visit, day.windows, run):
        if kept is None or not kept.cents:
            found.append((first, last, 0))
            continue
        found.append((first, min(last, kept.from_ - 1), kept.cents))
        found.append((max(first, kept.from_), min(last, kept.to), 0))
        found.append((max(first, kept.to + 1), last, kept.cents))
    return tuple(piece for piece in found if piece[0] <= piece[1])


def may_take(run: Run, visit: Visit) -> bool:
    """Whether van, needs, tank, power and noise of the run allow this visit when it is alone on it."""
    return (
        (visit.vans is None or run.van in visit.vans)
        and all(need in run.has for need in visit.needs)
        and _tank_holds(run, visit)
        and (run.power_wh is None or visit.power_wh <= run.power_wh)
        and (run.noise_percent is None or visit.noise_percent <= run.noise_percent)
    )


def _tank_holds(run: Run, visit: Visit) -> bool:
    full = run.water_l if run.water_at_start_l is None else run.water_at_start_l
    if run.refills and run.max_refills:
        full = run.water_l
    return visit.water_l <= full


@dataclass
class Table:
    """A problem with its ids turned into numbers. `problem.travel` must be there (ValueError if not)."""

    problem: Problem
    seconds: list[list[int]] = field(init=False)
    drive: list[list[int]] = field(init=False)
    choices: list[dict[int, Choice]] = field(init=False)

    def __post_init__(self) -> None:
        problem = self.problem
        if problem.travel is None:
            raise ValueError("problem.travel is None, expected the travel times between the places")
        self.place_number = number = {place.id: i for i, place in enumerate(problem.places)}
        self.place_of = [number[visit.place] for visit in problem.visits]
        self.start_of = [number[run.start_place] for run in problem.runs]
        self.end_of = [number[run.end_place] for run in problem.runs]
        self.taps_of = [tuple((number[r.place], r.seconds) for r in run.refills) for run in problem.runs]
        self.visit_number = {visit.id: i for i, visit in enumerate(problem.visits)}
        self.left_out_units = [UNIT * visit.left_out_cents for visit in problem.visits]
        self.first_of = [self.visit_number[visit.follows.visit] if visit.follows else None for visit in problem.visits]
        self.seconds = [list(row) for row in problem.travel.seconds]
        second, metre = drive_units(problem.costs, 1, 0), drive_units(problem.costs, 0, 1)
        self.drive = [
            [second * s + metre * m for s, m in zip(*rows, strict=True)]
            for rows in zip(problem.travel.seconds, problem.travel.metres, strict=True)
        ]
        self.choices = self._choices()
        self._taps: dict[tuple[int, int, int], tuple[Tap, ...]] = {}

    def _choices(self) -> list[dict[int, Choice]]:
        on_date: dict[object, list[int]] = {}
        for r, run in enumerate(self.problem.runs):
            on_date.setdefault(run.date, []).append(r)
        choices: list[dict[int, Choice]] = [{} for _ in self.problem.runs]
        for v, visit in enumerate(self.problem.visits):
            for day in visit.days:
                for r in on_date.get(day.date, ()):
                    run = self.problem.runs[r]
                    pieces = pieces_on(visit, day, run)
                    if pieces and may_take(run, visit):
                        starts = tuple((first, last) for first, last, _ in pieces)
                        more = tuple(UNIT * cents for _, _, cents in pieces)
                        choices[r][v] = Choice(UNIT * day.cents, starts, more)
        return choices

    def narrowed(self, allowed: Mapping[int, Collection[datetime.date]]) -> "Table":
        """This table with some visits kept to some dates."""
        table = copy(self)
        table.__dict__.pop("runs_for", None)
        table.choices = [
            {v: choice for v, choice in choices.items() if v not in allowed or run.date in allowed[v]}
            for run, choices in zip(self.problem.runs, self.choices, strict=True)
        ]
        return table

    @cached_property
    def runs_for(self) -> list[list[int]]:
        """The runs that may take each visit, in the order of the problem."""
        runs: list[list[int]] = [[] for _ in self.problem.visits]
        for r, choice in enumerate(self.choices):
            for v in choice:
                runs[v].append(r)
        return runs

    def taps(self, run: int, here: int, there: int) -> tuple[Tap, ...]:
        """The refills worth considering between two places: none is both slower and dearer than another."""
        key = (run, here, there)
        if key not in self._taps:
            self._taps[key] = self._best_taps(run, here, there)
        return self._taps[key]

    def _best_taps(self, run: int, here: int, there: int) -> tuple[Tap, ...]:
        found = [
            Tap(
                k,
                place,
                self.seconds[here][place],
                filling,
                self.seconds[place][there],
                self.drive[here][place] + self.drive[place][there],
            )
            for k, (place, filling) in enumerate(self.taps_of[run])
        ]
        found.sort(key=lambda tap: (tap.drive_units, _tap_seconds(tap), tap.index))
        kept: list[Tap] = []
        for tap in found:
            # With a break the legs before and after it count apart, so a tap is dropped only if both are no better.
            if not any(
                other.seconds_there + other.seconds_filling <= tap.seconds_there + tap.seconds_filling
                and other.seconds_on <= tap.seconds_on
                for other in kept
            ) and not (
                self.problem.runs[run].break_ is None
                and any(_tap_seconds(other) <= _tap_seconds(tap) for other in kept)
            ):
                kept.append(tap)
        return tuple(kept)


def _tap_seconds(tap: Tap) -> int:
    return tap.seconds_there + tap.seconds_filling + tap.seconds_on

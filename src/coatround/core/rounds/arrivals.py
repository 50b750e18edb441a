"""When a run arrives, as windows: the day simulated many times over, with common random numbers.

Work and drives are log-normal. Each drive and each visit has draws of its own, kept by its key and the seed: the same
seed gives the same answer, and a visit keeps its luck when the order around it changes. Draws are stratified (one from
each of as many equal slices of the normal distribution: Latin hypercube, McKay, Beckman and Conover 1979).

An arrival is at the door: where the van is there before a visit may begin, it waits, and the arrival is when it may.
Clock times are whole wall-clock seconds after midnight of the run's date and may pass 86,400.
"""

import math
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from coatround.core.errors import BadInput
from coatround.core.learn.drives import BELIEF
from coatround.core.rounds.plan import BreakStop, PlannedRun, RefillStop, VisitStop
from coatround.core.rounds.problem import Problem, Run, Visit, Window
from coatround.core.units import MINUTE

DRAWS = 4000
QUARTER = 15 * MINUTE
DRIVE_SPREAD = BELIEF.value_spread
"""Our own default before any drive is seen: the standard deviation of a single drive's logarithm."""
WORK_SPREAD_PERCENT = 20
"""Our own default: the standard deviation, in percent of the expected seconds, of work whose spread is not given."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class StopAhead:
    """A stop still ahead: the drive there (0 for a break), the work, and the clock time before which it doesn't begin.

    `drive_seconds` is the median and `drive_spread` the standard deviation of the logarithm, as learnt from drives;
    `work_seconds` is the mean and `work_sd` the standard deviation. Only visits have arrivals.
    """

    key: str
    is_visit: bool
    drive_seconds: int
    work_seconds: int
    work_sd: int = 0
    opens: int = 0
    drive_spread: float = DRIVE_SPREAD


@dataclass(frozen=True, slots=True)
class Arrival:
    """When a visit's door is reached: windows in seconds, both ends inside, and the share that wait for `opens`.

    `told` is `window_95` rounded outward to the quarter hour. `spread` is the factor the windows were reckoned with.
    """

    key: str
    opens: int
    waits: float
    median: int
    window_80: Window
    window_95: Window
    told: Window
    spread: float = 1.0


def lognormal(mean: float, sd: float) -> tuple[float, float]:
    """Mean and standard deviation of the logarithm, from those of the value itself; raises BadInput."""
    if mean <= 0 or sd < 0:
        raise BadInput("mean, sd", f"are {mean:g} and {sd:g}, expected a mean over 0 and a deviation of 0 or more")
    sigma2 = math.log1p((sd / mean) ** 2)
    return math.log(mean) - sigma2 / 2, math.sqrt(sigma2)


def stops_ahead(problem: Problem, planned: PlannedRun, drive_spread: float = DRIVE_SPREAD) -> tuple[StopAhead, ...]:
    """The stops of a planned run as they are to be simulated. `problem.travel` must be there (ValueError if not)."""
    if problem.travel is None:
        raise ValueError("problem.travel is None, expected the travel times between the places")
    number = {place.id: i for i, place in enumerate(problem.places)}
    visits = {visit.id: visit for visit in problem.visits}
    run = next(run for run in problem.runs if run.id == planned.id)
    stops = []
    here = number[run.start_place]
    for index, stop in enumerate(planned.stops):
        if isinstance(stop, BreakStop):
            opens = run.break_.from_ if run.break_ else 0
            stops.append(StopAhead(f"break {index}", False, 0, stop.seconds, opens=opens))
            continue
        there = number[stop.refill if isinstance(stop, RefillStop) else visits[stop.visit].place]
        drive = problem.travel.seconds[here][there]
        here = there
        if isinstance(stop, RefillStop):
            filling = stop.end - stop.arrive
            stops.append(StopAhead(f"refill {index}", False, drive, filling, drive_spread=drive_spread))
        else:
            stops.append(_visit_ahead(visits[stop.visit], stop, run, drive, drive_spread))
    return tuple(stops)


def _visit_ahead(visit: Visit, stop: VisitStop, run: Run, drive: int, drive_spread: float) -> StopAhead:
    """A planned wait is a door that opens no sooner; otherwise the window opens it that the plan works in."""
    opens = stop.start
    if stop.start <= stop.arrive:
        windows = (window for day in visit.days if day.date == run.date for window in day.windows)
        opens = max((from_ for from_, to in windows if from_ <= stop.start < to), default=0)
    sd = visit.seconds * WORK_SPREAD_PERCENT // 100 if visit.seconds_sd is None else visit.seconds_sd
    return StopAhead(visit.id, True, drive, visit.seconds, sd, opens, drive_spread)


def arrivals(
    leave: int, stops: Sequence[StopAhead], seed: int, spread: float = 1.0, draws: int = DRAWS
) -> tuple[Arrival, ...]:
    """When each visit among these stops is reached by a run that leaves at `leave`, in their order.

    `spread` multiplies every standard deviation (see `corrected` in held.py). The run goes on in its order however late
    it gets; a break is taken whole, not before its time. Raises BadInput for a spread below 0.
    """
    if spread < 0:
        raise BadInput("spread", f"is {spread:g}, expected 0 or more")
    return tuple(_arrival(stop, there, spread) for stop, there in _reached(leave, stops, seed, spread, draws))


def share_inside(
    leave: int,
    stops: Sequence[StopAhead],
    key: str,
    window: Window,
    seed: int,
    spread: float = 1.0,
    draws: int = DRAWS,
) -> float:
    """The share of days on which the visit `key` is reached inside a window, both ends inside; the same days as above.

    Raises BadInput where no such visit is ahead, or for a spread below 0.
    """
    if spread < 0:
        raise BadInput("spread", f"is {spread:g}, expected 0 or more")
    for stop, there in _reached(leave, stops, seed, spread, draws):
        if stop.key == key:
            at = np.maximum(there, stop.opens)
            return float(np.mean((at >= window[0]) & (at <= window[1])))
    raise BadInput("key", f"is {key!r}, expected a visit among the stops")


def _reached(
    leave: int, stops: Sequence[StopAhead], seed: int, spread: float, draws: int
) -> Iterator[tuple[StopAhead, Floats]]:
    """Each visit with the seconds at which the van is there, a draw each, waiting not counted."""
    free = np.full(draws, float(leave))
    before = ""
    for stop in stops:
        there = free
        if stop.drive_seconds:
            sigma = stop.drive_spread * spread
            there = free + stop.drive_seconds * np.exp(sigma * _normal(f"{before}>{stop.key}", seed, draws))
        if stop.is_visit:
            yield stop, there
        free = np.maximum(there, stop.opens) + _work(stop, seed, spread, draws)
        before = stop.key


def _work(stop: StopAhead, seed: int, spread: float, draws: int) -> Floats | int:
    if not (stop.work_seconds and stop.work_sd and spread):
        return stop.work_seconds
    mu, sigma = lognormal(stop.work_seconds, stop.work_sd * spread)
    return np.exp(mu + sigma * _normal(stop.key, seed, draws))


def _normal(key: str, seed: int, draws: int) -> Floats:
    """Standard normal draws that belong to this key, in an order of their own."""
    return np.random.default_rng([seed, zlib.crc32(key.encode())]).permutation(_slices(draws))


@cache
def _slices(draws: int) -> Floats:
    """The middles of so many slices of the normal distribution, all equally likely."""
    return np.array([NormalDist().inv_cdf((i + 0.5) / draws) for i in range(draws)])


def window_levels(share: float, waits: float) -> tuple[float, float]:
    """Between which levels of the distribution a window lies that holds `share` of arrivals.

    Both tails alike; but where more wait than a tail is wide, the window begins when the door opens and all that is
    outside is late.
    """
    tail = (1 - share) / 2
    return (tail, 1 - tail) if waits <= tail else (0.0, max(share, waits))


def _arrival(stop: StopAhead, there: Floats, spread: float) -> Arrival:
    waits = float(np.mean(there < stop.opens))
    at = np.sort(np.maximum(there, stop.opens))
    window_95 = _window(at, 0.95, waits)
    return Arrival(
        stop.key,
        stop.opens,
        waits,
        round(_quantile(at, 0.5)),
        _window(at, 0.8, waits),
        window_95,
        told_window(window_95),
        spread,
    )


def _window(at: Floats, share: float, waits: float) -> Window:
    """In whole seconds, rounded outward."""
    low, high = window_levels(share, waits)
    return math.floor(_quantile(at, low)), math.ceil(_quantile(at, high) if high > waits else at[0])


def _quantile(at: Floats, level: float) -> float:
    """Of sorted draws, each the middle of its slice."""
    where = min(max(level * len(at) - 0.5, 0.0), len(at) - 1.0)
    below = int(where)
    above = min(below + 1, len(at) - 1)
    return float(at[below] + (where - below) * (at[above] - at[below]))


def told_window(window: Window) -> Window:
    """The window to tell: outward to quarter hours, and never shorter than one."""
    low, high = window
    from_ = low // QUARTER * QUARTER
    return from_, max(-(-high // QUARTER) * QUARTER, from_ + QUARTER)

"""The answer to a round problem as frozen data; the fields are the keys of the `coatround-plan-1` file."""

from dataclasses import dataclass
from typing import Final

REASONS: Final = (
    "no_day",
    "window_too_short",
    "no_run",
    "no_room",
    "dearer_than_left_out",
    "told_broken",
)


@dataclass(frozen=True, slots=True)
class Cost:
    """The cost by part in cents; `total` is the sum of the other five, each rounded once."""

    total: int
    drive: int
    overtime: int
    runs: int
    days: int
    left_out: int


@dataclass(frozen=True, slots=True)
class VisitStop:
    """Work at a household: `end` - `start` is the whole work, waiting lies between `arrive` and `start`."""

    visit: str
    arrive: int
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class RefillStop:
    """Filling the clean tank and emptying the grey one at the place `refill`."""

    refill: str
    arrive: int
    end: int


@dataclass(frozen=True, slots=True)
class BreakStop:
    """A rest at the place of the stop before it; `seconds` is the key `break` of the file."""

    seconds: int
    start: int
    end: int


Stop = VisitStop | RefillStop | BreakStop


@dataclass(frozen=True, slots=True)
class PlannedRun:
    """A run in use: when it leaves its start place, its stops in order, when it is back at its end place."""

    id: str
    leave: int
    back: int
    stops: tuple[Stop, ...]

    @property
    def visit_ids(self) -> tuple[str, ...]:
        """The visits of this run in order."""
        return tuple(stop.visit for stop in self.stops if isinstance(stop, VisitStop))


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A visit that was not planned: one of REASONS, and words a person can act on."""

    visit: str
    reason: str
    words: str


@dataclass(frozen=True, slots=True)
class Plan:
    """Runs in the order of the problem, what was left out in the order of the problem, and the cost."""

    cost: Cost
    runs: tuple[PlannedRun, ...]
    left_out: tuple[LeftOut, ...]
    seed: int = 0
    iterations: int = 0
    seconds: int = 0

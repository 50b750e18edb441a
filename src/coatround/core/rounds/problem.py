"""The round problem as frozen data; the fields are the keys of the `coatround-round-1` and `-2` files.

Whole numbers throughout: seconds, seconds after midnight of the run's date for clock times (they may pass
86,400), metres, minor units of money ("cents"), litres, watt-hours, percent. Only `lat` and `lon` are not.
`break` and `from` are words of the language, so those two fields are `break_` and `from_`.
"""

import datetime
from dataclasses import dataclass

Window = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Costs:
    """What an hour of driving, a kilometre, an hour of overtime and a run used cost, in cents."""

    cents_per_drive_hour: int
    cents_per_km: int
    cents_per_overtime_hour: int
    cents_per_run: int


@dataclass(frozen=True, slots=True)
class Place:
    """A point where a van can stop; degrees north and east."""

    id: str
    lat: float
    lon: float


@dataclass(frozen=True, slots=True)
class Travel:
    """Seconds (parking and setting up included) and metres, each place to each, in the order of `places`."""

    seconds: tuple[tuple[int, ...], ...]
    metres: tuple[tuple[int, ...], ...]


@dataclass(frozen=True, slots=True)
class Refill:
    """A place with tap and drain, and how long filling and emptying takes there."""

    place: str
    seconds: int


@dataclass(frozen=True, slots=True)
class Break:
    """A rest that is due when the run leaves at or before `from_` and is back at or after `to`."""

    seconds: int
    from_: int
    to: int


@dataclass(frozen=True, slots=True)
class Run:
    """One van's working day.

    `power_wh` or `noise_percent` None is no limit; `water_at_start_l` None is a full tank.
    """

    id: str
    van: str
    date: datetime.date
    start_place: str
    end_place: str
    open: int
    close: int
    paid_seconds: int
    max_overtime_seconds: int
    water_l: int
    max_refills: int
    refills: tuple[Refill, ...] = ()
    power_wh: int | None = None
    noise_percent: int | None = None
    break_: Break | None = None
    has: tuple[str, ...] = ()
    water_at_start_l: int | None = None


@dataclass(frozen=True, slots=True)
class Kept:
    """Starts from `from_` to `to`, both ends inside, cost nothing more; any other costs `cents` more."""

    from_: int
    to: int
    cents: int


@dataclass(frozen=True, slots=True)
class Day:
    """A date a visit may fall on, what that date costs, and the windows that must hold the whole work.

    `kept` is the time of day that is preferred, if any.
    """

    date: datetime.date
    cents: int
    windows: tuple[Window, ...]
    kept: Kept | None = None

    def cents_at(self, start: int) -> int:
        """What this date costs with the work starting then."""
        kept = self.kept
        return self.cents + (kept.cents if kept and not kept.from_ <= start <= kept.to else 0)


@dataclass(frozen=True, slots=True)
class Follows:
    """The visit this one comes after, `least_days` to `most_days` later; void if that one is left out."""

    visit: str
    least_days: int
    most_days: int


@dataclass(frozen=True, slots=True)
class Visit:
    """One arrival at one household. `vans` None is any van; rank 0 unvaccinated puppy, 1 usual, 2 fleas."""

    id: str
    place: str
    seconds: int
    water_l: int
    left_out_cents: int
    days: tuple[Day, ...]
    power_wh: int = 0
    noise_percent: int = 0
    rank: int = 1
    vans: tuple[str, ...] | None = None
    needs: tuple[str, ...] = ()
    follows: Follows | None = None
    seconds_sd: int | None = None
    told: bool = False


@dataclass(frozen=True, slots=True)
class Problem:
    """Everything the planner knows. `travel` None has to be filled by the roads before planning."""

    costs: Costs
    places: tuple[Place, ...]
    travel: Travel | None
    runs: tuple[Run, ...]
    visits: tuple[Visit, ...]

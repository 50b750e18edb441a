"""What a run sheet shows, as frozen data."""

import datetime as dt
import uuid
from dataclasses import dataclass

from coatround.core.run import DayNow, StopNow
from coatround.core.trade.kit import Kit
from coatround.core.trade.water import TAP_COLD_C, TAP_HOT_C, TEPID_C, bath_water
from coatround.web.base.picture import Picture
from coatround.web.roads.map import MapShown


@dataclass(frozen=True, slots=True)
class SheetCaution:
    """A caution in words: its kind, and what to do about it."""

    kind: str
    words: str


@dataclass(frozen=True, slots=True)
class SheetPour:
    """One product of a bath: millilitres by its label's ratio, or none where it is used as it comes."""

    name: str
    ml: int | None
    ratio: str
    contact_minutes: int


@dataclass(frozen=True, slots=True)
class SheetBath:
    """What one step of the routine takes: a bath of so many litres with its products, or products used neat."""

    step: str
    litres: int | None
    pours: tuple[SheetPour, ...]
    contact_minutes: int

    @property
    def hot_litres(self) -> float | None:
        """Litres of hot water for a tepid bath by our own defaults; None where it is no bath."""
        return bath_water(self.litres, TEPID_C, TAP_HOT_C, TAP_COLD_C).hot_litres if self.litres else None


@dataclass(frozen=True, slots=True)
class SheetStep:
    """One step of the routine and how; `mix` is its bath on one line, for paper."""

    step: str
    words: str
    mix: str = ""


@dataclass(frozen=True, slots=True)
class SheetDog:
    """One dog of a visit: cautions first, then the last time, then the routine."""

    id: uuid.UUID
    name: str
    about: str
    cautions: tuple[SheetCaution, ...]
    handling: tuple[str, ...]
    at_the_work: tuple[str, ...]
    cut: str
    last: dt.date | None
    last_words: str
    findings: tuple[str, ...]
    steps: tuple[SheetStep, ...]
    baths: tuple[SheetBath, ...]
    has_usual: bool


@dataclass(frozen=True, slots=True)
class SheetPlace:
    """Where: the address, a geo address for the way there, and what to know at the gate."""

    id: uuid.UUID
    address: str
    geo: str
    notes: tuple[str, ...]
    has_keys: bool


@dataclass(frozen=True, slots=True)
class SheetPerson:
    """Someone to ring."""

    name: str
    phone: str


@dataclass(frozen=True, slots=True)
class SheetTurn:
    """One turn of a drive, in words, and how far one drives after it."""

    words: str
    distance: str


@dataclass(frozen=True, slots=True)
class SheetDrive:
    """The drive to a stop or home: how far, whether it is known by road, and turn by turn where it is."""

    metres: int = 0
    distance: str = ""
    by_road: bool = False
    turns: tuple[SheetTurn, ...] = ()


@dataclass(frozen=True, slots=True)
class SheetStop:
    """One stop with its clock times as they now look; `likely` is when it is reached on four days of five."""

    now: StopNow
    title: str
    place: SheetPlace | None
    drive: SheetDrive = SheetDrive()
    visit: uuid.UUID | None = None
    household: uuid.UUID | None = None
    household_name: str = ""
    told: str = ""
    wanted: str = ""
    is_called_off: bool = False
    likely: tuple[int, int] | None = None
    dogs: tuple[SheetDog, ...] = ()
    people: tuple[SheetPerson, ...] = ()

    @property
    def kind(self) -> str:
        return self.now.plan.kind

    @property
    def has_cautions(self) -> bool:
        return any(dog.cautions for dog in self.dogs)


@dataclass(frozen=True, slots=True)
class HotHours:
    """The hours of a hot day, in seconds after midnight, with the names of the run's dogs that must not be in them."""

    from_: int
    until: int
    dogs: tuple[str, ...]

    def holds(self, stop: SheetStop) -> bool:
        """Whether one of these dogs is still to be worked on in them, as it now looks."""
        is_ahead = stop.now.state in ("to do", "on the table") and not stop.is_called_off
        is_hot = stop.now.start < self.until and stop.now.end > self.from_
        return is_ahead and is_hot and any(dog.name in self.dogs for dog in stop.dogs)


@dataclass(frozen=True, slots=True)
class RunSheet:
    """One run as it now looks."""

    id: uuid.UUID
    date: dt.date
    van: str
    groomer: str
    is_today: bool
    seconds_now: int | None
    is_over: bool
    tank_l: int
    bath_l: int
    units: str
    start: str
    end: str
    day: DayNow
    stops: tuple[SheetStop, ...]
    home: SheetDrive
    on_map: MapShown
    kit: Kit
    hot: HotHours | None = None
    heat: tuple[tuple[int, float], ...] = ()
    degrees: str = "°C"
    through: Picture | None = None
    through_rows: tuple[tuple[int, int], ...] = ()
    dose_percent: int = 0

    @property
    def in_heat(self) -> tuple[SheetStop, ...]:
        """The stops at which a dog with a caution for heat would be on the table in the hot hours."""
        return tuple(stop for stop in self.visits if self.hot and self.hot.holds(stop))

    @property
    def visits(self) -> tuple[SheetStop, ...]:
        return tuple(stop for stop in self.stops if stop.kind == "visit")

    @property
    def dog_count(self) -> int:
        return sum(len(stop.dogs) for stop in self.visits)

    @property
    def next(self) -> SheetStop | None:
        return next((stop for stop in self.stops if stop.now is self.day.next), None)

    @property
    def is_begun(self) -> bool:
        return any(stop.now.state != "to do" for stop in self.visits if not stop.is_called_off)

    @property
    def drive_seconds(self) -> int:
        last_end = self.stops[-1].now.end if self.stops else self.day.leave
        return sum(stop.now.plan.drive_seconds for stop in self.stops) + self.day.back - last_end

    @property
    def metres(self) -> int:
        return sum(stop.drive.metres for stop in self.stops) + self.home.metres

    @property
    def by_road(self) -> bool:
        """Whether every drive of it is known by road."""
        return self.home.by_road and all(stop.drive.by_road for stop in self.stops if stop.kind != "break")

    @property
    def is_partly_by_road(self) -> bool:
        """Whether any drive of it is known by road."""
        return self.home.by_road or any(stop.drive.by_road for stop in self.stops)

    @property
    def has_keys_today(self) -> bool:
        return self.is_today and any(stop.place and stop.place.has_keys for stop in self.stops)

"""One van's day laid along the clock: what was expected and told, and what then happened. Seconds after midnight."""

import datetime as dt
import math
from collections.abc import Callable
from dataclasses import dataclass, field
from random import Random

from coatround.demo import town
from coatround.demo.days import Planned
from coatround.demo.people import DemoDog, DemoHousehold

LEAVE = 8 * 3600
SETTING_UP = 480
PACKING_UP = 420
BREAK_SECONDS = 1800
BREAK_FROM = 41_400
BREAK_UNTIL = 50_400
REFILL_SECONDS = 900
CLEAN_L = 150
QUARTER = 900
WITHIN_DOG = 0.15
WITHIN_DRIVE = 0.12
COAT_BLOW = {"double": {9: 1.12, 10: 1.22, 11: 1.15, 3: 1.08, 4: 1.12}, "smooth": {10: 1.06, 11: 1.04}}
"""By how much longer the work on a coat takes in the months in which it is blown (south of the equator)."""


@dataclass(slots=True)
class GroomTime:
    """When the work on one dog began and how many seconds it took."""

    dog: DemoDog
    start: int
    seconds: int


@dataclass(slots=True)
class StopTime:
    """One stop of the day, a visit unless `kind` says otherwise."""

    kind: str
    planned: Planned | None
    drive_seconds: int
    drive_metres: int
    arrive: int
    start: int
    end: int
    water_l: int = 0
    told_from: int = 0
    told_until: int = 0
    grooms: list[GroomTime] = field(default_factory=list)


@dataclass(slots=True)
class DayTime:
    """The day's stops in order, when the van left, when it was back, and the way home."""

    stops: list[StopTime]
    leave: int
    back: int
    home_metres: int = 0


Drive = Callable[[town.Point, town.Point], tuple[int, int]]
"""Whole seconds and metres from one point to another, on free roads."""
Rush = Callable[[dt.date, int], float]
"""By how much longer a drive takes on a date at a second of the day than on free roads."""


def no_rush(_date: dt.date, _seconds: int) -> float:
    """Roads that are free at all hours."""
    return 1.0


@dataclass(frozen=True, slots=True)
class Depot:
    """Where the van leaves from and fills and empties its tanks; how it drives, and whether that is known by road."""

    home: town.Point
    refill: town.Point
    drive: Drive = town.drive
    rush: Rush = no_rush
    by_road: bool = False


def slot(household: DemoHousehold) -> tuple[int, float]:
    """A household's place in the order of its day: mornings first, afternoons last, each always about the same."""
    part = {"morning": 0, "": 1, "afternoon": 2}[household.part_of_day]
    return part, household.number * 0.618034 % 1


def lay_day(date: dt.date, planned: list[Planned], depot: Depot, chance: Random | None) -> DayTime:
    """The day as it went, with the windows told from what was expected; without chance, the day as expected."""
    order = sorted((each for each in planned if not each.called_off), key=lambda each: slot(each.household))
    day = _Day(date, depot, chance)
    for each in order:
        day.visit(each)
    return day.ended()


class _Day:
    """The day as it is being laid: two clocks, the expected one and the real one."""

    def __init__(self, date: dt.date, depot: Depot, chance: Random | None) -> None:
        self.date, self.depot, self.chance = date, depot, chance
        self.stops: list[StopTime] = []
        self.here = depot.home
        self.expected = self.now = LEAVE
        self.tank_l = CLEAN_L
        self.rested = False

    def visit(self, planned: Planned) -> None:
        litres = sum(dog.litres for dog in planned.dogs)
        if litres > self.tank_l:
            self._refill()
        seconds, metres = self._drive(planned.household.address.point)
        earliest = 12 * 3600 if planned.household.part_of_day == "afternoon" else 0
        self.expected = max(self.expected + seconds, earliest)
        told_from = (self.expected - 300) // QUARTER * QUARTER
        arrive = self.now + self._real_drive(seconds)
        stop = StopTime("visit", planned, seconds, metres, arrive, max(arrive, told_from), 0, litres)
        stop.told_from, stop.told_until = told_from, told_from + 2 * QUARTER
        self._work(stop)
        self.tank_l -= litres
        self.expected += SETTING_UP + PACKING_UP + sum(round(dog.seconds) for dog in planned.dogs)
        self.now = stop.end
        self.stops.append(stop)
        if not self.rested and stop.end >= BREAK_FROM:
            self._rest()

    def _work(self, stop: StopTime) -> None:
        assert stop.planned is not None
        at = stop.start + SETTING_UP
        if self.chance is None or not stop.planned.turned_away:
            for dog in stop.planned.dogs:
                seconds = self._seconds(dog)
                stop.grooms.append(GroomTime(dog, at, seconds))
                at += seconds
        stop.end = at + PACKING_UP

    def _seconds(self, dog: DemoDog) -> int:
        """The dog's own pace, the month's coat, and a log-normal spread within the dog."""
        spread = math.sqrt(math.log(1 + WITHIN_DOG**2))
        month = COAT_BLOW.get(dog.breed.coat, {}).get(self.date.month, 1.0)
        if self.chance is None:
            return round(dog.seconds)
        return round(dog.seconds * month * math.exp(self.chance.gauss(0, spread) - spread**2 / 2))

    def _real_drive(self, seconds: int) -> int:
        if self.chance is None:
            return seconds
        slower = self.depot.rush(self.date, self.now)
        return round(seconds * slower * math.exp(self.chance.gauss(0, WITHIN_DRIVE)))

    def _drive(self, there: town.Point) -> tuple[int, int]:
        here, self.here = self.here, there
        return self.depot.drive(here, there)

    def _rest(self) -> None:
        self.rested = True
        self.stops.append(StopTime("break", None, 0, 0, self.now, self.now, self.now + BREAK_SECONDS))
        self.now += BREAK_SECONDS
        self.expected += BREAK_SECONDS

    def _refill(self) -> None:
        seconds, metres = self._drive(self.depot.refill)
        arrive = self.now + seconds
        self.stops.append(StopTime("refill", None, seconds, metres, arrive, arrive, arrive + REFILL_SECONDS))
        self.now = arrive + REFILL_SECONDS
        self.expected += seconds + REFILL_SECONDS
        self.tank_l = CLEAN_L

    def ended(self) -> DayTime:
        seconds, metres = self.depot.drive(self.here, self.depot.home)
        return DayTime(self.stops, LEAVE, self.now + seconds, metres)

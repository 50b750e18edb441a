"""Which household was visited on which day: two years of due dates laid on working days that have room."""

import datetime as dt
import heapq
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field
from random import Random

from coatround.demo.people import DemoDog, DemoHousehold

DAY_SECONDS = 27_000
SECONDS_ROUND_A_VISIT = 1_600
TOGETHER_DAYS = 10
WEEKS_AHEAD = 8

IsWorkday = Callable[[dt.date], bool]


@dataclass(slots=True)
class Planned:
    """One household on one day with the dogs that were done, or that were called off."""

    household: DemoHousehold
    date: dt.date
    dogs: list[DemoDog]
    called_off: str = ""
    turned_away: str = ""
    after: "Planned | None" = None


@dataclass(slots=True)
class Calendar:
    """What falls on each day, and how many seconds of the day are spoken for."""

    days: dict[dt.date, list[Planned]] = field(default_factory=lambda: defaultdict(list))
    used: dict[dt.date, float] = field(default_factory=lambda: defaultdict(float))


def lay_days(found: list[DemoHousehold], monday: dt.date, is_workday: IsWorkday, chance: Random) -> Calendar:
    """Every visit from when a household joined to some weeks ahead, each on a day with room."""
    calendar = Calendar()
    until = monday + dt.timedelta(weeks=WEEKS_AHEAD)
    due: dict[int, dt.date] = {}
    waiting: list[tuple[dt.date, int]] = []
    last: dict[int, Planned] = {}
    for place, household in enumerate(found):
        for dog in household.dogs:
            due[id(dog)] = household.joined
        heapq.heappush(waiting, (household.joined, place))
    while waiting:
        wanted, place = heapq.heappop(waiting)
        household = found[place]
        if wanted >= until or (household.left and wanted >= household.left):
            continue
        dogs = [dog for dog in household.dogs if due[id(dog)] <= wanted + dt.timedelta(days=TOGETHER_DAYS)]
        date = _day_with_room(household, wanted, dogs, calendar, is_workday)
        dogs = [dog for dog in dogs if dog.died is None or date < dog.died]
        if not dogs:
            continue
        planned = Planned(household, date, dogs)
        if chance.random() < 0.03 and date < monday:
            planned.called_off = chance.choice(
                ("away that week", "dog unwell", "forgot, asked for next week", "visitors")
            )
        elif len(dogs) == 1 and chance.random() < 0.008 and date < monday:
            planned.turned_away = chance.choice(("cough", "vomit", "stitches"))
        calendar.days[date].append(planned)
        if not planned.called_off:
            calendar.used[date] += _seconds(dogs)
        if place in last:
            last[place].after = planned
        last[place] = planned
        for dog in dogs:
            due[id(dog)] = date + _gap(dog, planned, chance)
        alive = [due[id(dog)] for dog in household.dogs if dog.died is None or due[id(dog)] < dog.died]
        if alive:
            heapq.heappush(waiting, (max(min(alive), date + dt.timedelta(days=1)), place))
    return calendar


def _seconds(dogs: list[DemoDog]) -> float:
    return sum(dog.seconds for dog in dogs) + SECONDS_ROUND_A_VISIT


def _gap(dog: DemoDog, planned: Planned, chance: Random) -> dt.timedelta:
    """The dog's interval give or take; a week when the visit was called off, two when the dog was turned away."""
    if planned.called_off or planned.turned_away:
        return dt.timedelta(days=7 if planned.called_off else 14)
    days = dog.weeks * 7
    return dt.timedelta(days=max(14, days + round(chance.gauss(0, 0.07 * days))))


def _day_with_room(
    household: DemoHousehold, wanted: dt.date, dogs: list[DemoDog], calendar: Calendar, is_workday: IsWorkday
) -> dt.date:
    """The best working day near the one wanted: on the usual weekday if it can be, with room for the dogs."""
    best: tuple[float, dt.date] | None = None
    need = _seconds(dogs)
    for away in range(-6, 29):
        date = wanted + dt.timedelta(days=away)
        if not is_workday(date) or (household.weekdays and date.weekday() not in household.weekdays):
            continue
        over = max(0.0, calendar.used[date] + need - DAY_SECONDS)
        score = abs(away) + (3 if away < 0 else 0) + (0 if date.weekday() == household.weekday else 4) + over / 90
        if any(other.household is household for other in calendar.days[date]) or date < household.joined:
            continue
        if best is None or score < best[0]:
            best = (score, date)
    return best[1] if best else wanted

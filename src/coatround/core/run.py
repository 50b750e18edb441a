"""One planned day, what is done so far, and now: clock times from here, how late, slack, what is in tank and battery.

Clock times are wall-clock seconds after midnight of the run's date and may pass 86,400. What happened counts as it
happened; what is to come keeps its planned drive and work. Nothing here knows the time: `now` comes in.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from coatround.core.trade.water import Draw, Point, tank_line

Kind = Literal["visit", "refill", "break"]
State = Literal["to do", "on the table", "done", "not done"]


@dataclass(frozen=True, slots=True)
class PlannedStop:
    """A stop as planned. `told` is the window a household was given to be there in; `drive_seconds` leads to it."""

    key: str
    kind: Kind
    arrive: int
    start: int
    end: int
    drive_seconds: int = 0
    water_l: int = 0
    power_wh: int = 0
    told: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True)
class PlannedDay:
    """One van's day as it was accepted. `close` is when it has to be back; `battery_wh` None is no battery known."""

    leave: int
    back: int
    close: int
    stops: tuple[PlannedStop, ...]
    tank_l: int
    battery_wh: int | None = None


@dataclass(frozen=True, slots=True)
class Done:
    """What has happened at a stop so far. `ended` None is still at it; `is_off`: called off, or not done."""

    key: str
    started: int | None = None
    ended: int | None = None
    water_l: int | None = None
    is_off: bool = False


@dataclass(frozen=True, slots=True)
class StopNow:
    """A stop as it stands now.

    `slack_seconds` is how much later it can get before this or a later told window, or the day's end, breaks.
    """

    plan: PlannedStop
    state: State
    arrive: int
    start: int
    end: int
    slack_seconds: int
    water_before_l: float
    water_after_l: float

    @property
    def is_ahead(self) -> bool:
        """Whether it is a visit still to do, or under way."""
        return self.plan.kind == "visit" and self.state in ("to do", "on the table")

    @property
    def late_seconds(self) -> int:
        """Against the plan: at arriving while to do, at ending after that."""
        return self.arrive - self.plan.arrive if self.state == "to do" else self.end - self.plan.end

    @property
    def breaks_told(self) -> bool:
        """Whether it would be reached after what the household was told."""
        return self.state == "to do" and self.plan.told is not None and self.arrive > self.plan.told[1]


@dataclass(frozen=True, slots=True)
class DayNow:
    """The day from here. `next` is the visit under way or the next to do; None when all is done."""

    stops: tuple[StopNow, ...]
    next: StopNow | None
    leave: int
    back: int
    slack_seconds: int
    late_seconds: int
    tank: tuple[Point, ...]
    power: tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class _Times:
    state: State
    arrive: int
    start: int
    end: int


def day_now(day: PlannedDay, done: Sequence[Done] = (), now: int | None = None) -> DayNow:
    """The day as it now looks: what was begun first, in the order it was begun, then the rest as planned.

    `now` None (another date) leaves the plan's times. A refill or break before the last visit begun counts as done; a
    visit passed over is still to do, after the ones begun.
    """
    by_key = {each.key: each for each in done}
    opens = _opens(day)
    stops = _in_order(day.stops, by_key)
    times = _times(day, stops, by_key, opens, now)
    back = _back(day, times)
    waters = [
        0 if at.state == "not done" else _water(stop, by_key.get(stop.key))
        for stop, at in zip(stops, times, strict=True)
    ]
    slack, levels = _slack(day, stops, times, back), _levels(day, stops, waters)
    stops_now = tuple(
        StopNow(plan, at.state, at.arrive, at.start, at.end, slack[index], *levels[index])
        for index, (plan, at) in enumerate(zip(stops, times, strict=True))
    )
    ahead = next((stop for stop in stops_now if stop.is_ahead), None)
    return DayNow(
        stops_now,
        ahead,
        day.leave,
        back,
        ahead.slack_seconds if ahead else day.close - back,
        ahead.late_seconds if ahead else back - day.back,
        _line(day.tank_l, day, stops_now, back, [stop.water_before_l - stop.water_after_l for stop in stops_now]),
        () if day.battery_wh is None else _line(day.battery_wh, day, stops_now, back, _power(stops_now)),
    )


def _opens(day: PlannedDay) -> dict[str, int]:
    """The earliest start at each stop: a planned wait is a door that opens no sooner; a told window neither."""
    opens = {}
    at = day.leave
    for stop in day.stops:
        waited = stop.start > at + stop.drive_seconds
        told_from = min(stop.told[0], stop.start) if stop.told is not None else 0
        opens[stop.key] = stop.start if waited else told_from
        at = stop.end
    return opens


def _in_order(stops: Sequence[PlannedStop], done: dict[str, Done]) -> tuple[PlannedStop, ...]:
    begun = {key: each.started for key, each in done.items() if each.started is not None}
    last = max((index for index, stop in enumerate(stops) if stop.key in begun), default=-1)
    passed = [stop for stop in stops[: last + 1] if not (stop.kind == "visit" and stop.key not in begun)]
    visits = iter(sorted((stop for stop in passed if stop.kind == "visit"), key=lambda stop: begun[stop.key]))
    first = [next(visits) if stop.kind == "visit" else stop for stop in passed]
    taken = {stop.key for stop in first}
    return (*first, *(stop for stop in stops if stop.key not in taken))


def _times(
    day: PlannedDay, stops: Sequence[PlannedStop], done: dict[str, Done], opens: dict[str, int], now: int | None
) -> list[_Times]:
    if now is None and not done:
        return [_Times("to do", stop.arrive, stop.start, stop.end) for stop in stops]
    times: list[_Times] = []
    at = day.leave
    for index, stop in enumerate(stops):
        each = done.get(stop.key)
        if each is not None and (each.started is not None or each.is_off):
            here = _as_it_was(stop, each, at, now)
        else:
            begun = [done[later.key].started for later in stops[index:] if later.key in done]
            before = next((started for started in begun if started is not None), None)
            here = _to_come(stop, opens[stop.key], at, now) if before is None else _passed(stop, opens, at, before)
        times.append(here)
        at = here.end
    return times


def _as_it_was(stop: PlannedStop, done: Done, at: int, now: int | None) -> _Times:
    arrive = at + stop.drive_seconds
    if done.started is None:
        return _Times("not done", at, at, at)
    started = max(done.started, at)
    arrive = min(arrive, started)
    if done.ended is not None:
        return _Times("not done" if done.is_off else "done", arrive, started, max(done.ended, started))
    return _Times("on the table", arrive, started, max(started + stop.end - stop.start, now or 0))


def _to_come(stop: PlannedStop, opens: int, at: int, now: int | None) -> _Times:
    arrive = at + stop.drive_seconds
    if stop.kind == "visit" and now is not None:
        arrive = max(arrive, now)
    start = max(arrive, opens)
    return _Times("to do", arrive, start, start + stop.end - stop.start)


def _passed(stop: PlannedStop, opens: dict[str, int], at: int, before: int) -> _Times:
    """A refill or break that nobody recorded, before a visit that began at `before`."""
    work = stop.end - stop.start
    arrive = at + stop.drive_seconds
    start = max(at, min(max(arrive, opens[stop.key]), before - work))
    return _Times("done", min(arrive, start), start, start + work)


def _back(day: PlannedDay, times: Sequence[_Times]) -> int:
    if not times:
        return day.back
    return times[-1].end + day.back - day.stops[-1].end


def _water(stop: PlannedStop, done: Done | None) -> int:
    return stop.water_l if done is None or done.water_l is None else done.water_l


def _slack(day: PlannedDay, stops: Sequence[PlannedStop], times: Sequence[_Times], back: int) -> list[int]:
    """Backwards: a wait before a stop takes up lateness, a told window or the day's end limits it."""
    slack = [0] * len(times)
    later = day.close - back
    for index in reversed(range(len(times))):
        stop, at = stops[index], times[index]
        if at.state == "to do":
            later += at.start - at.arrive
            if stop.told is not None:
                later = min(later, stop.told[1] - at.arrive)
        slack[index] = later
    return slack


def _levels(day: PlannedDay, stops: Sequence[PlannedStop], waters: Sequence[int]) -> list[tuple[float, float]]:
    """Litres in the tank before and after each stop."""
    levels = []
    level: float = day.tank_l
    for stop, water in zip(stops, waters, strict=True):
        after = day.tank_l if stop.kind == "refill" else level - water
        levels.append((level, after))
        level = after
    return levels


def _power(stops: Sequence[StopNow]) -> list[float]:
    return [0 if stop.state == "not done" else stop.plan.power_wh for stop in stops]


def _line(
    full: float, day: PlannedDay, stops: Sequence[StopNow], back: int, amounts: Sequence[float]
) -> tuple[Point, ...]:
    """Tank or battery along the run; only a tank rises at a refill, by a draw below zero."""
    draws = [Draw(stop.start, stop.end, amount) for stop, amount in zip(stops, amounts, strict=True) if amount]
    return tank_line(full, day.leave, back, draws)

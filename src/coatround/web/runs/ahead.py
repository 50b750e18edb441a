"""When the visits still ahead are likely to be reached: for the groomer's own eyes, on four days of five."""

from coatround.core.run import DayNow, StopNow
from coatround.web.rounds.arriving import StopTimes, Window, windows_now


def windows_ahead(day: DayNow, now: int | None) -> dict[str, Window]:
    """The 80 % windows of the visits still to do, by the key of their stop; a dog on the table has its rest to go."""
    stops = [stop for stop in day.stops if stop.state in ("to do", "on the table")]
    if not any(stop.state == "to do" and stop.plan.kind == "visit" for stop in stops):
        return {}
    ahead = [_from_now(stop, now) for stop in stops]
    told = [stop.plan.told[0] if stop.plan.told and stop.state == "to do" else None for stop in stops]
    found = windows_now(ahead[0].arrive - ahead[0].drive_seconds, ahead, told)
    return {stops[n].plan.key: one.window_80 for n, one in found.items() if stops[n].state == "to do"}


def _from_now(stop: StopNow, now: int | None) -> StopTimes:
    if stop.state == "on the table":
        from_ = min(stop.end, stop.start if now is None else max(now, stop.start))
        return StopTimes("visit", from_, from_, stop.end, 0)
    return StopTimes(stop.plan.kind, stop.start, stop.arrive, stop.end, stop.plan.drive_seconds)

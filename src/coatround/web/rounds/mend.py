"""A standing run after one of its visits fell out: the same order and times, with the drives between reckoned anew."""

from coatround.web.rounds.models import Run, Stop
from coatround.web.rounds.travel import Leg, legs_between
from coatround.web.visits.models import Visit

TIMES = ["arrive_seconds", "start_seconds", "end_seconds"]
DRIVES = ["drive_seconds", "drive_metres", "engine_seconds", "by_road"]


def take_out(visit: Visit) -> None:
    """Takes a visit out of the runs it stands on; a run with no visit left is removed."""
    for stop in Stop.objects.filter(visit=visit).select_related("run"):
        stop.delete()
        mend(stop.run)


def mend(run: Run) -> None:
    """Reckons the drives and arrivals of a run's stops anew; nobody's start becomes earlier."""
    stops = list(run.stops.select_related("visit__place", "place").order_by("order"))
    while stops and stops[0].kind == "break":
        stops.pop(0).delete()
    if not any(stop.kind == "visit" for stop in stops):
        run.stops.all().delete()
        run.delete()
        return
    legs = _legs(run, stops)
    free = max(0, stops[0].start_seconds - legs[0].seconds)
    run.leave_seconds = free
    for stop, leg in zip(stops, legs, strict=False):
        worked = stop.end_seconds - stop.start_seconds
        stop.drive_seconds, stop.drive_metres, stop.by_road = leg.seconds, leg.metres, leg.by_road
        stop.engine_seconds = leg.engine_seconds
        stop.arrive_seconds = free + leg.seconds
        stop.start_seconds = max(stop.start_seconds, stop.arrive_seconds)
        if stop.kind == "refill":
            stop.start_seconds = stop.arrive_seconds
        free = stop.end_seconds = stop.start_seconds + worked
    run.back_seconds = free + legs[-1].seconds
    run.home_metres, run.home_by_road = legs[-1].metres, legs[-1].by_road
    Stop.objects.bulk_update(stops, TIMES + DRIVES)
    run.save(update_fields=["leave_seconds", "back_seconds", "home_metres", "home_by_road"])


def _legs(run: Run, stops: list[Stop]) -> list[Leg]:
    """The drives: one to each stop, a break being where the stop before it was, and one home."""
    places = [run.start_place]
    for stop in stops:
        at = stop.visit.place if stop.visit else stop.place
        places.append(at if at is not None and stop.kind != "break" else places[-1])
    places.append(run.end_place)
    return legs_between(places)

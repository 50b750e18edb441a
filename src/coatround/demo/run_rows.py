"""A van's working day as rows: the run and its stops, with the drives between them."""

import datetime as dt
import uuid

from coatround.demo.layout import DayTime, StopTime
from coatround.demo.story import VanStory, visit_id


def run_rows(story: VanStory, date: dt.date, day: DayTime) -> None:
    """Adds the run of a day and its stops."""
    accepted = story.wall.instant(min(date, story.monday) - dt.timedelta(days=3), 19 * 3600)
    run = story.rows.add(
        "rounds.Run",
        id=story.ids.at(accepted),
        made_at=accepted,
        van_id=story.van.van,
        groomer_id=story.van.groomer,
        date=date,
        start_place_id=story.van.home,
        end_place_id=story.van.home,
        leave_seconds=day.leave,
        back_seconds=day.back,
        home_metres=day.home_metres,
        home_by_road=story.van.depot.by_road,
        accepted_at=accepted,
        accepted_by_id=story.van.groomer,
    )
    for order, stop in enumerate(day.stops):
        story.rows.add(
            "rounds.Stop",
            run_id=run,
            order=order,
            kind=stop.kind,
            visit_id=visit_id(story, stop.planned) if stop.planned else None,
            place_id=_stop_place(story, stop),
            arrive_seconds=stop.arrive,
            start_seconds=stop.start,
            end_seconds=stop.end,
            drive_seconds=stop.drive_seconds,
            drive_metres=stop.drive_metres,
            engine_seconds=stop.drive_seconds,
            by_road=story.van.depot.by_road and stop.kind != "break",
            water_l=stop.water_l,
        )


def _stop_place(story: VanStory, stop: StopTime) -> uuid.UUID | None:
    if stop.planned:
        return stop.planned.household.place_id
    return story.van.refill if stop.kind == "refill" else None

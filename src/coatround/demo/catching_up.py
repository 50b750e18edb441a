"""The days of this week that are over, recorded as a groomer records them: through the same door as every record."""

import datetime as dt
import random
import uuid
import zoneinfo
from typing import Any

from coatround.demo.whole import monday_of
from coatround.ids import uuid7_from

DEVICE = "demo"
WEEKS_PLANNED = 4
WAYS = ("card", "card", "cash", "transfer")


def catch_up(seed: int, today: dt.date) -> int:
    """Records every visit of this week's runs before today that is still to do; gives how many."""
    from coatround.web.base.firm import firm_zone
    from coatround.web.base.models import Worker
    from coatround.web.flow import accept_records
    from coatround.web.rounds.models import Stop
    from coatround.web.visits.models import HandingBack

    over = Stop.objects.filter(kind="visit", run__date__gte=monday_of(today), run__date__lt=today)
    stops = over.select_related("run__van", "visit").order_by("run__date", "run_id", "order")
    recorded = set(HandingBack.objects.values_list("visit", flat=True).filter(at__date__gte=monday_of(today)))
    groomer, zone, count = Worker.objects.order_by("made_at", "id")[0], firm_zone(), 0
    for stop in stops:
        if stop.visit is None or stop.visit_id in recorded or stop.visit.state == "CANCELLED":
            continue
        raws = _records(seed, stop, zone)
        answers = accept_records(raws, groomer, DEVICE, now=_instant(stop.run.date, stop.end_seconds, zone))
        refused = next((answer.words for answer in answers if answer.status == "refused"), None)
        if refused:
            raise RuntimeError(f"the demo's own record was refused: {refused}")
        count += 1
    return count


def _records(seed: int, stop: Any, zone: zoneinfo.ZoneInfo) -> list[dict[str, Any]]:
    """The records of one visit: fit and the usual for each dog one after the other, then handing back."""
    from coatround.web.records.models import Usual

    rng = random.Random(f"{seed}:{stop.run.date}:{stop.run.van.name}:{stop.order}")
    links = list(stop.visit.visit_dogs.all())
    share = (stop.end_seconds - stop.start_seconds) // max(1, len(links))
    raws, price, weeks = [], 0, 99
    for place, link in enumerate(links):
        begun = stop.start_seconds + place * share
        usual = Usual.objects.filter(dog=link.dog_id, closed_on__isnull=True).prefetch_related("steps").first()
        raws.append(_record(rng, stop, zone, begun, "fit", {"dog": str(link.dog_id), "answer": "go", "signs": []}))
        raws.append(
            _record(rng, stop, zone, begun + share, "groom", _groom(rng, stop, zone, link.dog_id, begun, share, usual))
        )
        price += usual.price_cents if usual else 0
        weeks = min(weeks, usual.interval_weeks) if usual else weeks
    body = {"price_cents": price, "paid": rng.choice(WAYS), "next": _next(stop.run.date, weeks)}
    return [*raws, _record(rng, stop, zone, stop.end_seconds, "handing-back", body)]


def _next(date: dt.date, weeks: int) -> dict[str, str]:
    """The usual date, where it lies behind the weeks that are planned already; else they will ring."""
    if not WEEKS_PLANNED <= weeks <= 52:
        return {"how": "ask"}
    return {"how": "usual", "date": (date + dt.timedelta(weeks=weeks)).isoformat()}


def _groom(
    rng: random.Random, stop: Any, zone: zoneinfo.ZoneInfo, dog: uuid.UUID, begun: int, share: int, usual: Any
) -> dict[str, Any]:
    body: dict[str, Any] = {
        "dog": str(dog),
        "state": "COMPLETED",
        "usual_done": True,
        "started_at": _instant(stop.run.date, begun, zone).isoformat(),
        "ended_at": _instant(stop.run.date, begun + share, zone).isoformat(),
        "stood": rng.choice(("calm", "calm", "calm", "uneasy")),
    }
    if usual and any(step.step == "cotton in" for step in usual.steps.all()):
        body["cotton"] = {"in": 2, "taken_out": 2}
    return body


def _record(
    rng: random.Random, stop: Any, zone: zoneinfo.ZoneInfo, seconds: int, kind: str, body: dict[str, Any]
) -> dict[str, Any]:
    said_at = _instant(stop.run.date, seconds, zone)
    return {
        "id": str(uuid7_from(int(said_at.timestamp() * 1000), rng.getrandbits(74))),
        "kind": kind,
        "version": 1,
        "said_at": said_at.isoformat(),
        "visit": str(stop.visit_id),
        "body": body,
    }


def _instant(date: dt.date, seconds: int, zone: zoneinfo.ZoneInfo) -> dt.datetime:
    """So many seconds after midnight by that zone's wall clock."""
    return dt.datetime.combine(date, dt.time(), zone) + dt.timedelta(seconds=seconds)

"""What planning again moves when five new dogs have come: nobody who was told, and few others.

    COATROUND_HOME=FOLDER python benchmarks/replan.py --iterations 3000 --seeds 1-3

FOLDER is a home with the demo in it (`coatround demo --home FOLDER --no-serve`). The plan of the coming four weeks is
made and accepted, then five invented households with a dog each that is due come beside five of those that are there,
and the same weeks are planned again. Everything is rolled back at the end. Ends with 1 when a household that was told
is moved, or more than a tenth of the others to another day.
"""

import argparse
import datetime as dt
import os
import random
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "src"))

from cpu_planning import commit

MOST_MOVED = 0.10


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--iterations", type=int, default=3000)
    parser.add_argument("--seeds", default="1-3")
    asked = parser.parse_args()
    if not os.environ.get("COATROUND_HOME"):
        print("no home: set COATROUND_HOME to a folder with the demo in it", file=sys.stderr)
        return 2
    from coatround.start import use_home

    use_home(None)
    first, _, last = asked.seeds.partition("-")
    print(f"{dt.date.today()}, commit {commit()}, {asked.iterations} iterations")
    worst = 0
    for seed in range(int(first), int(last or first) + 1):
        told, moved, promised, others, hours = _one(seed, asked.iterations)
        print(
            f"seed {seed}: {told} of {promised} told households moved; {moved} of {others} others to another day "
            f"({100 * moved / others:.1f} %), {hours} more by over 45 minutes on their day"
        )
        worst = max(worst, told > 0 or moved > MOST_MOVED * others)
    return int(worst)


def _one(seed: int, iterations: int) -> tuple[int, int, int, int, int]:
    """Told moved, others moved to another day, how many of each there are, others moved within their day."""
    from django.db import transaction

    from coatround.web.base.firm import firm_today
    from coatround.web.base.models import Worker
    from coatround.web.rounds import actions
    from coatround.web.rounds.propose import plan_now

    who = Worker.objects.filter(is_groomer=True).first()
    assert who is not None
    first = firm_today() + dt.timedelta(days=1)
    last = first + dt.timedelta(days=27)
    with transaction.atomic():
        proposal = plan_now(first, last, who=who, iterations=iterations, seed=seed)
        actions.accept(proposal, who, base_version=proposal.base_version)
        _five_come(seed)
        found = _moved(plan_now(first, last, who=who, iterations=iterations, seed=seed + 1))
        transaction.set_rollback(True)
    return found


def _five_come(seed: int) -> None:
    from coatround.web.base.firm import firm_today
    from coatround.web.records.models import Dog, Household, Place, Usual

    chance = random.Random(seed)
    beside = chance.sample(list(Place.objects.filter(household__isnull=False, lat__isnull=False).order_by("pk")), 5)
    for n, place in enumerate(beside):
        household = Household.objects.create(name=f"Newcomer {n}")
        Place.objects.create(household=household, line=f"{n} New Row", lat=place.lat, lon=place.lon)
        dog = Dog.objects.create(
            household=household,
            name=f"Newcomer {n}",
            coat="curly",
            size="medium",
            last_groomed_before=firm_today() - dt.timedelta(weeks=6) + dt.timedelta(days=3 + 4 * n),
        )
        Usual.objects.create(
            dog=dog, valid_from=firm_today() - dt.timedelta(days=300), interval_weeks=6, price_cents=8500
        )


def _moved(proposal) -> tuple[int, int, int, int, int]:  # type: ignore[no-untyped-def]
    starts = {
        stop["visit"]: (proposal.names["runs"][run["id"]]["date"], stop["start"])
        for run in proposal.plan["runs"]
        for stop in run["stops"]
        if "visit" in stop
    }
    told = moved = promised = others = hours = 0
    for id_, names in proposal.names["visits"].items():
        stands = names["stands"]
        if not stands or stands["start"] is None:
            continue
        date, start = starts.get(id_, ("", 0))
        if names["told"]:
            promised += 1
            told += date != stands["date"] or not names["told_from"] <= start <= names["told_until"]
            continue
        others += 1
        moved += date != stands["date"]
        hours += date == stands["date"] and abs(start - stands["start"]) > 45 * 60
    return told, moved, promised, others, hours


if __name__ == "__main__":
    raise SystemExit(main())

"""A small round that can be checked by hand, with a plan worked out by hand, as JSON to change."""

import json
from typing import Any

from coatround.core.rounds.fileformat import problem_of
from coatround.core.rounds.plan import Plan
from coatround.core.rounds.planfile import read_plan
from coatround.core.rounds.problem import Problem

HOUR, MINUTE = 3600, 60


def problem_json() -> dict[str, Any]:
    """Home, a tap and four households on a line, ten minutes and 6 km between neighbours; two runs of one van."""
    places = ["home", "tap", "p1", "p2", "p3", "p4"]
    seconds = [[600 * abs(i - j) for j in range(6)] for i in range(6)]
    metres = [[6000 * abs(i - j) for j in range(6)] for i in range(6)]
    run = {
        "van": "a",
        "start_place": "home",
        "end_place": "home",
        "open": 8 * HOUR,
        "close": 18 * HOUR,
        "paid_seconds": 6 * HOUR,
        "max_overtime_seconds": HOUR,
        "water_l": 60,
        "power_wh": 2000,
        "noise_percent": 100,
        "max_refills": 1,
        "refills": [{"place": "tap", "seconds": 900}],
        "break": {"seconds": 1800, "from": 11 * HOUR, "to": 13 * HOUR + 30 * MINUTE},
        "has": ["big tub"],
    }
    day = {"date": "2026-03-02", "cents": 0, "windows": [[8 * HOUR, 18 * HOUR]]}
    visit = {
        "seconds": HOUR,
        "water_l": 25,
        "power_wh": 400,
        "noise_percent": 20,
        "rank": 1,
        "left_out_cents": 18000,
        "days": [day],
    }
    return {
        "format": "coatround-round-1",
        "costs": {
            "cents_per_drive_hour": 4200,
            "cents_per_km": 30,
            "cents_per_overtime_hour": 9000,
            "cents_per_run": 100,
        },
        "places": [{"id": place, "lat": -31.0, "lon": 152.0 + i / 20} for i, place in enumerate(places)],
        "travel": {"seconds": seconds, "metres": metres},
        "runs": [
            {"id": "a-mon", "date": "2026-03-02", **run},
            {"id": "a-tue", "date": "2026-03-03", **{k: v for k, v in run.items() if k != "break"}},
        ],
        "visits": [
            {"id": "v1", "place": "p1", **visit, "rank": 0, "vans": ["a"]},
            {"id": "v2", "place": "p2", **visit, "needs": ["big tub"]},
            {"id": "v3", "place": "p3", **visit, "rank": 2},
            {
                "id": "v4",
                "place": "p4",
                **visit,
                "days": [
                    {"date": "2026-03-03", "cents": 50, "windows": [[8 * HOUR, 10 * HOUR], [12 * HOUR, 15 * HOUR]]},
                    {"date": "2026-03-04", "cents": 0, "windows": [[8 * HOUR, 18 * HOUR]]},
                ],
                "follows": {"visit": "v1", "least_days": 1, "most_days": 2},
            },
            {"id": "v5", "place": "p1", **visit, "days": []},
        ],
    }


def plan_json() -> dict[str, Any]:
    """A plan of it that breaks nothing, worked out by hand.

    Monday: home, v1 (puppy), v2, tap, break, v3 (fleas), home. Drives of 2+1+2+3+4 legs, then Tuesday 5+5: 22 legs.
    Drive: 22 x 600 s x 42 dollars an hour = 154.00, 22 x 6 km x 0.30 = 39.60. Monday is out for 3 x 3600 work,
    12 x 600 drive, 900 refill, 1800 break and 0 waiting: 20700 of 21600 paid, so no overtime.
    """
    return {
        "format": "coatround-plan-1",
        "cost": {"total": 37610, "drive": 19360, "overtime": 0, "runs": 200, "days": 50, "left_out": 18000},
        "runs": [
            {
                "id": "a-mon",
                "leave": 28800,
                "back": 49500,
                "stops": [
                    {"visit": "v1", "arrive": 30000, "start": 30000, "end": 33600},
                    {"visit": "v2", "arrive": 34200, "start": 34200, "end": 37800},
                    {"refill": "tap", "arrive": 39000, "end": 39900},
                    {"break": 1800, "start": 39900, "end": 41700},
                    {"visit": "v3", "arrive": 43500, "start": 43500, "end": 47100},
                ],
            },
            {
                "id": "a-tue",
                "leave": 28800,
                "back": 38400,
                "stops": [{"visit": "v4", "arrive": 31800, "start": 31800, "end": 35400}],
            },
        ],
        "left_out": [{"visit": "v5", "reason": "no_day", "words": "It has no day."}],
        "seed": 1,
        "iterations": 0,
        "seconds": 0,
    }


def problem_from(value: dict[str, Any]) -> Problem:
    return problem_of(json.loads(json.dumps(value)))


def plan_from(value: dict[str, Any]) -> Plan:
    return read_plan(json.dumps(value))

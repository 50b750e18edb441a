"""The `coatround-plan-1` file, read strictly and written in one canonical way."""

import json
from typing import Any

from coatround.core.errors import BadInput
from coatround.core.rounds.plan import BreakStop, Cost, LeftOut, Plan, PlannedRun, RefillStop, Stop, VisitStop
from coatround.core.rounds.strict import each, inside, parse, shown, text_of, whole_number, whole_object

FORMAT = "coatround-plan-1"
_COST = ("total", "drive", "overtime", "runs", "days", "left_out")


def read_plan(text: str | bytes) -> Plan:
    """The plan written in `text`; BadInput, naming the path, if it breaks the format. `check` tests it."""
    value = parse(text)
    whole_object(value, "", ("format", "cost", "runs", "left_out", "seed", "iterations", "seconds"))
    if value["format"] != FORMAT or not isinstance(value["format"], str):
        raise BadInput("format", f"{shown(value['format'])}, expected {FORMAT}")
    return Plan(
        cost=_cost(value["cost"], "cost"),
        runs=each(value["runs"], "runs", _run),
        left_out=each(value["left_out"], "left_out", _left_out),
        seed=whole_number(value["seed"], "seed"),
        iterations=whole_number(value["iterations"], "iterations"),
        seconds=whole_number(value["seconds"], "seconds"),
    )


def write_plan(plan: Plan) -> str:
    """The plan as canonical JSON text, one stop a line, ending in a newline."""
    return json.dumps(plan_value(plan), ensure_ascii=False, indent=1) + "\n"


def plan_value(plan: Plan) -> dict[str, Any]:
    """The plan as plain lists and dicts in the order of the format."""
    return {
        "format": FORMAT,
        "cost": {key: getattr(plan.cost, key) for key in _COST},
        "runs": [_run_value(run) for run in plan.runs],
        "left_out": [{"visit": out.visit, "reason": out.reason, "words": out.words} for out in plan.left_out],
        "seed": plan.seed,
        "iterations": plan.iterations,
        "seconds": plan.seconds,
    }


def _run_value(run: PlannedRun) -> dict[str, Any]:
    stops = [_stop_value(stop) for stop in run.stops]
    return {"id": run.id, "leave": run.leave, "back": run.back, "stops": stops}


def _stop_value(stop: Stop) -> dict[str, Any]:
    match stop:
        case VisitStop():
            return {"visit": stop.visit, "arrive": stop.arrive, "start": stop.start, "end": stop.end}
        case RefillStop():
            return {"refill": stop.refill, "arrive": stop.arrive, "end": stop.end}
        case BreakStop():
            return {"break": stop.seconds, "start": stop.start, "end": stop.end}


def _cost(value: Any, path: str) -> Cost:
    found = whole_object(value, path, _COST)
    return Cost(**{key: whole_number(found[key], inside(path, key)) for key in _COST})


def _run(value: Any, path: str) -> PlannedRun:
    found = whole_object(value, path, ("id", "leave", "back", "stops"))
    return PlannedRun(
        text_of(found["id"], f"{path}.id"),
        whole_number(found["leave"], f"{path}.leave"),
        whole_number(found["back"], f"{path}.back"),
        each(found["stops"], f"{path}.stops", _stop),
    )


def _stop(value: Any, path: str) -> Stop:
    if not isinstance(value, dict):
        raise BadInput(path, f"{shown(value)}, expected an object")
    if "visit" in value:
        whole_object(value, path, ("visit", "arrive", "start", "end"))
        visit = text_of(value["visit"], f"{path}.visit")
        return VisitStop(visit, *_times(value, path, "arrive", "start", "end"))
    if "refill" in value:
        whole_object(value, path, ("refill", "arrive", "end"))
        return RefillStop(text_of(value["refill"], f"{path}.refill"), *_times(value, path, "arrive", "end"))
    if "break" in value:
        whole_object(value, path, ("break", "start", "end"))
        return BreakStop(*_times(value, path, "break", "start", "end"))
    raise BadInput(path, "neither visit, refill nor break")


def _times(value: dict[str, Any], path: str, *keys: str) -> list[int]:
    return [whole_number(value[key], f"{path}.{key}") for key in keys]


def _left_out(value: Any, path: str) -> LeftOut:
    found = whole_object(value, path, ("visit", "reason", "words"))
    return LeftOut(*(text_of(found[key], f"{path}.{key}") for key in ("visit", "reason", "words")))

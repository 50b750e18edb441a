"""The `coatround-round-1` and `-2` problem files, read strictly and written in one canonical way.

The second has one key more: what a day keeps. It is written only where a problem has it.
"""

import json
from typing import Any

from coatround.core.errors import BadInput
from coatround.core.rounds.problem import (
    Break,
    Costs,
    Day,
    Follows,
    Kept,
    Place,
    Problem,
    Refill,
    Run,
    Travel,
    Visit,
    Window,
)
from coatround.core.rounds.strict import (
    date_of,
    each,
    inside,
    number_between,
    parse,
    refuse_twice,
    shown,
    text_of,
    whole_list,
    whole_number,
    whole_object,
    yes_or_no,
)

FORMAT = "coatround-round-1"
FORMAT_2 = "coatround-round-2"
_COSTS = ("cents_per_drive_hour", "cents_per_km", "cents_per_overtime_hour", "cents_per_run")
_RUN = (
    "id", "van", "date", "start_place", "end_place", "open", "close", "paid_seconds", "max_overtime_seconds",
    "water_l", "max_refills", "refills",
)  # fmt: skip
_RUN_OPTIONAL = ("power_wh", "noise_percent", "break", "has", "water_at_start_l")
_VISIT = ("id", "place", "seconds", "water_l", "left_out_cents", "days")
_VISIT_OPTIONAL = ("power_wh", "noise_percent", "rank", "vans", "needs", "follows", "seconds_sd", "told")


def read_problem(text: str | bytes) -> Problem:
    """The problem written in `text`; BadInput, naming the path, if anything in it breaks the format."""
    return problem_of(parse(text))


def problem_of(value: Any) -> Problem:
    """The problem in an already parsed JSON value; BadInput as for `read_problem`."""
    whole_object(value, "", ("format", "costs", "places", "runs", "visits"), ("travel",))
    if not isinstance(value["format"], str) or value["format"] not in (FORMAT, FORMAT_2):
        raise BadInput("format", f"{shown(value['format'])}, expected {FORMAT} or {FORMAT_2}")
    more = ("kept",) if value["format"] == FORMAT_2 else ()
    places = each(value["places"], "places", _place)
    problem = Problem(
        costs=_costs(value["costs"], "costs"),
        places=places,
        travel=_travel(value["travel"], "travel", len(places)) if "travel" in value else None,
        runs=each(value["runs"], "runs", _run),
        visits=each(value["visits"], "visits", lambda one, path: _visit(one, path, more)),
    )
    _refuse_repeated_ids(problem)
    _refuse_dangling_runs(problem)
    _refuse_dangling_visits(problem)
    return problem


def write_problem(problem: Problem) -> str:
    """The problem as one canonical line of JSON; what is left at its default is not written."""
    return json.dumps(problem_value(problem), ensure_ascii=False) + "\n"


def _costs(value: Any, path: str) -> Costs:
    found = whole_object(value, path, _COSTS)
    return Costs(**{key: whole_number(found[key], inside(path, key)) for key in _COSTS})


def _place(value: Any, path: str) -> Place:
    found = whole_object(value, path, ("id", "lat", "lon"))
    return Place(
        text_of(found["id"], f"{path}.id"),
        number_between(found["lat"], f"{path}.lat", -90, 90),
        number_between(found["lon"], f"{path}.lon", -180, 180),
    )


def _travel(value: Any, path: str, count: int) -> Travel:
    found = whole_object(value, path, ("seconds", "metres"))
    return Travel(
        _matrix(found["seconds"], f"{path}.seconds", count), _matrix(found["metres"], f"{path}.metres", count)
    )


def _matrix(value: Any, path: str, count: int) -> tuple[tuple[int, ...], ...]:
    rows = whole_list(value, path)
    if len(rows) != count:
        raise BadInput(path, f"{len(rows)} rows for {count} places")
    return tuple(_row(row, f"{path}[{i}]", i, count) for i, row in enumerate(rows))


def _row(value: Any, path: str, own: int, count: int) -> tuple[int, ...]:
    row = each(value, path, whole_number)
    if len(row) != count:
        raise BadInput(path, f"{len(row)} numbers for {count} places")
    if row[own] != 0:
        raise BadInput(f"{path}[{own}]", f"{row[own]}, expected 0 from a place to itself")
    return row


def _words(value: Any, path: str) -> tuple[str, ...]:
    words = each(value, path, text_of)
    refuse_twice(words, path, "", "the word")
    return words


def _run(value: Any, path: str) -> Run:
    found = whole_object(value, path, _RUN, _RUN_OPTIONAL)

    def number(key: str) -> int:
        return whole_number(found[key], f"{path}.{key}")

    def number_if_any(key: str) -> int | None:
        return number(key) if key in found else None

    run = Run(
        id=text_of(found["id"], f"{path}.id"),
        van=text_of(found["van"], f"{path}.van"),
        date=date_of(found["date"], f"{path}.date"),
        start_place=text_of(found["start_place"], f"{path}.start_place"),
        end_place=text_of(found["end_place"], f"{path}.end_place"),
        open=number("open"),
        close=number("close"),
        paid_seconds=number("paid_seconds"),
        max_overtime_seconds=number("max_overtime_seconds"),
        water_l=number("water_l"),
        max_refills=number("max_refills"),
        refills=each(found["refills"], f"{path}.refills", _refill),
        power_wh=number_if_any("power_wh"),
        noise_percent=number_if_any("noise_percent"),
        break_=_break(found["break"], f"{path}.break") if "break" in found else None,
        has=_words(found["has"], f"{path}.has") if "has" in found else (),
        water_at_start_l=number_if_any("water_at_start_l"),
    )
    _refuse_odd_run(run, path)
    return run


def _refuse_odd_run(run: Run, path: str) -> None:
    if run.close < run.open:
        raise BadInput(f"{path}.close", f"{run.close}, before open ({run.open})")
    if run.water_at_start_l is not None and run.water_at_start_l > run.water_l:
        raise BadInput(f"{path}.water_at_start_l", f"{run.water_at_start_l}, more than the tank holds ({run.water_l})")
    refuse_twice((refill.place for refill in run.refills), f"{path}.refills", "place", "the place")


def _refill(value: Any, path: str) -> Refill:
    found = whole_object(value, path, ("place", "seconds"))
    return Refill(text_of(found["place"], f"{path}.place"), whole_number(found["seconds"], f"{path}.seconds"))


def _break(value: Any, path: str) -> Break:
    found = whole_object(value, path, ("seconds", "from", "to"))
    seconds, start, end = (whole_number(found[key], f"{path}.{key}") for key in ("seconds", "from", "to"))
    if end < start:
        raise BadInput(path, "ends before it starts")
    return Break(seconds, start, end)


def _visit(value: Any, path: str, more: tuple[str, ...]) -> Visit:
    found = whole_object(value, path, _VISIT, _VISIT_OPTIONAL)

    def number(key: str, otherwise: int = 0) -> int:
        return whole_number(found[key], f"{path}.{key}") if key in found else otherwise

    visit = Visit(
        id=text_of(found["id"], f"{path}.id"),
        place=text_of(found["place"], f"{path}.place"),
        seconds=number("seconds"),
        water_l=number("water_l"),
        left_out_cents=number("left_out_cents"),
        days=each(found["days"], f"{path}.days", lambda one, at: _day(one, at, more)),
        power_wh=number("power_wh"),
        noise_percent=number("noise_percent"),
        rank=number("rank", 1),
        vans=_words(found["vans"], f"{path}.vans") if "vans" in found else None,
        needs=_words(found["needs"], f"{path}.needs") if "needs" in found else (),
        follows=_follows(found["follows"], f"{path}.follows") if "follows" in found else None,
        seconds_sd=number("seconds_sd") if "seconds_sd" in found else None,
        told=yes_or_no(found["told"], f"{path}.told") if "told" in found else False,
    )
    refuse_twice((str(day.date) for day in visit.days), f"{path}.days", "date", "the date")
    return visit


def _day(value: Any, path: str, more: tuple[str, ...]) -> Day:
    found = whole_object(value, path, ("date", "cents", "windows"), more)
    windows = each(found["windows"], f"{path}.windows", _window)
    for i in range(1, len(windows)):
        if windows[i][0] < windows[i - 1][1]:
            raise BadInput(f"{path}.windows[{i}]", "starts before the window before it ends")
    kept = _kept(found["kept"], f"{path}.kept") if "kept" in found else None
    return Day(date_of(found["date"], f"{path}.date"), whole_number(found["cents"], f"{path}.cents"), windows, kept)


def _kept(value: Any, path: str) -> Kept:
    found = whole_object(value, path, ("from", "to", "cents"))
    start, end, cents = (whole_number(found[key], f"{path}.{key}") for key in ("from", "to", "cents"))
    if end < start:
        raise BadInput(path, "ends before it starts")
    return Kept(start, end, cents)


def _window(value: Any, path: str) -> Window:
    ends = each(value, path, whole_number)
    if len(ends) != 2:
        raise BadInput(path, f"{len(ends)} numbers, expected a start and an end")
    if ends[1] < ends[0]:
        raise BadInput(path, "ends before it starts")
    return ends[0], ends[1]


def _follows(value: Any, path: str) -> Follows:
    found = whole_object(value, path, ("visit", "least_days", "most_days"))
    least, most = (whole_number(found[key], f"{path}.{key}") for key in ("least_days", "most_days"))
    if most < least:
        raise BadInput(f"{path}.most_days", f"{most}, less than least_days ({least})")
    return Follows(text_of(found["visit"], f"{path}.visit"), least, most)


def _refuse_repeated_ids(problem: Problem) -> None:
    refuse_twice((place.id for place in problem.places), "places", "id", "the id")
    refuse_twice((run.id for run in problem.runs), "runs", "id", "the id")
    refuse_twice((visit.id for visit in problem.visits), "visits", "id", "the id")


def _refuse_dangling_runs(problem: Problem) -> None:
    places = {place.id for place in problem.places}
    for i, run in enumerate(problem.runs):
        for key, place in (("start_place", run.start_place), ("end_place", run.end_place)):
            if place not in places:
                raise BadInput(f"runs[{i}].{key}", f"no place has the id {shown(place)}")
        for k, refill in enumerate(run.refills):
            if refill.place not in places:
                raise BadInput(f"runs[{i}].refills[{k}].place", f"no place has the id {shown(refill.place)}")


def _refuse_dangling_visits(problem: Problem) -> None:
    places = {place.id for place in problem.places}
    firsts = {visit.id: visit.follows.visit if visit.follows else None for visit in problem.visits}
    for i, visit in enumerate(problem.visits):
        if visit.place not in places:
            raise BadInput(f"visits[{i}].place", f"no place has the id {shown(visit.place)}")
        if visit.follows and visit.follows.visit not in firsts:
            raise BadInput(f"visits[{i}].follows.visit", f"no visit has the id {shown(visit.follows.visit)}")
    _refuse_circles(firsts)


def _refuse_circles(firsts: dict[str, str | None]) -> None:
    settled: set[str] = set()
    for i, start in enumerate(firsts):
        chain: dict[str, None] = {}
        step: str | None = start
        while step is not None and step not in settled:
            if step in chain:
                raise BadInput(f"visits[{i}].follows.visit", f"{shown(step)} follows itself in the end")
            chain[step] = None
            step = firsts[step]
        settled.update(chain)


def problem_value(problem: Problem) -> dict[str, Any]:
    """The problem as plain lists and dicts in the order of the format."""
    value: dict[str, Any] = {
        "format": FORMAT_2 if any(day.kept for visit in problem.visits for day in visit.days) else FORMAT,
        "costs": {key: getattr(problem.costs, key) for key in _COSTS},
        "places": [{"id": place.id, "lat": place.lat, "lon": place.lon} for place in problem.places],
    }
    if problem.travel is not None:
        value["travel"] = {"seconds": problem.travel.seconds, "metres": problem.travel.metres}
    value["runs"] = [_run_value(run) for run in problem.runs]
    value["visits"] = [_visit_value(visit) for visit in problem.visits]
    return value


def _run_value(run: Run) -> dict[str, Any]:
    value = {key: getattr(run, key) for key in _RUN}
    value["date"] = run.date.isoformat()
    value["refills"] = [{"place": refill.place, "seconds": refill.seconds} for refill in run.refills]
    for key in ("power_wh", "noise_percent", "water_at_start_l"):
        if getattr(run, key) is not None:
            value[key] = getattr(run, key)
    if run.break_ is not None:
        value["break"] = {"seconds": run.break_.seconds, "from": run.break_.from_, "to": run.break_.to}
    if run.has:
        value["has"] = list(run.has)
    return value


def _day_value(day: Day) -> dict[str, Any]:
    value: dict[str, Any] = {"date": day.date.isoformat(), "cents": day.cents, "windows": day.windows}
    if day.kept is not None:
        value["kept"] = {"from": day.kept.from_, "to": day.kept.to, "cents": day.kept.cents}
    return value


def _visit_value(visit: Visit) -> dict[str, Any]:
    value = {key: getattr(visit, key) for key in _VISIT}
    value["days"] = [_day_value(day) for day in visit.days]
    for key, usual in (("power_wh", 0), ("noise_percent", 0), ("rank", 1), ("seconds_sd", None)):
        if getattr(visit, key) != usual:
            value[key] = getattr(visit, key)
    if visit.vans is not None:
        value["vans"] = list(visit.vans)
    if visit.needs:
        value["needs"] = list(visit.needs)
    if visit.follows is not None:
        value["follows"] = {key: getattr(visit.follows, key) for key in ("visit", "least_days", "most_days")}
    if visit.told:
        value["told"] = True
    return value

"""The files: read back as written, and every bad one refused with the path to what is wrong."""

import json
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatround.core.errors import BadInput
from coatround.core.rounds.fileformat import read_problem, write_problem
from coatround.core.rounds.planfile import read_plan, write_plan
from coatround.core.rounds.problem import Kept, Problem
from coatround.core.rounds.solve import after_iterations, solve
from tests.core.rounds.examples import plan_json, problem_from, problem_json
from tests.core.rounds.small_problems import small_problem

Json = dict[str, Any]


def test_it_works() -> None:
    problem = problem_from(problem_json())
    assert read_problem(write_problem(problem)) == problem
    assert problem.runs[0].break_ is not None
    assert problem.runs[0].break_.from_ == 39600


def test_what_may_be_left_out_has_its_default() -> None:
    value = problem_json()
    del value["travel"]
    for key in ("power_wh", "noise_percent", "break", "has"):
        value["runs"][0].pop(key)
    for key in ("power_wh", "noise_percent", "rank", "vans"):
        value["visits"][0].pop(key)
    problem = problem_from(value)
    assert problem.travel is None
    run, visit = problem.runs[0], problem.visits[0]
    assert (run.power_wh, run.noise_percent, run.break_, run.water_at_start_l) == (None, None, None, None)
    assert (visit.rank, visit.vans, visit.power_wh, visit.told) == (1, None, 0, False)


def test_every_optional_key_is_read_and_written() -> None:
    value = problem_json()
    value["runs"][0]["water_at_start_l"] = 50
    value["visits"][0].update(told=True, seconds_sd=600, needs=["big tub"])
    problem = problem_from(value)
    assert (problem.runs[0].water_at_start_l, problem.visits[0].seconds_sd) == (50, 600)
    assert read_problem(write_problem(problem)) == problem


@given(st.integers(0, 10_000))
@settings(max_examples=50, deadline=None)
def test_problems_and_plans_come_back_as_written(seed: int) -> None:
    problem = small_problem(seed)
    assert read_problem(write_problem(problem)) == problem
    assert read_problem(write_problem(replace(problem, travel=None))).travel is None
    plan = solve(problem, seed, after_iterations(20))
    assert read_plan(write_plan(plan)) == plan


def at(path: list[str | int], new: Any) -> Callable[[Json], None]:
    def change(value: Json) -> None:
        inner: Any = value
        for step in path[:-1]:
            inner = inner[step]
        inner[path[-1]] = new

    return change


def without(path: list[str | int]) -> Callable[[Json], None]:
    def change(value: Json) -> None:
        inner: Any = value
        for step in path[:-1]:
            inner = inner[step]
        del inner[path[-1]]

    return change


WINDOWS: list[str | int] = ["visits", 3, "days", 0, "windows"]

BAD_PROBLEMS: list[tuple[Callable[[Json], None], str]] = [
    (at([*WINDOWS, 0], [36000, 28800]), "visits[3].days[0].windows[0]: ends before it starts"),
    (at([*WINDOWS, 1, 0], 35999), "visits[3].days[0].windows[1]: starts before the window before it ends"),
    (at(WINDOWS, [[43200, 54000], [28800, 36000]]), "visits[3].days[0].windows[1]: starts before"),
    (at([*WINDOWS, 0], [1, 2, 3]), "visits[3].days[0].windows[0]: 3 numbers"),
    (
        at(["format"], "coatround-round-3"),
        'format: "coatround-round-3", expected coatround-round-1 or coatround-round-2',
    ),
    (at(["visits", 0, "days", 0, "kept"], {"from": 0, "to": 1, "cents": 2}), "visits[0].days[0].kept: unknown key"),
    (at(["format"], 1), "format: 1, expected"),
    (at(["colour"], 1), "colour: unknown key"),
    (at(["od d"], 1), '"od d": unknown key'),
    (without(["costs"]), "costs: missing"),
    (without(["costs", "cents_per_km"]), "costs.cents_per_km: missing"),
    (at(["costs", "cents_per_km"], True), "costs.cents_per_km: true, expected a whole number"),
    (at(["costs", "cents_per_km"], 5.0), "costs.cents_per_km: 5.0, expected a whole number"),
    (at(["costs", "cents_per_km"], -1), "costs.cents_per_km: -1, expected 0 or more"),
    (at(["costs", "cents_per_km"], 10**30), "costs.cents_per_km: 1000"),
    (at(["places", 0, "lat"], float("nan")), "places[0].lat: NaN, expected a number"),
    (at(["places", 0, "lat"], float("inf")), "places[0].lat: Infinity, expected a number"),
    (at(["places", 0, "lat"], True), "places[0].lat: true, expected a number"),
    (at(["places", 0, "lat"], 90.5), "places[0].lat: 90.5, expected -90 to 90"),
    (at(["places", 0, "lat"], 10**400), "places[0].lat: "),
    (at(["places", 1, "id"], "home"), 'places[1].id: the id "home" stands twice'),
    (at(["places", 1, "id"], ""), "places[1].id: empty text"),
    (at(["places", 1, "id"], "\ud800"), "places[1].id: "),
    (at(["places"], {}), "places: {}, expected a list"),
    (at(["places", 2], None), "places[2]: null, expected an object"),
    (at(["travel", "seconds"], [[0]]), "travel.seconds: 1 rows for 6 places"),
    (at(["travel", "metres", 2], [0]), "travel.metres[2]: 1 numbers for 6 places"),
    (at(["travel", "seconds", 1, 1], 5), "travel.seconds[1][1]: 5, expected 0"),
    (at(["travel", "seconds", 1, 0], 1.5), "travel.seconds[1][0]: 1.5"),
    (without(["travel", "metres"]), "travel.metres: missing"),
    (at(["runs", 1, "id"], "a-mon"), 'runs[1].id: the id "a-mon" stands twice'),
    (at(["runs", 0, "date"], "2026-02-30"), 'runs[0].date: "2026-02-30", no such date'),
    (at(["runs", 0, "date"], "20260302"), 'runs[0].date: "20260302", expected a date'),
    (at(["runs", 0, "date"], 20260302), "runs[0].date: 20260302, expected a date"),
    (at(["runs", 0, "start_place"], "nowhere"), 'runs[0].start_place: no place has the id "nowhere"'),
    (at(["runs", 0, "refills", 0, "place"], "x"), 'runs[0].refills[0].place: no place has the id "x"'),
    (at(["runs", 0, "refills"], [{"place": "tap", "seconds": 1}] * 2), "runs[0].refills[1].place: the place"),
    (at(["runs", 0, "close"], 100), "runs[0].close: 100, before open (28800)"),
    (at(["runs", 0, "break", "to"], 100), "runs[0].break: ends before it starts"),
    (at(["runs", 0, "break"], None), "runs[0].break: null, expected an object"),
    (at(["runs", 0, "water_at_start_l"], 61), "runs[0].water_at_start_l: 61, more than the tank holds (60)"),
    (at(["runs", 0, "has"], ["a", "a"]), 'runs[0].has[1]: the word "a" stands twice'),
    (at(["visits", 1, "id"], "v1"), 'visits[1].id: the id "v1" stands twice'),
    (at(["visits", 1, "place"], "nowhere"), 'visits[1].place: no place has the id "nowhere"'),
    (at(["visits", 1, "told"], 1), "visits[1].told: 1, expected true or false"),
    (at(["visits", 1, "vans"], "a"), 'visits[1].vans: "a", expected a list'),
    (at(["visits", 3, "days", 1, "date"], "2026-03-03"), 'visits[3].days[1].date: the date "2026-03-03" stands'),
    (at(["visits", 3, "follows", "visit"], "v9"), 'visits[3].follows.visit: no visit has the id "v9"'),
    (at(["visits", 3, "follows", "visit"], "v4"), "visits[3].follows.visit: "),
    (at(["visits", 3, "follows", "most_days"], 0), "visits[3].follows.most_days: 0, less than least_days (1)"),
    (without(["visits", 0, "left_out_cents"]), "visits[0].left_out_cents: missing"),
]


@pytest.mark.parametrize(("change", "words"), BAD_PROBLEMS, ids=[words[:40] for _, words in BAD_PROBLEMS])
def test_a_bad_problem_is_refused_with_the_path(change: Callable[[Json], None], words: str) -> None:
    value = problem_json()
    change(value)
    with pytest.raises(BadInput) as refused:
        read_problem(json.dumps(value))
    assert str(refused.value).startswith(words)
    assert "\n" not in str(refused.value)


def test_a_circle_of_visits_that_follow_is_refused() -> None:
    value = problem_json()
    value["visits"][0]["follows"] = {"visit": "v4", "least_days": 0, "most_days": 9}
    with pytest.raises(BadInput, match="follows itself in the end"):
        problem_from(value)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "not JSON"),
        ("[]", "[], expected an object"),
        ("{", "not JSON: .* (line 1, column 2)"),
        (b"\xff\xfe", "not UTF-8 text (byte 0)"),
        ('{"format": 1, "format": 2}', "format: this key stands twice"),
        ("[" * 100_000, "not JSON that can be read: nested too deeply"),
        ('{"format": ' + "9" * 5000 + "}", "not JSON that can be read: a number with too many digits"),
    ],
)
def test_what_is_no_json_is_refused(text: str | bytes, words: str) -> None:
    with pytest.raises(BadInput) as refused:
        read_problem(text)
    start, _, rest = words.partition(".*")
    assert str(refused.value).startswith(start)
    assert str(refused.value).endswith(rest)


def test_a_key_written_twice_deep_inside_is_refused() -> None:
    text = json.dumps(problem_json()).replace('"place": "p2"', '"place": "p1", "place": "p2"')
    with pytest.raises(BadInput, match=r"^visits\[1\]\.place: this key stands twice$"):
        read_problem(text)


BAD_PLANS: list[tuple[Callable[[Json], None], str]] = [
    (at(["format"], "coatround-round-1"), "format: "),
    (without(["cost", "drive"]), "cost.drive: missing"),
    (at(["runs", 0, "leave"], "08:00"), 'runs[0].leave: "08:00", expected a whole number'),
    (at(["runs", 0, "stops", 0], {"arrive": 1}), "runs[0].stops[0]: neither visit, refill nor break"),
    (at(["runs", 0, "stops", 0, "colour"], 1), "runs[0].stops[0].colour: unknown key"),
    (without(["runs", 0, "stops", 3, "end"]), "runs[0].stops[3].end: missing"),
    (at(["left_out", 0, "words"], ""), "left_out[0].words: empty text"),
    (at(["seconds"], 1.5), "seconds: 1.5, expected a whole number"),
]


@pytest.mark.parametrize(("change", "words"), BAD_PLANS, ids=[words[:40] for _, words in BAD_PLANS])
def test_a_bad_plan_is_refused_with_the_path(change: Callable[[Json], None], words: str) -> None:
    value = plan_json()
    change(value)
    with pytest.raises(BadInput) as refused:
        read_plan(json.dumps(value))
    assert str(refused.value).startswith(words)


def _spots(value: Any, path: list[str | int]) -> list[list[str | int]]:
    """The path to everything inside a JSON value."""
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [path] * bool(path) + [spot for key, item in inner for spot in _spots(item, [*path, key])]


SPOTS = _spots(problem_json(), [])
JUNK = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.floats(),
    st.text(max_size=5),
    st.lists(st.integers(), max_size=3),
    st.dictionaries(st.text(max_size=3), st.integers(), max_size=2),
)


@given(st.sampled_from(SPOTS), JUNK)
@settings(max_examples=300, deadline=None)
def test_junk_anywhere_is_refused_in_words_or_read(spot: list[str | int], junk: Any) -> None:
    """Never a traceback: any value in any place is either legal or refused on one line that names a path."""
    value = problem_json()
    at(spot, junk)(value)
    refused, problem = refusal(json.dumps(value))
    if problem is not None:
        assert read_problem(write_problem(problem)) == problem
    else:
        assert refused is not None
        assert refused.words
        assert refused.path
        assert len(str(refused).splitlines()) == 1


def refusal(text: str) -> tuple[BadInput | None, Problem | None]:
    """What was wrong with a problem's text, or the problem."""
    try:
        return None, read_problem(text)
    except BadInput as error:
        return error, None


def test_what_a_day_keeps_is_of_the_second_format() -> None:
    """Written only where a problem has it, and read back the same; the first format refuses the key (above)."""
    value = problem_json()
    value["format"] = "coatround-round-2"
    first = read_problem(json.dumps(value))
    assert first == problem_from(problem_json())
    assert '"coatround-round-1"' in write_problem(first)
    value["visits"][0]["days"][0]["kept"] = {"from": 32400, "to": 34200, "cents": 700}
    problem = read_problem(json.dumps(value))
    assert problem.visits[0].days[0].kept == Kept(32400, 34200, 700)
    assert '"coatround-round-2"' in write_problem(problem)
    assert read_problem(write_problem(problem)) == problem
    value["visits"][0]["days"][0]["kept"]["to"] = 1
    with pytest.raises(BadInput, match=r"visits\[0\].days\[0\].kept: ends before it starts"):
        read_problem(json.dumps(value))

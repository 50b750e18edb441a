"""The checker finds each of many faults, planted one at a time into a plan that breaks nothing."""

from collections.abc import Callable
from typing import Any

import pytest

from coatround.core.rounds.check import check
from tests.core.rounds.examples import plan_from, plan_json, problem_from, problem_json

Json = dict[str, Any]
Plant = Callable[[Json, Json], None]


def monday(plan: Json) -> Json:
    """The first planned run."""
    run: Json = plan["runs"][0]
    return run


def stops(plan: Json) -> list[Json]:
    found: list[Json] = monday(plan)["stops"]
    return found


def later(plan: Json, seconds: int, first: int = 0) -> None:
    """Moves Monday's stops from number `first` on, and the way back, by so many seconds."""
    for stop in stops(plan)[first:]:
        for key in ("arrive", "start", "end"):
            if key in stop:
                stop[key] += seconds
    monday(plan)["back"] += seconds
    if first == 0:
        monday(plan)["leave"] += seconds


def test_it_works() -> None:
    """The plan worked out by hand breaks nothing, and its cost is the hand's."""
    assert check(problem_from(problem_json()), plan_from(plan_json())) == []


def wrong_day(problem: Json, plan: Json) -> None:
    problem["visits"][1]["days"][0]["date"] = "2026-03-03"


def outside_window(problem: Json, plan: Json) -> None:
    problem["visits"][1]["days"][0]["windows"] = [[28800, 37799]]


def between_windows(problem: Json, plan: Json) -> None:
    problem["visits"][1]["days"][0]["windows"] = [[28800, 36000], [36000, 50000]]


def late_back(problem: Json, plan: Json) -> None:
    problem["runs"][0]["close"] = 49499


def leaves_before_open(problem: Json, plan: Json) -> None:
    problem["runs"][0]["open"] = 28801


def overtime_over_most(problem: Json, plan: Json) -> None:
    problem["runs"][0].update(paid_seconds=20000, max_overtime_seconds=699)


def overtime_not_charged(problem: Json, plan: Json) -> None:
    problem["runs"][0].update(paid_seconds=20000, max_overtime_seconds=700)


def tank_dry(problem: Json, plan: Json) -> None:
    problem["visits"][1]["water_l"] = 36


def tank_not_full_at_start(problem: Json, plan: Json) -> None:
    problem["runs"][0]["water_at_start_l"] = 49


def wrong_refill_place(problem: Json, plan: Json) -> None:
    problem["runs"][0]["refills"] = [{"place": "home", "seconds": 900}]


def refill_too_short(problem: Json, plan: Json) -> None:
    problem["runs"][0]["refills"][0]["seconds"] = 901


def too_many_refills(problem: Json, plan: Json) -> None:
    problem["runs"][0]["max_refills"] = 0


def rank_broken(problem: Json, plan: Json) -> None:
    problem["visits"][1]["rank"] = 3


def break_missing(problem: Json, plan: Json) -> None:
    del stops(plan)[3]
    stops(plan)[3].update(arrive=41700, start=43500)


def break_too_early(problem: Json, plan: Json) -> None:
    problem["runs"][0]["break"]["from"] = 39901


def break_too_late(problem: Json, plan: Json) -> None:
    problem["runs"][0]["break"]["to"] = 41699


def break_cut_short(problem: Json, plan: Json) -> None:
    stops(plan)[3].update({"break": 1700, "end": 41600})


def break_twice(problem: Json, plan: Json) -> None:
    stops(plan).insert(4, {"break": 1800, "start": 41700, "end": 43500})
    later(plan, 1800, 5)


def break_before_first_stop(problem: Json, plan: Json) -> None:
    problem["runs"][0]["break"] = {"seconds": 600, "from": 28800, "to": 49500}
    del stops(plan)[3]
    later(plan, -1800, 3)
    later(plan, 600)
    stops(plan).insert(0, {"break": 600, "start": 28800, "end": 29400})
    monday(plan)["leave"] = 28800


def break_before_end_of_stop(problem: Json, plan: Json) -> None:
    stops(plan)[3].update(start=39800, end=41600)


def break_not_asked(problem: Json, plan: Json) -> None:
    del problem["runs"][0]["break"]


def wrong_total(problem: Json, plan: Json) -> None:
    plan["cost"]["total"] += 1


def wrong_drive(problem: Json, plan: Json) -> None:
    plan["cost"]["drive"] -= 1
    plan["cost"]["total"] -= 1


def wrong_days(problem: Json, plan: Json) -> None:
    plan["cost"]["days"] = 0


def wrong_runs(problem: Json, plan: Json) -> None:
    plan["cost"]["runs"] = 100


def wrong_left_out(problem: Json, plan: Json) -> None:
    plan["cost"]["left_out"] = 0


def visit_twice(problem: Json, plan: Json) -> None:
    plan["runs"][1]["stops"].append({"visit": "v4", "arrive": 35400, "start": 43200, "end": 46800})


def run_twice(problem: Json, plan: Json) -> None:
    plan["runs"].append(plan["runs"][1])


def visit_missing(problem: Json, plan: Json) -> None:
    plan["left_out"] = []


def planned_and_left_out(problem: Json, plan: Json) -> None:
    plan["left_out"].append({"visit": "v4", "reason": "no_room", "words": "No room."})


def left_out_twice(problem: Json, plan: Json) -> None:
    plan["left_out"].append(plan["left_out"][0])


def unknown_visit(problem: Json, plan: Json) -> None:
    stops(plan)[1]["visit"] = "v9"


def unknown_visit_left_out(problem: Json, plan: Json) -> None:
    plan["left_out"].append({"visit": "v9", "reason": "no_room", "words": "No room."})


def unknown_run(problem: Json, plan: Json) -> None:
    plan["runs"][1]["id"] = "a-wed"


def wrong_van(problem: Json, plan: Json) -> None:
    problem["visits"][0]["vans"] = ["b"]


def missing_needs(problem: Json, plan: Json) -> None:
    problem["runs"][0]["has"] = ["two people"]


def arrives_before_possible(problem: Json, plan: Json) -> None:
    stops(plan)[1]["arrive"] -= 1


def arrives_later_than_the_drive(problem: Json, plan: Json) -> None:
    later(plan, 60, 1)


def back_too_soon(problem: Json, plan: Json) -> None:
    monday(plan)["back"] -= 1


def starts_before_arriving(problem: Json, plan: Json) -> None:
    stops(plan)[1].update(start=34199, end=37799)


def work_cut_short(problem: Json, plan: Json) -> None:
    stops(plan)[1]["start"] += 1


def work_too_long(problem: Json, plan: Json) -> None:
    problem["visits"][1]["seconds"] -= 1


def power_over(problem: Json, plan: Json) -> None:
    problem["runs"][0]["power_wh"] = 1199


def noise_over(problem: Json, plan: Json) -> None:
    problem["runs"][0]["noise_percent"] = 59


def follows_too_soon(problem: Json, plan: Json) -> None:
    problem["visits"][3]["follows"]["least_days"] = 2


def follows_too_late(problem: Json, plan: Json) -> None:
    problem["visits"][3]["follows"] = {"visit": "v1", "least_days": 0, "most_days": 0}


def reason_unknown(problem: Json, plan: Json) -> None:
    plan["left_out"][0]["reason"] = "too_far"


def told_and_not_said(problem: Json, plan: Json) -> None:
    problem["visits"][4]["told"] = True


def told_broken_untrue(problem: Json, plan: Json) -> None:
    plan["left_out"][0]["reason"] = "told_broken"


def no_day_untrue(problem: Json, plan: Json) -> None:
    problem["visits"][4]["days"] = problem["visits"][0]["days"]


PLANTED: list[tuple[Plant, str]] = [
    (wrong_day, "wrong_day"),
    (outside_window, "outside_window"),
    (between_windows, "outside_window"),
    (late_back, "late_back"),
    (leaves_before_open, "leaves_early"),
    (overtime_over_most, "overtime"),
    (overtime_not_charged, "wrong_overtime"),
    (tank_dry, "tank_dry"),
    (tank_not_full_at_start, "tank_dry"),
    (wrong_refill_place, "wrong_refill_place"),
    (refill_too_short, "refill_length"),
    (too_many_refills, "too_many_refills"),
    (rank_broken, "rank"),
    (break_missing, "break_missing"),
    (break_too_early, "break_time"),
    (break_too_late, "break_time"),
    (break_cut_short, "break_length"),
    (break_twice, "break_twice"),
    (break_before_first_stop, "break_not_at_stop"),
    (break_before_end_of_stop, "times_out_of_order"),
    (break_not_asked, "break_not_asked"),
    (wrong_total, "wrong_total"),
    (wrong_drive, "wrong_drive"),
    (wrong_days, "wrong_days"),
    (wrong_runs, "wrong_runs"),
    (wrong_left_out, "wrong_left_out"),
    (visit_twice, "visit_twice"),
    (run_twice, "run_twice"),
    (visit_missing, "visit_missing"),
    (planned_and_left_out, "planned_and_left_out"),
    (left_out_twice, "left_out_twice"),
    (unknown_visit, "unknown_visit"),
    (unknown_visit_left_out, "unknown_visit"),
    (unknown_run, "unknown_run"),
    (wrong_van, "wrong_van"),
    (missing_needs, "needs"),
    (arrives_before_possible, "wrong_travel"),
    (arrives_later_than_the_drive, "wrong_travel"),
    (back_too_soon, "wrong_travel"),
    (starts_before_arriving, "starts_before_arrival"),
    (work_cut_short, "work_cut_short"),
    (work_too_long, "work_too_long"),
    (power_over, "power"),
    (noise_over, "noise"),
    (follows_too_soon, "follows"),
    (follows_too_late, "follows"),
    (reason_unknown, "reason_unknown"),
    (told_and_not_said, "told_broken"),
    (told_broken_untrue, "reason_untrue"),
    (no_day_untrue, "reason_untrue"),
]


@pytest.mark.parametrize(("plant", "code"), PLANTED, ids=[plant.__name__ for plant, _ in PLANTED])
def test_a_planted_fault_is_found(plant: Plant, code: str) -> None:
    problem, plan = problem_json(), plan_json()
    plant(problem, plan)
    faults = check(problem_from(problem), plan_from(plan))
    assert code in {fault.code for fault in faults}
    assert all(fault.where and fault.words for fault in faults)


@pytest.mark.parametrize(
    ("plant", "code"),
    [pair for pair in PLANTED if pair[1] in {"wrong_total", "rank", "power", "noise", "late_back", "leaves_early"}],
    ids=lambda value: getattr(value, "__name__", value),
)
def test_one_fault_is_told_once(plant: Plant, code: str) -> None:
    problem, plan = problem_json(), plan_json()
    plant(problem, plan)
    faults = check(problem_from(problem), plan_from(plan))
    assert [fault.code for fault in faults] in ([code], [code, code])


def test_a_break_is_not_due_when_leaving_after_its_start() -> None:
    """Due when leave <= from and back >= to: leaving a second later needs no break."""
    problem, plan = problem_json(), plan_json()
    break_missing(problem, plan)
    stops(plan)[3]["start"] = 43500
    problem["runs"][0]["break"]["from"] = 28799
    assert check(problem_from(problem), plan_from(plan)) == []


def test_a_break_is_not_due_when_back_before_its_end() -> None:
    problem, plan = problem_json(), plan_json()
    break_missing(problem, plan)
    problem["runs"][0]["break"]["to"] = 49501
    assert check(problem_from(problem), plan_from(plan)) == []


def test_following_is_void_when_the_first_is_left_out() -> None:
    problem, plan = problem_json(), plan_json()
    problem["visits"][3]["follows"] = {"visit": "v5", "least_days": 9, "most_days": 9}
    assert check(problem_from(problem), plan_from(plan)) == []


def test_each_part_is_rounded_half_up_once() -> None:
    """22 legs of 525 s at 3 cents an hour are 9.625 cents, 10 when rounded once; leg by leg it would be 0."""
    problem, plan = problem_json(), plan_json()
    problem["costs"] = {
        "cents_per_drive_hour": 3,
        "cents_per_km": 0,
        "cents_per_overtime_hour": 0,
        "cents_per_run": 0,
    }
    problem["travel"]["seconds"] = [[s * 7 // 8 for s in row] for row in problem["travel"]["seconds"]]
    problem_read = problem_from(problem)
    plan["cost"] = {"total": 18060, "drive": 10, "overtime": 0, "runs": 0, "days": 50, "left_out": 18000}
    faults = {fault.code for fault in check(problem_read, plan_from(plan))}
    assert not {code for code in faults if code.startswith("wrong_") and code != "wrong_travel"}

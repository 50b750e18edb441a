"""The commands `plan` and `check`: files in and out, exit statuses, one line for bad input."""

import datetime as dt
import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from coatround.core.rounds.fileformat import write_problem
from coatround.plan_command import check_main, plan_main
from coatround.roads.adding import add_roads
from tests.core.rounds.examples import plan_json, problem_json
from tests.core.rounds.small_problems import small_problem
from tests.roads.small_extract import at, write_squares


@pytest.fixture
def problem_file(tmp_path: Path) -> Path:
    path = tmp_path / "problem.json"
    path.write_text(json.dumps(problem_json()), encoding="utf-8")
    return path


def test_it_works(problem_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "plan.json"
    assert plan_main([str(problem_file), "--iterations", "50", "--out", str(out)]) == 0
    assert "4 of 5 visits planned" in capsys.readouterr().out
    assert check_main([str(problem_file), str(out)]) == 0
    assert capsys.readouterr().out == "Nothing breaks.\n"


def test_iterations_give_the_same_bytes_and_no_seconds(tmp_path: Path) -> None:
    problem = tmp_path / "problem.json"
    problem.write_text(write_problem(small_problem(5, 14, 5)), encoding="utf-8")
    for name in ("one", "other"):
        assert plan_main([str(problem), "--iterations", "100", "--seed", "7", "--out", str(tmp_path / name)]) == 0
    assert (tmp_path / "one").read_bytes() == (tmp_path / "other").read_bytes()
    plan = json.loads((tmp_path / "one").read_bytes())
    assert (plan["seed"], plan["iterations"], plan["seconds"]) == (7, 100, 0)


def test_without_out_the_plan_is_printed(problem_file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert plan_main([str(problem_file), "--iterations", "5"]) == 0
    printed = capsys.readouterr()
    assert json.loads(printed.out)["format"] == "coatround-plan-1"
    assert "altogether" in printed.err


def test_json_says_what_was_done(problem_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "plan.json"
    assert plan_main([str(problem_file), "--iterations", "5", "--out", str(out), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["planned"], told["out"]) == (4, str(out))
    assert told["cost"]["total"] == json.loads(out.read_text())["cost"]["total"]


def test_no_travel_is_estimated_and_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    value = problem_json()
    del value["travel"]
    problem, out = tmp_path / "problem.json", tmp_path / "plan.json"
    problem.write_text(json.dumps(value), encoding="utf-8")
    assert plan_main([str(problem), "--iterations", "5", "--out", str(out)]) == 0
    assert "estimated from straight lines" in capsys.readouterr().err
    assert check_main([str(problem), str(out)]) == 0


def test_no_travel_is_by_the_roads_in_use(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COATROUND_HOME", str(tmp_path))
    write_squares(tmp_path / "squares.osm.pbf")
    add_roads(tmp_path, tmp_path / "squares.osm.pbf", now=dt.datetime(2026, 3, 1, tzinfo=dt.UTC), country="AU")
    value = problem_json()
    del value["travel"]
    for number, place in enumerate(value["places"]):
        place["lat"], place["lon"] = at(number % 5, number // 5 + 0.5)
    problem, out = tmp_path / "problem.json", tmp_path / "plan.json"
    problem.write_text(json.dumps(value), encoding="utf-8")
    assert plan_main([str(problem), "--iterations", "5", "--out", str(out)]) == 0
    assert "by the roads of squares.osm.pbf" in capsys.readouterr().err
    assert check_main([str(problem), str(out)]) == 0


@pytest.mark.parametrize(
    "spoil",
    [
        lambda path: path.write_text("{"),
        lambda path: path.write_text(json.dumps({**problem_json(), "extra": 1})),
        lambda path: path.write_bytes(b"\xff"),
        lambda path: path.unlink(),
        lambda path: (path.unlink(), path.mkdir()),
    ],
    ids=["no json", "unknown key", "no utf-8", "no file", "a folder"],
)
def test_bad_input_is_one_line_and_nothing_written(
    problem_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], spoil: Any
) -> None:
    spoil(problem_file)
    out = tmp_path / "plan.json"
    assert plan_main([str(problem_file), "--out", str(out)]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert len(printed.err.splitlines()) == 1
    assert str(problem_file) in printed.err
    assert not out.exists()
    assert check_main([str(problem_file), str(out)]) == 2


def test_out_into_no_folder_is_refused_before_planning(
    problem_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert plan_main([str(problem_file), "--seconds", "60", "--out", str(tmp_path / "no" / "plan.json")]) == 2
    assert "no such folder" in capsys.readouterr().err


@pytest.mark.parametrize(
    "wrong", [["--seconds", "soon"], ["--seconds", "-1"], ["--iterations", "1.5"], ["--seed", "-1"], ["--colour"]]
)
def test_wrong_options_end_with_2(problem_file: Path, wrong: list[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        plan_main([str(problem_file), *wrong])
    assert ended.value.code == 2


def test_check_lists_what_breaks(problem_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    value = plan_json()
    value["cost"]["total"] += 1
    plan = tmp_path / "plan.json"
    plan.write_text(json.dumps(value), encoding="utf-8")
    assert check_main([str(problem_file), str(plan)]) == 1
    assert capsys.readouterr().out == (
        "cost: the plan says total 37611 cents, it is 37610 [wrong_total]\n1 thing breaks.\n"
    )
    assert check_main([str(problem_file), str(plan), "--json"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert told["ok"] is False
    assert [fault["code"] for fault in told["faults"]] == ["wrong_total"]


def test_ctrl_c_writes_the_best_so_far(tmp_path: Path) -> None:
    problem, out = tmp_path / "problem.json", tmp_path / "plan.json"
    problem.write_text(write_problem(small_problem(5, 16, 6)), encoding="utf-8")
    command = "import sys; from coatround.plan_command import plan_main; sys.exit(plan_main(sys.argv[1:]))"
    with subprocess.Popen(
        [sys.executable, "-c", command, str(problem), "--seconds", "300", "--out", str(out)],
        stderr=subprocess.PIPE,
        stdout=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
        text=True,
    ) as process:
        assert process.stderr is not None
        assert "tries" in process.stderr.readline()
        process.send_signal(signal.SIGINT)
        process.communicate(timeout=60)
    assert process.returncode == 0
    assert check_main([str(problem), str(out)]) == 0


def test_seconds_count_from_the_start_of_the_process(tmp_path: Path) -> None:
    """A plan by seconds ends; how near to the second is for the benchmarks."""
    problem, out = tmp_path / "problem.json", tmp_path / "plan.json"
    problem.write_text(write_problem(small_problem(6, 12, 4)), encoding="utf-8")
    before = time.monotonic()
    assert plan_main([str(problem), "--seconds", "0", "--out", str(out)]) == 0
    assert time.monotonic() - before < 60
    assert check_main([str(problem), str(out)]) == 0


def test_a_plan_into_a_pipe_leaves_the_pipe_there(problem_file: Path, tmp_path: Path) -> None:
    """Whoever may write in the folder of a pipe or device once got a file in its place."""
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    reading = os.open(pipe, os.O_RDONLY | os.O_NONBLOCK)
    try:
        assert plan_main([str(problem_file), "--iterations", "5", "--out", str(pipe)]) == 0
        assert pipe.is_fifo()
        assert json.loads(os.read(reading, 1 << 20))["format"] == "coatround-plan-1"
    finally:
        os.close(reading)


@pytest.mark.parametrize("option", ["--seconds", "--iterations", "--seed"])
@pytest.mark.parametrize("typed", ["soon", "", "-1", "99999999999"])
def test_a_wrong_number_is_told_in_words(
    option: str, typed: str, problem_file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as ended:
        plan_main([str(problem_file), option, typed])
    assert ended.value.code == 2
    said = capsys.readouterr().err
    assert f"argument {option}: {typed!r}, expected" in said


def test_a_problem_without_a_name_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        plan_main([""])
    assert ended.value.code == 2
    assert "is empty" in capsys.readouterr().err

"""`coatround plan` stopped, killed, or out of disk: an older plan at --out is whole, and words say what happened."""

import json
import os
import resource
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from coatround.core.rounds.fileformat import write_problem
from coatround.plan_command import check_main
from tests.core.rounds.small_problems import small_problem

COMMAND = [sys.executable, "-c", "import sys; from coatround.cli import main; sys.exit(main(sys.argv[1:]))", "plan"]
OLDER = '{"format": "coatround-plan-1", "an older": "plan"}\n'


@pytest.fixture
def problem(tmp_path: Path) -> Path:
    """Sixteen visits on six runs: more than is solved for certain, so that it searches as long as it may."""
    file = tmp_path / "problem.json"
    file.write_text(write_problem(small_problem(5, 16, 6)), encoding="utf-8")
    return file


@pytest.fixture
def out(tmp_path: Path) -> Path:
    """A plan of yesterday where the new one is to be written."""
    file = tmp_path / "plans" / "plan.json"
    file.parent.mkdir()
    file.write_text(OLDER, encoding="utf-8")
    return file


def started(*words: object, files_of_bytes: int | None = None, stdout: int = subprocess.PIPE) -> subprocess.Popen[str]:
    def limit() -> None:
        if files_of_bytes is not None:
            resource.setrlimit(resource.RLIMIT_FSIZE, (files_of_bytes, files_of_bytes))

    return subprocess.Popen(
        [*COMMAND, *map(str, words)],
        stdout=stdout,
        stderr=subprocess.PIPE,
        env=os.environ | {"PYTHONPATH": os.pathsep.join(sys.path)},
        text=True,
        preexec_fn=limit,
    )


def searching(problem: Path, out: Path) -> subprocess.Popen[str]:
    """A command that has come to searching."""
    process = started(problem, "--seconds", 300, "--out", out)
    assert process.stderr is not None
    assert "tries" in process.stderr.readline()
    return process


def alone(out: Path) -> bool:
    return [file.name for file in out.parent.iterdir()] == [out.name]


def test_ctrl_c_writes_the_best_so_far_in_place_of_the_older(problem: Path, out: Path) -> None:
    process = searching(problem, out)
    process.send_signal(signal.SIGINT)
    process.communicate(timeout=60)
    assert process.returncode == 0
    assert check_main([str(problem), str(out)]) == 0
    assert alone(out)


@pytest.mark.parametrize("stop", [subprocess.Popen.kill, subprocess.Popen.terminate])
def test_killed_it_leaves_the_older_plan(
    stop: Callable[[subprocess.Popen[str]], None], problem: Path, out: Path
) -> None:
    process = searching(problem, out)
    stop(process)
    process.communicate(timeout=60)
    assert out.read_text(encoding="utf-8") == OLDER
    assert alone(out)


@pytest.mark.parametrize("bytes_", [0, 1, 512])
def test_a_full_disk_leaves_the_older_plan(bytes_: int, problem: Path, out: Path) -> None:
    """A limit on the size of files, in the middle of the plan: what a full disk is to a program."""
    process = started(problem, "--iterations", 20, "--out", out, files_of_bytes=bytes_)
    printed, said = process.communicate(timeout=60)
    assert (process.returncode, printed) == (2, "")
    assert said.splitlines()[-1].startswith(f"coatround plan: {out}: cannot be written: ")
    assert "Traceback" not in said
    assert out.read_text(encoding="utf-8") == OLDER
    assert alone(out)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="the disk that is always full is Linux's")
def test_printing_onto_a_full_disk(problem: Path) -> None:
    with Path("/dev/full").open("w") as full:
        process = started(problem, "--iterations", 20, stdout=full.fileno())
        _, said = process.communicate(timeout=60)
    assert process.returncode == 2
    assert said.splitlines()[-1] == "coatround plan: the plan: cannot be printed: No space left on device"
    assert "Traceback" not in said


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="the disk that is always full is Linux's")
def test_a_log_on_a_full_disk_loses_no_plan(problem: Path, out: Path) -> None:
    with Path("/dev/full").open("w") as full:
        words = [*COMMAND, str(problem), "--seconds", "4", "--out", str(out)]
        surroundings = os.environ | {"PYTHONPATH": os.pathsep.join(sys.path)}
        subprocess.run(words, stdout=subprocess.PIPE, stderr=full, env=surroundings, timeout=120, check=True)
    assert json.loads(out.read_text(encoding="utf-8"))["format"] == "coatround-plan-1"
    assert check_main([str(problem), str(out)]) == 0

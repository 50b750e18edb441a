"""Eight threads may ask the engine at once; a minute of it is the benchmark, two seconds of the same are the test."""

import re
import subprocess
import sys
from functools import partial
from pathlib import Path

from benchmarks.road_threads import ask_at_once

BENCHMARK = Path(__file__).parents[2] / "benchmarks" / "road_threads.py"


def test_eight_threads_get_right_answers() -> None:
    """In a process of its own: a crash of the engine would take the tests with it."""
    words = [sys.executable, str(BENCHMARK), "--seconds", "2", "--threads", "8"]
    done = subprocess.run(words, capture_output=True, text=True, timeout=120, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    told = re.fullmatch(r"8 threads, 2 s: (\d+) questions asked, 0 wrong answers\n", done.stdout)
    assert told, done.stdout
    assert int(told[1]) > 50


def test_wrong_answers_and_failures_are_counted() -> None:
    questions = [partial(int, "1"), partial(int, "2"), partial(int, "three")]
    asked, wrong, failed = ask_at_once(questions[:2], [1, 3], threads=2, seconds=0.05, seed=1)
    assert 0 < wrong < asked
    assert not failed
    _, _, failed = ask_at_once(questions, [1, 2, 3], threads=2, seconds=5, seed=1)
    assert len(failed) == 2
    assert all(words.startswith("ValueError") for words in failed)

"""Territories searched side by side: the same plan as one after the other, and nothing is left behind by a kill."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from coatround.core.rounds import territories
from coatround.core.rounds.check import check
from coatround.core.rounds.planfile import write_plan
from coatround.core.rounds.solve import after_iterations, solve
from coatround.hands import Together
from tests.core.rounds.test_territories import town

ROOT = Path(__file__).parent.parent


@pytest.fixture(autouse=True)
def forced(monkeypatch: pytest.MonkeyPatch) -> None:
    """Territories for a problem of sixty visits: two vans, or about thirty visits."""
    monkeypatch.setattr(territories, "MANY_VISITS", 40)
    monkeypatch.setattr(territories, "VANS_A_TERRITORY", 2)
    monkeypatch.setattr(territories, "VISITS_A_SPAN", 30)


def processes(hands: Together) -> list[int]:
    assert hands._pool is not None
    return list(hands._pool._processes)


@pytest.mark.parametrize("iterations", [700, 1500])
def test_side_by_side_is_the_same_plan_byte_for_byte(iterations: int) -> None:
    """The last round is cut short in the middle of a territory; the best that was heard of ends where it ends too."""
    problem, heard = town(1), list[tuple[int, int]]()
    alone = solve(problem, 1, after_iterations(iterations))
    with Together(2) as hands:
        together = solve(problem, 1, after_iterations(iterations), lambda *told: heard.append(told), hands=hands)
        assert len(processes(hands)) == 2
    assert write_plan(together) == write_plan(alone)
    assert together.iterations == iterations
    assert check(problem, together) == []
    assert heard


def test_a_killed_process_is_made_up_for() -> None:
    problem = town(2)
    alone = solve(problem, 1, after_iterations(700))
    with Together(2) as hands:
        solve(problem, 1, after_iterations(50), hands=hands)
        for process in processes(hands):
            os.kill(process, signal.SIGKILL)
        together = solve(problem, 1, after_iterations(700), hands=hands)
        assert hands.count == 1
    assert write_plan(together) == write_plan(alone)


def test_it_stops_when_time_is_up() -> None:
    problem, end = town(3), time.monotonic() + 4
    with Together(2) as hands:
        plan = solve(problem, 1, lambda _: time.monotonic() >= end, hands=hands)
    assert check(problem, plan) == []
    assert plan.iterations > 0


STARTER = """
import sys, time
from coatround.core.rounds import territories
from coatround.core.rounds.solve import solve
from coatround.hands import Together
from tests.core.rounds.test_territories import town
territories.MANY_VISITS = 40
hands = Together(2)
def stop(done):
    if hands._pool is not None and len(hands._pool._processes) == 2 and done:
        print(*hands._pool._processes, flush=True)
    return False
if __name__ == "__main__":
    solve(town(1), 1, stop, hands=hands)
"""


def test_no_process_outlives_the_one_that_started_it(tmp_path: Path) -> None:
    script = tmp_path / "starter.py"
    script.write_text(STARTER)
    environment = os.environ | {"PYTHONPATH": os.pathsep.join((str(ROOT / "src"), str(ROOT)))}
    with subprocess.Popen([sys.executable, str(script)], stdout=subprocess.PIPE, text=True, env=environment) as started:
        assert started.stdout is not None
        found = [int(word) for word in started.stdout.readline().split()]
        started.kill()
    assert len(found) == 2
    end = time.monotonic() + 20
    while any(Path(f"/proc/{process}").exists() for process in found) and time.monotonic() < end:
        time.sleep(0.1)
    assert not any(Path(f"/proc/{process}").exists() for process in found)

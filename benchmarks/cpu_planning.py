"""Plans one problem in a process of its own until its CPU seconds are used up; what every benchmark of plans shares.

CPU seconds are those of the whole process: start-up, reading, the check and writing included, so that a busy
machine does not matter. By itself: `python benchmarks/cpu_planning.py PROBLEM PLAN SEED CPU_SECONDS`.
"""

import os
import resource
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

SOURCE = Path(__file__).resolve().parent.parent / "src"
sys.path.insert(0, os.environ.get("COATROUND_SOURCE") or str(SOURCE))

from coatround.core.rounds.check import check  # noqa: E402
from coatround.core.rounds.fileformat import read_problem, write_problem  # noqa: E402
from coatround.core.rounds.plan import Plan  # noqa: E402
from coatround.core.rounds.planfile import read_plan, write_plan  # noqa: E402
from coatround.core.rounds.problem import Problem  # noqa: E402


@dataclass(frozen=True, slots=True)
class Planned:
    """A plan that passed the checker or not, the CPU seconds of its process and the most memory that it had."""

    plan: Plan
    faults: int
    cpu_seconds: float
    mb: int

    @property
    def checked(self) -> str:
        """What the checker said, in a word or two."""
        return f"{self.faults} faults" if self.faults else "passes"


def planned(problem: Problem, seed: int, cpu_seconds: float) -> Planned:
    """The plan that `solve` makes of a problem in so many CPU seconds, in a process of its own."""
    with tempfile.TemporaryDirectory() as folder:
        asked, answer = Path(folder) / "problem.json", Path(folder) / "plan.json"
        asked.write_text(write_problem(problem), encoding="utf-8")
        used, kb = own_process([__file__, str(asked), str(answer), str(seed), str(cpu_seconds)])
        plan = read_plan(answer.read_bytes())
    return Planned(plan, len(check(problem, plan)), used, int(kb) // 1024)


def own_process(command: list[str]) -> tuple[float, str]:
    """Runs one of our own programs to its end; its CPU seconds, those of its children included, and what it said."""
    before = _children_seconds()
    done = subprocess.run([sys.executable, *command], check=True, stdout=subprocess.PIPE, text=True)
    return _children_seconds() - before, done.stdout


def _children_seconds() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def most_kb() -> int:
    """The most memory this process has had, in kB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss


def commit() -> str:
    """The short name of the commit that is measured, for the table; "+" where files differ from it."""
    git = ["git", "-C", str(SOURCE.parent)]
    name = subprocess.run([*git, "rev-parse", "--short", "HEAD"], capture_output=True, text=True, check=False)
    changed = subprocess.run([*git, "status", "--porcelain", "src"], capture_output=True, text=True, check=False)
    return (name.stdout.strip() or "unknown") + ("+" if changed.stdout.strip() else "")


def _plan_here(asked: Path, answer: Path, seed: int, cpu_seconds: float) -> None:
    from coatround.core.rounds.solve import solve
    from coatround.plan_command import reserve_seconds

    problem = read_problem(asked.read_bytes())
    search_end = cpu_seconds - reserve_seconds(problem, cpu_seconds)
    plan = solve(
        problem,
        seed,
        lambda _: time.process_time() >= search_end,
        ends=lambda: time.process_time() >= cpu_seconds - 0.2,
    )
    answer.write_text(write_plan(plan), encoding="utf-8")
    print(most_kb())


if __name__ == "__main__":
    _plan_here(Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3]), float(sys.argv[4]))

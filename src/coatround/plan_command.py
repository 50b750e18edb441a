"""The commands `coatround plan` and `coatround check`: files in, files and words out, the clock and Ctrl-C."""

import argparse
import json
import os
import signal
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import asdict, replace
from pathlib import Path
from types import FrameType
from typing import TYPE_CHECKING, Any

from coatround.core.errors import BadInput
from coatround.start import named

if TYPE_CHECKING:
    from coatround.core.rounds.problem import Problem

_LOADED = time.monotonic()
DEFAULT_SECONDS = 20.0


def plan_main(argv: Sequence[str] | None = None) -> int:
    """`coatround plan`: 0 once a plan is written, 2 with one line on stderr when the input is wrong."""
    asked = _plan_parser().parse_args(argv)
    began = _process_start()
    try:
        problem = _read_problem(asked.file)
        out = _writable(asked.out)
    except BadInput as error:
        return _refused("plan", error)
    plan, seconds = _planned(problem, asked, began)
    text = write_plan_text(plan, 0 if asked.iterations is not None else seconds)
    try:
        with _reader_may_leave():
            _write(out, text)
    except OSError as error:
        return _not_written(asked.out, error)
    with _reader_may_leave():
        _tell_plan(problem, replace(plan, seconds=seconds), asked, out is None)
    return 0


def check_main(argv: Sequence[str] | None = None) -> int:
    """`coatround check`: 0 when nothing breaks, 1 when something does, 2 when a file is wrong."""
    asked = _check_parser().parse_args(argv)
    from coatround.core.rounds.check import check
    from coatround.core.rounds.planfile import read_plan

    try:
        problem = _read_problem(asked.file)
        plan = _read(asked.plan, read_plan)
    except BadInput as error:
        return _refused("check", error)
    faults = check(problem, plan)
    with _reader_may_leave():
        _tell_faults(faults, asked.json)
    return 1 if faults else 0


def _tell_faults(faults: list[Any], as_json: bool) -> None:
    if as_json:
        print(json.dumps({"ok": not faults, "faults": [asdict(fault) for fault in faults]}, ensure_ascii=False))
        return
    for fault in faults:
        print(f"{fault.where}: {fault.words} [{fault.code}]")
    print(f"{len(faults)} things break." if len(faults) > 1 else "1 thing breaks." if faults else "Nothing breaks.")


@contextmanager
def _reader_may_leave() -> Iterator[None]:
    """Lets whoever reads our output stop reading (`| head`) without that being an error."""
    try:
        yield
        sys.stdout.flush()
    except BrokenPipeError:
        _close_stdout()


def _close_stdout() -> None:
    """What is still to be printed goes nowhere, so that ending does not fail once more."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _plan_parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="coatround plan",
        description="Plans a round: which visit on which run, in which order, at what time, and what it costs.",
        epilog="Ctrl-C ends early and writes the best plan so far. "
        "Exit status: 0 a plan was written, 2 the input is wrong and nothing was written.",
    )
    parser.add_argument(
        "file", metavar="FILE", type=named, help="the round problem (coatround-round-1, JSON); - reads it from the pipe"
    )
    length = parser.add_mutually_exclusive_group()
    length.add_argument(
        "--seconds",
        type=_seconds,
        default=DEFAULT_SECONDS,
        metavar="S",
        help=f"how long to look for better plans, counted from the start of the command (default {DEFAULT_SECONDS:g})",
    )
    length.add_argument(
        "--iterations",
        type=_count,
        metavar="N",
        help="look this many times instead of so long: the same file then gives the same plan, byte for byte",
    )
    parser.add_argument(
        "--seed", type=_count, default=1, metavar="N", help="another number gives another search (default 1)"
    )
    parser.add_argument(
        "--out", metavar="PLAN", type=named, help="where to write the plan; without it the plan is printed"
    )
    parser.add_argument("--json", action="store_true", help="say what was done as JSON instead of words")
    return parser


def _check_parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="coatround check",
        description="Checks a plan against its round problem: recomputes times, limits and costs, lists what breaks.",
        epilog="Exit status: 0 nothing breaks, 1 something does, 2 a file is wrong.",
    )
    parser.add_argument("file", metavar="FILE", type=named, help="the round problem (coatround-round-1, JSON)")
    parser.add_argument("plan", metavar="PLAN", type=named, help="the plan to check (coatround-plan-1, JSON)")
    parser.add_argument("--json", action="store_true", help="list what breaks as JSON instead of words")
    return parser


def _seconds(text: str) -> float:
    try:
        seconds = float(text)
    except ValueError:
        seconds = -1
    if not 0 <= seconds <= 86_400:
        raise argparse.ArgumentTypeError(f"{text!r}, expected 0 to 86400 seconds")
    return seconds


def _count(text: str) -> int:
    try:
        count = int(text)
    except ValueError:
        count = -1
    if not 0 <= count <= 1_000_000_000:
        raise argparse.ArgumentTypeError(f"{text!r}, expected a whole number from 0 to 1000000000")
    return count


def _refused(command: str, error: BadInput) -> int:
    print(f"coatround {command}: {error}", file=sys.stderr)
    return 2


def _not_written(out: str | None, error: OSError) -> int:
    if out is not None:
        return _refused("plan", BadInput(out, f"cannot be written: {error.strerror}"))
    _close_stdout()
    return _refused("plan", BadInput("the plan", f"cannot be printed: {error.strerror}"))


def _read[T](path: str, read: Callable[[bytes], T]) -> T:
    """What `read` makes of a file; its errors name the file first."""
    try:
        text = sys.stdin.buffer.read() if path == "-" else Path(path).read_bytes()
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else str(error)
        raise BadInput(path, f"cannot be read: {reason}") from None
    try:
        return read(text)
    except BadInput as error:
        raise BadInput(path, str(error)) from None


def _read_problem(path: str) -> Any:
    """The problem in a file; without travel it is filled by the roads in use, or the estimate where they end."""
    from coatround.core.rounds.fileformat import read_problem

    problem = _read(path, read_problem)
    return problem if problem.travel is not None else _with_travel(problem)


def _with_travel(problem: "Problem") -> "Problem":
    from coatround.home import home_folder
    from coatround.roads.drives import with_travel
    from coatround.roads.in_use import roads_in_use
    from coatround.roads.straight import PARKING_SECONDS

    roads = roads_in_use(home_folder())
    if roads is None or not all(roads.about.covers(place.lat, place.lon) for place in problem.places):
        roads = None
    filled, drives = with_travel(problem, roads, PARKING_SECONDS)
    if roads is None:
        print("no travel in the file: driving is estimated from straight lines", file=sys.stderr)
    else:
        estimated = int((~drives.by_road).sum())
        rest = f", {estimated} of {drives.by_road.size} drives estimated" if estimated else ""
        print(f"no travel in the file: driving is by the roads of {roads.about.file}{rest}", file=sys.stderr)
    return filled


def _writable(out: str | None) -> Path | None:
    """The path to write to, refused before any planning where that cannot work."""
    if out is None:
        return None
    path = Path(out)
    if path.is_dir() or not path.parent.is_dir():
        raise BadInput(out, "cannot be written: no such folder" if not path.is_dir() else "cannot be written: a folder")
    return path


def _write(out: Path | None, text: str) -> None:
    """Writes the whole plan or nothing of it: beside the file first, then in its place."""
    if out is None:
        sys.stdout.write(text)
        return
    if out.exists() and not out.is_file():
        out.write_text(text, encoding="utf-8", newline="\n")  # a pipe or device is written to, never replaced
        return
    beside = out.with_name(f"{out.name}.{os.getpid()}.part")
    try:
        with beside.open("w", encoding="utf-8", newline="\n") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(out)
    finally:
        beside.unlink(missing_ok=True)


def write_plan_text(plan: Any, seconds: int) -> str:
    """The plan file's text with the seconds it took."""
    from coatround.core.rounds.planfile import write_plan

    return write_plan(replace(plan, seconds=seconds))


def _planned(problem: Any, asked: argparse.Namespace, began: float) -> tuple[Any, int]:
    """The plan and the whole seconds since the process began; Ctrl-C is turned into an early stop."""
    from coatround.core.rounds.solve import solve
    from coatround.hands import Together

    stopped = _Interrupt()
    end = began + asked.seconds
    search_end = end - reserve_seconds(problem, asked.seconds)

    def stop(done: int) -> bool:
        if asked.iterations is not None:
            return stopped.pressed or done >= asked.iterations
        return stopped.pressed or time.monotonic() >= search_end

    def ends() -> bool:
        return stopped.pressed or (asked.iterations is None and time.monotonic() >= end - min(0.5, 0.1 * asked.seconds))

    with stopped, Together() as hands:
        plan = solve(problem, asked.seed, stop, _Progress(), ends, hands=hands)
    return plan, round(time.monotonic() - began)


def reserve_seconds(problem: Any, seconds: float) -> float:
    """What is kept back of the time given for the exact polish, the check and writing.

    More where the search does not see every rule (break, power, noise, ties), since the polish then has work left,
    and where runs are long, since their exact order takes longer.
    """
    from coatround.core.rounds.search import LONG_RUN

    unseen = any(run.break_ or run.power_wh is not None or run.noise_percent is not None for run in problem.runs)
    unseen = unseen or any(visit.follows for visit in problem.visits)
    is_long = len(problem.visits) >= LONG_RUN * max(1, len(problem.runs))
    most = 0.5 + (0.4 if unseen else 0.12 if is_long else 0.02) * len(problem.runs)
    return min((0.4 if unseen else 0.3) * seconds, most)


class _Interrupt:
    """While open, Ctrl-C is remembered instead of raised, so that the best plan so far can be written."""

    pressed = False

    def __enter__(self) -> "_Interrupt":
        self._before = signal.signal(signal.SIGINT, self._press)
        return self

    def _press(self, number: int, frame: FrameType | None) -> None:
        self.pressed = True

    def __exit__(self, *_: object) -> None:
        signal.signal(signal.SIGINT, self._before)


class _Progress:
    """A line on stderr whenever the best plan got cheaper, at most one a second."""

    def __init__(self) -> None:
        self.cents: int | None = None
        self.told = 0.0

    def __call__(self, iterations: int, cents: int) -> None:
        now = time.monotonic()
        if cents != self.cents and now - self.told >= 1:
            with suppress(OSError):  # a full disk under a log is no reason to lose the plan
                print(f"{iterations} tries: {cents} cents", file=sys.stderr, flush=True)
            self.cents, self.told = cents, now


def _tell_plan(problem: Any, plan: Any, asked: argparse.Namespace, printed: bool) -> None:
    """What was done: as JSON or words, on stdout unless the plan itself is there."""
    from coatround.core.rounds.explain import cost_lines, summary

    stream = sys.stderr if printed else sys.stdout
    if asked.json:
        told = {
            "out": asked.out,
            "cost": asdict(plan.cost),
            "planned": len(problem.visits) - len(plan.left_out),
            "left_out": [asdict(left) for left in plan.left_out],
            "seed": plan.seed,
            "iterations": plan.iterations,
            "seconds": plan.seconds,
        }
        print(json.dumps(told, ensure_ascii=False), file=stream)
        return
    print(summary(problem, plan) + ".", file=stream)
    for words, cents in cost_lines(plan):
        print(f"  {words}: {cents} cents", file=stream)
    for left in plan.left_out:
        print(f"  left out {left.visit}: {left.words} [{left.reason}]", file=stream)


def _process_start() -> float:
    """When this process began, on the monotonic clock; where the system does not say, when this module was loaded."""
    try:
        fields = Path("/proc/self/stat").read_text().rpartition(")")[2].split()
        age = float(Path("/proc/uptime").read_text().split()[0]) - int(fields[19]) / os.sysconf("SC_CLK_TCK")
    except (OSError, ValueError, IndexError, AttributeError):
        return _LOADED
    return min(_LOADED, time.monotonic() - age)

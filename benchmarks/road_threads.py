"""Many threads asking the road engine at once, for as long as a web server would: no crash, and right answers.

    python benchmarks/road_threads.py [--seconds 60] [--threads 8] [--seed 1]

Builds a small invented town in a temporary folder, asks a set of questions one after the other (matrices, ways, nearest
roads), then the same questions from all threads at once in random order. Prints how many were asked and how many
answers differ from those of the first asking. Ends with 1 when any does, or when a thread failed.
"""

import argparse
import random
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "src"))

if TYPE_CHECKING:
    from coatround.roads.engine import Engine, Point

SUBURBS = 6
QUESTIONS = 40
PLACES = 15

Question = Callable[[], Any]


def build(folder: Path, seed: int) -> None:
    """The roads of a small invented town, without its addresses and streets."""
    from coatround.demo.extract import write_extract
    from coatround.roads.extract import look_at
    from coatround.roads.tiles import build_tiles

    file = folder / "town.osm.pbf"
    write_extract(file, seed, SUBURBS)
    build_tiles(
        file,
        folder,
        country="AU",
        bounds=look_at(file).bounds,
        on_progress=lambda _share: None,
        stopped=lambda: False,
    )


def homes(seed: int) -> list["Point"]:
    from coatround.demo import town

    chance, taken = random.Random(f"{seed}/threads"), set[str]()
    suburbs = [town.suburb(number, seed) for number in range(SUBURBS)]
    points = [town.address(chance.choice(suburbs), chance, taken).point for _ in range(200)]
    return [(point.lat, point.lon) for point in points]


def questions_of(engine: "Engine", points: Sequence["Point"], seed: int) -> list[Question]:
    """Matrices, ways and nearest roads, a third each."""
    chance, asked = random.Random(seed), list[Question]()
    for _ in range(QUESTIONS):
        starts, ends = chance.sample(points, PLACES), chance.sample(points, PLACES)
        asked.append(partial(matrix_of, engine, starts, ends))
        asked.append(partial(engine.way, starts[0], starts[1]))
        asked.append(partial(engine.snap, starts))
    return asked


def matrix_of(engine: "Engine", starts: Sequence["Point"], ends: Sequence["Point"]) -> tuple[Any, Any]:
    seconds, metres = engine.matrix(starts, ends)
    return seconds.tolist(), metres.tolist()


def ask_at_once(
    questions: Sequence[Question], answers: Sequence[Any], *, threads: int, seconds: float, seed: int
) -> tuple[int, int, list[str]]:
    """Asks from many threads for some seconds: how many were asked, how many answers are wrong, and what failed."""
    asked, wrong, failed = [0] * threads, [0] * threads, list[str]()
    until = time.monotonic() + seconds
    together = threading.Barrier(threads)

    def ask(thread: int) -> None:
        chance = random.Random(f"{seed}/{thread}")
        together.wait()
        try:
            while time.monotonic() < until:
                number = chance.randrange(len(questions))
                wrong[thread] += questions[number]() != answers[number]
                asked[thread] += 1
        except Exception as error:
            failed.append(f"{type(error).__name__}: {error}")

    started = [threading.Thread(target=ask, args=(number,)) for number in range(threads)]
    for thread in started:
        thread.start()
    for thread in started:
        thread.join()
    return sum(asked), sum(wrong), failed


def main() -> int:
    from coatround.roads.engine import Engine

    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--seconds", type=float, default=60)
    parser.add_argument("--threads", type=int, default=8)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        build(folder, given.seed)
        points = homes(given.seed)
        answers = [question() for question in questions_of(Engine(folder), points, given.seed)]
        # An engine of its own: what the first one has read is not to be of help.
        questions = questions_of(Engine(folder), points, given.seed)
        asked, wrong, failed = ask_at_once(
            questions, answers, threads=given.threads, seconds=given.seconds, seed=given.seed
        )
    print(f"{given.threads} threads, {given.seconds:g} s: {asked} questions asked, {wrong} wrong answers")
    for words in failed:
        print(f"a thread failed: {words}")
    return 1 if wrong or failed or not asked else 0


if __name__ == "__main__":
    sys.exit(main())

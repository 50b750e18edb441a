"""What drives by road cost to reckon on the invented town, and how far the estimate lies from them.

    python benchmarks/roads.py [--places 200,500] [--seed 1]

Builds the town's roads in a temporary folder, then asks, each in a process of its own: the full matrix of so many
homes (CPU seconds and the most memory, start-up and the estimate included), one home more (how many drives are asked),
and the estimate of minutes against the engine's. Ends with 1 when a target is missed: 2 s for 200, 5 s for 500, 300 MB.
"""

import argparse
import datetime as dt
import json
import os
import random
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

SOURCE = Path(__file__).resolve().parent.parent / "src"
sys.path.insert(0, str(SOURCE))

SUBURBS = 40
CPU_SECONDS = {200: 2.0, 500: 5.0}
MEGABYTES = 300


def main() -> int:
    asked = _arguments()
    if asked.one:
        return measure_one(Path(asked.home), asked.one, asked.seed)
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        build(home, asked.seed)
        return report(home, asked.places, asked.seed)


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--places", type=lambda typed: [int(one) for one in typed.split(",")], default=[200, 500])
    parser.add_argument("--seed", type=int, default=1)
    for hidden in ("--one", "--home"):
        parser.add_argument(hidden, type=int if hidden == "--one" else str, help=argparse.SUPPRESS)
    return parser.parse_args()


def build(home: Path, seed: int) -> None:
    """The town's roads, put in use in a folder."""
    from coatround.demo.extract import write_extract
    from coatround.roads.adding import add_roads

    file = home / "town.osm.pbf"
    began = time.process_time()
    write_extract(file, seed, SUBURBS)
    written = time.process_time() - began
    about = add_roads(home, file, now=dt.datetime.now(dt.UTC), country="AU")
    children = resource.getrusage(resource.RUSAGE_CHILDREN)
    spent = time.process_time() - began - written + children.ru_utime + children.ru_stime
    print(
        f"town of {SUBURBS} suburbs: {about.roads} roads, {about.road_metres / 1000:.0f} km, {about.addresses} homes;"
        f" written in {written:.1f} s, built in {spent:.1f} s of CPU"
    )


def homes(count: int, seed: int) -> list[tuple[float, float]]:
    """So many addresses of the town, all different."""
    from coatround.demo import town

    chance, taken = random.Random(f"{seed}/benchmark"), set[str]()
    suburbs = [town.suburb(number, seed) for number in range(SUBURBS)]
    found: dict[tuple[float, float], None] = {}
    while len(found) < count:
        point = town.address(chance.choice(suburbs), chance, taken).point
        found[point.lat, point.lon] = None
    return list(found)


def measure_one(home: Path, count: int, seed: int) -> int:
    """One full matrix, one home more, and the estimate against the engine; as a line of JSON."""
    from coatround.roads.drives import drives_between
    from coatround.roads.engine import engine_of
    from coatround.roads.in_use import roads_in_use
    from coatround.roads.straight import straight_travel

    roads = roads_in_use(home)
    assert roads is not None
    roads.drives.unlink(missing_ok=True)
    points = homes(count + 1, seed)
    drives = drives_between(points[:count], roads)
    usage = resource.getrusage(resource.RUSAGE_SELF)
    asked = engine_of(roads.folder).pairs_asked
    began = time.process_time()
    again = drives_between(points[:count], roads)
    kept_seconds = time.process_time() - began
    drives_between(points, roads)
    more = engine_of(roads.folder).pairs_asked - asked
    estimate = np.array(straight_travel([lat for lat, _ in points[:count]], [lon for _, lon in points[:count]], 0)[0])
    off = ~np.eye(count, dtype=bool)
    minutes = (estimate - drives.seconds)[off] / 60
    ratio = estimate[off] / np.maximum(1, drives.seconds[off])
    print(
        json.dumps(
            {
                "cpu": usage.ru_utime + usage.ru_stime,
                "mb": usage.ru_maxrss / 1024,
                "kept": kept_seconds,
                "same": bool((again.seconds == drives.seconds).all()),
                "asked": asked,
                "more": more,
                "by_road": float(drives.by_road.mean()),
                "minutes": np.percentile(drives.seconds[off] / 60, [10, 50, 90]).tolist(),
                "error": np.percentile(minutes, [5, 25, 50, 75, 95]).tolist(),
                "away": float(np.median(np.abs(minutes))),
                "ratio": np.percentile(ratio, [10, 50, 90]).tolist(),
            }
        )
    )
    return 0


def report(home: Path, places: list[int], seed: int) -> int:
    missed = 0
    for count in places:
        words = [sys.executable, __file__, "--one", str(count), "--home", str(home), "--seed", str(seed)]
        done = subprocess.run(words, check=True, capture_output=True, text=True, env=os.environ)
        found = json.loads(done.stdout)
        target = CPU_SECONDS.get(count)
        over = (target is not None and found["cpu"] > target) or found["mb"] > MEGABYTES
        lines = 2 * count + 1
        over |= found["more"] > lines or not found["same"]
        missed += over
        print(
            f"{count} homes: full matrix {found['cpu']:.2f} s CPU (target {target or '-'}), {found['mb']:.0f} MB"
            f" (target {MEGABYTES}), {found['by_road']:.1%} by road; from the cache {found['kept'] * 1000:.0f} ms; one"
            f" home more asks {found['more']} drives (a row and a column are {lines})" + (" MISSED" if over else "")
        )
        fifth, quarter, middle, three, last = found["error"]
        low, half, high = found["minutes"]
        print(
            f"  by road {half:.1f} min ({low:.1f} to {high:.1f}, 10th to 90th of 100); estimate less road: median"
            f" {middle:+.1f} min, half within {quarter:+.1f} to {three:+.1f}, nine in ten within {fifth:+.1f} to"
            f" {last:+.1f}; {found['away']:.1f} min away in the median; ratio {found['ratio'][1]:.2f}"
            f" ({found['ratio'][0]:.2f} to {found['ratio'][2]:.2f})"
        )
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())

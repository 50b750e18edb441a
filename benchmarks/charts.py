"""A dog's own weight chart, simulated: false alarms in a dog-year, and how soon a drift of 5 % is noticed.

    python benchmarks/charts.py [DOGS]

Dogs are weighed every six weeks, give or take a fifth; a weight varies about the dog's own by SPREAD. Without drift
every first value outside the limits is a false alarm. With drift the weight falls by 5 % in half a year, evenly, from
a random time on, and stays. The chart is coatround.core.learn.charts.own_chart, told a usual spread that is right, too
small by a third, or too large by half.
"""

import datetime as dt
import math
import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "src"))

from cpu_planning import commit

from coatround.core.learn.charts import FIRST, WEIGHT, WIDTH, own_chart

SPREAD = 0.015
WEEKS, JITTER = 6, 0.2
YEARS = 3
DRIFT, DRIFT_WEEKS = 0.05, 26


def weights(chance: np.random.Generator, drift_from: float | None) -> tuple[np.ndarray, np.ndarray]:
    """Weeks and weights of one dog of 10 kg."""
    count = int(YEARS * 52 / WEEKS)
    weeks = np.cumsum(WEEKS * np.exp(JITTER * chance.normal(size=count)))
    level = np.ones(count)
    if drift_from is not None:
        level -= DRIFT * np.clip((weeks - drift_from) / DRIFT_WEEKS, 0, 1)
    return weeks, 10 * level * (1 + SPREAD * chance.normal(size=count))


def simulated(usual: float, dogs: int) -> tuple[float, float, float, float]:
    """False alarms a dog-year; median and 90 % weeks from the drift's start to notice; share never noticed."""
    chance = np.random.default_rng(20261128)
    alarms, years = 0, 0.0
    for _dog in range(dogs):
        weeks, values = weights(chance, None)
        chart = own_chart(values.tolist(), 10 * usual)
        assert chart is not None
        outside = set(chart.chart.signals)
        alarms += sum(place in outside and place - 1 not in outside for place in outside)
        years += (weeks[-1] - weeks[FIRST - 1]) / 52.18
    delays = []
    for _dog in range(dogs):
        drift_from = chance.uniform(52, 78)
        weeks, values = weights(chance, drift_from)
        chart = own_chart(values.tolist(), 10 * usual)
        assert chart is not None
        seen = [weeks[FIRST + place - 1] for place in chart.chart.signals if weeks[FIRST + place - 1] > drift_from]
        delays.append(seen[0] - drift_from if seen else math.inf)
    missed = sum(math.isinf(delay) for delay in delays) / dogs
    return alarms / years, float(np.quantile(delays, 0.5)), float(np.quantile(delays, 0.9)), missed


def main() -> int:
    dogs = int(sys.argv[1]) if len(sys.argv) > 1 else 4000
    print(f"{dt.date.today()}, commit {commit()}: {dogs} dogs, spread {SPREAD:.1%}, weight {WEIGHT}, width {WIDTH}")
    worst = 0.0
    for name, usual in (("right", SPREAD), ("a third too small", SPREAD * 2 / 3), ("half too large", SPREAD * 1.5)):
        false, median, late, missed = simulated(usual, dogs)
        print(
            f"usual spread {name}: {false:.3f} false alarms a dog-year; a drift of {DRIFT:.0%} in {DRIFT_WEEKS} weeks "
            f"noticed after {median:.0f} weeks (nine of ten by {late:.0f}); never in time {missed:.1%}"
        )
        worst = max(worst, false if name == "right" else 0)
    return 0 if worst <= 0.1 else 1


if __name__ == "__main__":
    raise SystemExit(main())

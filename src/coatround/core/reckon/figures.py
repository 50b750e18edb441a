"""Figures over time and over groups: control charts and partly pooled means."""

import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from coatround.core.errors import BadInput
from coatround.core.learn import charts
from coatround.core.learn.pooled import Groupings, pooled
from coatround.core.reckon.asked import Reckoner, a_number, groups, numbers

LARGE = 1e9
VALUES = numbers("values", "Values in order", "", -LARGE, LARGE, [12.1, 12.0, 12.2, 11.9, 11.7, 11.6, 11.4])
TARGET = a_number("target", "What is usual", "", -LARGE, LARGE, 12.05)


def _ewma(given: Mapping[str, Any]) -> dict[str, Any]:
    found = charts.ewma(given["values"], given["target"], given["sd"], given["lambda"], given["width"])
    return {"series": list(found.series), "limits": [found.low, found.high], "signals": list(found.signals)}


def _cusum(given: Mapping[str, Any]) -> dict[str, Any]:
    found = charts.cusum(given["values"], given["target"], given["k"], given["h"])
    return {
        "high": list(found.high),
        "low": list(found.low),
        "limits": [0, found.limit],
        "signals": list(found.signals),
    }


def _pool(given: Mapping[str, Any]) -> dict[str, Any]:
    lists = {name: values for name, values in given["groups"].items() if values}
    if len(lists) < 2 or all(len(values) < 2 for values in lists.values()):
        raise BadInput("groups", "must hold two groups or more, one of them with two values or more")
    values = np.array([value for part in lists.values() for value in part])
    numbers_of = np.array([place for place, part in enumerate(lists.values()) for _value in part])
    middle, size = float(values.mean()), float(values.std()) or 1.0
    found = pooled((values - middle) / size, Groupings([numbers_of], [len(lists)]))
    estimates = {}
    for place, name in enumerate(lists):
        cell = found.covariance[0, 0] + found.covariance[place + 1, place + 1] + 2 * found.covariance[0, place + 1]
        mean = middle + size * (found.mean + found.groups[0][place])
        estimates[name] = {"mean": mean, "sd": size * math.sqrt(max(float(cell), 0))}
    return {
        "mean": middle + size * found.mean,
        "between_sd": size * math.sqrt(found.group_variances[0]),
        "within_sd": size * math.sqrt(found.left_over),
        "estimates": estimates,
    }


RECKONERS = (
    Reckoner(
        "ewma",
        "Weighted mean chart",
        "Whether values drift from what is usual: exponentially weighted moving average.",
        (
            VALUES,
            TARGET,
            a_number("sd", "Their standard deviation", "", 0, LARGE, 0.2),
            a_number("lambda", "Weight of the newest", "", 0, 1, 0.3, above=True),
            a_number("width", "Limits, in standard deviations", "", 0, 100, 3),
        ),
        _ewma,
        "z = lambda x + (1 - lambda) z before, from the target; limits target +- width sd sqrt(lambda / (2 - "
        "lambda)). Signals "
        "are numbers of values, the first is 1.",
        "NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.4.",
    ),
    Reckoner(
        "cusum",
        "Summed chart",
        "Whether values drift from what is usual: tabular CUSUM.",
        (
            VALUES,
            TARGET,
            a_number("k", "Let through, in the unit of the values", "", 0, LARGE, 0.1),
            a_number("h", "Signals above, in the unit of the values", "", 0, LARGE, 0.8),
            a_number("sd", "Their standard deviation; k and h are not multiples of it", "", 0, LARGE, needed=False),
        ),
        _cusum,
        "high = max(0, high before + x - target - k), low = max(0, low before + target - x - k); a signal where one "
        "is above h. "
        "Signals are numbers of values, the first is 1.",
        "NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.3.",
    ),
    Reckoner(
        "pool",
        "Partly pooled means",
        "Means of groups: one with little to say stays near the mean of all.",
        (groups("groups", "Values of each group", {"Biscuit": [62, 58], "Olive": [75, 71, 78], "Fern": [66]}),),
        _pool,
        "value = mean + group + rest, both normal; variances by restricted maximum likelihood, groups by "
        "Henderson's equations.",
        "Patterson and Thompson 1971, Biometrika 58:545; Henderson 1975, Biometrics 31:423.",
    ),
)

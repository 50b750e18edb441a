"""Figures that are our own default and that a firm may set otherwise: heat, noise, water, the day's curve.

Each has a key, its unit, its default and the range in which it makes sense. What a firm set is kept by key; a key that
is not there is the default.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from coatround.core.trade.heat import CLOSED_FROM_C, COOLEST_HOUR, WARMEST_HOUR
from coatround.core.trade.own_day import OTHER_DBA, STEP_DBA
from coatround.core.trade.water import RINSE_L_A_M2, WASH_L_A_M2

type Own = Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure: what it is in words, its unit, our default, and from where to where it may be set."""

    key: str
    words: str
    unit: str
    default: float
    low: float
    high: float


HEAT = tuple(
    Figure(f"closed {kind}", f"Hours closed from, with a caution for {kind}", "c", degrees, 5, 45)
    for kind, degrees in CLOSED_FROM_C.items()
    if kind != "none"
)
DAY = (
    Figure("coolest hour", "The hour at which a day is coolest", "", COOLEST_HOUR, 0, 10),
    Figure("warmest hour", "The hour at which a day is warmest", "", WARMEST_HOUR, 11, 20),
)
NOISE = (
    Figure("dryer", "The dryer at your ear", "dba", STEP_DBA["dryer"], 50, 130),
    Figure("clippers", "The clippers at your ear", "dba", STEP_DBA["clip"], 40, 120),
    Figure("other", "All other work at your ear", "dba", OTHER_DBA, 30, 110),
)
WATER = tuple(
    figure
    for coat in WASH_L_A_M2
    for figure in (
        Figure(f"wash {coat}", f"One wash of a {coat} coat", "litres a m²", WASH_L_A_M2[coat], 1, 100),
        Figure(f"rinse {coat}", f"The last rinse of a {coat} coat", "litres a m²", RINSE_L_A_M2[coat], 1, 100),
    )
)
FIGURES = {figure.key: figure for figure in (*HEAT, *DAY, *NOISE, *WATER)}


def figure(own: Own, key: str) -> float:
    """What the firm set, else our default; KeyError for a key that is none."""
    return own.get(key, FIGURES[key].default)


def closed_from_c(own: Own, caution: str) -> float:
    """The heat index from which hours are closed to a dog with this caution."""
    return figure(own, f"closed {caution}") if f"closed {caution}" in FIGURES else CLOSED_FROM_C[caution]


def step_dba(own: Own) -> dict[str, float]:
    """dB(A) by step, as this firm has it."""
    clippers = figure(own, "clippers")
    return {"dryer": figure(own, "dryer"), "clip": clippers, "pre-clip": clippers}

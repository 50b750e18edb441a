"""The groomer's own day: noise by step, lifts, breaks. A first look; local work-safety law governs."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from coatround.core.trade.hearing import DRYER_DBA, LEX8H, NIOSH, Dose, Rule, Segment, dose
from coatround.core.trade.lifting import Lift, index, limit_kg

STEP_DBA: Mapping[str, float] = {"dryer": DRYER_DBA[0], "clip": 78.0, "pre-clip": 78.0}
OTHER_DBA = 70.0
"""Levels at the ear by step, dB(A): the dryer as the quietest of Scheifele et al. 2012 at 1 m, the rest our own
default. Have your own measured."""
DRYER_SHARE = 0.3
"""Of the work on a dog that was dried without its minutes being counted: our own default."""
LIFTS_A_WASH = 2
"""Into the tub and out of it: our own default."""
TUB_LIFT = Lift(35, 40, 50, 0, 0.2, 1, "poor")
"""Hands 35 cm before the ankles, from 40 cm, 50 cm up, straight ahead, a poor grip: our own default for a dog."""
LEAST_BREAK_SECONDS = 15 * 60
EQUAL_ENERGY = ("AU", "NZ", "GB", "IE")
"""Countries whose law counts equal energy against 85 dB(A) over 8 hours: from memory; elsewhere NIOSH is shown."""


def rule_of(country: str) -> Rule:
    """The rule by which noise is shown first in a country (ISO 3166 letters)."""
    return LEX8H if country in EQUAL_ENERGY else NIOSH


@dataclass(frozen=True, slots=True)
class Worked:
    """One groom: its seconds, seconds by step where they were counted, steps done, the dog's grams, lifted alone."""

    seconds: int
    step_seconds: Mapping[str, int]
    steps: frozenset[str]
    grams: int
    alone: bool = True


@dataclass(frozen=True, slots=True)
class Lifts:
    """Lifts of a day done alone, the heaviest in grams, and its index against the tub lift (None without a lift)."""

    count: int
    heaviest_grams: int
    index: float | None


def noise(
    worked: Iterable[Worked], step_dba: Mapping[str, float] = STEP_DBA, other_dba: float = OTHER_DBA
) -> tuple[Segment, ...]:
    """Minutes at each level, the loudest first; levels by step and of all other work are our own default."""
    seconds: dict[float, float] = {}
    for groom in worked:
        counted = {step: part for step, part in groom.step_seconds.items() if part > 0}
        if "dryer" in groom.steps and "dryer" not in counted:
            counted["dryer"] = round(groom.seconds * DRYER_SHARE)
        loud = 0
        for step, part in counted.items():
            if step in step_dba:
                seconds[step_dba[step]] = seconds.get(step_dba[step], 0) + part
                loud += part
        seconds[other_dba] = seconds.get(other_dba, 0) + max(0, groom.seconds - loud)
    return tuple(Segment(dba, part / 60) for dba, part in sorted(seconds.items(), reverse=True))


def dose_of(
    worked: Sequence[Worked], rule: Rule, step_dba: Mapping[str, float] = STEP_DBA, other_dba: float = OTHER_DBA
) -> Dose | None:
    """The day's noise dose; None for a day without work."""
    segments = noise(worked, step_dba, other_dba)
    return dose(rule, segments) if segments else None


def lifts(worked: Iterable[Worked]) -> Lifts:
    """Lifts done alone: two for each dog that was washed."""
    grams = [groom.grams for groom in worked if groom.alone and groom.steps & {"first wash", "second wash"}]
    heaviest = max(grams, default=0)
    return Lifts(LIFTS_A_WASH * len(grams), heaviest, index(heaviest / 1000, limit_kg(TUB_LIFT)) if grams else None)


def longest_break(visits: Sequence[tuple[float, float, int]]) -> int:
    """The longest pause in seconds between visits, driving taken off; 0 where none is as long as a break.

    Each visit is (arrived, left, expected seconds of the drive to it), instants in seconds; in any order.
    """
    pauses = [then[0] - before[1] - then[2] for before, then in pairwise(sorted(visits))]
    longest = max(pauses, default=0)
    return round(longest) if longest >= LEAST_BREAK_SECONDS else 0

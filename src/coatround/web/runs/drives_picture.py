"""The factors drawn as lines from low to high beside 1, the engine's own, on a scale of ratios."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from coatround.core.learn.drives import Factor

WIDTH, LEFT, RIGHT, TOP, ROW, FOOT = 328, 96, 14, 26, 24, 8
LEAST, MOST = 0.5, 2.0
NEAR, FAR = 0.9, 1.1


@dataclass(frozen=True, slots=True)
class Line:
    """One factor: a line with a dot, or a heading where there is none."""

    words: str
    y: int
    low_x: float = 0
    high_x: float = 0
    x: float = 0
    is_heading: bool = False
    is_used: bool = False

    @property
    def words_y(self) -> int:
        return self.y + 5


@dataclass(frozen=True, slots=True)
class Mark:
    """An upright line of the scale."""

    value: float
    x: float


@dataclass(frozen=True, slots=True)
class Picture:
    """Lines from top to bottom, and the scale's marks."""

    lines: tuple[Line, ...]
    marks: tuple[Mark, ...]
    height: int
    width: int = WIDTH
    top: int = TOP - 6

    @property
    def bottom(self) -> int:
        return self.height - FOOT


def picture(groups: Sequence[tuple[str, Sequence[tuple[str, Factor]]]]) -> Picture:
    """The picture of named factors in groups with a heading each."""
    every = [factor for _words, factors in groups for _name, factor in factors]
    low = max(min([NEAR, *(factor.low for factor in every)]), LEAST)
    high = min(max([FAR, *(factor.high for factor in every)]), MOST)

    def across(value: float) -> float:
        share = math.log(min(max(value, low), high) / low) / math.log(high / low)
        return round(LEFT + share * (WIDTH - LEFT - RIGHT), 1)

    lines: list[Line] = []
    for words, factors in groups:
        lines.append(Line(words, _down(len(lines)), is_heading=True))
        for name, one in factors:
            ends = across(one.low), across(one.high)
            lines.append(Line(name, _down(len(lines)), *ends, across(one.learnt), is_used=one.used))
    marks = tuple(Mark(value, across(value)) for value in _marks(low, high))
    return Picture(tuple(lines), marks, TOP + len(lines) * ROW + FOOT)


def _down(row: int) -> int:
    return TOP + row * ROW + ROW // 2


def _marks(low: float, high: float) -> list[float]:
    """The engine's own 1, and one round value on each side that lies within."""
    below = [value for value in (0.9, 0.8, 0.7, 0.6, 0.5) if value >= low][-1:]
    above = [value for value in (1.1, 1.2, 1.3, 1.5, 2.0) if value <= high][-1:]
    return [*below, 1.0, *above]

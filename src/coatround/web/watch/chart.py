"""A small line along the dates, reckoned here and drawn by a template; a table beside it says the same."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

WIDTH, HEIGHT = 328, 176
LEFT, RIGHT, TOP, BOTTOM = 66, 12, 14, 30


@dataclass(frozen=True, slots=True)
class Dot:
    """One measure in the picture."""

    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Chart:
    """The picture's line, its dots, and where its lowest and highest values lie."""

    dots: tuple[Dot, ...]
    top_y: float
    bottom_y: float
    low: int
    high: int
    first: dt.date
    last: dt.date
    width: int = WIDTH
    height: int = HEIGHT
    left: int = LEFT
    right: int = WIDTH - RIGHT
    labels_y: int = HEIGHT - 8

    @property
    def points(self) -> str:
        return " ".join(f"{dot.x},{dot.y}" for dot in self.dots)

    @property
    def is_flat(self) -> bool:
        return self.low == self.high


def chart(points: Sequence[tuple[dt.date, int]], scale: tuple[int, int] | None = None) -> Chart:
    """The picture of at least one (date, value), the earliest first; `scale` fixes the lowest and highest value."""
    values = [value for _date, value in points]
    low, high = scale or (min(values), max(values))
    first, last = points[0][0], points[-1][0]
    days = max((last - first).days, 1)
    top, bottom = TOP, HEIGHT - BOTTOM

    def across(date: dt.date) -> float:
        return round(LEFT + (WIDTH - LEFT - RIGHT) * ((date - first).days / days if last > first else 0.5), 1)

    def down(value: int) -> float:
        return round(bottom - (bottom - top) * ((value - low) / (high - low) if high > low else 0.5), 1)

    dots = tuple(Dot(across(date), down(value)) for date, value in points)
    return Chart(dots, down(high), down(low), low, high, first, last)

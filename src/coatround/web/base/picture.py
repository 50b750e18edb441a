"""A small picture of lines over a straight axis, reckoned here and drawn by one template, a table beside it."""

from collections.abc import Sequence
from dataclasses import dataclass

WIDTH, HEIGHT = 328, 200
LEFT, RIGHT, TOP, BOTTOM = 76, 12, 14, 34

Points = Sequence[tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Line:
    """One line: its points in the picture, and how it is drawn: line, other, limit, diagonal, band, dots, care."""

    kind: str
    points: tuple[tuple[float, float], ...]

    @property
    def path(self) -> str:
        return " ".join(f"{x},{y}" for x, y in self.points)


@dataclass(frozen=True, slots=True)
class Mark:
    """Words at a place along an axis."""

    at: float
    words: str


@dataclass(frozen=True, slots=True)
class Picture:
    """Lines with a few marks along both axes, and the words under them."""

    lines: tuple[Line, ...]
    down: tuple[Mark, ...]
    across: tuple[Mark, ...]
    title: str
    words: str
    width: int = WIDTH
    height: int = HEIGHT
    left: int = LEFT
    right: int = WIDTH - RIGHT
    bottom: int = HEIGHT - BOTTOM
    labels_y: int = HEIGHT - 10


@dataclass(frozen=True, slots=True)
class Drawn:
    """A line to be drawn, in its own units; a band is its upper edge, then its lower one backwards."""

    kind: str
    points: Points


def picture(
    drawn: Sequence[Drawn],
    title: str,
    words: str,
    *,
    x_words: Sequence[tuple[float, str]],
    y_words: Sequence[tuple[float, str]] = (),
    from_zero: bool = False,
) -> Picture:
    """The picture of at least one point; where `y_words` is empty, the lowest and highest value are marked."""
    xs = [x for line in drawn for x, _y in line.points] + [x for x, _words in x_words]
    ys = [y for line in drawn for _x, y in line.points] + [y for y, _words in y_words] + [0.0] * from_zero
    left, right, low, high = min(xs), max(xs), min(ys), max(ys)

    def across(x: float) -> float:
        share = (x - left) / (right - left) if right > left else 0.5
        return round(LEFT + (WIDTH - LEFT - RIGHT) * share, 1)

    def down(y: float) -> float:
        share = (y - low) / (high - low) if high > low else 0.5
        return round(HEIGHT - BOTTOM - (HEIGHT - BOTTOM - TOP) * share, 1)

    lines = tuple(Line(one.kind, tuple((across(x), down(y)) for x, y in one.points)) for one in drawn)
    marks = y_words or [(y, f"{y:.4g}") for y in dict.fromkeys((low, high))]
    return Picture(
        lines,
        tuple(Mark(down(y), said) for y, said in marks),
        tuple(Mark(across(x), said) for x, said in x_words),
        title,
        words,
    )

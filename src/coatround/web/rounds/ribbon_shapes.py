"""What a ribbon shows, and the shapes it is drawn with, as frozen data."""

from dataclasses import dataclass

from coatround.web.rounds.ribbon_labels import Text


@dataclass(frozen=True, slots=True)
class Span:
    """From and until, in seconds after midnight."""

    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Block:
    """One visit: its dogs' names, when the work starts and ends, litres drawn; `arrive` when before the start."""

    names: tuple[str, ...]
    start: int
    end: int
    litres: int
    arrive: int | None = None
    told: Span | None = None
    is_done: bool = False


@dataclass(frozen=True, slots=True)
class ClosedHours:
    """Hours closed by heat, in words from longest to shortest ("closed to Biscuit", "closed")."""

    start: int
    end: int
    words: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RibbonRun:
    """What a ribbon shows; clock times are seconds after midnight of the run's date.

    `tank` is (seconds, litres) points, `heat` (seconds, degrees). Ribbons to be compared share `clock_from`,
    `clock_until` and `tallest_l`.
    """

    title: str
    leave: int
    back: int
    blocks: tuple[Block, ...]
    tank_l: int
    tank: tuple[tuple[int, float], ...] = ()
    refills: tuple[Span, ...] = ()
    breaks: tuple[Span, ...] = ()
    heat: tuple[tuple[int, float], ...] = ()
    degrees: str = "°C"
    closed: tuple[ClosedHours, ...] = ()
    now: int | None = None
    clock_from: int | None = None
    clock_until: int | None = None
    tallest_l: int = 0


@dataclass(frozen=True, slots=True)
class Rect:
    """A rectangle of the drawing."""

    x: float
    y: float
    width: float
    height: float
    kind: str


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line of the drawing."""

    x1: float
    y1: float
    x2: float
    y2: float
    kind: str


@dataclass(frozen=True, slots=True)
class Ribbon:
    """A drawn run: shapes in pixels of its own width, and the same in words. `key` makes its ids unique on the page."""

    key: str
    size: str
    width: int
    height: int
    title: str
    desc: str
    hatches: tuple[Rect, ...] = ()
    under: tuple[Line, ...] = ()
    rects: tuple[Rect, ...] = ()
    over: tuple[Line, ...] = ()
    tank_area: str = ""
    tank_line: str = ""
    heat_line: str = ""
    texts: tuple[Text, ...] = ()

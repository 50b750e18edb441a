"""The ribbon: a run drawn as one strip along the clock.

Width is minutes. A drive is a thin line, a groom a block as tall as the litres it draws; under it the tank line falls
at each bath and rises at a refill; above it, where it matters, the hours' heat and what they are closed to. Everything
is reckoned here for the width at which it will be shown; the template only writes it down.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise

from django.utils.translation import gettext as _

from coatround.core.units import HOUR
from coatround.web.roads.map import names_in_words
from coatround.web.rounds.ribbon_labels import (
    LINE_PX,
    PAD_PX,
    TEXT_PX,
    Flag,
    Tag,
    Text,
    place_flags,
    shortened,
    text_width,
    without_overlaps,
)
from coatround.web.rounds.ribbon_shapes import Block, ClosedHours, Line, Rect, Ribbon, RibbonRun, Span
from coatround.web.rounds.ribbon_words import halts_in_words, in_words

__all__ = ["Block", "ClosedHours", "Ribbon", "RibbonRun", "Span", "in_words", "ribbon_of"]

EDGE_PX = 2
PX_A_LITRE = 1.5
TALLEST_PX, TALLEST_SMALL_PX = 90, 30
TANK_PX, TANK_SMALL_PX = 54, 22
HEAT_PX, HATCH_PX = 34, 10
LEVELS, LEVELS_SMALL = 4, 1
LEAST_BLOCK_PX = 2


@dataclass(frozen=True, slots=True)
class _Frame:
    """The scales and rows of one drawing."""

    width: int
    start: int
    end: int
    px_a_litre: float
    flags_bottom: float
    base: float
    words_row: float
    tank_top: float
    tank_bottom: float
    height: int
    is_small: bool
    flags: tuple[Flag, ...] = field(default=())

    def x(self, seconds: float) -> float:
        inside = min(max(seconds, self.start), self.end)
        return round(EDGE_PX + (inside - self.start) * (self.width - 2 * EDGE_PX) / (self.end - self.start), 1)


def ribbon_of(run: RibbonRun, width: int, *, key: str = "ribbon", small: bool = False, size: str = "") -> Ribbon:
    """Draws a run `width` pixels wide, for showing at that width: 328 on a phone, 620 to 760 at a desk.

    `small` is the low one for a day in the round. `size` ("phone", "desk") shows it on that kind of screen only.
    """
    frame = _frame(run, width, small)
    blocks = _block_rects(run, frame)
    tank_line, tank_area = _tank_shapes(run, frame)
    return Ribbon(
        key=key,
        size=size,
        width=width,
        height=frame.height,
        title=run.title,
        desc=in_words(run),
        hatches=_hatches(run, frame),
        under=(*_hour_lines(frame), *_road(run, frame)),
        rects=(*blocks, *_halts(run, frame)),
        over=(*_poles(frame, blocks), *_told_lines(run, frame), *_now_line(run, frame)),
        tank_area=tank_area,
        tank_line=tank_line,
        heat_line=_heat_line(run, frame),
        texts=tuple(_texts(run, frame, blocks)),
    )


def _frame(run: RibbonRun, width: int, small: bool) -> _Frame:
    start = run.leave if run.clock_from is None else run.clock_from
    end = max(run.back if run.clock_until is None else run.clock_until, start + HOUR)
    tallest_l = max([run.tallest_l, 1, *(block.litres for block in run.blocks)])
    tallest_px = TALLEST_SMALL_PX if small else TALLEST_PX
    per_litre = min(PX_A_LITRE * (0.4 if small else 1), tallest_px / tallest_l)
    flat = _Frame(width, start, end, per_litre, 0, 0, 0, 0, 0, 0, small)
    flags = place_flags(_tags(run, flat), width, LEVELS_SMALL if small else LEVELS)
    heat = _heat_top(run) + (HEAT_PX if len(run.heat) > 1 else 0)
    levels = max([0, *(flag.level + 1 for flag in flags if flag.level is not None)])
    flags_bottom = heat + levels * LINE_PX + (8 if heat else 0)
    base = flags_bottom + 5 + tallest_l * per_litre
    words_row = base + (4 if small else LINE_PX + 6)
    tank_bottom = words_row + (TANK_SMALL_PX if small else TANK_PX) + 4
    return _Frame(
        width, start, end, per_litre, flags_bottom, round(base, 1), words_row, words_row + 4, tank_bottom,
        round(tank_bottom + LINE_PX + 4), small, flags,
    )  # fmt: skip


def _tags(run: RibbonRun, frame: _Frame) -> tuple[Tag, ...]:
    edges = _block_edges(run, frame)
    return tuple(
        Tag(left, right, block.litres * frame.px_a_litre, shortened(block.names, names_in_words(block.names)))
        for block, (left, right) in zip(run.blocks, edges, strict=True)
    )


def _block_edges(run: RibbonRun, frame: _Frame) -> tuple[tuple[float, float], ...]:
    """Left and right of each block: as wide as its minutes, never over the next one."""
    starts = [frame.x(block.start) for block in run.blocks]
    edges = []
    for index, block in enumerate(run.blocks):
        most = starts[index + 1] - 1 if index + 1 < len(starts) else frame.width - EDGE_PX
        right = max(frame.x(block.end), starts[index] + LEAST_BLOCK_PX)
        edges.append((starts[index], max(min(right, most), starts[index])))
    return tuple(edges)


def _block_rects(run: RibbonRun, frame: _Frame) -> tuple[Rect, ...]:
    rects = []
    for block, (left, right) in zip(run.blocks, _block_edges(run, frame), strict=True):
        height = round(max(block.litres * frame.px_a_litre, LEAST_BLOCK_PX), 1)
        kind = "groom done" if block.is_done else "groom"
        rects.append(Rect(left, round(frame.base - height, 1), round(right - left, 1), height, kind))
    return tuple(rects)


def _halts(run: RibbonRun, frame: _Frame) -> Iterator[Rect]:
    """Refills and breaks stand across the road, low."""
    for kind, spans in (("fill", run.refills), ("rest", run.breaks)):
        for span in spans:
            left = frame.x(span.start)
            wide = max(frame.x(span.end) - left, LEAST_BLOCK_PX)
            yield Rect(min(left, frame.width - wide), frame.base - 4, round(wide, 1), 8, kind)


def _road(run: RibbonRun, frame: _Frame) -> Iterator[Line]:
    yield Line(frame.x(run.leave), frame.base, frame.x(run.back), frame.base, "road")
    for block in run.blocks:
        if block.arrive is not None and block.arrive < block.start:
            yield Line(frame.x(block.arrive), frame.base, frame.x(block.start), frame.base, "wait")


def _hour_lines(frame: _Frame) -> Iterator[Line]:
    for hour in _hours(frame):
        yield Line(frame.x(hour), frame.flags_bottom, frame.x(hour), frame.tank_bottom + 3, "hour")


def _hours(frame: _Frame) -> range:
    """The hours that are marked: every one where their figures have room, else every second, third or sixth."""
    first = -(-frame.start // HOUR)
    last = frame.end // HOUR
    px_an_hour = (frame.width - 2 * EDGE_PX) * HOUR / (frame.end - frame.start)
    step = next((step for step in (1, 2, 3, 6) if px_an_hour * step >= text_width("00") + PAD_PX), 12)
    return range(-(-first // step) * step * HOUR, last * HOUR + 1, step * HOUR)


def _poles(frame: _Frame, blocks: tuple[Rect, ...]) -> Iterator[Line]:
    for flag in frame.flags:
        if flag.level is not None:
            rect = blocks[flag.tag]
            yield Line(flag.pole, _flag_line(frame, flag.level) - TEXT_PX + 3, flag.pole, rect.y, "pole")


def _flag_line(frame: _Frame, level: int) -> float:
    return frame.flags_bottom - level * LINE_PX - 2


def _told_lines(run: RibbonRun, frame: _Frame) -> Iterator[Line]:
    """Under the road, the hours that each household was told."""
    for block in run.blocks:
        if block.told is not None and not frame.is_small:
            left, right, y = frame.x(block.told.start), frame.x(block.told.end), frame.base + 7
            yield Line(left, y, right, y, "told")
            yield from (Line(x, y - 3, x, y + 3, "told") for x in (left, right))


def _now_line(run: RibbonRun, frame: _Frame) -> Iterator[Line]:
    if run.now is not None and frame.start <= run.now <= frame.end:
        yield Line(frame.x(run.now), frame.flags_bottom + 3, frame.x(run.now), frame.tank_bottom + 3, "now")


def _tank_points(run: RibbonRun, frame: _Frame) -> list[tuple[float, float]]:
    per_litre = (frame.tank_bottom - frame.tank_top) / max(run.tank_l, 1)
    return [
        (frame.x(at), round(frame.tank_bottom - min(max(litres, 0), run.tank_l) * per_litre, 1))
        for at, litres in run.tank
    ]


def _tank_shapes(run: RibbonRun, frame: _Frame) -> tuple[str, str]:
    points = _tank_points(run, frame)
    if not points:
        return "", ""
    floor = [(points[-1][0], frame.tank_bottom), (points[0][0], frame.tank_bottom)]
    return _written(points), _written([*points, *floor])


def _written(points: list[tuple[float, float]]) -> str:
    return " ".join(f"{x:g},{y:g}" for x, y in points)


def _heat_line(run: RibbonRun, frame: _Frame) -> str:
    if len(run.heat) < 2:
        return ""
    return _written([(frame.x(at), _heat_y(run, degrees)) for at, degrees in run.heat if _is_on(at, frame)])


def _heat_top(run: RibbonRun) -> int:
    """Where the heat line's own rows begin: under its words and the hatched hours."""
    if run.closed:
        return LINE_PX + HATCH_PX
    return LINE_PX if len(run.heat) > 1 else 0


def _is_on(at: int, frame: _Frame) -> bool:
    return frame.start <= at <= frame.end


def _heat_y(run: RibbonRun, degrees: float) -> float:
    low = min(value for _at, value in run.heat)
    high = max(max(value for _at, value in run.heat), low + 8)
    return round(_heat_top(run) + 6 + (high - degrees) / (high - low) * (HEAT_PX - 10), 1)


def _hatches(run: RibbonRun, frame: _Frame) -> tuple[Rect, ...]:
    return tuple(
        Rect(frame.x(hours.start), LINE_PX, round(frame.x(hours.end) - frame.x(hours.start), 1), HATCH_PX, "closed")
        for hours in run.closed
        if frame.x(hours.end) > frame.x(hours.start)
    )


def _texts(run: RibbonRun, frame: _Frame, blocks: tuple[Rect, ...]) -> Iterator[Text]:
    for flag in frame.flags:
        y = blocks[flag.tag].y + blocks[flag.tag].height - 6 if flag.level is None else _flag_line(frame, flag.level)
        yield Text(round(flag.left, 1), round(y, 1), flag.words, "name")
    yield from without_overlaps(list(_heat_words(run, frame)), frame.width)
    yield from without_overlaps(list(_hour_words(run, frame)), frame.width)
    if not frame.is_small:
        yield from without_overlaps(list(_row_words(run, frame)), frame.width)
        yield from _lowest_words(run, frame)


def _heat_words(run: RibbonRun, frame: _Frame) -> Iterator[Text]:
    for hours in run.closed:
        for words in hours.words:
            wide = text_width(words)
            if wide <= frame.width:
                yield Text(round(min(frame.x(hours.start), frame.width - wide), 1), LINE_PX - 5, words, "heat-word")
                break
    if len(run.heat) > 1:
        at, degrees = max(run.heat, key=lambda hour: (hour[1], -hour[0]))
        words = f"{round(degrees)} {run.degrees}"
        half = text_width(words) / 2
        yield Text(min(max(frame.x(at), half), frame.width - half), LINE_PX - 5, words, "heat-word", "middle")


def _hour_words(run: RibbonRun, frame: _Frame) -> Iterator[Text]:
    """Hours along the foot; "now" comes first, so an hour beside it gives way."""
    y = frame.tank_bottom + LINE_PX
    if run.now is not None and _is_on(run.now, frame):
        words = _("now")
        half = text_width(words) / 2
        yield Text(min(max(frame.x(run.now), half), frame.width - half), y, words, "now-word", "middle")
    for hour in _hours(frame):
        words = str(hour // HOUR % 24)
        half = text_width(words) / 2
        x = min(max(frame.x(hour), half), frame.width - half)
        if abs(x - frame.x(hour)) <= PAD_PX:
            yield Text(round(x, 1), y, words, "hour-word", "middle")


def _row_words(run: RibbonRun, frame: _Frame) -> Iterator[Text]:
    """Between road and tank: where it fills, where it rests, what the tank holds at the start."""
    y = frame.words_row - 2
    for start, end, words in halts_in_words(run):
        middle = (frame.x(start) + frame.x(end)) / 2
        half = text_width(words) / 2
        yield Text(round(min(max(middle, half), frame.width - half), 1), y, words, "row-word", "middle")
    if run.tank:
        yield Text(frame.x(run.tank[0][0]), y, _("%(count)d litres") % {"count": round(run.tank[0][1])}, "tank-word")


def _lowest_words(run: RibbonRun, frame: _Frame) -> Iterator[Text]:
    """What is left when the tank is lowest, written in the dry part above it where there is room."""
    points = _tank_points(run, frame)
    if not points or min(litres for _at, litres in run.tank) >= run.tank[0][1]:
        return
    index = min(range(len(points)), key=lambda place: (run.tank[place][1], -place))
    words = _("%(count)d left") % {"count": round(run.tank[index][1])}
    wide = text_width(words)
    for share in (1, 0.5, 0):  # ends at the lowest point, stands over it, begins at it
        left = min(max(points[index][0] - wide * share, 0), frame.width - wide)
        bottom = _line_top(points, left - PAD_PX, left + wide)
        if bottom - frame.tank_top >= LINE_PX:
            yield Text(round(left, 1), round(bottom - 6, 1), words, "tank-word")
            return


def _line_top(points: list[tuple[float, float]], left: float, right: float) -> float:
    """The highest place (smallest y) of the tank line between two x."""
    found = [y for x, y in points if left <= x <= right]
    for (x1, y1), (x2, y2) in pairwise(points):
        found += [y1 + (y2 - y1) * (x - x1) / (x2 - x1) for x in (left, right) if x1 < x < x2]
    return min(found, default=0.0)

"""The ribbon: nothing leaves the drawing, nothing overlaps, the tank line falls and rises as the litres do."""

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from itertools import combinations, pairwise

import pytest
from django.template.loader import render_to_string
from hypothesis import given, settings
from hypothesis import strategies as st

from coatround.core.units import HOUR, MINUTE
from coatround.web.rounds.ribbon import Block, ClosedHours, Ribbon, RibbonRun, Span, in_words, ribbon_of
from coatround.web.rounds.ribbon_labels import shortened, text_width, without_overlaps

NAMES = ("Mop", "Biscuit", "Quill", "Fig", "Odette", "Bramble", "Bartholomew of the Mill", "Bo", "Wilhelmina")


def two_visits() -> RibbonRun:
    """Leaves 8:00 with 100 litres; Mop draws 40 from 9 to 10, a refill at 10:30, Quill and Fig 60 from 11 to 13."""
    return RibbonRun(
        "Tuesday, van Otter",
        8 * HOUR,
        14 * HOUR,
        (
            Block(("Mop",), 9 * HOUR, 10 * HOUR, 40, told=Span(8 * HOUR + 1800, 9 * HOUR + 900)),
            Block(("Quill", "Fig"), 11 * HOUR, 13 * HOUR, 60),
        ),
        100,
        (
            (8 * HOUR, 100),
            (9 * HOUR, 100),
            (10 * HOUR, 60),
            (10 * HOUR + 1800, 60),
            (10 * HOUR + 2700, 100),
            (11 * HOUR, 100),
            (13 * HOUR, 40),
            (14 * HOUR, 40),
        ),
        (Span(10 * HOUR + 1800, 10 * HOUR + 2700),),
        (Span(13 * HOUR, 13 * HOUR + 1800),),
    )


@st.composite
def runs(draw: st.DrawFn) -> RibbonRun:
    """A day that is right: stops in order, a refill whenever the next bath would not find enough."""
    tank_l = draw(st.integers(60, 250))
    at = leave = draw(st.integers(5 * HOUR, 11 * HOUR))
    level = tank_l
    blocks, tank, refills = [], [(at, float(level))], []
    for _each in range(draw(st.integers(0, 10))):
        at += draw(st.integers(0, 2000))
        litres = draw(st.integers(0, min(tank_l, 120)))
        if litres > level:
            refills.append(Span(at, at + 900))
            tank += [(at, float(level)), (at + 900, float(tank_l))]
            at, level = at + 900, tank_l
        end = at + draw(st.integers(300, 2 * HOUR))
        names = tuple(draw(st.lists(st.sampled_from(NAMES), min_size=1, max_size=4)))
        told = draw(
            st.none() | st.builds(lambda early, long: (early, long), st.integers(0, 3600), st.integers(0, 7200))
        )
        span = Span(max(at - told[0], 0), at + told[1]) if told else None
        blocks.append(Block(names, at, end, litres, told=span, is_done=draw(st.booleans())))
        tank += [(at, float(level)), (end, float(level - litres))]
        at, level = end, level - litres
    back = at + draw(st.integers(0, 1800))
    heat = tuple((hour * HOUR, draw(st.floats(-5, 45))) for hour in range(7, 20)) if draw(st.booleans()) else ()
    hot = draw(st.none() | st.integers(leave, back))
    closed = (ClosedHours(hot, hot + HOUR, ("closed to Bartholomew of the Mill", "closed")),) if hot else ()
    now = draw(st.none() | st.integers(leave - HOUR, back + HOUR))
    return RibbonRun(
        "A run", leave, back, tuple(blocks), tank_l, tuple(tank), tuple(refills), (), heat, "°C", closed, now
    )


drawn = given(run=runs(), width=st.sampled_from([240, 328, 620, 760]), small=st.booleans())


@drawn
@settings(max_examples=150, deadline=None)
def test_nothing_leaves_the_drawing(run: RibbonRun, width: int, small: bool) -> None:
    ribbon = ribbon_of(run, width, small=small)
    for rect in (*ribbon.rects, *ribbon.hatches):
        assert rect.width >= 0
        assert rect.height >= 0
        assert_inside(ribbon, rect.x, rect.y)
        assert_inside(ribbon, rect.x + rect.width, rect.y + rect.height)
    for line in (*ribbon.under, *ribbon.over):
        assert_inside(ribbon, line.x1, line.y1)
        assert_inside(ribbon, line.x2, line.y2)
    for points in (ribbon.tank_area, ribbon.tank_line, ribbon.heat_line):
        for x, y in numbers(points):
            assert_inside(ribbon, x, y)
    for text in ribbon.texts:
        left, right = text.span
        assert_inside(ribbon, left, text.y - 13)
        assert_inside(ribbon, right, text.y + 3)


@drawn
@settings(max_examples=150, deadline=None)
def test_blocks_never_overlap(run: RibbonRun, width: int, small: bool) -> None:
    blocks = grooms(ribbon_of(run, width, small=small))
    assert len(blocks) == len(run.blocks)
    for (left, wide), (next_left, _wide) in pairwise(blocks):
        assert left + wide <= next_left + 0.11


@drawn
@settings(max_examples=150, deadline=None)
def test_words_never_overlap_words_or_poles(run: RibbonRun, width: int, small: bool) -> None:
    ribbon = ribbon_of(run, width, small=small)
    for one, other in combinations(ribbon.texts, 2):
        (left, right), (other_left, other_right) = one.span, other.span
        assert right <= other_left or other_right <= left or abs(one.y - other.y) >= 15, (one, other)
    for pole in (line for line in ribbon.over if line.kind == "pole"):
        for name in (text for text in ribbon.texts if text.kind == "name"):
            left, right = name.span
            crosses = left < pole.x1 < right and name.y > pole.y1 and name.y - 13 < pole.y2
            assert not crosses, (pole, name)


@drawn
@settings(max_examples=150, deadline=None)
def test_the_tank_line_stays_in_the_tank_and_falls_as_the_litres_do(run: RibbonRun, width: int, small: bool) -> None:
    ribbon = ribbon_of(run, width, small=small)
    floor = max((y for _x, y in numbers(ribbon.tank_area)), default=0)
    points = list(numbers(ribbon.tank_line))
    assert all(y <= floor for _x, y in points)
    for ((_at, before), (_then, after)), ((_x, y1), (_x2, y2)) in zip(
        pairwise(run.tank), pairwise(points), strict=True
    ):
        assert (after - before) * (y1 - y2) >= 0


def test_a_block_is_as_wide_as_its_minutes_and_as_tall_as_its_litres() -> None:
    first, second = [rect for rect in ribbon_of(two_visits(), 604).rects if rect.kind == "groom"]
    assert (first.width, second.width) == (100, 200)  # 600 px for 6 hours
    assert (first.height, second.height) == (60, 90)  # 1.5 px a litre


def test_blocks_of_two_ribbons_compare_when_they_are_told_the_tallest() -> None:
    high = ribbon_of(replace(two_visits(), tallest_l=120), 604).rects[0].height
    assert high == 30


def test_a_shared_clock_keeps_the_hours_of_two_ribbons_in_line() -> None:
    early = ribbon_of(replace(two_visits(), clock_from=7 * HOUR, clock_until=17 * HOUR), 504)
    assert early.rects[0].x == 102  # two of ten hours, 50 px each


def test_names_stand_inside_where_they_fit_and_on_poles_where_they_do_not() -> None:
    assert not [line for line in ribbon_of(two_visits(), 760).over if line.kind == "pole"]
    narrow = ribbon_of(two_visits(), 240)
    assert [line for line in narrow.over if line.kind == "pole"]
    assert "Mop" in [text.words for text in narrow.texts]


def test_a_refill_and_the_break_after_it_share_their_words() -> None:
    run = replace(two_visits(), breaks=(Span(10 * HOUR + 2700, 11 * HOUR),))
    assert "fill, break" in [text.words for text in ribbon_of(run, 620).texts]


def test_the_lowest_tank_is_written() -> None:
    assert "40 left" in [text.words for text in ribbon_of(two_visits(), 620).texts]


def test_a_plan_that_runs_dry_is_drawn_to_the_floor_and_said_in_words() -> None:
    run = replace(two_visits(), tank=((8 * HOUR, 100), (13 * HOUR, -20)))
    assert numbers(ribbon_of(run, 620).tank_line)[-1][1] == max(y for _x, y in numbers(ribbon_of(run, 620).tank_area))
    assert "Tank lowest at 13:00: -20 of 100 litres." in in_words(run)


def test_the_words_say_everything_in_order() -> None:
    assert in_words(two_visits()) == (
        "Leaves 8:00, back 14:00. Mop 9:00 – 10:00, 40 litres. Fill 10:30 – 10:45. "
        "Quill and Fig 11:00 – 13:00, 60 litres. Break 13:00 – 13:30. Tank lowest at 13:00: 40 of 100 litres."
    )


def test_closed_hours_are_hatched_and_in_the_longest_words_that_fit() -> None:
    closed = ClosedHours(10 * HOUR, 12 * HOUR, ("28 to 31 °C: closed to Quill and to Mop", "closed to two", "closed"))
    run = replace(two_visits(), closed=(closed,), heat=((8 * HOUR, 20), (12 * HOUR, 31)))
    wide, narrow = ribbon_of(run, 760), ribbon_of(run, 240)
    assert closed.words[0] in [text.words for text in wide.texts]
    assert "closed to two" in [text.words for text in narrow.texts]
    assert len(wide.hatches) == 1
    assert "closed to Quill and to Mop" in wide.desc


def test_hours_after_midnight_start_again() -> None:
    run = RibbonRun("Late", 22 * HOUR, 26 * HOUR, (), 100)
    assert [text.words for text in ribbon_of(run, 328).texts if text.kind == "hour-word"] == ["23", "0", "1"]


def test_now_is_marked_and_the_hour_beside_it_gives_way() -> None:
    run = replace(two_visits(), now=10 * HOUR + 5 * MINUTE)
    words = [text.words for text in ribbon_of(run, 328).texts]
    assert "now" in words
    assert "10" not in words


def test_an_empty_run_is_drawn_too() -> None:
    assert ribbon_of(RibbonRun("Nothing", 8 * HOUR, 8 * HOUR, (), 100), 328).rects == ()


@pytest.mark.parametrize(
    ("names", "expected"),
    [
        (("Quill", "Fig"), ("Quill and Fig", "Quill, Fig", "Quill +1", "Qui… +1")),
        (("Bo",), ("Bo",)),
        (("Odette",), ("Odette", "Odet…", "Ode…")),
        ((), ()),
    ],
)
def test_names_are_shortened_step_by_step(names: tuple[str, ...], expected: tuple[str, ...]) -> None:
    joined = "Quill and Fig" if len(names) == 2 else "".join(names)
    assert shortened(names, joined) == expected


def test_a_shorter_name_is_never_wider() -> None:
    assert text_width("Odet…") > text_width("Ode…")
    assert without_overlaps([], 100) == ()


def test_the_template_writes_lawful_svg_without_styles() -> None:
    run = replace(two_visits(), title="Mop & <Fig>", now=9 * HOUR)
    written = render_to_string("rounds/ribbon.svg", {"ribbon": ribbon_of(run, 328, key="r7", size="phone")})
    svg = ET.fromstring(written)
    assert svg.attrib["role"] == "img"
    assert svg.attrib["aria-labelledby"] == "r7-title r7-desc"
    assert svg.attrib["class"] == "ribbon ribbon-phone"
    assert svg[0].text == "Mop & <Fig>"
    assert "style=" not in written


def assert_inside(ribbon: Ribbon, x: float, y: float) -> None:
    assert -0.06 <= x <= ribbon.width + 0.06, (x, ribbon.width)
    assert -0.06 <= y <= ribbon.height + 0.06, (y, ribbon.height)


def numbers(points: str) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in re.findall(r"(-?[\d.]+),(-?[\d.]+)", points)]


def grooms(ribbon: Ribbon) -> list[tuple[float, float]]:
    return [(rect.x, rect.width) for rect in ribbon.rects if rect.kind.startswith("groom")]

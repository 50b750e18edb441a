"""One dog over time: measures with the dog's own limits, foods laid under, and what its coat leaves at home."""

import datetime as dt
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from django.utils.translation import gettext as _

from coatround.core.learn.charts import OwnChart, own_chart
from coatround.core.trade import coat, food
from coatround.web.base.firm import the_firm
from coatround.web.base.picture import Drawn, Picture, picture
from coatround.web.base.templatetags.coatround import weight_text
from coatround.web.due.facts import counted_grooms
from coatround.web.records.models import Dog, Food
from coatround.web.visits.words import MEASURES
from coatround.web.watch.queries import series

IN_A_TABLE = 6
GRADE, CONDITION = (0, 3), (1, 9)
SCALES = {"condition": CONDITION, "left ear": GRADE, "right ear": GRADE, "skin": GRADE, "hair grade": GRADE}
USUAL_SHARE = {"weight": 0.02, "hair": 0.25}
USUAL_STEP = 0.6
"""How far a measure usually lies from a dog's own, as a share of it or in steps of a grade: our own default."""
FOOD_KINDS = ("skin", "left ear", "right ear", "condition", "hair grade")
TAKEN_SHARE = 0.8
"""The share of the loose hair that a groom takes: our own default."""
MORE_WEEKS = (3, 9, 6)

type Points = Sequence[tuple[dt.date, int]]


@dataclass(frozen=True, slots=True)
class Series:
    """One measure over time: its picture, its latest values for the table beside it, and whether it has drifted."""

    kind: str
    words: str
    picture: Picture
    rows: tuple[tuple[dt.date, str], ...]
    limits: str
    drifted: str


@dataclass(frozen=True, slots=True)
class FoodBeside:
    """What was measured before and since a food, in words."""

    food: str
    kind: str
    words: str
    interval: str


@dataclass(frozen=True, slots=True)
class CoatLine:
    """What a coat leaves at home against weeks between grooms, from so many weighed grooms."""

    picture: Picture
    rows: tuple[tuple[int, str, str], ...]
    weighed: int
    settles: str


def all_series(row: Dog, foods: Sequence[Food], today: dt.date) -> list[Series]:
    """Every measure that was ever taken of a dog."""
    found = series(row)
    return [_series(kind, str(words), found[kind], foods) for kind, words in MEASURES if found.get(kind)]


def _series(kind: str, words: str, points: Points, foods: Sequence[Food]) -> Series:
    say = saying(kind)
    values = [float(value) for _date, value in points]
    share = USUAL_SHARE.get(kind)
    own = own_chart(values, USUAL_STEP if share is None else share * max(sum(values[:4]) / min(len(values), 4), 1e-9))
    heading = _("weight") if kind == "weight" else words
    drawn, limits, drifted = _own(points, own), "", ""
    if own is not None:
        limits = _("Its own limits: %(low)s to %(high)s, from its first %(n)d values.") % {
            "low": say(max(round(own.chart.low), SCALES.get(kind, (0, 0))[0])),
            "high": say(min(round(own.chart.high), SCALES.get(kind, (0, 10**9))[1])),
            "n": own.first,
        }
    if own is not None and own.has_drifted:
        where = _("above") if own.chart.series[-1] > own.middle else _("below")
        drifted = _(
            "It has drifted %(where)s this dog's own limits. That is no finding: weigh or look again, tell the owner, "
            "and see a vet if it goes on or the dog is not as it was."
        ) % {"where": where}
    low, high = SCALES.get(kind, (min(values), max(values)))
    marks = [(value, say(round(value))) for value in dict.fromkeys((low, high))]
    ends = [(points[0][0], points[0][0]), (points[-1][0], points[-1][0])]
    x_words = [(float(at.toordinal()), f"{shown:%b %Y}") for at, shown in dict.fromkeys(ends)]
    drawn += _foods(foods, points[0][0], points[-1][0], low)
    said = _("%(count)d values from %(first)s to %(last)s, the latest %(latest)s; broken lines are its own limits.") % {
        "count": len(points),
        "first": f"{points[0][0]:%B %Y}",
        "last": f"{points[-1][0]:%B %Y}",
        "latest": say(points[-1][1]),
    }
    rows = tuple((date, say(value)) for date, value in reversed(points[-IN_A_TABLE:]))
    drawing = picture(drawn, heading, said, x_words=x_words, y_words=marks)
    return Series(kind, heading, drawing, rows, limits, drifted)


def _own(points: Points, own: OwnChart | None) -> list[Drawn]:
    """The values, and from where the dog's own chart begins its mean, its limits and what lies outside."""
    dots = [(float(date.toordinal()), float(value)) for date, value in points]
    if own is None:
        return [Drawn("line", dots), Drawn("dots", dots)]
    later = dots[own.first :]
    mean = [(x, level) for (x, _value), level in zip(later, own.chart.series, strict=True)]
    ends = later[0][0], later[-1][0]
    limits = [Drawn("limit", [(end, level) for end in ends]) for level in (own.chart.low, own.chart.high)]
    out = [mean[place - 1] for place in own.chart.signals]
    return [Drawn("line", dots), Drawn("dots", dots), Drawn("other", mean), *limits, Drawn("care", out)]


def _foods(foods: Sequence[Food], first: dt.date, last: dt.date, low: float) -> list[Drawn]:
    """A thick line along the bottom for every second food."""
    lines = []
    for place, fed in enumerate(foods):
        begin, end = max(fed.since, first), min(fed.until or last, last)
        if begin < end:
            kind = "fed" if place % 2 == 0 else "fed-other"
            lines.append(Drawn(kind, [(float(begin.toordinal()), low), (float(end.toordinal()), low)]))
    return lines


def saying(kind: str) -> Callable[[int], str]:
    """How a value of a measure is said."""
    if kind == "weight":
        units = the_firm().units
        return lambda grams: weight_text(grams, units)
    if kind == "hair":
        return lambda grams: _("%(grams)d g") % {"grams": grams}
    return str


def foods_beside(row: Dog, foods: Sequence[Food], today: dt.date) -> list[FoodBeside]:
    """What was graded since the latest food against the time of the food before it."""
    if not foods:
        return []
    latest, begun = foods[-1], foods[-2].since if len(foods) > 1 else dt.date.min
    found, names = series(row), dict(MEASURES)
    beside = []
    for kind in FOOD_KINDS:
        points = found.get(kind, [])
        before = [float(value) for date, value in points if begun <= date < latest.since]
        after = [float(value) for date, value in points if latest.since <= date <= (latest.until or today)]
        if not before and not after:
            continue
        change = food.food_change(before, after, ((latest.until or today) - latest.since).days)
        interval = ""
        if change.low is not None and change.high is not None:
            interval = _("from %(low).1f to %(high).1f") % {"low": change.low, "high": change.high}
        beside.append(FoodBeside(latest.words, str(names[kind]), _(change.words) % change.said, interval))
    return beside


def coat_line(row: Dog) -> CoatLine | None:
    """What the grams combed out say of the coat; None where none were weighed."""
    grams = dict(series(row).get("hair", []))
    dates = sorted(set(counted_grooms().filter(dog=row).values_list("date", flat=True)))
    combs = [
        coat.Comb((date - before).days, max(grams[date], 1) if date in grams else None)
        for before, date in pairwise(dates)
    ]
    weighed = sum(comb.grams is not None for comb in combs)
    if not weighed:
        return None
    belief = coat.believe(combs, TAKEN_SHARE)
    line = coat.curve(belief)
    rows: list[Any] = [(at.interval_days // 7, f"{at.home_g_a_day:.1f}", f"{at.low:.1f}–{at.high:.1f}") for at in line]
    later = coat.three_more(combs, belief, [7 * weeks for weeks in MORE_WEEKS]).home_g_a_day(42)
    now = belief.home_g_a_day(42)
    settles = _(
        "At six weeks it is %(low).1f to %(high).1f g a day now. Three more weighed grooms after 3, 9 and 6 weeks "
        "would narrow that by about %(percent)d %%."
    ) % {
        "low": now.low,
        "high": now.high,
        "percent": round(100 * max(0.0, 1 - math.log(later.high / later.low) / math.log(now.high / now.low))),
    }
    drawing = home_picture([(at.interval_days / 7, at.home_g_a_day, at.low, at.high) for at in line])
    return CoatLine(drawing, tuple(rows), weighed, settles)


def home_picture(line: Sequence[tuple[float, float, float, float]]) -> Picture:
    """Weeks between grooms, grams a day at home, and between what they lie nine times of ten."""
    band = [(weeks, high) for weeks, _home, _low, high in line]
    band += [(weeks, low) for weeks, _home, low, _high in reversed(line)]
    drawn = [Drawn("band", band), Drawn("line", [(weeks, home) for weeks, home, _low, _high in line])]
    words = _("Grams a day at home against weeks between grooms; the wash holds it nine times of ten.")
    ends = [(weeks, _("%(n)d weeks") % {"n": weeks}) for weeks in (line[0][0], line[-1][0])]
    return picture(drawn, _("Hair at home"), words, x_words=ends, from_zero=True)

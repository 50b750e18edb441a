"""Minutes: what grooms take, foretold from what came before, against what happened."""

import math
from dataclasses import dataclass
from statistics import median

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _

from coatround.core.learn.durations import ENOUGH_DOGS, ENOUGH_GROOMS, TEN_PERCENT, Held, held_back
from coatround.core.units import MINUTE
from coatround.web.base.firm import firm_today
from coatround.web.base.picture import Drawn, Picture, picture
from coatround.web.due.minutes import GroomThen, learnt_now, timed_grooms

HELD_SHARE = 4
"""The latest quarter of the grooms is held back and foretold from the rest: our own default."""
MOST_DOTS = 400
NAMED_PERCENT = 5


@dataclass(frozen=True, slots=True)
class KindLine:
    """What a new dog of one coat and size is expected to take, in minutes."""

    words: str
    minutes: float
    low: float
    high: float
    grooms: int


def page(request: HttpRequest) -> HttpResponse:
    """How well minutes are foretold, what a new dog takes, and which months take longer."""
    today = firm_today()
    grooms = timed_grooms(today)
    plain = [one.groom for one in grooms]
    held = held_back(plain, len(plain) // HELD_SHARE)
    given = {
        "count": len(plain),
        "enough": ENOUGH_GROOMS,
        "enough_dogs": ENOUGH_DOGS,
        "held": held,
        "errors": _errors(held) if held else (),
        "inside_percent": round(100 * held.inside) if held else 0,
        "since": grooms[len(plain) // HELD_SHARE - 1].date if held else None,
        "picture": _picture(held) if held else None,
        "kinds": _kinds(grooms),
        "months": _months(),
        "within_percent": round(100 * learnt.within_share) if (learnt := learnt_now(today)) else None,
    }
    return render(request, "reckon/minutes.html", given)


def _errors(held: Held) -> tuple[tuple[str, float], ...]:
    return (
        (_("Learnt, partly pooled"), held.error_seconds("learnt") / MINUTE),
        (_("The dog's last time"), held.error_seconds("last") / MINUTE),
        (_("The mean of its coat and size"), held.error_seconds("alike") / MINUTE),
    )


def _picture(held: Held) -> Picture:
    rows = held.rows[:MOST_DOTS]
    dots = [(row.expected.middle_seconds / MINUTE, row.groom.seconds / MINUTE) for row in rows]
    low, high = min(min(dot) for dot in dots), max(max(dot) for dot in dots)
    spread = median(row.expected.log_sd for row in rows)
    wide = [math.exp(sign * TEN_PERCENT * spread) for sign in (1, -1)]
    band = [(low, low * wide[0]), (high / wide[0], high), (high, high), (high, high * wide[1]), (low, low * wide[1])]
    words = _("Minutes foretold across, minutes taken upwards, a dot a groom; the wash is meant to hold eight of ten.")
    ends = [(round(low), _("%(n)d min") % {"n": low}), (round(high), _("%(n)d min foretold") % {"n": high})]
    marks = [(low, f"{low:.0f}"), (high, f"{high:.0f}")]
    drawn = [Drawn("band", band), Drawn("diagonal", [(low, low), (high, high)]), Drawn("dots", dots)]
    return picture(drawn, _("Foretold and taken"), words, x_words=ends, y_words=marks)


def _kinds(grooms: list[GroomThen]) -> list[KindLine]:
    learnt = learnt_now()
    if learnt is None:
        return []
    counts: dict[str, list[GroomThen]] = {}
    for one in grooms:
        counts.setdefault(one.groom.table.kind, []).append(one)
    lines = []
    for kind, some in sorted(counts.items()):
        expected = learnt.expect(None, some[0].groom.table)
        low, high = (seconds / MINUTE for seconds in expected.eight_of_ten)
        lines.append(KindLine(kind, expected.seconds / MINUTE, low, high, len(some)))
    return lines


def _months() -> list[tuple[str, str, int]]:
    """Coats and months in which work takes noticeably longer or shorter, in percent."""
    learnt = learnt_now()
    found = []
    for (factor, word), part in (learnt.parts if learnt else {}).items():
        coat, _space, month = word.rpartition(" ")
        percent = round(100 * part)
        if factor == "month" and abs(percent) >= NAMED_PERCENT:
            found.append((coat, int(month), percent))
    names = [
        _("January"), _("February"), _("March"), _("April"), _("May"), _("June"),
        _("July"), _("August"), _("September"), _("October"), _("November"), _("December"),
    ]  # fmt: skip
    return [(coat, names[month - 1], percent) for coat, month, percent in sorted(found)]

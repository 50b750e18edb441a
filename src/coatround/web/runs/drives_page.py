"""How long drives really take: factors by kind of road and hour, from which drives, by which rule."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from urllib.parse import urlencode

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from coatround.core.learn import drives as core
from coatround.core.learn.drives import DriveSeen, Factor
from coatround.web.rounds.drives_seen import LOOK_BACK, NO_DOG_IN, DrivesSeen, RunDrive, seen_now
from coatround.web.runs.drives_picture import picture

DRIVES_A_PAGE = 25
_HOURS = range(len(core.HOURS))


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table: what was expected and taken in the mean, and the factor."""

    words: str
    factor: Factor
    query: str
    expected_minutes: float
    taken_minutes: float


@dataclass(frozen=True, slots=True)
class Group:
    """The lines of one kind of road."""

    words: str
    rows: tuple[Row, ...]


@require_safe
def page(request: HttpRequest) -> HttpResponse:
    """The factors with picture and table, and the drives behind one of them where it is asked for."""
    seen = seen_now()
    groups = _groups(seen)
    asked = _asked(request, seen)
    standing = seen.learned.standing
    percent = round((seen.learned.overall.learnt - 1) * 100)
    given = {
        "seen": seen,
        "learned": seen.learned,
        "enough": core.ENOUGH_DRIVES,
        "is_enough": seen.learned.drives >= core.ENOUGH_DRIVES,
        "longer_percent": percent if seen.learned.overall.low > 1 else 0,
        "shorter_percent": -percent if seen.learned.overall.high < 1 else 0,
        "standing": [seconds / 60 for seconds in (standing.seconds, standing.low, standing.high)],
        "spread_percent": round((math.exp(seen.learned.spread) - 1) * 100),
        "groups": groups,
        "picture": picture([(group.words, [(row.words, row.factor) for row in group.rows]) for group in groups]),
        "asked": asked,
        "left_out": [
            (words, seen.left_out[key]) for key, words in left_out_words(by_road=seen.by_road) if seen.left_out.get(key)
        ],
        "rule": _rule(),
    }
    return render(request, "runs/drives.html", given)


def kind_words(kind: str) -> str:
    """The kinds of road, as they are shown."""
    return {core.STREETS: _("Streets"), core.MAIN_ROADS: _("Main roads"), core.OPEN_ROAD: _("Open road")}[kind]


def hours_words(hours: int | None) -> str:
    """Before 9, 9 to 12, after 18; the whole day."""
    if hours is None:
        return _("whole day")
    start, end = core.HOURS[hours]
    if start == 0:
        return _("before %(end)d") % {"end": end}
    if end == 24:
        return _("after %(start)d") % {"start": start}
    return _("%(start)d to %(end)d") % {"start": start, "end": end}


def left_out_words(*, by_road: bool) -> tuple[tuple[str, str], ...]:
    """Why a drive teaches nothing, in the order in which it is asked."""
    other = _("It was planned by the estimate, and roads are in use now.")
    if not by_road:
        other = _("It was planned by road, and no roads are in use now.")
    return (
        ("halt", _("A refill or a break came in between.")),
        ("unrecorded", _("One of the two visits has no record of when it began or ended.")),
        (
            "afterwards",
            _("A visit was written down afterwards: all of it within %(count)d minutes.")
            % {"count": NO_DOG_IN.seconds // 60},
        ),
        ("order", _("The visits came in another order, or on another day, than planned.")),
        ("waited", _("The van may have waited for the time it was told for.")),
        ("near", _("Less than a minute's drive was expected.")),
        ("short", _("It took less than a minute.")),
        ("long", _("It took more than three hours.")),
        ("other", other),
    )


def _groups(seen: DrivesSeen) -> list[Group]:
    groups = []
    for kind in core.KINDS:
        of_kind = [drive.seen for drive in seen.drives if _kind(drive) == kind]
        if of_kind:
            parts = {hours: [one for one in of_kind if core.hours_of(one.hour) == hours] for hours in _HOURS}
            rows = [_row(seen, kind, None, of_kind)]
            rows += [_row(seen, kind, hours, some) for hours, some in parts.items() if some]
            groups.append(Group(kind_words(kind), tuple(rows)))
    return groups


def _kind(drive: RunDrive) -> str:
    return core.road_kind(drive.seen.seconds_expected, drive.seen.metres)


def _row(seen: DrivesSeen, kind: str, hours: int | None, drives: Sequence[DriveSeen]) -> Row:
    count = len(drives)
    named = {"kind": kind} if hours is None else {"kind": kind, "hours": str(hours)}
    return Row(
        hours_words(hours),
        seen.learned.factors[kind, hours],
        urlencode(named),
        sum(one.seconds_expected for one in drives) / count / 60,
        sum(one.seconds_taken for one in drives) / count / 60,
    )


def _asked(request: HttpRequest, seen: DrivesSeen) -> dict[str, object] | None:
    """The drives of one line, the latest first; none where nothing known is asked for."""
    kind, typed = request.GET.get("kind", ""), request.GET.get("hours", "")
    if kind not in core.KINDS:
        return None
    hours = next((number for number in _HOURS if typed == str(number)), None)
    drives = [
        drive
        for drive in reversed(seen.drives)
        if _kind(drive) == kind and (hours is None or core.hours_of(drive.seen.hour) == hours)
    ]
    named = {"kind": kind} if hours is None else {"kind": kind, "hours": str(hours)}
    return {
        "kind": kind_words(kind),
        "hours": hours_words(hours),
        "page": Paginator(drives, DRIVES_A_PAGE).get_page(request.GET.get("page")),
        "keep": urlencode(named) + "&",
    }


def _rule() -> dict[str, object]:
    """The defaults that the rule names."""
    return {
        "days": LOOK_BACK.days,
        "slow": core.SLOW_KM_H,
        "fast": core.FAST_KM_H,
        "widest_percent": round((core.WIDEST - 1) * 100),
    }

"""How often the windows told held, and what that teaches the windows to come."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import formats
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from coatround.core.rounds.held import Held, held
from coatround.core.units import HOUR
from coatround.web.rounds.arriving import Came, arrivals_seen

MONTHS = 12


@dataclass(frozen=True, slots=True)
class HeldRow:
    """How often windows held in one month, or of one hour, with the exact 95 % interval of Clopper and Pearson."""

    words: str
    held: Held

    @property
    def percent(self) -> int:
        return round(100 * self.held.inside / self.held.count) if self.held.count else 0

    @property
    def low(self) -> int:
        return int(100 * self.held.low)

    @property
    def high(self) -> int:
        return -int(-100 * self.held.high // 1)


@require_safe
def page(request: HttpRequest) -> HttpResponse:
    """The windows told and the windows reckoned, against what the records say."""
    seen = arrivals_seen()
    told = [one for one in seen.came if one.told]
    given = {
        "seen": seen,
        "count": len(seen.came),
        "told": _row(_("all that were told"), told),
        "window_80": HeldRow("", held([one.happened.arrival.window_80 for one in seen.came], _at(seen.came))),
        "window_95": HeldRow("", held([one.happened.arrival.window_95 for one in seen.came], _at(seen.came))),
        "months": [_row(formats.date_format(month, "F Y"), rows) for month, rows in _by_month(told)][-MONTHS:],
        "hours": [_row(f"{hour}:00", rows) for hour, rows in _by_hour(told)],
    }
    return render(request, "runs/held.html", given)


def _at(came: Iterable[Came]) -> list[int]:
    return [one.happened.at for one in came]


def _row(words: str, rows: list[Came]) -> HeldRow:
    return HeldRow(words, held([one.told for one in rows if one.told], _at(rows)))


def _by_month(rows: Iterable[Came]) -> list[tuple[dt.date, list[Came]]]:
    found: dict[dt.date, list[Came]] = {}
    for one in rows:
        found.setdefault(one.date.replace(day=1), []).append(one)
    return sorted(found.items())


def _by_hour(rows: Iterable[Came]) -> list[tuple[int, list[Came]]]:
    found: dict[int, list[Came]] = {}
    for one in rows:
        found.setdefault(one.told[0] // HOUR if one.told else 0, []).append(one)
    return sorted(found.items())

"""How a preview says what a file would do."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from django.utils import formats
from django.utils.dates import WEEKDAYS
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from coatround.intake import Outcome
from coatround.intake.found import Appointment, Dog, Household, Place
from coatround.intake.reconcile import End
from coatround.web.base.models import Firm
from coatround.web.base.money import money_text
from coatround.web.records.phones import phone_words


@dataclass(frozen=True)
class Shown:
    """One row of the preview in words."""

    row: int
    shown: str
    how: str
    why: str
    name: str
    lines: tuple[str, ...]
    notes: tuple[str, ...]


def shown_rows(outcome: Outcome, firm: Firm, most: int) -> list[Shown]:
    """The first rows that are made or joined; what a household becomes is said once, at its first row."""
    said: set[int] = set()
    rows: list[Shown] = []
    for end in outcome.ends:
        if end.how == "refused" or end.household is None:
            continue
        if len(rows) == most:
            break
        household = outcome.households[end.household].household
        lines = () if end.household in said else tuple(household_lines(household, firm))
        notes = () if end.household in said else household.notes
        said.add(end.household)
        rows.append(Shown(end.row, end.shown, end.how, _how(end), household.name, lines, notes))
    return rows


def _how(end: End) -> str:
    if end.how == "made":
        return _("made")
    by = {
        "phone": _("joined: same phone"),
        "email": _("joined: same email"),
        "address": _("joined: same address"),
        "name": _("joined: same name"),
        "summary": _("joined: its name says so"),
    }
    return by[end.by]


def household_lines(household: Household, firm: Firm) -> Iterator[str]:
    """A household's facts, a line each; a key or code is only said to be there."""
    if household.to_be_named:
        yield _("to be named")
    reached = [phone_words(phone, firm.country) for phone in household.phones] + list(household.emails)
    if reached:
        yield ", ".join(dict.fromkeys(reached))
    if household.place:
        yield from _place_lines(household.place)
    for dog in household.dogs:
        yield _dog_line(dog, firm)
    for one in household.told[:4]:
        yield _("told: %(when)s") % {"when": _when(one)}
    if len(household.told) > 4:
        more = len(household.told) - 4
        yield ngettext("and told %(count)d more date", "and told %(count)d more dates", more) % {"count": more}


def _place_lines(place: Place) -> Iterator[str]:
    if place.address:
        yield place.address
    if place.keys:
        yield _("a key or code, shown on that day's run only")


def _dog_line(dog: Dog, firm: Firm) -> str:
    usual = dog.usual
    parts = [dog.name, dog.breed]
    if usual.interval:
        weeks = usual.interval.weeks
        parts.append(ngettext("every week", "every %(count)d weeks", weeks) % {"count": weeks})
        parts.append(usual.interval.remark)
    if usual.weekday is not None:
        parts.append(_("on %(day)s") % {"day": WEEKDAYS[usual.weekday]})
    if usual.hour is not None:
        parts.append(_("about %(time)s") % {"time": formats.time_format(usual.hour, "G:i")})
    if usual.price:
        parts.append(money_text(usual.price, firm))
    if dog.last_groom:
        parts.append(_("last groom %(day)s") % {"day": formats.date_format(dog.last_groom, "j M Y")})
    parts += [_("caution, %(kind)s: %(words)s") % {"kind": one.kind, "words": one.words} for one in dog.cautions]
    return ", ".join(part for part in parts if part)


def _when(one: Appointment) -> str:
    day = formats.date_format(one.date, "D j M Y")
    return f"{day}, {formats.time_format(one.start, 'G:i')}" if one.start else day

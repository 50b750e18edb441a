"""What a proposal changes against the plan that stands: words broken, moves, days off the usual, what is new."""

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.utils import formats
from django.utils.dates import WEEKDAYS
from django.utils.translation import gettext as _

from coatround.core.rounds.plan import Plan, VisitStop
from coatround.core.rounds.problem import Problem
from coatround.web.base.templatetags.coatround import clock, minutes
from coatround.web.due.facts import seconds_of
from coatround.web.roads.map import names_in_words
from coatround.web.rounds.models import Proposal
from coatround.web.visits.models import Visit

NOTICED_SECONDS = 30 * 60
"""A start that moves by less is not listed: our own default."""


@dataclass(frozen=True, slots=True)
class Change:
    """One line of what changes: whose, what was told (when that breaks), and the sentence."""

    dogs: str
    household: str
    household_name: str
    words: str
    told: str = ""
    visit: str | None = None
    planned: str = ""


@dataclass(frozen=True, slots=True)
class Changes:
    """All that changes, the gravest first."""

    word_first: tuple[Change, ...] = ()
    moved: tuple[Change, ...] = ()
    off_usual: tuple[Change, ...] = ()
    new: tuple[Change, ...] = ()
    left_out: tuple[Change, ...] = ()

    @property
    def is_empty(self) -> bool:
        return not (self.word_first or self.moved or self.off_usual or self.new or self.left_out)


@dataclass(frozen=True, slots=True)
class _Where:
    """Where the proposal puts a visit."""

    date: dt.date
    arrive: int
    start: int
    van: str


def told_broken(row: Visit, plan: Plan, problem: Problem, id_: str) -> bool:
    """Whether a plan leaves the window that a household has been told."""
    dates = {run.id: run.date for run in problem.runs}
    for run in plan.runs:
        for stop in run.stops:
            if isinstance(stop, VisitStop) and stop.visit == id_:
                return not _keeps(row, dates[run.id], stop.start)
    return True


def _keeps(row: Visit, date: dt.date, start: int) -> bool:
    from_, until = seconds_of(row.told_from), seconds_of(row.told_until)
    if from_ is None:
        return row.date == date
    return row.date == date and from_ <= start <= (from_ if until is None else until)


def changes_of(proposal: Proposal, rows: Mapping[str, Visit]) -> Changes:
    """What a ready proposal changes; `rows` are the visits it names that exist, by id."""
    where, out = _where(proposal), {left["visit"]: left["reason"] for left in (proposal.plan or {})["left_out"]}
    many_vans = len({run["van"] for run in proposal.names["runs"].values()}) > 1
    found: dict[str, list[Change]] = {"word_first": [], "moved": [], "off_usual": [], "new": [], "left_out": []}
    for id_, names in proposal.names["visits"].items():
        row, planned = rows.get(names["visit"] or ""), where.get(id_)
        if planned and planned.date.isoformat() in proposal.accepted_dates:
            continue
        for kind, words, told in _changes(names, row, planned, out.get(id_), proposal, many_vans):
            found[kind].append(_change(id_, names, words, told))
    return Changes(**{kind: tuple(lines) for kind, lines in found.items()})


def _change(id_: str, names: Mapping[str, Any], words: str, told: str) -> Change:
    dogs = names_in_words(tuple(dog["name"] for dog in names["dogs"]))
    return Change(dogs, names["household"], names["household_name"], words, told, names["visit"], id_)


def _where(proposal: Proposal) -> dict[str, _Where]:
    found = {}
    for run in (proposal.plan or {})["runs"]:
        names = proposal.names["runs"][run["id"]]
        date = dt.date.fromisoformat(names["date"])
        for stop in run["stops"]:
            if "visit" in stop:
                found[stop["visit"]] = _Where(date, stop["arrive"], stop["start"], names["van"])
    return found


def _changes(
    names: Mapping[str, Any],
    row: Visit | None,
    planned: _Where | None,
    reason: str | None,
    proposal: Proposal,
    many_vans: bool,
) -> Iterable[tuple[str, str, str]]:
    """(Kind, sentence, what was told) of one visit; nothing when it stays as it is."""
    told = told_words(row) if row and row.state == "CONFIRMED" else ""
    if planned is None:
        if told:
            yield "word_first", _("No longer fits, so it would be called off. Ring them before you accept."), told
        else:
            yield "left_out", left_out_words(names, reason), ""
        return
    if row and told and not _keeps(row, planned.date, planned.start):
        words = _("Would move to %(at)s, so this needs a word first.") % {"at": _at(planned)}
        yield "word_first", words, told
    elif names["stands"] is None:
        yield "new", _("%(at)s.") % {"at": _at(planned)}, ""
        if off := _off_usual(names, planned):
            yield "off_usual", off, ""
    else:
        yield from (("moved", words, "") for words in _moves(names, planned, many_vans))


def _moves(names: Mapping[str, Any], planned: _Where, many_vans: bool) -> Iterable[str]:
    stands = names["stands"]
    was, start = dt.date.fromisoformat(stands["date"]), stands["start"]
    usual = _usual_day(names)
    if was != planned.date:
        words = _("%(was)s to %(at)s.") % {"was": day_words(was), "at": _at(planned)}
        yield f"{words} {usual}".strip()
    elif start is not None and abs(start - planned.start) > NOTICED_SECONDS:
        yield _("Stays on %(day)s; the hour moves from %(was)s to %(at)s.") % {
            "day": day_words(was),
            "was": clock(start),
            "at": clock(planned.start),
        }
    elif start is None:
        yield _("Gets its place in the run: %(at)s.") % {"at": _at(planned)}
    elif many_vans and stands["van"] != planned.van:
        yield _("Stays on %(day)s, with another van.") % {"day": day_words(was)}


def _off_usual(names: Mapping[str, Any], planned: _Where) -> str:
    """That a new visit lies off the usual weekday: an offer, to be agreed with the household."""
    if names["usual_weekday"] is None or planned.date.weekday() == names["usual_weekday"]:
        return ""
    return _("%(at)s. %(usual)s") % {"at": _at(planned), "usual": _usual_day(names)}


def _usual_day(names: Mapping[str, Any]) -> str:
    if names["usual_weekday"] is None:
        return ""
    return _("Their usual day is %(day)s.") % {"day": WEEKDAYS[names["usual_weekday"]]}


def _at(planned: _Where) -> str:
    return _("%(day)s at %(clock)s") % {"day": day_words(planned.date), "clock": clock(planned.start)}


def day_words(date: dt.date) -> str:
    return formats.date_format(date, "l j F")


def told_words(row: Visit) -> str:
    """Told Tuesday 3 March, 9:00 to 9:30."""
    if row.told_from is None:
        return _("Told %(day)s") % {"day": day_words(row.date)}
    until = row.told_until or row.told_from
    return _("Told %(day)s, %(from)s to %(until)s") % {
        "day": day_words(row.date),
        "from": clock(seconds_of(row.told_from)),
        "until": clock(seconds_of(until)),
    }


def left_out_words(names: Mapping[str, Any], reason: str | None) -> str:
    """Why a visit has no place in the plan, and what can be done about it."""
    days = [dt.date.fromisoformat(day) for day in names["days"]]
    between = ""
    if days and days[0] == days[-1]:
        between = _("on %(day)s") % {"day": day_words(days[0])}
    elif days:
        between = _("from %(first)s to %(last)s") % {"first": day_words(days[0]), "last": day_words(days[-1])}
    match reason:
        case None:
            return _("Its place has no pin on the map, so no drive to it can be reckoned. Set the pin.")
        case "no_day":
            return _("No day on which a van is out suits them. Allow more weekdays, or more days early and late.")
        case "window_too_short":
            return _("The work takes %(work)s, longer than their hours allow. Ask for wider hours.") % {
                "work": minutes(names["seconds"])
            }
        case "no_run" if names["needs"]:
            return _("Needs %(needs)s, and no van has that on these days. Find help, and set a day by hand.") % {
                "needs": names_in_words(tuple(names["needs"]))
            }
        case "no_run":
            return _("No van can reach it, do it and be back within its hours. Lengthen a day, or ask for wider hours.")
        case "no_room":
            return _("No room %(between)s beside what is planned. Ask for other days, or lengthen a day.") % {
                "between": between
            }
        case _:
            return _("Would cost more in driving, overtime or days off the usual than it brings. Ask for other days.")


def rows_of(proposal: Proposal) -> dict[str, Visit]:
    """The visits a proposal names that exist, by id."""
    ids = [names["visit"] for names in proposal.names.get("visits", {}).values() if names["visit"]]
    return {str(row.pk): row for row in Visit.objects.filter(pk__in=ids)}

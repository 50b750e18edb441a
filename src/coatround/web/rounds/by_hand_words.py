"""What breaks in a plan, in words with the households' names, for the person whose plan it is."""

import datetime as dt
from collections.abc import Iterable, Sequence

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from coatround.core.rounds.by_hand import Shift
from coatround.core.rounds.check import check
from coatround.core.rounds.fault import Fault
from coatround.core.rounds.plan import Cost, Plan, PlannedRun, VisitStop
from coatround.core.rounds.problem import Run, Visit
from coatround.web.base.firm import the_firm
from coatround.web.base.money import money_text
from coatround.web.base.templatetags.coatround import clock, minutes, short_day
from coatround.web.roads.map import names_in_words
from coatround.web.rounds.in_hand import InHand, in_hand_proposal
from coatround.web.rounds.models import Proposal

SHIFTS_SAID = 4
"""So many shifted starts are named; the others are counted."""


def faults_in_words(hand: InHand, plan: Plan, faults: Iterable[Fault]) -> list[str]:
    """One sentence for each thing that breaks, those about a promise first."""
    runs = {run.id: run for run in plan.runs}
    problem_runs = {run.id: run for run in hand.problem.runs}
    visits = {visit.id: visit for visit in hand.problem.visits}
    found = []
    for fault in faults:
        visit, run = visits.get(fault.visit), problem_runs.get(fault.where)
        is_promise = bool(visit and visit.told and fault.code in ("outside_window", "wrong_day"))
        words = _of_visit(hand, fault, visit, run, runs.get(fault.where)) if visit else _of_run(fault, run, runs)
        found.append((not is_promise, words or fault.words))
    return [words for _late, words in sorted(found, key=lambda one: one[0])]


def shifts_in_words(hand: InHand, shifts: Sequence[Shift]) -> str:
    """Whose start shifts and by how much, the largest shift first; those under a minute are not said."""
    named = sorted((one for one in shifts if abs(one.after - one.before) >= 60), key=lambda one: -_by(one))
    words = [
        (_("%(who)s %(minutes)s later") if one.after > one.before else _("%(who)s %(minutes)s earlier"))
        % {"who": names_in_words(tuple(hand.dogs(one.visit))), "minutes": minutes(_by(one))}
        for one in named[:SHIFTS_SAID]
    ]
    if (more := len(named) - SHIFTS_SAID) > 0:
        words.append(ngettext("and %(count)d other", "and %(count)d others", more) % {"count": more})
    return ", ".join(words)


def _by(one: Shift) -> int:
    return abs(one.after - one.before)


def parts_in_words(more: Cost) -> str:
    """What a difference is made of, where it is made of more than one thing."""
    firm = the_firm()
    parts = [
        (_("driving"), more.drive),
        (_("overtime"), more.overtime),
        (_("day and hour"), more.days),
        (_("left out"), more.left_out),
    ]
    said = [f"{name} {'+' if cents > 0 else '−'}{money_text(abs(cents), firm)}" for name, cents in parts if cents]
    return f" ({', '.join(said)})" if len(said) > 1 else ""


def broken_by_hand(proposal: Proposal) -> list[str]:
    """What a new plan breaks since a person changed it by hand."""
    hand = in_hand_proposal(proposal)
    return faults_in_words(hand, hand.plan, check(hand.problem, hand.plan))


def _of_visit(hand: InHand, fault: Fault, visit: Visit, run: Run | None, planned: PlannedRun | None) -> str:
    names = {"who": names_in_words(tuple(hand.dogs(visit.id))), "household": hand.household(visit.id)}
    if fault.code == "outside_window" and planned and run:
        return _window_words(visit, run, planned) % names
    if fault.code == "wrong_day" and run:
        words = {"day": short_day(run.date)}
        if visit.told:
            return _("%(household)s were told another day than %(day)s.") % (names | words)
        return _("%(day)s is no day for %(who)s: outside what is settled with %(household)s.") % (names | words)
    if fault.code == "rank":
        if visit.rank == 0:
            return _("%(who)s, not yet vaccinated, comes after other dogs.") % names
        return _("%(who)s comes after a dog with fleas.") % names
    words = {
        "tank_dry": _("The tank is empty before %(who)s is washed."),
        "needs": _("%(who)s needs what this run has not: two people, or the big tub."),
        "wrong_van": _("%(household)s belong to another van."),
    }
    return words[fault.code] % names if fault.code in words else ""


def _window_words(visit: Visit, run: Run, planned: PlannedRun) -> str:
    """Which window the work leaves, with room for the household's name."""
    windows: tuple[tuple[int, int], ...] = next((day.windows for day in visit.days if day.date == run.date), ())
    start = next(one.start for one in planned.stops if isinstance(one, VisitStop) and one.visit == visit.id)
    at = {"start": clock(start)}
    if visit.told and windows:
        until = windows[-1][1] - visit.seconds
        words = _("%%(household)s were told %(from)s to %(until)s; the work would start at %(start)s.")
        return words % (at | {"from": clock(windows[0][0]), "until": clock(until)})
    hours = _(" or ").join(f"{clock(a)}-{clock(b)}" for a, b in windows)
    words = _("%%(who)s would be worked on from %(start)s, outside their hours of that day (%(hours)s).")
    return words % (at | {"hours": hours or _("none")})


def _of_run(fault: Fault, run: Run | None, runs: dict[str, PlannedRun]) -> str:
    planned = runs.get(fault.where)
    if run is None or planned is None:
        return _("The time from one visit to the next is outside what is settled.") if fault.code == "follows" else ""
    over = max(0, planned.back - planned.leave - run.paid_seconds)
    about = {
        "day": short_day(run.date),
        "back": clock(planned.back),
        "close": clock(run.close),
        "over": minutes(over),
        "most": minutes(run.max_overtime_seconds),
    }
    words = {
        "overtime": _("%(day)s would have %(over)s overtime, at most %(most)s is allowed."),
        "late_back": _("On %(day)s the van would be back at %(back)s, after its hours end at %(close)s."),
        "leaves_early": _("On %(day)s the van would leave before its hours begin."),
        "break_missing": _("%(day)s would have no room for the break."),
        "break_time": _("On %(day)s the break would lie outside its hours."),
        "too_many_refills": _("%(day)s would need more stops to fill the tank than are allowed."),
        "power": _("%(day)s would draw more power than the van has."),
        "noise": _("%(day)s would be louder than is allowed for ears."),
    }
    return words[fault.code] % about if fault.code in words else ""


def place_in_words(order: int, count: int) -> str:
    """Where in a run a stop is: first, last, or third of five."""
    if count == 1:
        return _("the only visit")
    if order == 0:
        return _("first of %(count)d") % {"count": count}
    if order == count - 1:
        return _("last of %(count)d") % {"count": count}
    return _("number %(number)d of %(count)d") % {"number": order + 1, "count": count}


def shown_span(date: dt.date, today: dt.date) -> tuple[dt.date, dt.date]:
    """The dates that are tried for a visit: two weeks either way, from today on."""
    weeks = dt.timedelta(days=14)
    return max(today, date - weeks), max(today, date) + weeks

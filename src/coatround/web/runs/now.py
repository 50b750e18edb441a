"""A run of today from here and now: gathered from what is recorded, the ways out, and doing what a person chose."""

import datetime as dt
import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from django.utils.translation import gettext as _

from coatround.core.rounds.plan import Plan, VisitStop
from coatround.core.rounds.today import Here, WayOut, ways_out
from coatround.core.run import Done
from coatround.web.base.firm import firm_zone, the_firm
from coatround.web.base.models import Worker
from coatround.web.base.templatetags.coatround import day
from coatround.web.notes.actions import draft
from coatround.web.records.models import Place
from coatround.web.roads.map import names_in_words
from coatround.web.rounds.accepting import Chosen, rewrite_rest, rewrite_runs
from coatround.web.rounds.acts import act_on_round, standing_row
from coatround.web.rounds.arriving import Window, times_of
from coatround.web.rounds.gather import run_id
from coatround.web.rounds.in_hand import InHand, in_hand_standing
from coatround.web.rounds.models import Run, Stop
from coatround.web.rounds.to_tell import planned_windows
from coatround.web.runs.done import done_so_far
from coatround.web.visits.models import Visit

AHEAD = dt.timedelta(days=14)
"""A visit that has to move is offered a day within so long: our own default."""


@dataclass(frozen=True, slots=True)
class Moment:
    """A run under way: where the van is and when it is free there, which stops are behind it, which are ahead."""

    run: Run
    here: Here
    at: Place
    behind: tuple[Stop, ...]
    ahead: tuple[Stop, ...]
    is_recorded: bool


def moment_of(run: Run, now: int, *, at: int | None = None) -> Moment:
    """How a run stands at a clock time, from what is recorded; `at` says how many of its stops are behind instead."""
    stops = list(run.stops.select_related("visit__place", "visit__household", "place").order_by("order"))
    done = {one.key: one for one in done_so_far(stops, run.date, firm_zone(the_firm()))}
    if at is None:
        begun = [n for n, stop in enumerate(stops) if _is_begun(done.get(str(stop.pk)))]
        behind = stops[: begun[-1] + 1] if begun else []
    else:
        behind = stops[:at]
    passed_over = [one for one in behind if at is None and one.kind == "visit" and not _is_over(done.get(str(one.pk)))]
    on_table = next((one for one in reversed(passed_over) if _is_begun(done.get(str(one.pk)))), None)
    behind = [one for one in behind if one not in passed_over or one is on_table]
    last = on_table or (behind[-1] if behind else None)
    free = max(now, _ends(on_table, done)) if on_table else now
    ahead = [one for one in stops if one not in behind and one.visit and one.visit.state != "CANCELLED"]
    if at is None:
        ahead = [one for one in ahead if not _is_over(done.get(str(one.pk)))]
    place = _place_of(last) if last else run.start_place
    if not behind and at is None:
        free = max(free, run.leave_seconds)
    here = Here(
        free,
        str(place.pk),
        _litres_left(run, behind),
        worked_seconds=max(0, free - run.leave_seconds) if behind else 0,
        had_break=any(one.kind == "break" for one in behind),
    )
    return Moment(run, here, place, tuple(behind), tuple(ahead), is_recorded=bool(done))


def _is_begun(done: Done | None) -> bool:
    return done is not None and not done.is_off and done.started is not None


def _is_over(done: Done | None) -> bool:
    return done is not None and (done.is_off or done.ended is not None)


def _ends(stop: Stop, done: Mapping[str, Done]) -> int:
    """When the work on the table ends: as long as planned."""
    started = done[str(stop.pk)].started
    return (started if started is not None else stop.start_seconds) + stop.end_seconds - stop.start_seconds


def _place_of(stop: Stop) -> Place:
    place = stop.visit.place if stop.visit else stop.place
    return place or stop.run.start_place


def _litres_left(run: Run, behind: Sequence[Stop]) -> int:
    """What is in the tank: full at first and after each refill passed, less what was planned to be drawn since."""
    full = left = min(run.van.clean_l, run.van.grey_l)
    for stop in behind:
        left = full if stop.kind == "refill" else max(0, left - stop.water_l)
    return left


def ways_from(moment: Moment) -> tuple[InHand, tuple[WayOut, ...]]:
    """The plan that stands from today, and the ways out of it. Raises CannotPlan."""
    run = moment.run
    hand = in_hand_standing(run.date, run.date + AHEAD, today=run.date, van=run.van, with_begun=True, also=[moment.at])
    plan = _with_rest(hand.plan, run_id(run.van_id, run.date), {str(stop.visit_id) for stop in moment.ahead})
    hand = replace(hand, plan=plan)
    return hand, ways_out(hand.problem, plan, run_id(run.van_id, run.date), moment.here)


def _with_rest(plan: Plan, run: str, rest: set[str]) -> Plan:
    """The plan with only what is ahead on one run."""
    runs = []
    for one in plan.runs:
        if one.id == run:
            one = replace(one, stops=tuple(s for s in one.stops if isinstance(s, VisitStop) and s.visit in rest))
        if one.stops:
            runs.append(one)
    return replace(plan, runs=tuple(runs))


def go(moment: Moment, hand: InHand, way: WayOut, who: Worker) -> int:
    """Makes a way out so: the rest of the run, a visit moved, notes drafted to those it concerns; how many notes."""
    run, own = moment.run, run_id(moment.run.van_id, moment.run.date)
    dates = {run.date} | ({way.opening.date} if way.opening else set())
    visits = [uuid.UUID(one) for planned in way.plan.runs for one in planned.visit_ids]
    chosen = Chosen(way.problem, way.plan, hand.names, frozenset(dates))
    about = {"push on": _("went on late"), "swap": _("swapped today"), "move": _("moved to another day")}[way.kind]
    with act_on_round(who, dates, visits, about=about) as batch:
        if way.opening is not None:
            rewrite_runs(chosen, [way.opening.run], who, standing_row().version + 1)
        rest = next((one for one in way.plan.runs if one.id == own), None)
        rewrite_rest(chosen, rest, run, [stop.pk for stop in moment.behind])
        return _draft_notes(hand, way, who, batch)


def _draft_notes(hand: InHand, way: WayOut, who: Worker, batch: uuid.UUID) -> int:
    windows = planned_windows(way.problem, way.planned) if way.planned else {}
    count = 0
    for outside in way.outside:
        visit = Visit.objects.get(pk=outside.visit)
        told = windows[outside.visit].told
        draft(visit, "new time", late_words(hand, outside.visit, told), who, batch, times_of(told))
        count += 1
    if way.moved and way.opening is not None:
        visit = Visit.objects.get(pk=way.moved)
        window = planned_windows(way.problem, way.opening.planned)[way.moved].told
        draft(visit, "moved", moved_words(hand, way.moved, way.opening.date, window), who, batch)
        count += 1
    return count


def late_words(hand: InHand, visit: str, window: Window) -> str:
    """What a household is told that will be reached later, or sooner, than it was told."""
    return _(
        "Hello, this is %(firm)s. Today does not go as planned: we expect to be with %(dogs)s between %(from)s and "
        "%(until)s. Please tell us if that does not suit you."
    ) % _about(hand, visit, window)


def _about(hand: InHand, visit: str, window: Window) -> dict[str, str]:
    from_, until = times_of(window)
    return {
        "firm": the_firm().name,
        "dogs": names_in_words(tuple(hand.dogs(visit))),
        "from": f"{from_:%H:%M}",
        "until": f"{until:%H:%M}",
    }


def moved_words(hand: InHand, visit: str, date: dt.date, window: Window) -> str:
    """What a household is asked whose visit goes to another day."""
    words = _(
        "Hello, this is %(firm)s. We cannot be with %(dogs)s as planned. May we come on %(day)s between %(from)s and "
        "%(until)s instead? Please tell us if that does not suit you."
    )
    return words % (_about(hand, visit, window) | {"day": day(date)})

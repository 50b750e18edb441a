"""What people do with the round: ask for a plan, stop it, drop it, accept it; tell a window, call a visit off."""

import datetime as dt
import json
import uuid
from collections.abc import Collection

from django.http import HttpRequest
from django.utils import formats, timezone
from django.utils.translation import gettext as _

from coatround.core.rounds.check import check
from coatround.core.rounds.fileformat import problem_of
from coatround.core.rounds.planfile import read_plan
from coatround.web.base.changes import save
from coatround.web.base.models import Worker
from coatround.web.base.writing import writing
from coatround.web.due.facts import seconds_of
from coatround.web.records.models import Van
from coatround.web.rounds.accepting import Chosen, write_runs
from coatround.web.rounds.acts import act_on_round, standing_row
from coatround.web.rounds.changes import told_broken
from coatround.web.rounds.mend import take_out
from coatround.web.rounds.models import Proposal, Standing
from coatround.web.rounds.propose import SECONDS, ask, start
from coatround.web.visits.models import Visit
from coatround.web.visits.promises import tell as tell


def worker_of(request: HttpRequest) -> Worker:
    """Who is signed in."""
    assert isinstance(request.user, Worker)
    return request.user


class StandingChanged(Exception):
    """The plan that stands is no longer the one this proposal was made against; the message says so in words."""


class PlanBreaks(Exception):
    """The checker found something broken in the plan; the message says what."""


def start_planning(
    first: dt.date, last: dt.date, *, who: Worker, seconds: int = SECONDS, van: Van | None = None
) -> Proposal:
    """Asks for a plan, and starts the process that makes it."""
    proposal = ask(first, last, who=who, seconds=seconds, van=van)
    start(proposal)
    return proposal


def stop_planning(proposal: Proposal) -> None:
    """Asks the process to stop; the best plan so far is kept."""
    with writing():
        Proposal.objects.filter(pk=proposal.pk, state__in=("waiting", "planning")).update(stop_asked=True)


def drop(proposal: Proposal) -> None:
    """Throws a proposal away; the plan that stands is not touched."""
    with writing():
        Proposal.objects.filter(pk=proposal.pk).exclude(state="accepted").update(state="dropped", problem=None)


def accept(
    proposal: Proposal,
    who: Worker,
    *,
    base_version: int,
    dates: Collection[dt.date] | None = None,
    although: bool = False,
) -> None:
    """Makes a proposal, or only some dates of it, the plan that stands.

    Raises StandingChanged when the plan that stands is another than the one seen, PlanBreaks when the checker
    finds a fault; nothing is written then. What a person changed by hand is accepted `although` it breaks something.
    """
    with writing():
        standing = standing_row()
        fresh = Proposal.objects.select_for_update().get(pk=proposal.pk)
        _refuse_if_changed(fresh, standing, base_version)
        chosen = _chosen(fresh, dates, although=although)
        _refuse_if_told_since(chosen)
        named = {uuid.UUID(names["visit"]) for names in chosen.names["visits"].values() if names["visit"]}
        with act_on_round(who, chosen.dates, named, more=lambda: Proposal.objects.filter(pk=proposal.pk)):
            write_runs(chosen, who, standing.version + 1)
            _mark_accepted(fresh, chosen, standing.version + 1)
    proposal.refresh_from_db()


def _refuse_if_changed(proposal: Proposal, standing: Standing, base_version: int) -> None:
    if proposal.state != "ready":
        raise StandingChanged(_("This plan is not there to be accepted any more. Make a new one."))
    if proposal.base_version == standing.version == base_version:
        return
    words = _("The plan that stands was changed after this one was made, so nothing was accepted. Plan again.")
    if standing.changed_by and standing.changed_at:
        at = formats.date_format(timezone.localtime(standing.changed_at), "l j F, H:i")
        words = _(
            "The plan that stands was changed by %(who)s on %(at)s, after this one was made. "
            "Nothing was accepted. Look at it, then plan again."
        ) % {"who": standing.changed_by.name, "at": at}
    raise StandingChanged(words)


def _chosen(proposal: Proposal, dates: Collection[dt.date] | None, *, although: bool) -> Chosen:
    problem, plan = problem_of(proposal.problem), read_plan(json.dumps(proposal.plan))
    by_hand = although and bool(proposal.names.get("by_hand"))
    if (faults := check(problem, plan)) and not by_hand:
        raise PlanBreaks(_("This plan breaks: %(words)s. Plan again.") % {"words": faults[0].words})
    done = {dt.date.fromisoformat(date) for date in proposal.accepted_dates}
    wanted = {run.date for run in problem.runs} - done
    if dates is not None:
        wanted &= set(dates)
    if not wanted:
        raise StandingChanged(_("These days are accepted already, or are not in this plan."))
    return Chosen(problem, plan, proposal.names, frozenset(wanted))


def _refuse_if_told_since(chosen: Chosen) -> None:
    """A window that was told, or a visit called off, after the plan was made: the plan did not know of it."""
    ids = [names["visit"] for names in chosen.names["visits"].values() if names["visit"]]
    rows = {str(row.pk): row for row in Visit.objects.filter(pk__in=ids).select_related("household")}
    for id_, names in chosen.names["visits"].items():
        row = rows.get(names["visit"] or "")
        if names["visit"] and (row is None or row.state == "CANCELLED"):
            raise StandingChanged(
                _("The visit to %(household)s was called off after this plan was made. Plan again.")
                % {"household": names["household_name"]}
            )
        told = (names["told"], names["told_from"], names["told_until"])
        now = (row.state == "CONFIRMED", seconds_of(row.told_from), seconds_of(row.told_until)) if row else told
        if row and now != told and row.state == "CONFIRMED" and told_broken(row, chosen.plan, chosen.problem, id_):
            raise StandingChanged(
                _("%(household)s was told a time after this plan was made, and it does not keep it. Plan again.")
                % {"household": names["household_name"]}
            )


def _mark_accepted(proposal: Proposal, chosen: Chosen, version: int) -> None:
    accepted = {*proposal.accepted_dates, *(date.isoformat() for date in chosen.dates)}
    proposal.accepted_dates = sorted(accepted)
    proposal.base_version = version
    if {run.date.isoformat() for run in chosen.problem.runs} <= accepted:
        proposal.state = "accepted"
    proposal.save(update_fields=["accepted_dates", "base_version", "state", "names"])


def write_answer(visit: Visit, who: Worker, answer: str) -> None:
    """What the household said; who says no, or asks for another time, holds no promise: the visit is pencilled in."""
    with writing():
        visit.answer = answer
        if answer in ("DECLINED", "TENTATIVE"):
            visit.state, visit.told_from, visit.told_until = "TENTATIVE", None, None
        save(visit, who)


def call_off(visit: Visit, who: Worker, why: str) -> None:
    """Calls a visit off with the reason; its run goes on without it."""
    about = why[:200]
    with act_on_round(who, (), [visit.pk], about=about):
        visit.state, visit.called_off_why = "CANCELLED", about
        visit.full_clean(exclude=["id", "made_at"])
        visit.save()
        take_out(visit)

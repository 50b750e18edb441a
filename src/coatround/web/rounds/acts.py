"""An act on the round: all that it changes is logged as one, so that it can be undone; another plan stands then."""

import datetime as dt
import uuid
from collections.abc import Callable, Collection, Iterable, Iterator
from contextlib import contextmanager

from django.db import models
from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext as _

from coatround.web.base.changes import CannotUndo, logged
from coatround.web.base.models import Change, Worker
from coatround.web.rounds.models import Proposal, Run, Standing
from coatround.web.visits.models import Record, Visit


@contextmanager
def act_on_round(
    who: Worker,
    dates: Collection[dt.date],
    visits: Collection[uuid.UUID] = (),
    *,
    more: Callable[[], Iterable[models.Model]] = tuple,
    about: str = "",
) -> Iterator[uuid.UUID]:
    """One act on the runs and visits of these dates and on these visits wherever they stand; answers its batch.

    One transaction. `more()` names rows of other kinds that it changes too.
    """
    ids, days = list(visits), list(dates)

    def rows() -> Iterable[models.Model]:
        stops = Q(date__in=days) | Q(stops__visit__in=ids)
        own = Q(date__in=days) | Q(pk__in=ids) | Q(stops__run__date__in=days)
        yield from Run.objects.filter(stops).distinct().select_related("van").prefetch_related("stops")
        yield from Visit.objects.filter(own).distinct().select_related("household").prefetch_related("visit_dogs")
        yield from more()

    with logged(who, rows, about=about) as batch:
        yield batch
        raise_version(who)


def standing_row() -> Standing:
    """The row of the standing plan, held until the transaction ends."""
    return Standing.objects.select_for_update().order_by("pk").first() or Standing.objects.create()


def raise_version(who: Worker) -> int:
    """Says that the plan that stands is another one now."""
    standing = standing_row()
    standing.version += 1
    standing.changed_at, standing.changed_by = timezone.now(), who
    standing.save()
    return standing.version


def refuse_after_work(batch: list[Change]) -> None:
    """An act is not undone once work was recorded at a visit that it changed."""
    runs = [change for change in batch if change.table == "rounds.Run"]
    if not runs:
        return
    visits = {
        stop["visit_id"]
        for change in runs
        for values in (change.old, change.new)
        for stop in (values or {}).get("stops", ())
        if stop["visit_id"]
    }
    since = min(change.made_at for change in batch)
    if Record.objects.filter(visit__in=visits, received_at__gt=since).exists():
        raise CannotUndo(_("Work was recorded on these runs since, so they stay as they are. Move visits by hand."))


def version_after_undo(batch: list[Change], who: Worker) -> None:
    """Another plan stands after an undo; a plan given back can be accepted again if nothing came between."""
    if not any(change.table == "rounds.Run" for change in batch):
        return
    was = standing_row().version
    version = raise_version(who)
    given_back = [change.row for change in batch if change.table == "rounds.Proposal" and change.old]
    if any((change.new or {}).get("base_version") == was for change in batch if change.row in given_back):
        for proposal in Proposal.objects.filter(pk__in=given_back, state="ready"):
            _forget_lost_visits(proposal)
            proposal.base_version = version
            proposal.save(update_fields=["names", "base_version"])


def _forget_lost_visits(proposal: Proposal) -> None:
    """Visits that accepting had made are gone with it; accepted again, the plan makes them anew."""
    named = [names for names in proposal.names["visits"].values() if names["visit"]]
    there = set(Visit.objects.filter(pk__in=[names["visit"] for names in named]).values_list("pk", flat=True))
    for names in named:
        if uuid.UUID(names["visit"]) not in there:
            names["visit"] = None

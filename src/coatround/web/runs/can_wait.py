"""How long the visits of a lost day can wait, from what is settled and written down; and saying so."""

import datetime as dt
import uuid
from collections import defaultdict
from collections.abc import Mapping, Sequence

from django.db.models import Q
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from coatround.core.can_wait import CanWait, least_first
from coatround.core.rounds.problem import Visit as PlannerVisit
from coatround.web.base.templatetags.coatround import day
from coatround.web.due.facts import Past, past_of
from coatround.web.records.models import Caution
from coatround.web.rounds.in_hand import InHand
from coatround.web.visits.models import Finding, Visit, VisitDog

CAUTIONS = ("skin", "whelping")
MATTED = 2
"""Of the cautions these speak against waiting, and mats of this grade or more at the last groom: our own default."""


def who_can_wait(rows: Sequence[Visit], hand: InHand, today: dt.date) -> tuple[CanWait, ...]:
    """The visits with how long each can wait, the one that can wait least first."""
    known = {visit.id: visit for visit in hand.problem.visits}
    concerns = _concerns(rows, today)
    return least_first(_can_wait(row, known.get(str(row.pk)), hand, concerns.get(row.pk, ())) for row in rows)


def _can_wait(row: Visit, own: PlannerVisit | None, hand: InHand, concerns: tuple[str, ...]) -> CanWait:
    names = hand.names["visits"].get(str(row.pk))
    due = dt.date.fromisoformat(names["due"]) if names and not names["settled"] else None
    last = max((one.date for one in own.days), default=None) if own else None
    return CanWait(str(row.pk), row.date, due, last, row.is_told, concerns)


def _concerns(rows: Sequence[Visit], today: dt.date) -> Mapping[uuid.UUID, tuple[str, ...]]:
    """What speaks against waiting, by visit: cautions that hold, and mats found at a dog's last groom."""
    visits: dict[uuid.UUID, list[uuid.UUID]] = defaultdict(list)
    for dog, visit in VisitDog.objects.filter(visit__in=rows).order_by("order").values_list("dog", "visit"):
        visits[dog].append(visit)
    found: dict[uuid.UUID, dict[str, None]] = defaultdict(dict)
    holds = Q(until__isnull=True) | Q(until__gte=today)
    for one in Caution.objects.filter(holds, dog__in=visits, kind__in=CAUTIONS, closed_on__isnull=True):
        for visit in visits[one.dog_id]:
            found[visit][_("caution: %(what)s") % {"what": one.get_kind_display()}] = None
    pasts = past_of(visits)
    mats = Finding.objects.filter(groom__dog__in=visits, kind="mat", grade__gte=MATTED, groom__corrected=False)
    for dog, date in mats.values_list("groom__dog", "groom__date"):
        if pasts.get(dog, Past()).dates[:1] == (date,):
            for visit in visits[dog]:
                found[visit][_("matted at the last groom")] = None
    return {visit: tuple(words) for visit, words in found.items()}


def can_wait_words(one: CanWait) -> str:
    """How long a visit can wait, and what speaks against it."""
    words = []
    if one.days_past:
        past = ngettext("%(n)d day past its date", "%(n)d days past its date", one.days_past)
        words.append(past % {"n": one.days_past})
    if one.last is not None:
        words.append(_("can wait until %(day)s") % {"day": day(one.last)})
    elif one.due is not None:
        words.append(_("no day is left inside what is settled"))
    else:
        words.append(_("nothing settled says how long it can wait"))
    return ", ".join((*words, *one.concerns))

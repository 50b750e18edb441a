"""The gap that a called-off visit leaves: who is due, on no run, and fits it best."""

import datetime as dt
import uuid
from collections.abc import Sequence
from dataclasses import dataclass, replace
from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET

from coatround.core.rounds.cost import UNIT
from coatround.core.rounds.gaps import Gap, Gaps, way_of_place
from coatround.core.units import rounded_half_up
from coatround.web.base.firm import firm_today, the_firm
from coatround.web.base.money import money_text
from coatround.web.base.templatetags.coatround import clock, minutes
from coatround.web.records.models import Place
from coatround.web.roads.map import names_in_words
from coatround.web.rounds.caller import pinned_place, visit_wanted
from coatround.web.rounds.gather import CannotPlan
from coatround.web.rounds.in_hand import InHand, frozen_problem, in_hand_standing
from coatround.web.rounds.waiting import Waits, who_waits
from coatround.web.visits.models import Visit

DUE_WITHIN = dt.timedelta(days=14)
SHOWN = 10


@dataclass(frozen=True, slots=True)
class Fitting:
    """A visit that is due and fits the gap: whose, when, what it costs more, and where to take it."""

    dogs: str
    household: str
    reasons: list[str]
    words: str
    address: str


@require_GET
def page(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Who fits where a visit was called off, cheapest first."""
    visit = get_object_or_404(Visit.objects.select_related("household", "van", "van__home"), pk=pk)
    if visit.state != "CANCELLED" or visit.date <= firm_today():
        messages.error(request, _("There is no gap: the visit stands, or its day is over."))
        return redirect("round:visit", pk)
    given: dict[str, object] = {"visit": visit}
    waits = [(one, place) for one in who_waits() if (place := _place_of(one))]
    try:
        also = [place for _, place in waits]
        hand = in_hand_standing(visit.date, visit.date + DUE_WITHIN, today=firm_today(), van=visit.van, also=also)
        given["fitting"] = [_fitting(hand, id_, gap) for id_, gap in _gaps(hand, visit.date)]
        given["waiting"] = _waiting(hand, visit, waits)
    except CannotPlan as error:
        given["cannot"] = str(error)
    return render(request, "rounds/gap.html", given)


def _place_of(one: Waits) -> Place | None:
    try:
        return pinned_place(one.row.household)
    except CannotPlan:
        return None


def _waiting(hand: InHand, visit: Visit, waits: Sequence[tuple[Waits, Place]]) -> list[Fitting]:
    """Those on the waiting list that fit that day, who asked first first."""
    frozen, found = frozen_problem(hand), list[Fitting]()
    index = Gaps(frozen, hand.plan)
    for one, place in waits:
        new = visit_wanted(one.wanted, place, visit.van, visit.date)
        days = tuple(replace(day, cents=0) for day in new.days if day.date == visit.date >= one.wanted.first)
        gaps = index.best(replace(new, days=days), way_of_place(frozen, new.place), 1) if days else ()
        dogs = names_in_words(tuple(dog.name for dog in one.dogs))
        words = [one.row.words] if one.row.words else []
        found += [Fitting(dogs, str(one.row.household), words, _gap_words(gap), one.address) for gap in gaps]
    return found[:SHOWN]


def _gaps(hand: InHand, date: dt.date) -> list[tuple[str, Gap]]:
    """The best gap of that day for each visit that is due and on no run."""
    frozen = frozen_problem(hand)
    index, out = Gaps(frozen, hand.plan), {left.visit for left in hand.plan.left_out}
    found = []
    for visit in frozen.visits:
        days = tuple(replace(one, cents=0) for one in visit.days if one.date == date)
        if visit.id in out and days:
            found += [
                (visit.id, gap) for gap in index.best(replace(visit, days=days), way_of_place(frozen, visit.place), 1)
            ]
    return sorted(found, key=lambda one: (one[1].units, one[0]))[:SHOWN]


def _fitting(hand: InHand, id_: str, gap: Gap) -> Fitting:
    names = hand.names["visits"][id_]
    query = urlencode([("first", gap.date.isoformat()), *(("dogs", dog["id"]) for dog in names["dogs"])])
    return Fitting(
        names_in_words(tuple(hand.dogs(id_))),
        hand.household(id_),
        names["reasons"],
        _gap_words(gap),
        reverse("round:caller-openings", args=[names["household"]]) + "?" + query,
    )


def _gap_words(gap: Gap) -> str:
    money = money_text(max(0, rounded_half_up(gap.units, UNIT)), the_firm())
    about = {"clock": clock(gap.start), "money": money, "drive": minutes(max(0, gap.drive_seconds))}
    return _("work from %(clock)s, %(drive)s more driving, costs %(money)s") % about

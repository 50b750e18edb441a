"""Why a visit is where it is, and moving or keeping it by hand: in the plan that stands, and in a new one."""

import uuid
from dataclasses import dataclass

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from coatround.core.rounds.by_hand import with_orders
from coatround.core.rounds.check import check
from coatround.core.rounds.fault import Fault
from coatround.core.rounds.why import Other, other_dates, other_places
from coatround.web.base.firm import firm_today, the_firm
from coatround.web.base.money import money_text
from coatround.web.base.templatetags.coatround import clock, day, minutes
from coatround.web.roads.map import names_in_words
from coatround.web.rounds import actions
from coatround.web.rounds.acts import act_on_round
from coatround.web.rounds.by_hand_words import (
    faults_in_words,
    parts_in_words,
    place_in_words,
    shifts_in_words,
    shown_span,
)
from coatround.web.rounds.gather import CannotPlan
from coatround.web.rounds.in_hand import InHand, in_hand_proposal, in_hand_standing, keep, take_back
from coatround.web.rounds.models import Proposal
from coatround.web.rounds.queries import standing_version
from coatround.web.visits.models import Visit


@dataclass(frozen=True, slots=True)
class Choice:
    """Another date or place in the order for people: what it costs and what breaks there, and how to take it."""

    other: Other
    words: str
    costs: str
    breaks: list[str]
    shifts: str
    width: int
    is_cheaper: bool

    @property
    def order(self) -> str:
        return ",".join(self.other.order)


@require_GET
def why(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Why a visit stands where it does in the plan that stands."""
    row = _visit(pk)
    try:
        hand = _standing(row)
    except CannotPlan as error:
        messages.error(request, str(error))
        return redirect("round:visit", pk)
    return _page(request, hand, str(pk), row)


@require_GET
def why_proposed(request: HttpRequest, pk: uuid.UUID, visit: str) -> HttpResponse:
    """Why a new plan has a visit where it has it, or leaves it out."""
    hand = in_hand_proposal(_proposal(pk))
    row = Visit.objects.filter(pk=hand.names["visits"].get(visit, {}).get("visit")).first()
    return _page(request, hand, visit, row)


def _visit(pk: uuid.UUID) -> Visit:
    return get_object_or_404(Visit.objects.select_related("household", "van", "van__home"), pk=pk)


def _proposal(pk: uuid.UUID) -> Proposal:
    return get_object_or_404(Proposal, pk=pk, state="ready", supposed__isnull=True)


def _standing(row: Visit) -> InHand:
    if row.date < firm_today() or row.state == "CANCELLED":
        raise CannotPlan(_("This visit is over or called off, so it is not moved any more."))
    first, last = shown_span(row.date, firm_today())
    return in_hand_standing(first, last, today=firm_today(), van=row.van)


def _page(request: HttpRequest, hand: InHand, visit: str, row: Visit | None) -> HttpResponse:
    if visit not in hand.names["visits"] or all(one.id != visit for one in hand.problem.visits):
        raise Http404
    run = hand.run_of(visit)
    dates = _choices(hand, other_dates(hand.problem, hand.plan, visit))
    places = _choices(hand, other_places(hand.problem, hand.plan, visit))
    at = run.visit_ids.index(visit) if run else None
    here = next((one.other for one in dates if one.other.is_here), None)
    out = next((left for left in hand.plan.left_out if left.visit == visit), None)
    given = {
        "hand": hand,
        "visit": visit,
        "row": row,
        "dogs": names_in_words(tuple(hand.dogs(visit))),
        "household": hand.household(visit),
        "here": here,
        "place": place_in_words(at, len(run.visit_ids)) if run and at is not None else "",
        "earlier": places[at - 1] if at else None,
        "later": places[at + 1] if at is not None and at + 1 < len(places) else None,
        "places": places,
        "dates": dates,
        "out": out,
        "is_pinned": hand.names["visits"][visit].get("pinned") if hand.proposal else bool(row and row.is_pinned),
        "breaks_now": faults_in_words(hand, hand.plan, _own_faults(hand, visit)),
        "base_version": standing_version(),
        "reasons": hand.names["visits"][visit]["reasons"],
        "because": hand.names["visits"][visit].get("because", ()),
        "by_hand": len(hand.names.get("by_hand", ())),
        "move": _address("move", hand, visit),
        "pin": _address("pin", hand, visit),
    }
    return render(request, "rounds/why.html", given)


def _own_faults(hand: InHand, visit: str) -> list[Fault]:
    return [fault for fault in check(hand.problem, hand.plan) if fault.visit == visit]


def _address(name: str, hand: InHand, visit: str) -> str:
    if hand.proposal is None:
        return reverse(f"round:{name}", args=[visit])
    return reverse(f"round:{name}-proposed", args=[hand.proposal.pk, visit])


def _choices(hand: InHand, others: tuple[Other, ...]) -> list[Choice]:
    most = max((abs(one.more_cents) for one in others), default=0) or 1
    return [_choice(hand, one, most) for one in others]


def _choice(hand: InHand, other: Other, most: int) -> Choice:
    words = _("%(day)s, from %(clock)s") % {"day": day(other.date), "clock": clock(other.start)}
    breaks = faults_in_words(hand, other.after or hand.plan, other.faults)
    width = 100 * abs(other.more_cents) // most
    return Choice(other, words, _costs(other), breaks, shifts_in_words(hand, other.shifts), width, other.more_cents < 0)


def _costs(other: Other) -> str:
    if other.is_here:
        return _("as it is")
    money = money_text(abs(other.more_cents), the_firm())
    words = _("%(money)s dearer") if other.more_cents >= 0 else _("%(money)s cheaper")
    said = words % {"money": money} + parts_in_words(other.more)
    if abs(other.more_drive_seconds) >= 60:
        more = _("%(minutes)s more driving") if other.more_drive_seconds > 0 else _("%(minutes)s less driving")
        said += ", " + more % {"minutes": minutes(abs(other.more_drive_seconds))}
    return said


def _orders(hand: InHand, visit: str, run: str, order: tuple[str, ...] | list[str]) -> dict[str, list[str]]:
    """The orders of the runs that a move touches: where the visit goes, and where it comes from."""
    orders = {run: list(order)}
    before = hand.run_of(visit)
    if before is not None and before.id != run:
        orders[before.id] = [one for one in before.visit_ids if one != visit]
    return orders


@require_POST
def move(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Moves a visit of the plan that stands as a person wants it."""
    try:
        hand = _standing(_visit(pk))
    except CannotPlan as error:
        messages.error(request, str(error))
        return redirect("round:visit", pk)
    if request.POST.get("base_version") != str(standing_version()):
        messages.error(request, _("The plan that stands was changed meanwhile, so nothing was moved. Look again."))
        return redirect("round:why", pk)
    return _moved(request, hand, str(pk), reverse("round:why", args=[pk]))


@require_POST
def move_proposed(request: HttpRequest, pk: uuid.UUID, visit: str) -> HttpResponse:
    """Moves a visit of a new plan, or takes the last such change back."""
    hand = in_hand_proposal(_proposal(pk))
    address = reverse("round:why-proposed", args=[pk, visit])
    if "take_back" in request.POST:
        if take_back(hand):
            messages.success(request, _("The last change by hand was taken back."))
        return redirect(address)
    return _moved(request, hand, visit, address)


def _moved(request: HttpRequest, hand: InHand, visit: str, address: str) -> HttpResponse:
    run, order = request.POST.get("run", ""), request.POST.get("order", "").split(",")
    there = next((list(one.visit_ids) for one in hand.plan.runs if one.id == run), [])
    known = any(one.id == run for one in hand.problem.runs)
    if not known or sorted(order) != sorted({*there, visit}):
        messages.error(request, _("That run is another one by now, so nothing was moved. Look again."))
        return redirect(address)
    after = with_orders(hand.problem, hand.plan, _orders(hand, visit, run, order))
    keep(hand, after.plan, actions.worker_of(request), about=_("moved by hand"))
    said = _("%(dogs)s: moved to %(day)s.") % {
        "dogs": names_in_words(tuple(hand.dogs(visit))),
        "day": day(hand.date_of(run)),
    }
    messages.success(request, said)
    if words := shifts_in_words(hand, after.shifts):
        messages.info(request, words)
    for words in faults_in_words(hand, after.plan, after.faults):
        messages.warning(request, words)
    return redirect(address)


@require_POST
def pin(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Keeps a visit where it stands, or lets it go again."""
    row = _visit(pk)
    stop = row.stops.first()
    if stop is None or row.state == "CANCELLED":
        messages.error(request, _("This visit stands on no run, so there is nothing to keep it on."))
        return redirect("round:visit", pk)
    wanted = "pinned" in request.POST
    with act_on_round(actions.worker_of(request), (), [row.pk]):
        row.pinned_seconds = stop.start_seconds if wanted else None
        row.save(update_fields=["pinned_seconds"])
    messages.success(request, _("Kept here.") if wanted else _("No longer kept here: the next plan may move it."))
    return redirect("round:why", pk)


@require_POST
def pin_proposed(request: HttpRequest, pk: uuid.UUID, visit: str) -> HttpResponse:
    """Keeps a visit of a new plan where it is once the plan is accepted, or lets it go again."""
    proposal = _proposal(pk)
    if visit not in proposal.names["visits"]:
        raise Http404
    proposal.names["visits"][visit]["pinned"] = "pinned" in request.POST
    proposal.save(update_fields=["names"])
    return redirect("round:why-proposed", pk, visit)

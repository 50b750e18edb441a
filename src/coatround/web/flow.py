"""The circle closes here: what follows from an accepted record, in order, in the transaction that accepted it."""

import datetime as dt
import uuid
from collections.abc import Iterable

from django.utils.translation import gettext as _

from coatround.web.base import changes
from coatround.web.base.models import Worker
from coatround.web.books.actions import charge_visit, take_payment, turn_round_payments
from coatround.web.letters.actions import refresh
from coatround.web.rounds.actions import call_off
from coatround.web.rounds.mend import take_out
from coatround.web.shelf.actions import put_back, use_for
from coatround.web.visits.actions import Answer, Kept, accept
from coatround.web.visits.facts import Chosen
from coatround.web.visits.models import Fit, Groom, HandingBack, Incident, Visit, VisitDog

DAYS_AFTER_THE_DATE = 7  # our own default: a visit pencilled in this soon after the date agreed is the same one


def accept_records(raws: Iterable[object], who: Worker, device: str = "", *, now: dt.datetime) -> list[Answer]:
    """Accepts plain records one by one, each with what follows from it, and answers each."""
    return [accept(raw, who, device, now=now, then=what_follows) for raw in raws]


def what_follows(fact: Kept) -> None:
    """What an accepted fact brings about. The same fact again changes nothing.

    The next due date is not among it: it is derived from the grooms whenever it is asked for (web/due).
    """
    match fact:
        case Groom():
            charge_visit(fact.visit, fact.who)
            use_for(fact, fact.who)
            refresh(fact.visit)
        case HandingBack():
            charge_visit(fact.visit, fact.who)
            take_payment(fact)
            agree_next_visit(fact)
            refresh(fact.visit)
        case Incident() if fact.visit:
            refresh(fact.visit)
        case Fit():
            refresh(fact.visit)
        case Chosen():
            _after_choice(fact)
        case _:
            pass


def _after_choice(chosen: Chosen) -> None:
    """What the one that was left had brought about is turned round; the one that stands brings about its own."""
    left, kept, who = chosen.left, chosen.kept, chosen.who
    if isinstance(left, Groom):
        put_back(left.pk, who)
    elif isinstance(left, HandingBack) and isinstance(kept, HandingBack):
        turn_round_payments(left.pk, who)
        _call_off_agreed(left, kept.next_date, who)
        agree_next_visit(kept)
    charge_visit(kept.visit, who)
    refresh(kept.visit)


def agree_next_visit(back: HandingBack) -> Visit | None:
    """The next visit as agreed at the door: told when a window was given, else pencilled in.

    A visit of these dogs that is pencilled in up to that date, or soon after it, is moved to it; others are called
    off. What a corrected handing back had agreed is called off too.
    """
    if back.corrects:
        _call_off_agreed_before(back)
    if back.next_date is None or back.corrected:
        return None
    this = Visit.objects.select_related("place", "van").filter(pk=back.visit).first()
    dogs = list(VisitDog.objects.filter(visit=back.visit).order_by("order", "id").values_list("dog", flat=True))
    visit = _the_one_there(back, this, dogs) or _new_visit(back, this)
    if visit is None:
        return None
    is_new = visit._state.adding
    if visit.date != back.next_date and not is_new:
        take_out(visit)
    _set_as_agreed(visit, back)
    changes.save(visit, back.who, about=_("agreed when handing back"))
    if is_new:
        VisitDog.objects.bulk_create(VisitDog(visit=visit, dog_id=dog, order=n) for n, dog in enumerate(dogs))
    return visit


def _the_one_there(back: HandingBack, this: Visit | None, dogs: list[uuid.UUID]) -> Visit | None:
    """The visit already there for that date; the other pencilled-in ones that it replaces are called off."""
    assert back.next_date is not None
    after = this.date if this else back.at.date()
    soon = back.next_date + dt.timedelta(days=DAYS_AFTER_THE_DATE)
    rows = Visit.objects.filter(household=back.household, date__gt=after, date__lte=soon).exclude(pk=back.visit)
    live = list(rows.filter(dogs__in=dogs).exclude(state="CANCELLED").distinct())
    on_the_date = [visit for visit in live if visit.date == back.next_date]
    pencilled = [visit for visit in live if visit.state == "TENTATIVE" and visit not in on_the_date]
    kept = next(iter(on_the_date or pencilled[-1:]), None)
    for visit in pencilled:
        if visit is not kept:
            call_off(visit, back.who, _("Another date was agreed when handing back."))
    return kept


def _new_visit(back: HandingBack, this: Visit | None) -> Visit | None:
    place = this.place if this else back.household.places.filter(closed_on__isnull=True).order_by("made_at").first()
    return Visit(household=back.household, place=place, van=this.van if this else None) if place else None


def _set_as_agreed(visit: Visit, back: HandingBack) -> None:
    assert back.next_date is not None
    if visit.date != back.next_date or visit.state != "CONFIRMED":
        visit.source = "door"
    visit.date = back.next_date
    if back.next_from and back.next_until:
        visit.state, visit.answer = "CONFIRMED", "ACCEPTED"
        visit.told_from, visit.told_until, visit.told_at = back.next_from, back.next_until, back.at


def _call_off_agreed_before(back: HandingBack) -> None:
    assert back.corrects is not None
    old = HandingBack.objects.filter(pk=back.corrects).first()
    if old is not None:
        _call_off_agreed(old, back.next_date, back.who)


def _call_off_agreed(old: HandingBack, next_date: dt.date | None, who: Worker) -> None:
    """Calls off what a handing back that no longer stands had agreed, unless the same date is agreed now."""
    if old.next_date is None or old.next_date == next_date:
        return
    rows = Visit.objects.filter(household=old.household, date=old.next_date, source="door").exclude(state="CANCELLED")
    for visit in rows:
        call_off(visit, who, _("Another date was agreed when handing back."))

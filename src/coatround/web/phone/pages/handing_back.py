"""Handing back, one page: what was found, the price, paid how in one tap, and the next date."""

import datetime as dt
import uuid
from dataclasses import dataclass
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import formats
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_safe

from coatround.ids import uuid7
from coatround.web.base.firm import firm_today, the_firm
from coatround.web.base.forms import DateInput, MoneyField, Page, TimeInput
from coatround.web.base.models import Firm
from coatround.web.due.queries import due_dogs
from coatround.web.phone.on_page import on_page
from coatround.web.phone.pages.finding import find_visit, run_address
from coatround.web.phone.saying import SAID_BEFORE, form_id, say
from coatround.web.records.models import Usual
from coatround.web.records.usual import in_force
from coatround.web.rounds.openings import three_openings
from coatround.web.visits.models import HandingBack, Visit
from coatround.web.visits.queries import VisitFacts, visit_facts
from coatround.web.visits.words import PAID

OTHER, NOT_PAID = "other", "not paid"


@dataclass(frozen=True)
class NextChoice:
    """One next date to choose: its value says all of it, so that what is sent needs no looking up."""

    value: str
    words: str
    note: str = ""


class HandBack(Page):
    """The fields of handing back beside the next date."""

    notes = forms.CharField(label=gettext_lazy("Notes on the payment or the next date"), max_length=300, required=False)
    other_date = forms.DateField(label=gettext_lazy("Another date"), required=False, widget=DateInput())
    other_from = forms.TimeField(label=gettext_lazy("From, if told"), required=False, widget=TimeInput())
    other_until = forms.TimeField(label=gettext_lazy("Until"), required=False, widget=TimeInput())

    def __init__(self, *args: Any, firm: Firm, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["price"] = MoneyField(firm=firm, label=_("Price"))
        self.fields["tip"] = MoneyField(firm=firm, label=_("Tip, apart from the price"), required=False)
        self.fields["paid_amount"] = MoneyField(firm=firm, label=_("Paid, if not the whole price"), required=False)

    def said_paid(self, paid: str) -> None:
        """Marks money that was typed and then tapped away with "not paid": it is asked about, never dropped."""
        if paid != NOT_PAID or not self.is_valid():
            return
        for name in ("tip", "paid_amount"):
            if self.cleaned_data.get(name):
                self.add_error(name, _("“Not paid” goes with no money. Empty this, or say how it was paid."))

    def next_said(self, chosen: str) -> dict[str, str]:
        """The chosen next date as the record says it."""
        if chosen != OTHER:
            parts = dict(zip(("how", "date", "from", "until"), chosen.split("|"), strict=False))
            return {name: value for name, value in parts.items() if value}
        typed = self.cleaned_data
        said = {"how": "opening" if typed.get("other_from") else "usual"}
        for name, form in (("date", "%Y-%m-%d"), ("from", "%H:%M"), ("until", "%H:%M")):
            value = typed.get(f"other_{name}")
            said |= {name: value.strftime(form)} if value else {}
        return said


def handing_back(request: HttpRequest, visit_id: uuid.UUID) -> HttpResponse:
    found, firm = find_visit(visit_id), the_firm()
    facts = visit_facts(found)
    settled = usuals_of_visit(found, facts)
    form = HandBack(request.POST or None, firm=firm, initial=_initial(facts, settled))
    chosen = request.POST.get("next", "")
    corrects = request.POST.get("corrects", "") if request.POST else _recorded_id(facts)
    rid, problem = form_id(request.POST.get("rid")), ""
    if request.method == "POST":
        problem, corrects = _not_ready(form, facts, request.POST.get("paid", ""), rid, corrects)
        if not problem:
            answer = say(
                request,
                "handing-back",
                found.pk,
                rid,
                _body(form, request.POST.get("paid", ""), chosen),
                corrects or None,
            )
            if answer.is_kept:
                messages.success(request, _("%(household)s is handed back.") % {"household": found.household})
                return redirect(run_address(found))
            problem = answer.words
            if answer.code == SAID_BEFORE:
                problem, corrects, rid = _("This was saved once already. Save again to correct it."), str(rid), uuid7()
    chosen = chosen or (_value_of(facts.handing_back) if facts.handing_back else "")
    due = usual_next(found, dogs_next(facts), settled)
    choices = next_choices(due, chosen)
    asked = "openings" in request.GET  # without scripts, by a link
    shown = {
        "visit": found,
        "facts": facts,
        "form": form,
        "rid": rid,
        "corrects": corrects,
        "problem": problem,
        "choices": choices,
        "openings": opening_choices(found, facts, due) if asked else None,
        "chosen": chosen or (choices[0].value if choices[0].value.startswith("usual") else "ask"),
        "ways": PAID,
        "run": run_address(found),
        "on_page": on_page(found, facts, firm) | {"prices": {str(one.dog_id): one.price_cents for one in settled}},
        "without_groom": [dog for dog in facts.dogs if dog.pk not in facts.grooms],
    }
    return render(request, "phone/handing-back.html", shown)


def _recorded_id(facts: VisitFacts) -> str:
    return str(facts.handing_back.pk) if facts.handing_back else ""


def _initial(facts: VisitFacts, settled: list[Usual]) -> dict[str, Any]:
    back = facts.handing_back
    if back is not None:
        return {
            "price": back.price_cents,
            "tip": back.tip_cents or None,
            "paid_amount": back.paid_cents if 0 < back.paid_cents != back.price_cents else None,
            "notes": back.notes,
        }
    return {"price": usual_price(facts, settled) or None}  # nothing settled: it is asked, never taken as nothing


def usual_price(facts: VisitFacts, settled: list[Usual]) -> int:
    """The sum of the usual prices of the dogs that were done, whole cents."""
    done = set(dogs_done(facts))
    return sum(usual.price_cents for usual in settled if usual.dog_id in done)


def dogs_done(facts: VisitFacts) -> list[uuid.UUID]:
    """The dogs that were groomed; before anything is recorded, all of them."""
    done = [dog for dog, groom in facts.grooms.items() if groom.state == "COMPLETED"]
    return done if facts.grooms else [dog.pk for dog in facts.dogs]


def usuals_of_visit(found: Visit, facts: VisitFacts) -> list[Usual]:
    """The usual in force on the day of each dog of the visit that has one."""
    dogs = [dog.pk for dog in facts.dogs]
    rows = in_force(found.date).filter(dog_id__in=dogs).order_by("valid_from", "id")
    return list({usual.dog_id: usual for usual in rows}.values())


def _not_ready(form: HandBack, facts: VisitFacts, paid: str, rid: uuid.UUID, corrects: str) -> tuple[str, str]:
    """Why it can't be saved as it stands, and what it would correct."""
    back = facts.handing_back
    form.said_paid(paid)
    if not form.is_valid():
        return _("Something here can’t be read. It is marked below; all the rest still stands."), corrects
    if back and str(back.pk) not in (corrects, str(rid)):
        words = _("%(who)s handed back already. Save again to put yours in its place.") % {"who": back.who}
        return words, str(back.pk)
    return "", corrects


def _body(form: HandBack, paid: str, chosen: str) -> dict[str, Any]:
    said = form.cleaned_data
    body = {"price_cents": said["price"], "paid": paid, "next": form.next_said(chosen), "notes": said["notes"]}
    if paid != NOT_PAID:
        body |= {"tip_cents": said["tip"] or 0}
        body |= {"paid_cents": said["paid_amount"]} if said["paid_amount"] is not None else {}
    return body


def next_choices(due: dt.date | None, chosen: str) -> list[NextChoice]:
    """The usual date, what was chosen before, another date, none, or they will ring; openings are looked for apart."""
    choices = []
    if due:
        words = _("The usual: %(day)s") % {"day": formats.date_format(due, "l j F")}
        choices.append(NextChoice(f"usual|{due.isoformat()}", words, _("the hour is told later")))
    if "|" in chosen and chosen not in [choice.value for choice in choices]:
        choices.append(NextChoice(chosen, _chosen_words(chosen)))
    choices += [NextChoice(OTHER, _("Another date"))]
    choices += [NextChoice("ask", _("They will ring")), NextChoice("none", _("No next date"))]
    return choices


def _chosen_words(chosen: str) -> str:
    """A chosen date in words, as far as it can be read; the record's own check refuses what can't."""
    _how, date, *window = chosen.split("|")
    try:
        day = formats.date_format(dt.date.fromisoformat(date), "l j F")
    except ValueError:
        return _("The date chosen before")
    if len(window) < 2:
        return capfirst(day)
    times = {"from": window[0].removeprefix("0"), "until": window[1].removeprefix("0")}
    return capfirst(f"{day}, " + _("%(from)s to %(until)s") % times)


def dogs_next(facts: VisitFacts) -> list[uuid.UUID]:
    return dogs_done(facts) or [dog.pk for dog in facts.dogs]


@require_safe
def openings(request: HttpRequest, visit_id: uuid.UUID) -> HttpResponse:
    """The openings alone; looked for after the page is there, because it takes a moment."""
    found = find_visit(visit_id)
    facts = visit_facts(found)
    due = usual_next(found, dogs_next(facts), usuals_of_visit(found, facts))
    return render(request, "phone/openings.html", {"openings": opening_choices(found, facts, due)})


def opening_choices(found: Visit, facts: VisitFacts, due: dt.date | None) -> list[NextChoice]:
    """Three openings near the usual date."""
    dogs = dogs_next(facts)
    around = due or found.date + dt.timedelta(weeks=6)
    return [
        NextChoice(f"opening|{one.date.isoformat()}|{one.from_time:%H:%M}|{one.until_time:%H:%M}", capfirst(one.words))
        for one in three_openings(found, dogs, around=around)
    ]


def usual_next(found: Visit, dogs: list[uuid.UUID], settled: list[Usual]) -> dt.date | None:
    """The first due date of these dogs after this visit; one not recorded yet counts from the visit's own date."""
    after = {one.dog_id: one.due for one in due_dogs(dogs, today=firm_today()) if one.due > found.date}
    for usual in settled:
        if usual.dog_id in dogs:
            after.setdefault(usual.dog_id, found.date + dt.timedelta(weeks=usual.interval_weeks))
    return min(after.values(), default=None)


def _value_of(back: HandingBack) -> str:
    said = [back.next_how]
    said += [back.next_date.isoformat()] if back.next_date else []
    said += [f"{back.next_from:%H:%M}", f"{back.next_until:%H:%M}"] if back.next_from and back.next_until else []
    return "|".join(said)

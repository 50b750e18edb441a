"""Two devices said different things of one visit: both are shown, and a person says which one stands."""

import uuid
from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from coatround.web.base.firm import the_firm
from coatround.web.base.money import money_text
from coatround.web.phone.pages.finding import find_visit
from coatround.web.phone.saying import form_id, say
from coatround.web.visits.models import Fit, Groom, HandingBack
from coatround.web.visits.phrases import cotton_words, cut_words, finding_words
from coatround.web.visits.queries import VisitFacts


@dataclass(frozen=True)
class Side:
    """One of two: its record, who said it on which device, and what it says."""

    row: Fit | Groom | HandingBack
    device: str
    words: str


@dataclass(frozen=True)
class Rivals:
    """What is said twice: about what, and each side."""

    about: str
    sides: tuple[Side, ...]


def rivals_shown(facts: VisitFacts) -> list[Rivals]:
    """Every pair (or more) that a person has to choose from, in words."""
    devices = {record.pk: record.device for record in facts.records}
    return [
        Rivals(_about(rows[0]), tuple(Side(row, devices.get(row.pk, ""), _words(row)) for row in rows))
        for rows in facts.rivals
    ]


def _about(row: Fit | Groom | HandingBack) -> str:
    match row:
        case Fit():
            return _("%(dog)s at the door") % {"dog": row.dog}
        case Groom():
            return _("The groom of %(dog)s") % {"dog": row.dog}
        case HandingBack():
            return _("Handing back")


def _words(row: Fit | Groom | HandingBack) -> str:
    match row:
        case Fit():
            return capfirst(f"{row.get_answer_display()}. {row.reason}".strip())
        case Groom():
            found = [finding_words(one.part, one.kind, one.grade, one.words) for one in row.findings.all()]
            steps = [_("not: %(step)s") % {"step": one.get_step_display()} for one in row.steps.all() if not one.done]
            said = [str(row.get_state_display()), cut_words(row.cut), *steps, cotton_words(row)]
            line = ", ".join(filter(None, said))
            return " ".join(filter(None, (f"{capfirst(line)}.", *found, row.why_not, row.notes)))
        case HandingBack():
            firm = the_firm()
            said = [
                money_text(row.price_cents, firm),
                str(row.get_paid_display()),
                money_text(row.paid_cents, firm) if row.paid_cents != row.price_cents else "",
                _("next %(date)s") % {"date": row.next_date.isoformat()} if row.next_date else "",
            ]
            return f"{', '.join(filter(None, said))}. {row.notes}".strip()


@require_POST
def choose(request: HttpRequest, visit_id: uuid.UUID) -> HttpResponse:
    """Says which of two stands; the other is kept beside it, and what it had brought about is turned round."""
    found = find_visit(visit_id)
    body = {"kept": request.POST.get("kept", ""), "left": ""}
    for left in request.POST.getlist("left"):
        answer = say(request, "choice", found.pk, form_id(None), {**body, "left": left})
        if not answer.is_kept:
            messages.error(request, answer.words)
            break
    else:
        messages.success(request, _("That one stands. The other is kept beside it, and counts for nothing."))
    return redirect("phone:visit", visit_id=found.pk)

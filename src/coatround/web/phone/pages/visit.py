"""One visit as its steps: the door, each dog, handing back; and what may go otherwise."""

import uuid

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_POST, require_safe

from coatround.core.checking import Refused
from coatround.ids import uuid7
from coatround.web.base.forms import Page
from coatround.web.base.models import Worker
from coatround.web.phone.minding import before_the_work
from coatround.web.phone.on_page import on_page
from coatround.web.phone.pages.choosing import rivals_shown
from coatround.web.phone.pages.finding import find_visit, run_address
from coatround.web.phone.saying import form_id, say
from coatround.web.visits.models import Visit
from coatround.web.visits.photos import keep_photo, photos_wanted
from coatround.web.visits.queries import visit_facts

WHY_CALLED_OFF = [
    ("Nobody home.", gettext_lazy("Nobody home")),
    ("Called off by the household.", gettext_lazy("The household called it off")),
    ("The van can't go on.", gettext_lazy("The van can’t go on")),
    ("", gettext_lazy("Something else")),
]


class CalledOff(Page):
    """Why a visit is called off, in one tap or in words."""

    why = forms.ChoiceField(
        label=gettext_lazy("Why"),
        choices=WHY_CALLED_OFF,
        required=False,
        widget=forms.RadioSelect(attrs={"class": "bars"}),
    )
    words = forms.CharField(label=gettext_lazy("In your words"), max_length=160, required=False)

    def clean(self) -> dict[str, str]:
        said: dict[str, str] = super().clean() or {}
        if not said.get("why") and not said.get("words"):
            self.add_error("words", _("Choose why, or write it."))
        return said


@require_safe
def page(request: HttpRequest) -> HttpResponse:
    return redirect("runs:today")


@require_safe
def visit(request: HttpRequest, visit_id: uuid.UUID) -> HttpResponse:
    found = find_visit(visit_id)
    facts = visit_facts(found)
    who: Worker = request.user  # type: ignore[assignment]
    steps = [
        {"before": before, "fit": facts.fits.get(before.dog.pk), "groom": facts.grooms.get(before.dog.pk)}
        for before in before_the_work(found, facts.dogs, who)
    ]
    shown = {
        "visit": found,
        "facts": facts,
        "rivals": rivals_shown(facts),
        "steps": steps,
        "run": run_address(found),
        "photos_wanted": photos_wanted(found.household),
        "photo_id": uuid7(),
        "on_page": on_page(found, facts),
    }
    return render(request, "phone/visit.html", shown)


def called_off(request: HttpRequest, visit_id: uuid.UUID) -> HttpResponse:
    """Calls a visit off where it stands, with the reason."""
    found = find_visit(visit_id)
    form = CalledOff(request.POST or None)
    rid = form_id(request.POST.get("rid"))
    if request.method == "POST" and form.is_valid():
        why = " ".join(filter(None, (form.cleaned_data["why"], form.cleaned_data["words"])))
        answer = say(request, "visit-change", found.pk, rid, {"state": "CANCELLED", "why": why[:200]})
        if answer.is_kept:
            messages.success(request, _("Called off."))
            return redirect(run_address(found))
        form.add_error(None, answer.words)
    shown = {"visit": found, "form": form, "rid": rid, "run": run_address(found)}
    return render(request, "phone/called-off.html", {**shown, "on_page": on_page(found, visit_facts(found))})


@require_POST
def add_photo(request: HttpRequest, visit_id: uuid.UUID) -> HttpResponse:
    """One more photo for a visit."""
    found = find_visit(visit_id)
    keep_photo_of_form(request, found)
    return redirect("phone:visit", visit_id=found.pk)


def keep_photo_of_form(request: HttpRequest, found: Visit, dog: uuid.UUID | None = None) -> str:
    """Keeps the photo of a form, if there is one, and says in words when it can't be kept.

    Gives the words typed for a photo that is not kept. A browser does not hand a chosen file back to a form, so the
    photo is kept even when the rest of the form is not right yet.
    """
    words = request.POST.get("photo_words", "").strip()
    upload = request.FILES.get("photo")
    if upload is None:
        if request.resolver_match and request.resolver_match.url_name == "add-photo":
            messages.error(request, _("No photo was chosen. Take one, then send it."))
        return words
    who: Worker = request.user  # type: ignore[assignment]
    dogs = {row.dog_id: row.dog for row in found.visit_dogs.all()}
    about = dogs.get(dog) if dog else None
    try:
        keep_photo(upload, who, photo_id=form_id(request.POST.get("photo_id")), visit=found, dog=about, words=words)
    except Refused as refused:
        messages.error(request, refused.refusal.words)
        return words
    messages.success(request, _("The photo is kept."))
    return ""

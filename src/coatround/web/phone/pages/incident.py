"""Something happened: a nick, burn, bite, fall, escape or collapse, from everywhere in a visit."""

import datetime as dt
import uuid
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from coatround.web.base.firm import firm_now, firm_zone
from coatround.web.base.forms import Page
from coatround.web.phone.on_page import on_page
from coatround.web.phone.pages.finding import find_visit
from coatround.web.phone.pages.visit import keep_photo_of_form
from coatround.web.phone.saying import form_id, say
from coatround.web.records.models import Dog
from coatround.web.visits.models import Visit
from coatround.web.visits.photos import photos_wanted
from coatround.web.visits.queries import visit_facts
from coatround.web.visits.words import INCIDENTS


class WhatHappened(Page):
    """One incident, as told where it happened."""

    kind = forms.ChoiceField(
        label=gettext_lazy("What happened"),
        choices=[(kind, capfirst(str(words))) for kind, words in INCIDENTS],
        widget=forms.RadioSelect(attrs={"class": "bars"}),
    )
    dog = forms.ModelChoiceField(label=gettext_lazy("Dog"), queryset=Dog.objects.none(), empty_label=None)
    happened_at = forms.DateTimeField(
        label=gettext_lazy("When"),
        widget=forms.DateTimeInput(format="%Y-%m-%dT%H:%M", attrs={"type": "datetime-local"}),
        input_formats=["%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S"],
    )
    words = forms.CharField(
        label=gettext_lazy("In your words"), max_length=2000, widget=forms.Textarea(attrs={"rows": 3})
    )
    what_was_done = forms.CharField(
        label=gettext_lazy("What was done"), max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 3})
    )
    owner_told = forms.BooleanField(label=gettext_lazy("Owner told"), required=False)
    vet_rung = forms.BooleanField(label=gettext_lazy("Vet rung"), required=False)
    insurer_told = forms.BooleanField(label=gettext_lazy("Insurer told"), required=False)

    def __init__(self, *args: Any, found: Visit, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        dogs = Dog.objects.filter(household=found.household_id, closed_on__isnull=True)
        self.fields["dog"].queryset = dogs  # type: ignore[attr-defined]

    def body(self) -> dict[str, Any]:
        """The record's body."""
        said = self.cleaned_data
        at: dt.datetime = said["happened_at"]
        return {**said, "dog": str(said["dog"].pk), "happened_at": at.astimezone(firm_zone()).isoformat()}


def incident(request: HttpRequest, visit_id: uuid.UUID) -> HttpResponse:
    found = find_visit(visit_id)
    first = found.visit_dogs.all()[:1]
    initial = {"happened_at": firm_now().replace(tzinfo=None), "dog": first[0].dog_id if first else None}
    form = WhatHappened(request.POST or None, found=found, initial=initial)
    rid = form_id(request.POST.get("rid"))
    if request.method == "POST" and form.is_valid():
        answer = say(request, "incident", found.pk, rid, form.body())
        if answer.is_kept:
            keep_photo_of_form(request, found, form.cleaned_data["dog"].pk)
            messages.success(request, _("The incident is kept. It stands before every later visit if it was a bite."))
            return redirect("phone:visit", visit_id=found.pk)
        form.add_error(None, answer.words)
    photo_words = keep_photo_of_form(request, found, _dog_typed(form)) if request.method == "POST" else ""
    shown = {
        "visit": found,
        "form": form,
        "rid": rid,
        "vets": _vets(found),
        "photo_id": form_id(None),
        "photo_words": photo_words,
        "photos_wanted": photos_wanted(found.household),
        "on_page": on_page(found, visit_facts(found)),
    }
    return render(request, "phone/incident.html", shown)


def _dog_typed(form: WhatHappened) -> uuid.UUID | None:
    dog = form.cleaned_data.get("dog")
    return dog.pk if dog else None


def _vets(found: Visit) -> list[tuple[str, str]]:
    """The vets of the household's dogs that can be rung: (name, phone)."""
    rows = Dog.objects.filter(household=found.household_id, vet__isnull=False).exclude(vet__phone="")
    return list(rows.values_list("vet__name", "vet__phone").distinct().order_by("vet__name"))

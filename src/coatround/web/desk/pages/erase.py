"""Erasing a household on request: a page of its own, done only when its name is typed."""

import uuid
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from coatround.web.base.forms import Page
from coatround.web.desk.erasing import erase_household, what_there_is
from coatround.web.records.models import Household
from coatround.web.records.pages.asking import typed_in, worker_of


class EraseForm(Page):
    """The household's name, typed as it stands, so that nothing is erased by a slip."""

    name = forms.CharField(label=gettext_lazy("Type the household's name to erase it"), max_length=160)

    def __init__(self, *args: Any, household: Household, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.household = household
        self.fields["name"].widget.attrs["autocomplete"] = "off"

    def clean_name(self) -> str:
        typed = str(self.cleaned_data["name"])
        if typed.split() != self.household.name.split():
            raise forms.ValidationError(
                _("“%(typed)s” is not its name. It is called “%(name)s”; type just that, or go back.")
                % {"typed": typed, "name": self.household.name}
            )
        return typed


def erase(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    household = get_object_or_404(Household, pk=pk)
    if household.erased_at:
        return redirect("household", pk)
    form = EraseForm(typed_in(request), household=household)
    if request.method == "POST" and form.is_valid():
        erase_household(household, worker_of(request))
        messages.success(request, _("The household is erased. This can't be undone."))
        return redirect("household", pk)
    context = {"form": form, "household": household, "there": what_there_is(household)}
    return render(request, "desk/erase.html", context, status=422 if form.is_bound else 200)

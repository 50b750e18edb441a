"""The page while a caller waits: who, which dogs, when they are free; then ten openings."""

import uuid
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.dates import WEEKDAYS
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_GET, require_POST

from coatround.web.base.firm import firm_today
from coatround.web.base.forms import DateInput, Page, TimeInput
from coatround.web.base.templatetags.coatround import day
from coatround.web.due.facts import seconds_of
from coatround.web.records.models import Dog, Household
from coatround.web.roads.map import names_in_words
from coatround.web.rounds.actions import worker_of
from coatround.web.rounds.caller import Wanted, for_people, look, take
from coatround.web.rounds.gather import CannotPlan
from coatround.web.rounds.queries import standing_version
from coatround.web.rounds.waiting import placed_by, put_on_list

FOUND = 20


class WantedForm(Page):
    """Which dogs, from when, and when the household is free."""

    dogs = forms.ModelMultipleChoiceField(
        label=gettext_lazy("Dogs"), queryset=Dog.objects.none(), widget=forms.CheckboxSelectMultiple()
    )
    first = forms.DateField(label=gettext_lazy("From"), widget=DateInput())
    weekdays = forms.TypedMultipleChoiceField(
        label=gettext_lazy("Free on (none ticked is any day)"),
        choices=[(number, name) for number, name in WEEKDAYS.items()],
        coerce=int,
        required=False,
        widget=forms.CheckboxSelectMultiple(),
    )
    hours_from = forms.TimeField(label=gettext_lazy("Not before"), required=False, widget=TimeInput())
    hours_until = forms.TimeField(label=gettext_lazy("Not after"), required=False, widget=TimeInput())
    words = forms.CharField(label=gettext_lazy("What they said"), max_length=200, required=False)

    def __init__(self, *args: Any, household: Household, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.household = household
        field = self.fields["dogs"]
        assert isinstance(field, forms.ModelMultipleChoiceField)
        field.queryset = Dog.objects.filter(household=household, closed_on__isnull=True).order_by("name")

    def wanted(self) -> Wanted:
        """What was asked, once it is valid."""
        typed = self.cleaned_data
        hours = seconds_of(typed["hours_from"]) or 0, seconds_of(typed["hours_until"]) or 24 * 3600
        return Wanted(self.household, tuple(typed["dogs"]), typed["first"], tuple(typed["weekdays"]), hours)


@require_GET
def caller(request: HttpRequest) -> HttpResponse:
    """Who is calling: a household found by a few letters of its name."""
    typed = request.GET.get("who", "").strip()
    rows = (
        Household.objects.filter(closed_on__isnull=True, name__icontains=typed).order_by("name")
        if typed
        else Household.objects.none()
    )
    given = {"typed": typed, "households": rows[:FOUND]}
    return render(request, "rounds/caller.html", given)


@require_GET
def openings(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """The ten best openings for a household's dogs."""
    household = get_object_or_404(Household, pk=pk, closed_on__isnull=True)
    form = WantedForm(request.GET if "first" in request.GET else _usual(household), household=household)
    given: dict[str, Any] = {"household": household, "form": form, "base_version": standing_version()}
    if not form.is_valid():
        return render(request, "rounds/caller-openings.html", given, status=422)
    wanted = form.wanted()
    try:
        looked = look(wanted)
        given["openings"], given["held"] = for_people(looked, wanted), looked.held
    except CannotPlan as error:
        given["cannot"] = str(error)
    return render(request, "rounds/caller-openings.html", given)


def _usual(household: Household) -> dict[str, Any]:
    """All the household's dogs, from today on, on any day."""
    dogs = Dog.objects.filter(household=household, closed_on__isnull=True)
    return {"dogs": [str(dog.pk) for dog in dogs], "first": firm_today().isoformat()}


@require_POST
def taken(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Pencils the visit in where the caller chose."""
    household = get_object_or_404(Household, pk=pk, closed_on__isnull=True)
    form = WantedForm(request.POST, household=household)
    if not form.is_valid():
        messages.error(request, _("What was asked for got lost on the way. Ask again."))
        return redirect("round:caller-openings", pk)
    at = request.POST.get("at", "")
    visit = None
    if request.POST.get("base_version") == str(standing_version()) and at.isdecimal():
        try:
            visit = take(form.wanted(), request.POST.get("run", ""), int(at), worker_of(request))
        except CannotPlan as error:
            messages.error(request, str(error))
            return redirect("round:caller-openings", pk)
    if visit is None:
        messages.error(request, _("The round was changed meanwhile and this opening is gone. Choose another."))
        return redirect("round:caller-openings", pk)
    placed_by(form.wanted(), visit, worker_of(request))
    names = names_in_words(tuple(dog.name for dog in form.cleaned_data["dogs"]))
    messages.success(request, _("%(dogs)s: pencilled in on %(day)s.") % {"dogs": names, "day": day(visit.date)})
    return redirect("round:visit", visit.pk)


@require_POST
def wait(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Puts the household on the waiting list for these dogs."""
    household = get_object_or_404(Household, pk=pk, closed_on__isnull=True)
    form = WantedForm(request.POST, household=household)
    if not form.is_valid():
        given = {"household": household, "form": form, "base_version": standing_version()}
        return render(request, "rounds/caller-openings.html", given, status=422)
    typed = form.cleaned_data
    put_on_list(form.wanted(), (typed["hours_from"], typed["hours_until"]), typed["words"], worker_of(request))
    messages.success(request, _("%(household)s is on the waiting list.") % {"household": household})
    return redirect("round:rush")

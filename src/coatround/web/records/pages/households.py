"""Entering and changing a household, its people, its places and their keys, and vets."""

import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from coatround.web.base.firm import the_firm
from coatround.web.records import actions
from coatround.web.records.forms.people import HouseholdForm, KeyForm, NewHousehold, PersonForm, PlaceForm, VetForm
from coatround.web.records.models import Household, Person, Place, Vet
from coatround.web.records.pages.asking import ask, typed_in, worker_of


def household_address(household: uuid.UUID) -> str:
    return reverse("household", args=[household])


def household_new(request: HttpRequest) -> HttpResponse:
    form = NewHousehold(typed_in(request), firm=the_firm())
    if request.method == "POST" and form.is_valid():
        household = actions.enter_household(*form.rows(), worker_of(request))
        return redirect("household", household.pk)
    context = {"form": form, "title": _("A new household"), "back": reverse("people"), "map": True}
    return render(request, "records/ask.html", context, status=422 if form.is_bound else 200)


def household_change(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    household = get_object_or_404(Household, pk=pk, erased_at__isnull=True)
    form = HouseholdForm(typed_in(request), instance=household)
    return ask(
        request,
        form,
        title=_("The household %(name)s") % {"name": household.name},
        lead=_("Made from an appointment: give it the name you call them by.") if household.to_be_named else "",
        back=household_address(pk),
        save=lambda: actions.keep(form.save(commit=False), worker_of(request)),
    )


def person_new(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    household = get_object_or_404(Household, pk=pk, erased_at__isnull=True)
    return _person(request, Person(household=household), _("A person of %(name)s") % {"name": household.name})


def person(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    row = get_object_or_404(Person, pk=pk, household__erased_at__isnull=True)
    return _person(request, row, row.name)


def _person(request: HttpRequest, row: Person, title: str) -> HttpResponse:
    form = PersonForm(typed_in(request), instance=row, firm=the_firm())
    return ask(
        request,
        form,
        title=title,
        back=household_address(row.household_id),
        save=lambda: actions.keep(form.save(commit=False), worker_of(request)),
        row=row,
        kind="person",
    )


def place_new(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    household = get_object_or_404(Household, pk=pk, erased_at__isnull=True)
    title = _("A place of %(name)s") % {"name": household.name}
    return _place(request, Place(household=household), title, household_address(pk))


def place(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    row = get_object_or_404(Place, pk=pk)
    back = household_address(row.household_id) if row.household_id else reverse("set-up")
    return _place(request, row, str(row), back)


def depot_new(request: HttpRequest) -> HttpResponse:
    """A place of the firm's own: where the van can fill and empty."""
    return _place(request, Place(refills=True), _("A place to fill and empty"), reverse("set-up"))


def _place(request: HttpRequest, row: Place, title: str, back: str) -> HttpResponse:
    form = PlaceForm(typed_in(request), instance=row)
    return ask(
        request,
        form,
        title=title,
        back=back,
        save=lambda: actions.keep(form.save(commit=False), worker_of(request)),
        row=row,
        kind="place",
        map=True,
    )


def place_keys(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Keys and codes may be entered and replaced here, and are never shown: only that day's run shows them."""
    row = get_object_or_404(Place, pk=pk)
    form = KeyForm(typed_in(request), place=row)
    back = household_address(row.household_id) if row.household_id else reverse("set-up")
    if request.method == "POST" and form.is_valid():
        actions.keep_key(row, form.cleaned_data["words"], form.cleaned_data.get("replaces"), worker_of(request))
        messages.success(request, _("Kept. Only the run of that day shows it, and each look is logged."))
        return redirect(back)
    keys = row.keys.filter(closed_on__isnull=True).order_by("made_at")
    context = {"form": form, "place": row, "keys": keys, "back": back}
    return render(request, "records/keys.html", context, status=422 if form.is_bound else 200)


def vets(request: HttpRequest) -> HttpResponse:
    rows = Vet.objects.order_by("name")
    context = {"open_rows": rows.filter(closed_on__isnull=True), "closed_rows": rows.filter(closed_on__isnull=False)}
    return render(request, "records/vets.html", context)


def vet_new(request: HttpRequest) -> HttpResponse:
    return _vet(request, Vet(), _("A vet"))


def vet(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    row = get_object_or_404(Vet, pk=pk)
    return _vet(request, row, row.name)


def _vet(request: HttpRequest, row: Vet, title: str) -> HttpResponse:
    form = VetForm(typed_in(request), instance=row, firm=the_firm())
    return ask(
        request,
        form,
        title=title,
        back=reverse("vets"),
        save=lambda: actions.keep(form.save(commit=False), worker_of(request)),
        row=row,
        kind="vet",
    )

"""Entering and changing dogs and their cautions."""

import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from coatround.web.base.firm import the_firm
from coatround.web.records import actions
from coatround.web.records.forms.dogs import CautionForm, DogForm, FoodForm
from coatround.web.records.forms.usual import Cut, Routine, UsualForm
from coatround.web.records.models import Caution, Dog, Food, Household
from coatround.web.records.pages.asking import ask, typed_in, worker_of
from coatround.web.records.routines import first_routine
from coatround.web.records.usual import usual_on_or_next


def dog_new(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    household = get_object_or_404(Household, pk=pk, erased_at__isnull=True)
    title = _("A dog of %(name)s") % {"name": household.name}
    return _dog(request, Dog(household=household), title, reverse("household", args=[pk]))


def dog_change(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    row = get_object_or_404(Dog, pk=pk, household__erased_at__isnull=True)
    return _dog(request, row, row.name, reverse("dog", args=[pk]))


def _dog(request: HttpRequest, row: Dog, title: str, back: str) -> HttpResponse:
    form = DogForm(typed_in(request), instance=row, firm=the_firm())
    if request.method == "POST" and form.is_valid():
        actions.keep_dog(form.save(commit=False), worker_of(request), form.vet_to_enter())
        return redirect("dog", row.pk)
    context = {"form": form, "title": title, "back": back, "row": row, "kind": "dog"}
    return render(request, "records/ask.html", context, status=422 if form.is_bound else 200)


def caution_new(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    dog = get_object_or_404(Dog, pk=pk, household__erased_at__isnull=True)
    return _caution(request, Caution(dog=dog), _("A caution for %(name)s") % {"name": dog.name})


def caution(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    row = get_object_or_404(Caution.objects.select_related("dog"), pk=pk, dog__household__erased_at__isnull=True)
    return _caution(
        request, row, _("Caution for %(name)s: %(kind)s") % {"name": row.dog.name, "kind": row.get_kind_display()}
    )


def _caution(request: HttpRequest, row: Caution, title: str) -> HttpResponse:
    form = CautionForm(typed_in(request), instance=row)
    return ask(
        request,
        form,
        title=title,
        lead=_("This is no diagnosis: what the dog has, a vet says. Write what the one at the table must do."),
        back=reverse("dog", args=[row.dog_id]),
        save=lambda: actions.keep(form.save(commit=False), worker_of(request)),
        row=row,
        kind="caution",
    )


def food_new(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    dog = get_object_or_404(Dog, pk=pk, household__erased_at__isnull=True)
    return _food(request, Food(dog=dog), _("What %(name)s is fed") % {"name": dog.name})


def food(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    row = get_object_or_404(Food.objects.select_related("dog"), pk=pk, dog__household__erased_at__isnull=True)
    return _food(request, row, _("What %(name)s is fed: %(food)s") % {"name": row.dog.name, "food": row.words})


def _food(request: HttpRequest, row: Food, title: str) -> HttpResponse:
    form = FoodForm(typed_in(request), instance=row)
    return ask(
        request,
        form,
        title=title,
        lead=_("A change of food for an illness belongs to a vet. No allergy is named here."),
        back=reverse("dog", args=[row.dog_id]),
        save=lambda: actions.keep(form.save(commit=False), worker_of(request)),
        row=row,
        kind="food",
    )


def usual(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """The usual: buttons move the steps of the routine without saving; saving ends the old row and begins a new one."""
    dog = get_object_or_404(Dog.objects.select_related("household"), pk=pk, household__erased_at__isnull=True)
    before = usual_on_or_next(dog)
    button = request.POST.get("do", "")
    form = UsualForm(typed_in(request), dog=dog, firm=the_firm(), before=before)
    if request.method == "POST":
        routine, cut = Routine.typed(request.POST), Cut.from_post(request.POST)
    else:
        routine, cut = Routine.of(before, first_routine(dog.coat)), Cut.of(before.cut if before else {})
    routine.act(button)
    lists = [] if button or not form.is_bound else [*routine.errors(), *cut.errors()]
    if request.method == "POST" and not button and form.is_valid() and not lists:
        row = form.save(commit=False)
        row.cut = cut.as_kept()
        actions.settle(row, routine.as_steps(), form.cleaned_data["day"], worker_of(request))
        messages.success(request, _("Settled from %(day)s.") % {"day": form.cleaned_data["day"].strftime("%-d %B %Y")})
        return redirect("dog", dog.pk)
    if button:
        form.leave_unjudged()
    context = {"form": form, "dog": dog, "routine": routine, "cut": cut, "wrong": lists, "before": before}
    return render(request, "records/usual.html", context, status=422 if form.is_bound and not button else 200)

"""What the firm works with and when: vans, their week, days off, products, groomers."""

import uuid

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.contrib.auth.forms import SetPasswordForm
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from coatround.web.base.firm import the_firm
from coatround.web.base.models import Worker
from coatround.web.base.signing_in import LINK_HOURS, new_sign_in_link
from coatround.web.records import actions
from coatround.web.records.forms.firm import WorkerForm
from coatround.web.records.forms.work import DayOffForm, ProductForm, VanLaterForm, Week
from coatround.web.records.models import DayOff, Product, Van
from coatround.web.records.pages.asking import ask, typed_in, worker_of


def van_new(request: HttpRequest) -> HttpResponse:
    return _van(request, Van())


def van(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    return _van(request, get_object_or_404(Van.objects.select_related("home"), pk=pk))


def _van(request: HttpRequest, row: Van) -> HttpResponse:
    typed = typed_in(request)
    title = row.name or _("A van")
    form, week = VanLaterForm(typed, instance=row), Week(typed, row)
    if request.method == "POST" and all([form.is_valid(), week.is_valid()]):
        actions.keep_van(form.save(commit=False), form.home_place(), week.as_hours(), worker_of(request))
        return redirect("set-up")
    context = {"form": form, "week": week, "title": title, "row": row, "kind": "van"}
    return render(request, "records/van.html", context, status=422 if form.is_bound else 200)


def day_off_new(request: HttpRequest) -> HttpResponse:
    form = DayOffForm(typed_in(request))
    return ask(
        request,
        form,
        title=_("Days off"),
        back=reverse("set-up"),
        save=lambda: actions.keep(form.save(commit=False), worker_of(request)),
    )


@require_POST
def day_off_drop(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    actions.drop_day_off(get_object_or_404(DayOff, pk=pk), worker_of(request))
    messages.success(request, _("Those days are working days again."))
    return redirect("set-up")


def product_new(request: HttpRequest) -> HttpResponse:
    return _product(request, Product(), _("A product"))


def product(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    row = get_object_or_404(Product, pk=pk)
    return _product(request, row, row.name)


def _product(request: HttpRequest, row: Product, title: str) -> HttpResponse:
    form = ProductForm(typed_in(request), instance=row)
    return ask(
        request,
        form,
        title=title,
        lead=_("Copy it from the label; where label and page differ, the label is right."),
        back=reverse("set-up"),
        save=lambda: actions.keep(form.save(commit=False), worker_of(request)),
        row=row,
        kind="product",
    )


def groomer_new(request: HttpRequest) -> HttpResponse:
    return _groomer(request, Worker(), _("Someone who works here"))


def groomer(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    row = get_object_or_404(Worker, pk=pk)
    return _groomer(request, row, row.name)


def _groomer(request: HttpRequest, row: Worker, title: str) -> HttpResponse:
    form = WorkerForm(typed_in(request), instance=row, country=the_firm().country)
    return ask(
        request,
        form,
        title=title,
        back=reverse("set-up"),
        save=lambda: actions.new_groomer(form.save(commit=False), worker_of(request)),
        row=row,
        kind="groomer",
    )


@require_POST
def groomer_link(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """A link that signs one worker in once; it is shown here and nowhere else."""
    row = get_object_or_404(Worker, pk=pk, is_active=True)
    address = request.build_absolute_uri(reverse("sign-in-link", args=[new_sign_in_link(row)]))
    return render(request, "records/groomer_link.html", {"row": row, "address": address, "hours": LINK_HOURS})


def password(request: HttpRequest) -> HttpResponse:
    """The signed-in worker's own password; it is kept as a hash only, and in no log."""
    form = SetPasswordForm(worker_of(request), typed_in(request), label_suffix="")
    if request.method == "POST" and form.is_valid():
        update_session_auth_hash(request, form.save())
        messages.success(request, _("Your password is changed. Other browsers are signed out."))
        return redirect("set-up")
    context = {"form": form, "title": _("Your password"), "back": reverse("set-up")}
    return render(request, "records/ask.html", context, status=422 if form.is_bound else 200)

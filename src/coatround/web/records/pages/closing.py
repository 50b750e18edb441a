"""Closing what has a history, with a reason, and opening it again; nothing is deleted."""

import uuid

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from coatround.web.base.firm import firm_today
from coatround.web.base.models import Worker
from coatround.web.base.rows import Kept
from coatround.web.records import actions
from coatround.web.records.forms.people import CloseForm
from coatround.web.records.models import Caution, Dog, Food, Household, Person, Place, PlaceKey, Product, Van, Vet
from coatround.web.records.pages.asking import ask, typed_in, worker_of

KINDS: dict[str, type[Kept]] = {
    "household": Household,
    "person": Person,
    "place": Place,
    "key": PlaceKey,
    "dog": Dog,
    "caution": Caution,
    "food": Food,
    "vet": Vet,
    "van": Van,
    "product": Product,
    "groomer": Worker,
}


def row_of(kind: str, pk: uuid.UUID) -> Kept:
    if kind not in KINDS:
        raise Http404
    return get_object_or_404(KINDS[kind]._default_manager, pk=pk)


def page_of(row: Kept) -> str:
    """The page on which a row is seen."""
    match row:
        case Household() | Dog():
            return reverse("dog" if isinstance(row, Dog) else "household", args=[row.pk])
        case Caution() | Food():
            return reverse("dog", args=[row.dog_id])
        case Vet():
            return reverse("vets")
        case Person() | Place() if row.household_id:
            return reverse("household", args=[row.household_id])
        case PlaceKey():
            return reverse("place-keys", args=[row.place_id])
    return reverse("set-up")


def name_of(row: Kept) -> str:
    """How a row is called; a key is never called by its words."""
    return _("a key or code") if isinstance(row, PlaceKey) else str(row)


def close(request: HttpRequest, kind: str, pk: uuid.UUID) -> HttpResponse:
    row = row_of(kind, pk)
    form = CloseForm(typed_in(request), initial={"on": firm_today()})
    if refused := may_not_close(row, request):
        messages.error(request, refused)
        return redirect(page_of(row))

    def save() -> None:
        actions.shut(row, worker_of(request), form.cleaned_data["on"], form.cleaned_data["why"])
        messages.success(
            request, _("%(name)s is closed. Nothing is deleted; it can be opened again.") % {"name": name_of(row)}
        )

    return ask(
        request,
        form,
        title=_("Close %(name)s") % {"name": name_of(row)},
        lead=_("It no longer shows in the work. Its history stays, and it can be opened again at any time."),
        back=page_of(row),
        save=save,
        does=_("Close it"),
    )


def may_not_close(row: Kept, request: HttpRequest) -> str:
    """Why something can't be closed now, or nothing."""
    if isinstance(row, Worker) and row == request.user:
        return _("You can't close yourself: someone else who signs in must do it.")
    if isinstance(row, Place) and row.vans.filter(closed_on__isnull=True).exists():
        return _("A van starts from %(place)s. Give it another home first.") % {"place": row}
    return ""


@require_POST
def open_again(request: HttpRequest, kind: str, pk: uuid.UUID) -> HttpResponse:
    row = row_of(kind, pk)
    actions.open_again(row, worker_of(request))
    messages.success(request, _("%(name)s is open again.") % {"name": name_of(row)})
    return redirect(page_of(row))

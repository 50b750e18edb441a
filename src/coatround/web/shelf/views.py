"""The shelf: every product with what is left, and one product with what moved it."""

import uuid

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from coatround.web.base.firm import firm_today
from coatround.web.base.models import Worker
from coatround.web.records.models import Product
from coatround.web.shelf import actions, queries
from coatround.web.shelf.forms import BoughtForm, CountedForm, ShelfForm, SpiltForm

ON_A_PAGE = 25
FORMS: dict[str, type[BoughtForm] | type[CountedForm] | type[SpiltForm]] = {
    "bought": BoughtForm,
    "counted": CountedForm,
    "spilt": SpiltForm,
}
MOVES = {"bought": actions.buy, "counted": actions.count, "spilt": actions.spill}


def page(request: HttpRequest) -> HttpResponse:
    """Every product in use: what is left, what was used lately, what the planned runs take."""
    given = {"shelf": queries.shelf(firm_today()), "used_days": queries.USED_DAYS, "ahead_days": queries.AHEAD_DAYS}
    return render(request, "shelf/page.html", given)


def product(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """One product: what is left, its movements, and what was bought, counted or spilt."""
    row, today = get_object_or_404(Product, pk=pk), firm_today()
    act = request.POST.get("act", "") if request.method == "POST" else ""
    forms: dict[str, ShelfForm] = {
        name: kind(request.POST if name == act else None, product=row, today=today, prefix=name)
        for name, kind in FORMS.items()
    }
    form = forms.get(act)
    if form is not None and form.is_valid():
        assert isinstance(form, BoughtForm | CountedForm | SpiltForm)
        assert isinstance(request.user, Worker)
        said = form.cleaned_data
        MOVES[act](row, form.ml, request.user, date=said["date"], words=said["words"])
        messages.success(request, _("Written down: %(left)d ml are left.") % {"left": queries.left_ml(row)})
        return redirect("shelf:product", row.pk)
    given = {
        "shelved": queries.shelf(today, [row])[0],
        "forms": forms,
        "act": act,
        "page": Paginator(queries.movements(row), ON_A_PAGE).get_page(request.GET.get("page")),
        "used_days": queries.USED_DAYS,
        "ahead_days": queries.AHEAD_DAYS,
    }
    return render(request, "shelf/product.html", given)

"""One dog: cautions before anything else, then what it is, the usual, and what was done."""

import uuid

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from coatround.web.base.firm import firm_today
from coatround.web.desk.queries import dog_page
from coatround.web.records.models import Dog


def dog(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    row = get_object_or_404(Dog.objects.select_related("household", "vet"), pk=pk)
    if row.household.erased_at:
        return render(request, "desk/erased.html", {"household": row.household})
    return render(request, "desk/dog.html", dog_page(row, firm_today()))

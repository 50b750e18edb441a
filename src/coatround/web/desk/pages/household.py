"""One household: its dogs, people, places, visits, money, letters, consents and incidents."""

import uuid

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from coatround.web.base.firm import firm_today
from coatround.web.desk.queries import household_page
from coatround.web.records.models import Household


def household(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    row = get_object_or_404(Household, pk=pk)
    if row.erased_at:
        return render(request, "desk/erased.html", {"household": row})
    return render(request, "desk/household.html", household_page(row, firm_today()))

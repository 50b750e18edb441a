"""Asking for a consent: the words are shown, the answer is kept with them."""

import uuid

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from coatround.core.checking import Refused
from coatround.web.base.firm import the_firm
from coatround.web.desk.actions import agree
from coatround.web.desk.queries import consent_lines
from coatround.web.records import words
from coatround.web.records.consent_words import CHECK_LOCALLY, consent_words
from coatround.web.records.forms.consents import ConsentForm
from coatround.web.records.models import Household
from coatround.web.records.pages.asking import typed_in, worker_of


def consents(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """The nine kinds with what was said last, and all that was said before."""
    household = get_object_or_404(Household, pk=pk, erased_at__isnull=True)
    said = household.consents.select_related("dog", "written_by").order_by("-at", "-id")[:200]
    context = {"household": household, "lines": consent_lines(household), "said": said, "check": CHECK_LOCALLY}
    return render(request, "desk/consents.html", context)


def consent_new(request: HttpRequest, pk: uuid.UUID, kind: str) -> HttpResponse:
    kind = kind.replace("-", " ")
    if kind not in dict(words.CONSENTS):
        raise Http404
    household = get_object_or_404(Household, pk=pk, erased_at__isnull=True)
    form = ConsentForm(typed_in(request), request.FILES or None, household=household, kind=kind, firm=the_firm())
    if request.method == "POST" and form.is_valid():
        try:
            agree(household, kind, consent_words(kind), form.cleaned_data, worker_of(request))
        except Refused as refused:
            form.add_error("photo", str(refused))
        else:
            messages.success(request, _("Kept, with the words that were shown."))
            return redirect("consents", household.pk)
    context = {
        "form": form,
        "household": household,
        "word": dict(words.CONSENTS)[kind],
        "shown": consent_words(kind),
        "check": CHECK_LOCALLY,
        "people": household.people.filter(closed_on__isnull=True),
    }
    return render(request, "desk/consent_new.html", context, status=422 if form.is_bound else 200)

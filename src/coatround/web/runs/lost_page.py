"""The page for a lost day: what would go where, then one button."""

import datetime as dt
import uuid
from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from coatround.web.base.firm import firm_today
from coatround.web.base.forms import DateInput, Page
from coatround.web.rounds.gather import CannotPlan
from coatround.web.rounds.models import Run
from coatround.web.rounds.queries import standing_version
from coatround.web.runs.lost import lose, lost_preview, spread_words
from coatround.web.runs.views import worker_of

WHY = [
    ("sick", gettext_lazy("sick")),
    ("broken down", gettext_lazy("the van is broken down")),
    ("storm", gettext_lazy("storm or heat")),
    ("other", gettext_lazy("something else")),
]
LONGEST = dt.timedelta(days=31)


class LostForm(Page):
    """Why the day is lost, and how long it lasts."""

    why = forms.ChoiceField(label=gettext_lazy("Why"), choices=WHY)
    last = forms.DateField(label=gettext_lazy("Until and with"), widget=DateInput())

    def __init__(self, *args: Any, run: Run, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.run = run

    def clean_last(self) -> dt.date:
        last: dt.date = self.cleaned_data["last"]
        if not self.run.date <= last <= self.run.date + LONGEST:
            raise ValidationError(_("This is before the run, or more than a month after it. Choose a day between."))
        return last


@require_http_methods(["GET", "HEAD", "POST"])
def page(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """What losing this day would come to; posted, it is done."""
    run = get_object_or_404(Run.objects.select_related("van__home"), pk=pk)
    if run.date < firm_today():
        messages.error(request, _("This day is over."))
        return redirect("runs:sheet", pk)
    typed = request.POST if request.method == "POST" else request.GET if "last" in request.GET else None
    form = LostForm(typed, run=run, initial={"why": "sick", "last": run.date})
    last, why = run.date, "sick"
    if form.is_bound and form.is_valid():
        last, why = form.cleaned_data["last"], form.cleaned_data["why"]
    given = {"run": run, "form": form, "base_version": standing_version()}
    try:
        if request.method == "POST" and form.is_valid():
            if request.POST.get("base_version") == str(standing_version()):
                messages.success(request, spread_words(lose(run, last, str(dict(WHY)[why]), worker_of(request))))
                return redirect("notes:page")
            messages.error(request, _("The plan that stands was changed meanwhile, so nothing was done. Look again."))
        given["lost"] = lost_preview(run, last, str(dict(WHY)[why]))
    except CannotPlan as error:
        given["cannot"] = str(error)
    return render(request, "runs/lost.html", given, status=422 if form.errors else 200)

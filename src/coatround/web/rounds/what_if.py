"""What if: copies of the plan under another supposition, planned alike and laid side by side."""

import datetime as dt
import uuid
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.dates import WEEKDAYS
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_POST

from coatround.web.base.forms import Page
from coatround.web.base.models import Worker
from coatround.web.base.writing import writing
from coatround.web.records import words as record_words
from coatround.web.records.models import Place
from coatround.web.rounds.actions import worker_of
from coatround.web.rounds.models import Proposal
from coatround.web.rounds.propose import ask, is_silent, start
from coatround.web.rounds.supposed import Supposed
from coatround.web.rounds.what_if_beside import ROWS, beside, first_date, is_of_now, what_ifs

AT_MOST = 5
SECONDS = 10
WEEKS = 4
KINDS = [
    ("weekday", gettext_lazy("a weekday off")),
    ("weeks", gettext_lazy("another interval")),
    ("percent", gettext_lazy("another price")),
    ("second_van", gettext_lazy("a second van")),
    ("suburb", gettext_lazy("dogs in a suburb")),
]


class WhatIfForm(Page):
    """One supposition."""

    kind = forms.ChoiceField(label=gettext_lazy("What if there were"), choices=KINDS)
    weekday = forms.TypedChoiceField(
        label=gettext_lazy("Weekday off"), choices=[*WEEKDAYS.items()], coerce=int, required=False, initial=4
    )
    coat = forms.ChoiceField(
        label=gettext_lazy("For which coats"), choices=[("", gettext_lazy("all")), *record_words.COATS], required=False
    )
    weeks = forms.IntegerField(label=gettext_lazy("Weeks more, or less with a minus"), required=False, initial=1)
    percent = forms.IntegerField(label=gettext_lazy("Price, percent more or less"), required=False, initial=10)
    suburb = forms.ChoiceField(label=gettext_lazy("Suburb"), required=False)
    dogs = forms.IntegerField(label=gettext_lazy("How many dogs there"), required=False, initial=10)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        suburb = self.fields["suburb"]
        assert isinstance(suburb, forms.ChoiceField)
        rows = Place.objects.filter(lat__isnull=False, household__isnull=False).exclude(suburb="")
        suburb.choices = [(name, name) for name in rows.order_by("suburb").values_list("suburb", flat=True).distinct()]

    def clean(self) -> dict[str, Any]:
        found = super().clean() or {}
        kind = found.get("kind")
        for name, least, most in (("weeks", -8, 8), ("percent", -50, 100), ("dogs", 1, 60)):
            asked = kind == name or (kind == "suburb" and name == "dogs")
            value = found.get(name)
            if asked and (value is None or value == 0 or not least <= value <= most):
                words = _("Write a whole number from %(least)d to %(most)d, not 0.") % {"least": least, "most": most}
                self.add_error(name, words)
        if kind == "suburb" and not found.get("suburb"):
            self.add_error("suburb", _("No household has an address with a suburb and a pin. Write one down first."))
        return found

    def supposed(self) -> tuple[str, Supposed]:
        """What it is called and what it supposes, once it is valid."""
        typed = self.cleaned_data
        coat = typed["coat"]
        coats = str(dict(record_words.COATS).get(coat, _("all coats")))
        kind = typed["kind"]
        if kind == "weekday":
            return _("%(day)s off") % {"day": WEEKDAYS[typed["weekday"]]}, Supposed(weekday=typed["weekday"])
        if kind == "weeks":
            words = _("%(weeks)+d weeks, %(coats)s") % {"weeks": typed["weeks"], "coats": coats}
            return words, Supposed(coat=coat, weeks=typed["weeks"])
        if kind == "percent":
            words = _("price %(percent)+d %%, %(coats)s") % {"percent": typed["percent"], "coats": coats}
            return words, Supposed(coat=coat, percent=typed["percent"])
        if kind == "second_van":
            return _("a second van"), Supposed(second_van=True)
        rows = Place.objects.filter(suburb=typed["suburb"], lat__isnull=False, household__isnull=False)
        place = rows.order_by("pk").first()
        words = _("%(dogs)d dogs in %(suburb)s") % {"dogs": typed["dogs"], "suburb": typed["suburb"]}
        return words, Supposed(place=str(place.pk) if place else "", dogs_more=typed["dogs"])


@require_http_methods(["GET", "HEAD", "POST"])
def page(request: HttpRequest) -> HttpResponse:
    """Asks for a what-if, and lays those that are there side by side."""
    form = WhatIfForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        return _asked(request, form)
    rows = what_ifs()
    ready = beside([one for one in rows if one.state == "ready"])
    given = {
        "form": form,
        "planning": next((one for one in rows if one.state in ("waiting", "planning") and not is_silent(one)), None),
        "silent": [one for one in rows if is_silent(one)],
        "failed": [one for one in rows if one.state == "failed"],
        "ready": ready,
        "table": [(words, [one.cells[n] for one in ready]) for n, words in enumerate(ROWS)],
        "some_older": any(one.is_older for one in ready),
        "seconds": SECONDS,
    }
    return render(request, "rounds/what-ifs.html", given, status=422 if form.errors else 200)


def _asked(request: HttpRequest, form: WhatIfForm) -> HttpResponse:
    rows = what_ifs()
    if any(one.state in ("waiting", "planning") and not is_silent(one) for one in rows):
        messages.error(request, _("One is being planned. Wait for it, or stop it, then ask for the next."))
    elif len(rows) > AT_MOST:
        messages.error(request, _("Five are there already. Drop one, then ask for the next."))
    else:
        called, supposed = form.supposed()
        who = worker_of(request)
        asked = [] if _has_base(rows) else [_ask(_("as things are"), {}, who)]
        asked.append(_ask(called, supposed.values(), who))
        for one in asked:
            start(one)
    return redirect("round:what-ifs")


def _has_base(rows: list[Proposal]) -> bool:
    """Whether things as they are now have been planned; a copy of things as they were is dropped."""
    bases = [one for one in rows if one.supposed == {}]
    kept = [one for one in bases if one.state == "ready" and is_of_now(one)]
    with writing():
        Proposal.objects.filter(pk__in=[one.pk for one in bases if one not in kept]).update(
            state="dropped", problem=None
        )
    return bool(kept)


def _ask(called: str, supposed: dict[str, Any], who: Worker) -> Proposal:
    first = first_date()
    last = first + dt.timedelta(days=7 * WEEKS - 1)
    return ask(first, last, who=who, seconds=SECONDS, called=called, supposed=supposed)


@require_POST
def drop(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Throws a what-if away."""
    with writing():
        Proposal.objects.filter(pk=pk, supposed__isnull=False).update(state="dropped", problem=None)
    messages.info(request, _("Dropped. Nothing was changed."))
    return redirect("round:what-ifs")

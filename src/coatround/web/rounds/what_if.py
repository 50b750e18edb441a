"""What if: copies of the plan under another supposition, planned alike and laid side by side."""

import datetime as dt
import uuid
from dataclasses import dataclass
from typing import Any

from django import forms
from django.contrib import messages
from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.dates import WEEKDAYS
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_POST

from coatround.core.units import HOUR
from coatround.ids import uuid7
from coatround.web.base.changes import remove, save
from coatround.web.base.firm import firm_today, the_firm
from coatround.web.base.forms import Page
from coatround.web.base.models import Worker
from coatround.web.base.money import money_text
from coatround.web.base.templatetags.coatround import kilometres, minutes
from coatround.web.base.writing import writing
from coatround.web.records import words as record_words
from coatround.web.records.models import Place, Usual, Van, WorkingHours
from coatround.web.rounds.actions import worker_of
from coatround.web.rounds.models import Proposal
from coatround.web.rounds.propose import ask, is_silent, start
from coatround.web.rounds.queries import standing_version
from coatround.web.rounds.supposed import Supposed

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


@dataclass(frozen=True, slots=True)
class Figures:
    """One column of the comparison; money in cents."""

    proposal: Proposal
    name: str
    is_base: bool
    can_take: bool
    cells: tuple[str, ...]


ROWS = (
    gettext_lazy("runs"),
    gettext_lazy("visits"),
    gettext_lazy("left out"),
    gettext_lazy("driving"),
    gettext_lazy("driving a visit"),
    gettext_lazy("kilometres"),
    gettext_lazy("hours out"),
    gettext_lazy("overtime"),
    gettext_lazy("earned"),
    gettext_lazy("driving and overtime cost"),
    gettext_lazy("left, an hour"),
    gettext_lazy("visits on another day"),
)


def what_ifs() -> list[Proposal]:
    """The what-ifs that are there, the plan of things as they are first."""
    rows = Proposal.objects.filter(Q(supposed__isnull=False), state__in=("waiting", "planning", "ready", "failed"))
    return sorted(rows.defer("problem"), key=lambda one: (one.supposed != {}, one.made_at))


def _figures(proposal: Proposal) -> Figures:
    firm, totals = the_firm(), proposal.names["totals"]
    plan, supposed = proposal.plan or {}, Supposed.of(proposal.supposed or {})
    out = sum(run["back"] - run["leave"] for run in plan["runs"])
    spent = plan["cost"]["drive"] + plan["cost"]["overtime"]
    earned = _earned(proposal, supposed)
    visits = totals["visits"]
    moved = sum(_moved_in(proposal, run) for run in plan["runs"])
    cells = (
        str(totals["runs"]),
        str(visits),
        str(len(plan["left_out"])),
        minutes(totals["drive_seconds"]),
        minutes(totals["drive_seconds"] // visits) if visits else "",
        kilometres(totals["drive_metres"]),
        f"{out / HOUR:.1f}",
        minutes(totals["overtime_seconds"]),
        money_text(earned, firm),
        money_text(spent, firm),
        money_text((earned - spent) * HOUR // out, firm) if out else "",
        str(moved),
    )
    can_take = bool(supposed.weekday is not None or supposed.weeks or supposed.percent)
    return Figures(proposal, proposal.called, not proposal.supposed, can_take, cells)


def _earned(proposal: Proposal, supposed: Supposed) -> int:
    """The prices of the dogs that the plan serves, as supposed; invented dogs earn the middle price of all."""
    served = {stop["visit"] for run in (proposal.plan or {})["runs"] for stop in run["stops"] if "visit" in stop}
    dogs = [dog["id"] for id_, names in proposal.names["visits"].items() if id_ in served for dog in names["dogs"]]
    rows = Usual.objects.filter(dog__in=set(dogs), closed_on__isnull=True).order_by("valid_from")
    found = dict(rows.values_list("dog", "price_cents"))
    coats = dict(rows.values_list("dog", "dog__coat"))
    prices = {str(dog): _price(cents, coats[dog], supposed) for dog, cents in found.items()}
    known = sorted(prices.values())
    middle = known[len(known) // 2] if known else 0
    return sum(prices.get(dog, middle) for dog in dogs)


def _price(cents: int, coat: str, supposed: Supposed) -> int:
    return supposed.priced(cents) if supposed.coat in ("", coat) else cents


def _moved_in(proposal: Proposal, run: dict[str, Any]) -> int:
    date = proposal.names["runs"][run["id"]]["date"]
    stands = (proposal.names["visits"][stop["visit"]]["stands"] for stop in run["stops"] if "visit" in stop)
    return sum(1 for one in stands if one and one["date"] != date)


@require_http_methods(["GET", "HEAD", "POST"])
def page(request: HttpRequest) -> HttpResponse:
    """Asks for a what-if, and lays those that are there side by side."""
    form = WhatIfForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        return _asked(request, form)
    rows = what_ifs()
    ready = [_figures(one) for one in rows if one.state == "ready"]
    given = {
        "form": form,
        "planning": next((one for one in rows if one.state in ("waiting", "planning") and not is_silent(one)), None),
        "silent": [one for one in rows if is_silent(one)],
        "failed": [one for one in rows if one.state == "failed"],
        "ready": ready,
        "table": [(words, [one.cells[n] for one in ready]) for n, words in enumerate(ROWS)],
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
        has_base = any(one.supposed == {} and one.state == "ready" for one in rows)
        asked = [] if has_base else [_ask(_("as things are"), {}, who)]
        asked.append(_ask(called, supposed.values(), who))
        for one in asked:
            start(one)
    return redirect("round:what-ifs")


def _ask(called: str, supposed: dict[str, Any], who: Worker) -> Proposal:
    first = firm_today() + dt.timedelta(days=1)
    last = first + dt.timedelta(days=7 * WEEKS - 1)
    return ask(first, last, who=who, seconds=SECONDS, called=called, supposed=supposed)


@require_POST
def drop(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Throws a what-if away."""
    with writing():
        Proposal.objects.filter(pk=pk, supposed__isnull=False).update(state="dropped", problem=None)
    messages.info(request, _("Dropped. Nothing was changed."))
    return redirect("round:what-ifs")


@require_POST
def take(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Makes what was supposed so, and its plan the new plan that waits to be accepted."""
    proposal = get_object_or_404(Proposal, pk=pk, state="ready", supposed__isnull=False)
    supposed = Supposed.of(proposal.supposed or {})
    if proposal.base_version != standing_version():
        messages.error(request, _("The plan that stands was changed after this one was made. Drop it and ask again."))
        return redirect("round:what-ifs")
    who = worker_of(request)
    with writing():
        _make_so(supposed, who)
        before = Proposal.objects.filter(state__in=("waiting", "planning", "ready", "failed"), supposed__isnull=True)
        before.update(state="dropped", problem=None)
        Proposal.objects.filter(pk=pk).update(supposed=None)
    messages.success(request, _("Written down. Its plan waits to be accepted."))
    return redirect("round:page")


def _make_so(supposed: Supposed, who: Worker) -> None:
    """A weekday's hours go; intervals and prices change in what is settled now; one act, so that it can be undone."""
    batch = uuid7()
    if supposed.weekday is not None:
        vans = Van.objects.filter(closed_on__isnull=True)
        for row in WorkingHours.objects.filter(van__in=vans, weekday=supposed.weekday):
            remove(row, who, batch=batch, about=_("a weekday off"))
    if supposed.weeks or supposed.percent:
        rows = Usual.objects.filter(closed_on__isnull=True, valid_until__isnull=True, dog__closed_on__isnull=True)
        for usual in rows.filter(dog__coat=supposed.coat) if supposed.coat else rows:
            usual.interval_weeks = max(1, usual.interval_weeks + supposed.weeks)
            usual.price_cents = supposed.priced(usual.price_cents)
            save(usual, who, batch=batch, about=_("a what-if made so"))

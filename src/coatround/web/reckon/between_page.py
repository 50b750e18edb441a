"""Between dogs: what is cleaned with what, and a log with one tap."""

import datetime as dt

from django.contrib import messages
from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from coatround.core.reckon.cautions import CHEMICALS
from coatround.core.trade.hygiene import CLEANINGS, NEVER, VAN
from coatround.web.base.firm import firm_now, firm_today
from coatround.web.base.models import Worker
from coatround.web.records.models import Caution, Dog
from coatround.web.shelf.actions import clean
from coatround.web.shelf.models import Cleaned
from coatround.web.visits.models import Fit, VisitDog

CATCHING_SIGNS = ("cough", "vomit", "catching", "fleas")
LOG_DAYS = dt.timedelta(days=28)
LOG_ROWS = 60


def page(request: HttpRequest) -> HttpResponse:
    """What is cleaned between dogs, stricter when a catching dog was met today, and what was cleaned lately."""
    today = firm_today()
    if request.method == "POST":
        what = {one.key: one for one in CLEANINGS}.get(request.POST.get("what", ""))
        if what is None:
            messages.error(request, _("That is nothing of this list. Tap one of its buttons."))
        else:
            assert isinstance(request.user, Worker)
            clean(what.key, request.user, firm_now())
            messages.success(request, _("Written down: %(what)s.") % {"what": what.what})
        return redirect("reckon:between-dogs")
    catching = catching_today(today)
    done = {row.what: row for row in Cleaned.objects.filter(date=today).order_by("at")}
    strict = [one for one in CLEANINGS if one.catching]
    usual = [one for one in CLEANINGS if not one.catching]
    lines = [(one, done.get(one.key)) for one in (strict + usual if catching else usual + strict)]
    given = {
        "lines": lines,
        "catching": catching,
        "never": NEVER,
        "van": VAN,
        "caution": CHEMICALS,
        "log": Cleaned.objects.filter(date__gte=today - LOG_DAYS).select_related("who")[:LOG_ROWS],
    }
    return render(request, "reckon/between-dogs.html", given)


def catching_today(today: dt.date) -> list[str]:
    """Names of dogs of today's visits with an open caution for what catches, or such a sign at the door."""
    links = VisitDog.objects.filter(visit__date=today).exclude(visit__state="CANCELLED")
    dogs = dict(links.values_list("dog", "visit"))
    open_ones = Caution.objects.filter(dog__in=dogs, kind="catching", closed_on__isnull=True)
    met = set(open_ones.filter(Q(until__isnull=True) | Q(until__gte=today)).values_list("dog", flat=True))
    fits = Fit.objects.filter(visit__in=set(dogs.values()), corrected=False).values_list("dog", "signs")
    met |= {dog for dog, signs in fits if set(signs) & set(CATCHING_SIGNS)}
    return list(Dog.objects.filter(pk__in=met).order_by("name").values_list("name", flat=True))

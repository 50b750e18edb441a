"""The first run, in three steps and no more; later, the page on which the same can be changed."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from coatround.web.base.firm import firm_or_none, firm_today, the_firm
from coatround.web.base.models import Firm, Worker
from coatround.web.records import actions, countries
from coatround.web.records.forms.firm import FirmForm, FollowsFromCountry, NameAndCountry
from coatround.web.records.forms.work import VanForm, Week
from coatround.web.records.models import DayOff, Household, Place, Product, Van
from coatround.web.records.pages.asking import ask, typed_in, worker_of
from coatround.web.records.phones import example


def set_up(request: HttpRequest) -> HttpResponse:
    """What is missing first: the firm, then a van, then people; with all three, everything that can be changed."""
    if firm_or_none() is None:
        return first_firm(request)
    if not Van.objects.exists():
        return first_van(request)
    if not Household.objects.exists() and "later" not in request.GET:
        return render(request, "records/set_up_people.html")
    return everything(request)


def first_firm(request: HttpRequest) -> HttpResponse:
    """Name and country; what follows is filled in as soon as the country is known, and saved once it was seen."""
    typed = typed_in(request)
    asked = NameAndCountry(typed, initial={"country": browser_country(request)})
    country = request.POST.get("country", "") or browser_country(request)
    known = country if country in countries.country_codes() else ""
    seen = request.POST.get("filled_for", "") == known != ""
    follows = FollowsFromCountry(typed if seen else None, country=known) if known else None
    if typed and asked.is_valid() and follows is not None and seen and follows.is_valid():
        firm: Firm = follows.save(commit=False)
        firm.name, firm.country = asked.cleaned_data["name"], asked.cleaned_data["country"]
        actions.first_set_up(firm, worker_of(request))
        return redirect("set-up")
    context = {"asked": asked, "follows": follows, "filled_for": known, "phone_like": example(known) if known else ""}
    status = 422 if typed and (asked.errors or (seen and follows and follows.errors)) else 200
    return render(request, "records/set_up_firm.html", context, status=status)


def follows(request: HttpRequest) -> HttpResponse:
    """The part of the page that follows from a country, while it is being chosen."""
    country = request.GET.get("country", "")
    known = country if country in countries.country_codes() else ""
    form = FollowsFromCountry(country=known) if known else None
    context = {"follows": form, "filled_for": known, "phone_like": example(known) if known else ""}
    return render(request, "records/set_up_follows.html", context)


def browser_country(request: HttpRequest) -> str:
    return countries.country_of_browser(request.headers.get("Accept-Language", ""))


def first_van(request: HttpRequest) -> HttpResponse:
    typed = typed_in(request)
    van = Van(groomer=worker_of(request))
    form, week = VanForm(typed, instance=van), Week(typed, van)
    if request.method == "POST" and all([form.is_valid(), week.is_valid()]):
        actions.keep_van(form.save(commit=False), form.home_place(), week.as_hours(), worker_of(request))
        return redirect("set-up")
    context = {"form": form, "week": week, "step": 2}
    return render(request, "records/van.html", context, status=422 if form.is_bound else 200)


def everything(request: HttpRequest) -> HttpResponse:
    """The set-up page of a firm at work."""
    vans = Van.objects.select_related("home", "groomer").prefetch_related("hours").order_by("name")
    workers = Worker.objects.order_by("name")
    products = Product.objects.all()
    is_open, is_closed = {"closed_on__isnull": True}, {"closed_on__isnull": False}
    context = {
        "vans": vans.filter(**is_open),
        "closed_vans": vans.filter(**is_closed),
        "workers": workers.filter(**is_open),
        "closed_workers": workers.filter(**is_closed),
        "products": products.filter(**is_open)[:100],
        "closed_products": products.filter(**is_closed)[:100],
        "days_off": DayOff.objects.filter(last__gte=firm_today()).select_related("van").order_by("first")[:50],
        "depots": Place.objects.filter(household__isnull=True, closed_on__isnull=True, refills=True).order_by("line"),
    }
    return render(request, "records/set_up.html", context)


def firm_change(request: HttpRequest) -> HttpResponse:
    form = FirmForm(typed_in(request), firm=firm_or_none() or the_firm())

    def save() -> None:
        actions.set_up_firm(form.save(commit=False), worker_of(request))
        messages.success(request, _("Kept."))

    return ask(request, form, title=_("The firm"), back=reverse("set-up"), save=save)

"""The books: a month, who owes, one household, and putting a row right."""

import datetime as dt
import uuid
from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from coatround.web.base.firm import firm_today, the_firm
from coatround.web.base.models import Worker
from coatround.web.base.money import money_text
from coatround.web.books import actions, queries
from coatround.web.books.forms import CorrectForm, PaymentForm
from coatround.web.books.models import Charge, Payment
from coatround.web.records.models import Household

ON_A_PAGE = 25
MOVED_ON_A_PAGE = 50


def worker(request: HttpRequest) -> Worker:
    assert isinstance(request.user, Worker)
    return request.user


def asked_month(request: HttpRequest, today: dt.date) -> dt.date:
    """The month in the address (2026-03), else this one."""
    try:
        return dt.date.fromisoformat(f"{request.GET.get('month', '')}-01")
    except ValueError:
        return today.replace(day=1)


def page(request: HttpRequest) -> HttpResponse:
    """One month's money, and who owes how much since when."""
    today = firm_today()
    first = min(asked_month(request, today), today.replace(day=1))
    owed = queries.owing_households()
    shown = Paginator(owed, ON_A_PAGE).get_page(request.GET.get("page"))
    given = {
        "month": queries.month(first),
        "is_now": first == today.replace(day=1),
        "page": shown,
        "owing": queries.with_age(list(shown.object_list), today),
        "owed_in_all": sum(cents for _household, cents in owed),
    }
    return render(request, "books/page.html", given)


def household(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """A household's charges and payments with the balance after each, and a payment to take."""
    row = get_object_or_404(Household, pk=pk)
    moved = queries.moved(row)
    balance = moved[0].balance if moved else 0
    typed = request.POST if request.method == "POST" else None
    form = PaymentForm(typed, firm=the_firm(), today=firm_today(), owed=balance)
    if request.method == "POST" and form.is_valid():
        said = form.cleaned_data
        actions.add_payment(
            row,
            said["cents"] or 0,
            worker(request),
            date=said["date"],
            way=said["way"],
            tip_cents=said["tip_cents"] or 0,
            words=said["words"],
        )
        messages.success(request, _("%(amount)s booked as received.") % {"amount": _amount(said["cents"])})
        return redirect("books:household", row.pk)
    shown = Paginator(moved, MOVED_ON_A_PAGE).get_page(request.GET.get("page"))
    more = {"household": row, "page": shown, "balance": balance, "ahead": -balance, "form": form}
    return render(request, "books/household.html", more)


def _amount(cents: int | None) -> str:
    return money_text(cents or 0, the_firm())


def charge(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """One charge, to be put right by a row turned round."""
    return _correct(request, get_object_or_404(Charge.objects.select_related("household", "dog", "who"), pk=pk))


def payment(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """One payment, to be turned round."""
    return _correct(request, get_object_or_404(Payment.objects.select_related("household", "who"), pk=pk))


def _correct(request: HttpRequest, row: Charge | Payment) -> HttpResponse:
    is_charge = isinstance(row, Charge)
    form = CorrectForm(request.POST if request.method == "POST" else None, firm=the_firm(), is_charge=is_charge)
    if request.method == "POST" and form.is_valid():
        try:
            _turn_round(row, form.cleaned_data, worker(request))
        except actions.CannotTurnRound as error:
            messages.error(request, str(error))
        else:
            messages.success(request, _("Turned round. Both rows stay in the books."))
        return redirect("books:household", row.household_id)
    return render(request, "books/correct.html", {"row": row, "is_charge": is_charge, "form": form})


def _turn_round(row: Charge | Payment, said: dict[str, Any], who: Worker) -> None:
    if isinstance(row, Charge):
        actions.correct_charge(row, said["right_cents"], said["words"], who, date=firm_today())
    else:
        actions.correct_payment(row, said["words"], who, date=firm_today())

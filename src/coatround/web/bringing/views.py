"""Handing over a file, seeing first what would become of it, accepting it, and getting the refused rows back."""

from __future__ import annotations

import uuid
from typing import cast

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from coatround.digits import whole_number
from coatround.intake import Reading, Unreadable, read, reconcile, refused_file
from coatround.intake.dates import DateOrder
from coatround.web.base.firm import firm_today, firm_zone, the_firm
from coatround.web.base.models import Worker
from coatround.web.bringing import actions, waiting
from coatround.web.bringing.forms import Choices, HandOver
from coatround.web.bringing.queries import known_households
from coatround.web.bringing.waiting import Done, Waiting
from coatround.web.bringing.words import shown_rows

MOST_SHOWN = 200


def page(request: HttpRequest) -> HttpResponse:
    """Hands over a file; one that can't be read is refused in words."""
    form = HandOver(request.POST or None, request.FILES or None) if request.method == "POST" else HandOver()
    if form.is_bound and form.is_valid():
        file = form.cleaned_data["file"]
        handed = waiting.hand_over(file.read(), file.name or "file", timezone.now())
        try:
            reading_of(handed)
        except Unreadable as error:
            waiting.leave(handed)
            form.add_error("file", str(error))
        else:
            return redirect("bringing:preview", handed.id)
    context = {"form": form, "waiting": waiting.all_waiting()}
    return render(request, "bringing/page.html", context, status=422 if form.is_bound else 200)


def preview(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """What would become of each row; columns, dates and rows to leave out can be changed until it is right."""
    chosen = found(pk)
    if chosen.done:
        return redirect("bringing:done", pk)
    reading = reading_of(chosen)
    form = Choices(request.POST if request.method == "POST" else None, reading=reading, dates=chosen.dates)
    if request.method == "POST" and form.is_valid():
        rows = {row.row for row in reading.rows}
        typed = map(whole_number, request.POST.getlist("leave"))
        left_out = tuple(row for row in typed if row in rows)
        dates = form.cleaned_data.get("dates") or ""
        seen = reading.columns is None or form.columns() == dict(enumerate(reading.columns.fields))
        seen = seen and dates == chosen.dates
        chosen = waiting.choose(chosen, columns=form.columns(), dates=dates, left_out=left_out)
        if "accept" in request.POST and seen:
            return accept(request, chosen)
        if "accept" in request.POST:
            messages.info(request, _("Your choices change what becomes of the rows. Look once more, then accept."))
        return redirect("bringing:preview", pk)
    return show_preview(request, chosen, reading, form)


def show_preview(request: HttpRequest, chosen: Waiting, reading: Reading, form: Choices) -> HttpResponse:
    context = {"chosen": chosen, "reading": reading, "form": form, "most": MOST_SHOWN}
    if not reading.unsettled:
        outcome = reconcile(reading, known_households(), left_out=frozenset(chosen.left_out))
        context |= {
            "outcome": outcome,
            "rows": shown_rows(outcome, the_firm(), MOST_SHOWN),
            "refused": outcome.refused[:MOST_SHOWN],
            "left_out": chosen.left_out,
        }
    return render(request, "bringing/preview.html", context, status=422 if form.is_bound else 200)


def accept(request: HttpRequest, chosen: Waiting) -> HttpResponse:
    """Brings the file in, unless its dates are still open."""
    reading = reading_of(chosen)
    if reading.unsettled:
        messages.error(request, _("Say first how the dates are written."))
        return redirect("bringing:preview", chosen.id)
    outcome = actions.accept(reading, cast(Worker, request.user), frozenset(chosen.left_out))
    back = refused_file(reading, outcome)
    refused = tuple((one.row, one.reason) for one in outcome.refused)
    done = Done(outcome.rows, outcome.made, outcome.joined, outcome.changes, refused, back.ending)
    waiting.finish(chosen, done, back.data if refused else b"")
    return redirect("bringing:done", chosen.id)


def done(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """What became of an accepted file."""
    chosen = found(pk)
    if not chosen.done:
        return redirect("bringing:preview", pk)
    context = {"chosen": chosen, "done": chosen.done, "refused": chosen.done.refused[:MOST_SHOWN], "most": MOST_SHOWN}
    return render(request, "bringing/done.html", context)


def refused(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """The refused rows, in the file's own format."""
    chosen = found(pk)
    if not chosen.done or not chosen.refused_file.exists():
        raise Http404(_("Nothing was refused."))
    response = HttpResponse(chosen.refused_file.read_bytes(), content_type="application/octet-stream")
    response["Content-Disposition"] = f'attachment; filename="refused.{chosen.done.ending}"'
    return response


@require_POST
def leave(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Lets a file go; nothing of it was brought in."""
    waiting.leave(found(pk))
    return redirect("bringing:page")


def found(pk: uuid.UUID) -> Waiting:
    chosen = waiting.find(pk)
    if chosen is None:
        raise Http404(_("This file is no longer waiting. Hand it over again."))
    return chosen


def reading_of(chosen: Waiting) -> Reading:
    """The file as it is read with what was chosen for it; raises Unreadable."""
    firm = the_firm()
    return read(
        chosen.data,
        chosen.name,
        country=firm.country,
        dates=cast(DateOrder, chosen.dates) if chosen.dates else None,
        columns=chosen.columns or None,
        today=firm_today(firm),
        zone=firm_zone(firm),
        exponent=firm.currency_decimals,
    )

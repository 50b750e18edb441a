"""Letters to be read through, one letter, and the owner's page."""

import uuid
from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.text import slugify
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from coatround.web.base.firm import the_firm
from coatround.web.base.models import Worker
from coatround.web.letters import actions, links, queries
from coatround.web.letters.body import as_text, numbered, words_at
from coatround.web.letters.forms import MoreForm, WordsForm
from coatround.web.letters.models import LETTER_STATES, Letter
from coatround.web.letters.pdf import letter_pdf
from coatround.web.visits.models import Incident

ON_A_PAGE = 25


def worker(request: HttpRequest) -> Worker:
    assert isinstance(request.user, Worker)
    return request.user


def page(request: HttpRequest) -> HttpResponse:
    """Letters of one state, those to be read through first."""
    asked = request.GET.get("state", "draft")
    state = asked if asked in dict(LETTER_STATES) else ""
    typed = request.GET.get("find", "").strip()
    shown = Paginator(queries.letters(state, typed), ON_A_PAGE).get_page(request.GET.get("page"))
    waiting = Letter.objects.filter(state="draft").count()
    dogs = queries.dogs_by_visit([row.visit for row in shown])
    more = {"dogs": dogs, "states": LETTER_STATES, "state": state, "find": typed, "waiting": waiting}
    return render(request, "letters/page.html", {"page": shown, **more})


def found(pk: uuid.UUID) -> Letter:
    return get_object_or_404(Letter.objects.select_related("household", "reviewed_by"), pk=pk)


def letter(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """One letter, to read through, to change, to give."""
    return show(request, found(pk))


def show(request: HttpRequest, row: Letter, status: int = 200, **more: Any) -> HttpResponse:
    now = timezone.now()
    link = request.build_absolute_uri(links.address(row)) if links.is_open(row, now) else ""
    untold = Incident.objects.filter(visit=row.visit, corrected=False, owner_told=False).exists()
    given = {
        "letter": row,
        "is_changing": not row.is_read and ("change" in request.GET or "changing" in more),
        "body": numbered(row.body),
        "link": link,
        "untold": untold,
        "text": as_text(row.body, queries.head_words(row, the_firm())),
        "more_form": MoreForm(),
    }
    return render(request, "letters/letter.html", {**given, **more}, status=status)


def words(request: HttpRequest, pk: uuid.UUID, number: int) -> HttpResponse:
    """One paragraph to be said otherwise."""
    row = found(pk)
    now_said = words_at(row.body, number)
    if now_said is None or row.is_read:
        raise Http404
    form = WordsForm(request.POST if request.method == "POST" else None, initial={"words": now_said})
    if request.method == "POST" and form.is_valid():
        actions.change_words(row, number, form.cleaned_data["words"].strip(), worker(request))
        return redirect(f"{row_address(row)}?change=yes#p{number}")
    return show(request, row, changing=number, words_form=form)


@require_POST
def more(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """A paragraph more."""
    row, form = found(pk), MoreForm(request.POST)
    if row.is_read:
        raise Http404
    if not form.is_valid():
        return show(request, row, status=422, more_form=form, changing=None)
    actions.add_words(row, form.cleaned_data["more"].strip(), worker(request))
    return redirect(f"{row_address(row)}?change=yes")


def row_address(row: Letter) -> str:
    return reverse("letters:letter", args=[row.pk])


def _read(row: Letter, who: Worker) -> str:
    actions.mark_read(row, who, timezone.now())
    return _("Read through. It can be given to the owner now; nothing was sent.")


def _sent(row: Letter, who: Worker) -> str:
    actions.mark_sent(row, who)
    return _("Noted that you gave it to them.")


def _again(row: Letter, who: Worker) -> str:
    actions.change_again(row, who)
    return _("It can be changed again. Links given out before have ended.")


def _anew(row: Letter, who: Worker) -> str:
    actions.write_anew(row, who)
    return _("Written anew from the records. Read it through again.")


def _end_link(row: Letter, who: Worker) -> str:
    actions.end_link(row, who)
    return _("The link has ended; whoever opens it reads that it is over.")


def _new_link(row: Letter, who: Worker) -> str:
    actions.new_link(row, who, timezone.now())
    return _("There is a new link; it opens for 30 days.")


Act = Callable[[Letter, Worker], str]
ACTS: dict[str, tuple[Act, tuple[str, ...]]] = {  # what it does, and in which states it can be done
    "read": (_read, ("draft",)),
    "sent": (_sent, ("reviewed",)),
    "again": (_again, ("reviewed", "sent")),
    "anew": (_anew, ("draft", "reviewed", "sent")),
    "end-link": (_end_link, ("reviewed", "sent")),
    "new-link": (_new_link, ("reviewed", "sent")),
}


@require_POST
def act(request: HttpRequest, pk: uuid.UUID, act: str) -> HttpResponse:
    """One of the things that can be done with a letter as it stands."""
    row = found(pk)
    if act not in ACTS:
        raise Http404
    does, states = ACTS[act]
    if row.state in states:
        messages.success(request, does(row, worker(request)))
    else:
        messages.error(request, _("The letter has changed since this page was opened. Look at it again."))
    return redirect(row_address(row))


def pdf(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    return pdf_answer(found(pk))


def pdf_answer(row: Letter) -> HttpResponse:
    name = slugify(row.household.name) or "letter"
    answer = HttpResponse(letter_pdf(row, the_firm()), content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{name}-{row.date.isoformat()}.pdf"'
    return answer


@login_not_required
@never_cache
def opened(request: HttpRequest, signed: str) -> HttpResponse:
    """The owner's page: one letter, by a link that ends."""
    try:
        row = links.letter_by_link(signed, timezone.now())
    except links.NoSuchLetter:
        return render(request, "letters/no-letter.html", {"over": False}, status=404)
    except links.LinkOver:
        return render(request, "letters/no-letter.html", {"over": True}, status=410)
    return render(request, "letters/owner.html", {"letter": row, "body": row.body, "signed": signed})


@login_not_required
@never_cache
def opened_pdf(request: HttpRequest, signed: str) -> HttpResponse:
    """The same letter as PDF, by the same link."""
    try:
        return pdf_answer(links.letter_by_link(signed, timezone.now()))
    except (links.NoSuchLetter, links.LinkOver):
        return redirect("letters:open", signed)

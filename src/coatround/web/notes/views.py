"""The drafted notes: to be read, changed, sent from one's own phone, and ticked off."""

import uuid
from dataclasses import dataclass
from urllib.parse import quote

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_GET, require_POST

from coatround.web.base.forms import Page
from coatround.web.base.models import Worker
from coatround.web.notes.actions import settle
from coatround.web.notes.models import Note
from coatround.web.records.models import Person

NOTES_SHOWN = 100


class NoteForm(Page):
    """The words as they are sent."""

    words = forms.CharField(
        label=gettext_lazy("Words"), max_length=1000, widget=forms.Textarea(attrs={"rows": 4, "cols": 40})
    )


@dataclass(frozen=True, slots=True)
class Shown:
    """A note with the people it may go to, each with the addresses that open their own phone's or mail's page."""

    note: Note
    form: NoteForm
    ways: tuple["Way", ...]


@dataclass(frozen=True, slots=True)
class Way:
    """One way to send a note: an sms: address (RFC 5724) or a mailto: address (RFC 6068)."""

    name: str
    to: str
    address: str
    is_phone: bool


@require_GET
def page(request: HttpRequest) -> HttpResponse:
    """All notes that are drafted, oldest first."""
    return _page(request)


def _page(
    request: HttpRequest, wrong: Note | None = None, form: NoteForm | None = None, status: int = 200
) -> HttpResponse:
    rows = Note.objects.filter(state="DRAFT").select_related("household", "visit").prefetch_related("household__people")
    shown = [_shown(row, form if wrong and row.pk == wrong.pk else None) for row in rows[:NOTES_SHOWN]]
    return render(request, "notes/page.html", {"shown": shown, "count": rows.count()}, status=status)


def _shown(note: Note, form: NoteForm | None) -> Shown:
    people = [person for person in note.household.people.all() if person.is_open and person.may_decide]
    ways = tuple(way for person in people for way in _ways(person, note.words))
    return Shown(note, form or NoteForm(initial={"words": note.words}, auto_id=f"{note.pk}-%s"), ways)


def _ways(person: Person, words: str) -> list[Way]:
    found = []
    if person.phone:
        found.append(Way(person.name, person.phone, f"sms:{person.phone}?body={quote(words)}", is_phone=True))
    if person.email:
        found.append(
            Way(person.name, person.email, f"mailto:{quote(person.email)}?body={quote(words)}", is_phone=False)
        )
    return found


@require_POST
def settled(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Writes down that a note was sent, as it was sent, or drops it."""
    assert isinstance(request.user, Worker)
    note = get_object_or_404(Note.objects.select_related("household"), pk=pk)
    if note.state != "DRAFT":
        messages.error(request, _("This note was settled already, so nothing was changed."))
        return redirect("notes:page")
    if "drop" in request.POST:
        settle(note, "CANCELLED", note.words, request.user)
        messages.success(request, _("Dropped."))
        return redirect("notes:page")
    form = NoteForm(request.POST, auto_id=f"{note.pk}-%s")
    if not form.is_valid():
        return _page(request, note, form, 422)
    settle(note, "FINAL", form.cleaned_data["words"], request.user)
    messages.success(request, _("%(household)s: written down as sent.") % {"household": note.household.name})
    return redirect("notes:page")

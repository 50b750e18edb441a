"""The drafted notes: to be read, changed, sent from one's own phone, and ticked off."""

import uuid
from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_GET, require_POST

from coatround.web.base.forms import Page, TimeInput
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
    told_from = forms.TimeField(label=gettext_lazy("Told from"), widget=TimeInput(), required=False)
    told_until = forms.TimeField(label=gettext_lazy("Told until"), widget=TimeInput(), required=False)

    def clean(self) -> dict[str, Any]:
        typed = super().clean() or {}
        from_, until = typed.get("told_from"), typed.get("told_until")
        if from_ and until and until < from_:
            words = _("%(until)s is before %(from)s. Write the times as the words tell them.")
            self.add_error("told_until", words % {"from": f"{from_:%H:%M}", "until": f"{until:%H:%M}"})
        return typed


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
    initial = {"words": note.words, "told_from": note.told_from, "told_until": note.told_until}
    return Shown(note, form or NoteForm(initial=initial, auto_id=f"{note.pk}-%s"), ways)


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
    note = get_object_or_404(Note.objects.select_related("household", "visit"), pk=pk)
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
    typed = form.cleaned_data
    told = (typed["told_from"], typed["told_until"]) if typed["told_from"] and typed["told_until"] else None
    words = _("%(household)s: written down as sent.")
    if settle(note, "FINAL", typed["words"], request.user, told):
        words = _("%(household)s: written down as sent, and as told.")
    messages.success(request, words % {"household": note.household.name})
    return redirect("notes:page")

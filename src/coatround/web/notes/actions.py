"""Drafting words to a household, and settling them: sent by hand, or dropped."""

import uuid

from django.utils import timezone

from coatround.web.base.changes import save
from coatround.web.base.models import Worker
from coatround.web.base.writing import writing
from coatround.web.notes.models import Note
from coatround.web.visits.models import Visit


def draft(visit: Visit, about: str, words: str, who: Worker, batch: uuid.UUID | None = None) -> Note:
    """Drafts a note about a visit; a draft about the same is written anew instead of a second one."""
    with writing():
        note = Note.objects.filter(visit=visit, about=about, state="DRAFT").first()
        note = note or Note(household_id=visit.household_id, visit=visit, about=about)
        note.words, note.by = words, who
        save(note, who, batch=batch, about=about)
    return note


def settle(note: Note, state: str, words: str, who: Worker) -> None:
    """Keeps a note as it was sent, or drops it."""
    with writing():
        note.state, note.words, note.settled_at = state, words, timezone.now()
        save(note, who)

"""Drafting words to a household, and settling them: sent by hand, or dropped."""

import datetime as dt
import uuid

from django.utils import timezone

from coatround.ids import uuid7
from coatround.web.base.changes import save
from coatround.web.base.models import Worker
from coatround.web.base.writing import writing
from coatround.web.notes.models import Note
from coatround.web.visits.models import Visit
from coatround.web.visits.promises import tell

Times = tuple[dt.time, dt.time]


def draft(
    visit: Visit, about: str, words: str, who: Worker, batch: uuid.UUID | None = None, told: Times | None = None
) -> Note:
    """Drafts a note about a visit; a draft about the same is written anew instead of a second one.

    `told` is the window that the words tell: once the note is sent, the household was told it.
    """
    with writing():
        note = Note.objects.filter(visit=visit, about=about, state="DRAFT").first()
        note = note or Note(household_id=visit.household_id, visit=visit, about=about)
        note.words, note.by = words, who
        note.date = visit.date if told else None
        note.told_from, note.told_until = told or (None, None)
        save(note, who, batch=batch, about=about)
    return note


def settle(note: Note, state: str, words: str, who: Worker, told: Times | None = None) -> bool:
    """Keeps a note as it was sent, or drops it; says whether the household counts as told by it.

    It does where the words told a window, the note was sent, and the visit still stands on that day.
    """
    batch, visit = uuid7(), note.visit
    with writing():
        note.state, note.words, note.settled_at = state, words, timezone.now()
        if told:
            note.told_from, note.told_until = told
        save(note, who, batch=batch)
        times = note.told_from, note.told_until
        stands = visit is not None and visit.state != "CANCELLED" and visit.date == note.date
        if state != "FINAL" or not stands or visit is None or times[0] is None or times[1] is None:
            return False
        tell(visit, who, times[0], times[1], batch)
    return True

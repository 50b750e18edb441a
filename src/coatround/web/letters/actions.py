"""What changes a letter: the records that it is made from, and the person who reads it through."""

import datetime as dt
import uuid

from django.utils.translation import gettext as _

from coatround.core.letters import letter as compose
from coatround.web.base import changes
from coatround.web.base.models import Worker
from coatround.web.base.writing import writing
from coatround.web.letters.body import Body, body_of, digest, with_more, with_words
from coatround.web.letters.links import LINK_DAYS
from coatround.web.letters.models import Letter
from coatround.web.letters.queries import letter_visit


def refresh(visit: uuid.UUID) -> Letter | None:
    """Writes a visit's letter from the records as they are now.

    A letter whose words someone changed, or that was read through or sent, keeps them and is marked out of date.
    """
    with writing():
        facts = letter_visit(visit)
        if facts is None:
            return None
        household, date, told = facts
        body = body_of(compose(told, _))
        letter = Letter.objects.filter(visit=visit).first() or Letter(visit=visit, household=household, date=date)
        if letter.is_read or letter.edited:
            letter.out_of_date = letter.written != digest(body)
        else:
            _write(letter, body, date)
        letter.save()
        return letter


def _write(letter: Letter, body: Body, date: dt.date) -> None:
    letter.body, letter.written, letter.date = body, digest(body), date
    letter.edited = letter.out_of_date = False


def write_anew(letter: Letter, who: Worker) -> None:
    """Throws away the words changed by hand and composes the letter from the records again."""
    with writing():
        facts = letter_visit(letter.visit)
        if facts is None:
            return
        _write(letter, body_of(compose(facts[2], _)), facts[1])
        _take_back(letter)
        changes.save(letter, who, about=_("written anew"))


def change_words(letter: Letter, number: int, words: str, who: Worker) -> None:
    """Says one paragraph otherwise, or takes it out; raises KeyError when there is no such paragraph."""
    letter.body, letter.edited = with_words(letter.body, number, words), True
    changes.save(letter, who, about=_("words changed"))


def add_words(letter: Letter, words: str, who: Worker) -> None:
    """Adds a paragraph at the end."""
    letter.body, letter.edited = with_more(letter.body, words), True
    changes.save(letter, who, about=_("words added"))


def mark_read(letter: Letter, who: Worker, now: dt.datetime) -> None:
    """Read through: the owner's link opens it from now, for 30 days."""
    letter.state, letter.reviewed_at, letter.reviewed_by = "reviewed", now, who
    letter.link_ends_at = now + dt.timedelta(days=LINK_DAYS)
    changes.save(letter, who, about=_("read through"))


def mark_sent(letter: Letter, who: Worker) -> None:
    """A person says that they gave it to the owner; nothing is sent by this."""
    letter.state = "sent"
    changes.save(letter, who, about=_("sent"))


def change_again(letter: Letter, who: Worker) -> None:
    """Back to being read through; links given out before end."""
    _take_back(letter)
    changes.save(letter, who, about=_("to be changed"))


def _take_back(letter: Letter) -> None:
    if letter.is_read:
        letter.link_number += 1
    letter.state, letter.reviewed_at, letter.reviewed_by, letter.link_ends_at = "draft", None, None, None


def end_link(letter: Letter, who: Worker) -> None:
    """Ends every link given out."""
    letter.link_number += 1
    letter.link_ends_at = None
    changes.save(letter, who, about=_("link ended"))


def new_link(letter: Letter, who: Worker, now: dt.datetime) -> None:
    """A new link for 30 days; links given out before end."""
    letter.link_number += 1
    letter.link_ends_at = now + dt.timedelta(days=LINK_DAYS)
    changes.save(letter, who, about=_("new link"))

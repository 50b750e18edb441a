"""Fit today: what is seen or told at the door, the answer with its reason, and the tick for cautions to be read."""

import uuid
from dataclasses import dataclass, field
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from coatround.core.fit import FitToday, fit_today, is_milder
from coatround.ids import uuid7
from coatround.web.base.models import Worker
from coatround.web.phone.minding import DogBefore, before_the_work, cautions_read
from coatround.web.phone.on_page import at_the_door, on_page
from coatround.web.phone.pages.finding import find_visit
from coatround.web.phone.saying import SAID_BEFORE, form_id, say
from coatround.web.records.models import Consent
from coatround.web.visits.models import Fit, Visit
from coatround.web.visits.queries import VisitFacts, visit_facts
from coatround.web.visits.words import FIT_ANSWERS, FIT_SIGNS

NOT_GROOMED = ("not today", "vet")


@dataclass
class DogAtDoor:
    """One dog's part of the form: what was ticked, the answer reckoned from it, and what a person made of it."""

    before: DogBefore
    signs: list[str]
    rule: FitToday
    chosen: str = ""
    reason: str = ""
    shown: str = ""
    rid: uuid.UUID = field(default_factory=uuid7)
    read_id: uuid.UUID = field(default_factory=uuid7)
    not_done_id: uuid.UUID = field(default_factory=uuid7)
    corrects: str = ""
    ticked: bool = False
    unread: bool = False
    error: str = ""

    @property
    def answer(self) -> str:
        return self.chosen or self.rule.answer

    @property
    def answer_words(self) -> str:
        return str(dict(FIT_ANSWERS)[self.answer])

    @property
    def choices(self) -> list[tuple[str, Any]]:
        return [("", _("as it stands above")), *FIT_ANSWERS]

    @property
    def sign_ticks(self) -> list[tuple[str, Any, bool]]:
        return [(sign, words, sign in self.signs) for sign, words in FIT_SIGNS]


def door(request: HttpRequest, visit_id: uuid.UUID) -> HttpResponse:
    found = find_visit(visit_id)
    facts = visit_facts(found)
    who: Worker = request.user  # type: ignore[assignment]
    agreed = matted_off_agreed([dog.pk for dog in facts.dogs], found)
    befores = before_the_work(found, facts.dogs, who)
    if request.method == "POST":
        dogs = [_said(request.POST, before, before.dog.pk in agreed) for before in befores]
        not_ready = [dog for dog in dogs if not _is_ready(dog, facts)]  # every dog is looked at, so that all is shown
        if not not_ready and not [dog for dog in dogs if not _save(request, found, dog, facts)]:
            return redirect(_next_step(found, dogs))
    else:
        dogs = [_as_recorded(before, facts.fits.get(before.dog.pk), before.dog.pk in agreed) for before in befores]
    shown = {"visit": found, "dogs": dogs, "on_page": on_page(found, facts) | at_the_door(facts, agreed)}
    return render(request, "phone/door.html", shown)


def matted_off_agreed(dogs: list[uuid.UUID], found: Visit) -> set[uuid.UUID]:
    """The dogs whose household's last word is that matted coat may come off short."""
    rows = Consent.objects.filter(household=found.household_id, kind="matted off").order_by("at", "id")
    agreed: dict[uuid.UUID, bool] = {}
    for row in rows:
        agreed |= dict.fromkeys([row.dog_id] if row.dog_id else dogs, row.agreed)
    return {dog for dog, said in agreed.items() if said}


def _as_recorded(before: DogBefore, fit: Fit | None, agreed: bool) -> DogAtDoor:
    signs = list(fit.signs) if fit else []
    rule = fit_today(signs, matted_off_agreed=agreed)
    chosen = fit.answer if fit and fit.answer != rule.answer else ""
    reason = fit.reason if fit and chosen else ""
    return DogAtDoor(before, signs, rule, chosen, reason, rule.answer, corrects=str(fit.pk) if fit else "")


def _said(post: QueryDict, before: DogBefore, agreed: bool) -> DogAtDoor:
    key = before.dog.pk
    signs = [sign for sign in post.getlist(f"signs-{key}") if sign in dict(FIT_SIGNS)]
    chosen = post.get(f"answer-{key}", "")
    return DogAtDoor(
        before,
        signs,
        fit_today(signs, matted_off_agreed=agreed),
        chosen if chosen in dict(FIT_ANSWERS) else "",
        post.get(f"reason-{key}", "")[:300],
        post.get(f"shown-{key}", ""),
        form_id(post.get(f"rid-{key}")),
        form_id(post.get(f"read-id-{key}")),
        form_id(post.get(f"not-done-id-{key}")),
        post.get(f"corrects-{key}", ""),
        bool(post.get(f"read-{key}")),
    )


def _is_ready(dog: DogAtDoor, facts: VisitFacts) -> bool:
    """Whether it may be saved: the answer was shown before, a milder one has its reason, cautions were read."""
    if dog.shown != dog.rule.answer:
        dog.error = _("This is the answer to what you ticked. Look at it, then save.")
        dog.shown = dog.rule.answer
    elif is_milder(dog.answer, dog.rule.answer) and not dog.reason.strip():
        dog.error = _("“%(chosen)s” is milder than “%(rule)s”. Write why, for example that the vet was rung.") % {
            "chosen": dog.answer,
            "rule": dog.rule.answer,
        }
    recorded = facts.fits.get(dog.before.dog.pk)
    if recorded and str(recorded.pk) not in (dog.corrects, str(dog.rid)):
        dog.error = _("%(who)s recorded this dog at the door already. Save again to put yours in its place.") % {
            "who": recorded.who
        }
        dog.corrects = str(recorded.pk)
    dog.unread = bool(dog.before.to_read) and not dog.ticked and dog.answer not in NOT_GROOMED
    return not dog.error and not dog.unread


def _save(request: HttpRequest, found: Visit, dog: DogAtDoor, facts: VisitFacts) -> bool:
    key = str(dog.before.dog.pk)
    if dog.ticked and dog.before.to_read:
        seen = {"dog": key, "cautions": cautions_read(dog.before.to_read)}
        say(request, "caution-seen", found.pk, dog.read_id, seen)
    recorded = facts.fits.get(dog.before.dog.pk)
    if (
        recorded
        and (recorded.signs, recorded.answer) == (dog.signs, dog.answer)
        and dog.reason in ("", recorded.reason)
    ):
        return True
    body = {"dog": key, "signs": dog.signs, "answer": dog.answer, "reason": dog.reason.strip()}
    answer = say(request, "fit", found.pk, dog.rid, body, dog.corrects or None)
    if answer.code == SAID_BEFORE:
        dog.corrects, dog.rid = str(dog.rid), uuid7()
        dog.error = _("This was saved once already. Save again to correct it.")
    elif not answer.is_kept:
        dog.error = answer.words
    if answer.is_kept and dog.answer in NOT_GROOMED and dog.before.dog.pk not in facts.grooms:
        why = (dog.reason.strip() or dog.rule.reason)[:200]
        not_done = {"dog": key, "state": "CANCELLED", "usual_done": False, "why_not": why}
        say(request, "groom", found.pk, dog.not_done_id, not_done)
        messages.info(request, _("%(dog)s is put down as not done.") % {"dog": dog.before.dog})
    return answer.is_kept


def _next_step(found: Visit, dogs: list[DogAtDoor]) -> str:
    """The first dog still to be done, else handing back."""
    done = set(visit_facts(found).grooms)
    for dog in dogs:
        if dog.answer not in NOT_GROOMED and dog.before.dog.pk not in done:
            return reverse("phone:groom", args=[found.pk, dog.before.dog.pk])
    return reverse("phone:handing-back", args=[found.pk])

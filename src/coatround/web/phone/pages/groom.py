"""One dog's groom: "the usual, done" in one tap, and what differed by step."""

import uuid
from collections.abc import Mapping
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from coatround.ids import uuid7
from coatround.web.base.firm import firm_now, firm_today, firm_zone, the_firm
from coatround.web.base.models import Firm
from coatround.web.phone.groom_rows import recorded_values, rows_of, usual_values
from coatround.web.phone.groom_said import GroomSaid
from coatround.web.phone.minding import DogBefore, before_the_work, cautions_read
from coatround.web.phone.on_page import on_page, on_the_table
from coatround.web.phone.pages.finding import find_visit
from coatround.web.phone.pages.visit import keep_photo_of_form
from coatround.web.phone.saying import SAID_BEFORE, form_id, say
from coatround.web.records.models import Dog, Product
from coatround.web.visits.models import Groom, Visit
from coatround.web.visits.photos import photos_wanted
from coatround.web.visits.queries import VisitFacts, visit_facts
from coatround.web.visits.words import STOOD

DONE, NOT_DONE = "done", "not done"


def groom(request: HttpRequest, visit_id: uuid.UUID, dog_id: uuid.UUID) -> HttpResponse:
    found, firm = find_visit(visit_id), the_firm()
    facts = visit_facts(found)
    dog = _dog_of(found, facts, dog_id)
    (before,) = before_the_work(found, [dog], request.user)  # type: ignore[arg-type]
    recorded = facts.grooms.get(dog.pk)
    told = on_page(found, facts, firm) | on_the_table(before.usual)
    if request.method == "POST":
        form = GroomForm(request, found, firm, before, recorded)
        if form.save():
            return redirect(*_next_address(found, facts, dog))
        form.photo_words = keep_photo_of_form(request, found, dog.pk)
        return render(request, "phone/groom.html", {**form.shown(status=True), "on_page": told})
    values = (
        recorded_values(recorded, before.usual, firm, firm_zone(firm))
        if recorded
        else _values_at_first(before, _began(found, facts, firm))
    )
    shown = GroomForm(request, found, firm, before, recorded, values).shown()
    return render(request, "phone/groom.html", {**shown, "on_page": told})


def _dog_of(found: Visit, facts: VisitFacts, dog_id: uuid.UUID) -> Dog:
    dog = next((dog for dog in facts.dogs if dog.pk == dog_id), None)
    dog = dog or Dog.objects.filter(pk=dog_id, household=found.household_id).first()
    if dog is None:
        raise Http404("That dog is not one of this visit's household.")
    return dog


def _values_at_first(before: DogBefore, began: str) -> dict[str, str]:
    return {**usual_values(before.usual), "started": began, "started-guess": began}


def _began(found: Visit, facts: VisitFacts, firm: Firm) -> str:
    """When this dog's turn began: when the last one ended, else when fit today was saved; only on the day itself."""
    if found.date != firm_today(firm):
        return ""
    ended = [one.ended_at for one in facts.grooms.values() if one.ended_at]
    said = [fit.at for fit in facts.fits.values()]
    began = max(ended) if ended else max(said, default=None)
    local = began.astimezone(firm_zone(firm)) if began else None
    return local.strftime("%H:%M") if local and local.date() == found.date else ""


def _next_address(found: Visit, facts: VisitFacts, dog: Dog) -> tuple[Any, ...]:
    """The next dog that was found fit and is not done, else handing back."""
    for other in facts.dogs:
        if other.pk != dog.pk and other.pk not in facts.grooms:
            return "phone:groom", found.pk, other.pk
    return "phone:handing-back", found.pk


class GroomForm:
    """A groom's page as it stands: its values, what is wrong with them, and the id its record will have."""

    def __init__(
        self,
        request: HttpRequest,
        found: Visit,
        firm: Firm,
        before: DogBefore,
        recorded: Groom | None,
        values: Mapping[str, str] | None = None,
    ) -> None:
        typed = request.POST
        self.request, self.visit, self.firm, self.before, self.recorded = request, found, firm, before, recorded
        self.rid = form_id(typed.get("rid"))
        self.read_id = form_id(typed.get(f"read-id-{before.dog.pk}"))
        self.corrects = typed.get("corrects", "") if values is None else str(recorded.pk) if recorded else ""
        self.said = GroomSaid(values if values is not None else typed.dict(), before.usual, firm, found.date)
        self.problem = ""
        self.photo_words = ""
        self.unread = False

    def save(self) -> bool:
        """Keeps what was typed as one record; when it is not kept, `problem` says why and all of it still stands."""
        state = "CANCELLED" if self.request.POST.get("did") == NOT_DONE else "COMPLETED"
        if not self._is_ready(state):
            return False
        dog = str(self.before.dog.pk)
        answer = say(
            self.request,
            "groom",
            self.visit.pk,
            self.rid,
            lambda said_at: self.said.body(dog, state, said_at),
            self.corrects or None,
        )
        if answer.code == SAID_BEFORE:
            self.corrects, self.rid = str(self.rid), uuid7()
            self.problem = _("This was saved once already. Save again to correct it.")
        elif not answer.is_kept:
            self.problem = answer.words
        else:
            self._after()
        return answer.is_kept

    def _is_ready(self, state: str) -> bool:
        self.said.body(str(self.before.dog.pk), state, firm_now(self.firm))
        self.unread = bool(self.before.to_read) and state == "COMPLETED" and not self._ticked()
        if self.recorded and str(self.recorded.pk) not in (self.corrects, str(self.rid)):
            self.problem = _("%(who)s recorded this dog already. Save again to put yours in its place.") % {
                "who": self.recorded.who
            }
            self.corrects = str(self.recorded.pk)
        elif self.said.errors:
            self.problem = _("Something here can’t be read. It is marked below; all the rest still stands.")
        return not (self.problem or self.unread)

    def _ticked(self) -> bool:
        return bool(self.request.POST.get(f"read-{self.before.dog.pk}"))

    def _after(self) -> None:
        dog = self.before.dog
        if self.before.to_read and self._ticked():
            seen = {"dog": str(dog.pk), "cautions": cautions_read(self.before.to_read)}
            say(self.request, "caution-seen", self.visit.pk, self.read_id, seen)
        kept = Groom.objects.filter(pk=self.rid).first()
        if kept and kept.cotton_swallowed + kept.cotton_not_found:
            messages.error(
                self.request, _("Cotton swallowed or not found: ring %(dog)s’s owner and a vet now.") % {"dog": dog}
            )
        messages.success(self.request, _("%(dog)s is saved.") % {"dog": dog})
        keep_photo_of_form(self.request, self.visit, dog.pk)

    def shown(self, status: bool = False) -> dict[str, Any]:
        """What the template is given."""
        products = Product.objects.filter(closed_on__isnull=True)
        return {
            "visit": self.visit,
            "before": self.before,
            "rid": self.rid,
            "read_id": self.read_id,
            "corrects": self.corrects,
            "recorded": self.recorded,
            "values": {**self.said.values, "started_guess": self.said.of("started-guess")},
            "stood": STOOD,
            "errors": self.said.errors,
            "problem": self.problem,
            "unread": self.unread,
            "ticked": self._ticked(),
            "rows": rows_of(self.said.values, self.before.usual, products, self.said.errors),
            "photos_wanted": photos_wanted(self.visit.household),
            "photo_id": uuid7(),
            "photo_words": self.photo_words,
            "weight_unit": "lb" if self.firm.units == "us" else "kg",
            "open_all": status,
        }

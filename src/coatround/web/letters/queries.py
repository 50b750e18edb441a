"""Gathers what a letter says: one visit's grooms, incidents and next date, as plain words for the core."""

import datetime as dt
import uuid
from collections import defaultdict
from collections.abc import Iterable

from django.db.models import Max, QuerySet
from django.utils.translation import gettext as _

from coatround.core.letter_facts import Cotton, CutPart, Found, Happened, LetterGroom, LetterVisit
from coatround.core.letters import BATHS, listed
from coatround.web.base.firm import the_firm
from coatround.web.base.models import Firm
from coatround.web.base.templatetags.coatround import day, wall, weight
from coatround.web.due.queries import due_dogs
from coatround.web.letters.models import Letter
from coatround.web.records.models import Dog, Household, Usual
from coatround.web.records.phones import phone_words
from coatround.web.records.usual import in_force
from coatround.web.visits.models import Fit, Groom, HandingBack, Incident, Measure, Visit

WEIGHT_LOOK_BACK = dt.timedelta(days=365)


def letters(state: str = "", typed: str = "") -> QuerySet[Letter]:
    """Letters, the latest first: of one state, of households whose name holds what was typed."""
    rows = Letter.objects.select_related("household")
    if state:
        rows = rows.filter(state=state)
    if typed:
        rows = rows.filter(household__in=Household.objects.filter(name__icontains=typed).values("pk"))
    return rows


def dogs_by_visit(visits: Iterable[uuid.UUID]) -> dict[uuid.UUID, str]:
    """The dogs that were done or sent home at each visit, as a person lists them."""
    found: dict[uuid.UUID, dict[str, None]] = defaultdict(dict)
    rows = Groom.objects.filter(visit__in=list(visits), corrected=False).order_by("at", "id")
    for visit, name in rows.values_list("visit", "dog__name"):
        found[visit][name] = None
    return {visit: f"{listed(list(names), _)}." for visit, names in found.items()}


def grooms_of(visit: uuid.UUID) -> list[Groom]:
    """A visit's grooms as they stand, with all that was recorded of each."""
    rows = Groom.objects.filter(visit=visit, corrected=False, state__in=["COMPLETED", "CANCELLED"])
    return list(
        rows.select_related("dog__vet", "dog__household", "who")
        .prefetch_related("steps__product", "findings", "measures")
        .order_by("at", "id")
    )


def incidents_of(visit: uuid.UUID) -> list[Incident]:
    """A visit's incidents as they stand."""
    rows = Incident.objects.filter(visit=visit, corrected=False)
    return list(rows.select_related("dog__household", "who").order_by("happened_at", "id"))


def letter_visit(visit: uuid.UUID) -> tuple[Household, dt.date, LetterVisit] | None:
    """A visit's household, date and what its letter is made from; None while there is nothing to tell."""
    grooms, incidents = grooms_of(visit), incidents_of(visit)
    if not grooms and not incidents:
        return None
    firm = the_firm()
    household = (grooms[0] if grooms else incidents[0]).dog.household
    date = grooms[0].date if grooms else incidents[0].happened_at.date()
    told = [_groom(groom) for groom in grooms] + _turned_away(visit, {groom.dog_id for groom in grooms})
    facts = LetterVisit(
        owners=_owners(household),
        date=day(date),
        grooms=tuple(told),
        happened=tuple(_incident(one) for one in incidents),
        groomer=(grooms[0] if grooms else incidents[0]).who.name,
        firm=firm.name,
        phone=phone_words(firm.phone, firm.country),
        **_next(visit, household, [groom.dog for groom in grooms], date),
    )
    return household, date, facts


def _owners(household: Household) -> tuple[str, ...]:
    people = household.people.filter(closed_on__isnull=True, may_decide=True, second_contact=False)
    return tuple(people.values_list("name", flat=True)[:3])


def _incident(one: Incident) -> Happened:
    return Happened(one.dog.name, one.kind, one.words, one.what_was_done, one.owner_told)


def _groom(groom: Groom) -> LetterGroom:
    usual = in_force(groom.date).filter(dog=groom.dog_id).first() if groom.usual_done else None
    steps, left_out, products = _steps(groom, usual)
    weight_words, lost_percent = _weight(groom)
    return LetterGroom(
        dog=groom.dog.name,
        done=groom.state == "COMPLETED",
        why_not=groom.why_not,
        steps=steps,
        left_out=left_out,
        products=products,
        cut=_cut(groom.cut or (usual.cut if usual else {})),
        found=tuple(Found(row.part, row.kind, row.grade, row.words) for row in groom.findings.all()),
        cotton=_cotton(groom),
        weight=weight_words,
        lost_percent=lost_percent,
        vet=_vet(groom.dog),
    )


def _cotton(groom: Groom) -> Cotton:
    return Cotton(
        groom.cotton_in,
        groom.cotton_taken_out,
        groom.cotton_fell_out,
        groom.cotton_swallowed,
        groom.cotton_not_found,
    )


def _steps(groom: Groom, usual: Usual | None) -> tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...]]:
    """Steps done, steps left out, names of what the bath held; the usual's routine where nothing else was recorded."""
    recorded = [(row.step, row.done, row.product) for row in groom.steps.all()]
    if not recorded and usual is not None:
        recorded = [(row.step, True, row.product) for row in usual.steps.select_related("product")]
    done = tuple(step for step, was_done, _product in recorded if was_done)
    left_out = tuple(step for step, was_done, _product in recorded if not was_done)
    held = [product.name for step, was_done, product in recorded if was_done and product and step in BATHS]
    return done, left_out, tuple(dict.fromkeys(held))


def _cut(cut: dict[str, dict[str, object]]) -> tuple[CutPart, ...]:
    return tuple(CutPart(part, str(how.get("how", "")), _mm(how.get("mm"))) for part, how in cut.items())


def _mm(value: object) -> str:
    return "" if value is None else f"{float(str(value)):g}"


def _vet(dog: Dog) -> str:
    if dog.vet is None:
        return ""
    return ", ".join(filter(None, (dog.vet.name, phone_words(dog.vet.phone, the_firm().country))))


def _weight(groom: Groom) -> tuple[str, int]:
    """The weight taken, in words, and how many percent it is under the most of the year before."""
    grams = next((row.value for row in groom.measures.all() if row.kind == "weight"), None)
    if grams is None:
        return "", 0
    before = Measure.objects.filter(
        dog=groom.dog_id,
        kind="weight",
        date__lt=groom.date,
        date__gte=groom.date - WEIGHT_LOOK_BACK,
        groom__corrected=False,
    ).aggregate(most=Max("value"))["most"]
    return weight(grams), max(0, (before - grams) * 100 // before) if before else 0


def _turned_away(visit: uuid.UUID, groomed: set[uuid.UUID]) -> list[LetterGroom]:
    """Dogs that the look at the door sent home or to a vet, and for which no groom was written."""
    fits = Fit.objects.filter(visit=visit, corrected=False, answer__in=["not today", "vet"]).select_related("dog")
    return [
        LetterGroom(fit.dog.name, done=False, why_not=fit.reason, vet_first=fit.answer == "vet")
        for fit in fits
        if fit.dog_id not in groomed
    ]


def _next(visit: uuid.UUID, household: Household, dogs: list[Dog], date: dt.date) -> dict[str, str]:
    """The next date: as handed back, else the next visit told, else when the first of the dogs falls due."""
    back = HandingBack.objects.filter(visit=visit, corrected=False).order_by("-at").first()
    if back is not None and back.next_date is not None:
        return {"next_day": day(back.next_date), "next_from": wall(back.next_from), "next_until": wall(back.next_until)}
    if back is not None and back.next_how in ("none", "ask"):
        return {}
    told = Visit.objects.filter(household=household, date__gt=date, state="CONFIRMED").order_by("date").first()
    if told is not None:
        return {"next_day": day(told.date), "next_from": wall(told.told_from), "next_until": wall(told.told_until)}
    dues = due_dogs([dog.pk for dog in dogs], today=date) if dogs else []
    return {"next_due": day(min(due.due for due in dues))} if dues else {}


def head_words(letter: Letter, firm: Firm) -> str:
    """What stands over the letter: whose it is."""
    return _("From %(firm)s") % {"firm": firm.name}

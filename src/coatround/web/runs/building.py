"""Rows in, one stop of the sheet out: cautions first, then what to know, then the routine with its baths."""

import datetime as dt
import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.utils import formats, timezone
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from coatround.core.run import StopNow
from coatround.core.trade.kit import GroomPlan
from coatround.core.units import MINUTE, rounded_half_up
from coatround.web.records import words as record_words
from coatround.web.records.models import Caution, Dog, Person, Place, RoutineStep, Usual
from coatround.web.roads.map import names_in_words
from coatround.web.rounds.models import Run, Stop
from coatround.web.runs.baths import against, baths_of, groom_plan
from coatround.web.runs.sheet import (
    SheetBath,
    SheetCaution,
    SheetDog,
    SheetDrive,
    SheetPerson,
    SheetPlace,
    SheetStep,
    SheetStop,
    SheetTurn,
)
from coatround.web.runs.ways import Drive
from coatround.web.runs.words import (
    about_dog,
    ago_words,
    at_the_work,
    bath_words,
    distance_words,
    handling,
    not_for_words,
    place_notes,
    told_words,
    turn_words,
    vaccination_words,
    weight_words,
)
from coatround.web.visits.models import Visit
from coatround.web.visits.phrases import cut_words
from coatround.web.visits.queries import DogPast

CAUTIONS = dict(record_words.CAUTIONS)
STEPS = dict(record_words.STEPS)


@dataclass(frozen=True, slots=True)
class SheetRows:
    """What was gathered for a run, by dog, household and place."""

    usuals: Mapping[uuid.UUID, Usual]
    cautions: Mapping[uuid.UUID, list[Caution]]
    pasts: Mapping[uuid.UUID, DogPast]
    people: Mapping[uuid.UUID, list[Person]]
    keyed: set[uuid.UUID]


def sheet_stop(
    stop: Stop,
    now: StopNow,
    rows: SheetRows,
    run: Run,
    units: str,
    drive: Drive | None = None,
    likely: tuple[int, int] | None = None,
) -> SheetStop:
    """One stop of the sheet; `drive` is the way there by road, `likely` when it is reached on four days of five."""
    visit = stop.visit
    distance = distance_words(stop.drive_metres, units)
    there = SheetDrive(stop.drive_metres, distance, stop.by_road, turns_of(drive, units))
    if visit is None:
        place = _place(stop.place, rows) if stop.place else None
        return SheetStop(now, _halt_title(stop), place, there)
    dogs = tuple(_dog(row.dog, rows, run, units) for row in visit.visit_dogs.all())
    people = rows.people.get(visit.household_id, [])
    return SheetStop(
        now,
        names_in_words(tuple(dog.name for dog in dogs)) or visit.household.name,
        _place(visit.place, rows),
        there,
        visit=visit.pk,
        household=visit.household_id,
        household_name=visit.household.name,
        told=told_words(visit),
        wanted=visit.wanted,
        is_called_off=visit.state == "CANCELLED",
        likely=likely,
        dogs=dogs,
        people=tuple(SheetPerson(person.name, person.phone) for person in people),
    )


def turns_of(drive: Drive | None, units: str) -> tuple[SheetTurn, ...]:
    """A drive turn by turn."""
    if drive is None:
        return ()
    return tuple(SheetTurn(step.words, turn_words(step.metres, units)) for step in drive.way.steps)


def _halt_title(stop: Stop) -> str:
    return _("Fill and empty") if stop.kind == "refill" else _("Break")


def _place(place: Place, rows: SheetRows) -> SheetPlace:
    geo = f"geo:{place.lat},{place.lon}" if place.is_pinned else ""
    return SheetPlace(place.pk, str(place), geo, place_notes(place), place.pk in rows.keyed)


def _dog(dog: Dog, rows: SheetRows, run: Run, units: str) -> SheetDog:
    usual = rows.usuals.get(dog.pk)
    steps = list(usual.steps.all()) if usual else []
    cautions = rows.cautions.get(dog.pk, [])
    past = rows.pasts.get(dog.pk, DogPast())
    baths = baths_of(steps, run.van.bath_l)
    kinds = {caution.kind for caution in cautions} | ({"bite"} if past.bites else set())
    return SheetDog(
        id=dog.pk,
        name=dog.name,
        about=about_dog(dog, run.date, weight_words(dog.weight_grams, units)),
        cautions=_cautions(dog, cautions, past, steps, run.date),
        handling=handling(kinds),
        at_the_work=at_the_work({step.step for step in steps}),
        cut=capfirst(cut_words(usual.cut)) if usual else "",
        last=past.last,
        last_words=_last_words(past, run.date),
        findings=tuple(words for _date, words in past.findings),
        steps=_steps(steps, baths),
        baths=baths,
        has_usual=usual is not None,
    )


def _steps(steps: Sequence[RoutineStep], baths: Sequence[SheetBath]) -> tuple[SheetStep, ...]:
    mixes: dict[str, list[str]] = {}
    for bath in baths:
        mixes.setdefault(bath.step, []).append(bath_words(bath))
    names = [(str(STEPS[step.step]), step.words) for step in _once_each(steps)]
    return tuple(SheetStep(name, words, "; ".join(mixes.pop(name, []))) for name, words in names)


def _once_each(steps: Sequence[RoutineStep]) -> list[RoutineStep]:
    """The routine in order; a step named twice running, for its second product, is one step."""
    return [
        step
        for index, step in enumerate(steps)
        if index == 0 or step.step != steps[index - 1].step or step.words not in ("", steps[index - 1].words)
    ]


def _cautions(
    dog: Dog, cautions: Sequence[Caution], past: DogPast, steps: Sequence[RoutineStep], date: dt.date
) -> tuple[SheetCaution, ...]:
    """A bite that happened comes first, then the dog's own cautions, then what labels say against the routine."""
    bite, product = str(CAUTIONS["bite"]), str(CAUTIONS["product"])
    found = [SheetCaution(bite, _bite_words(at, words)) for at, words in past.bites]
    found += [SheetCaution(str(CAUTIONS[caution.kind]), caution.words) for caution in cautions]
    found += [SheetCaution(product, not_for_words(each)) for each in against(steps, cautions)]
    if words := vaccination_words(dog, date):
        found.append(SheetCaution(str(CAUTIONS["catching"]), words))
    return tuple(SheetCaution(capfirst(caution.kind), caution.words) for caution in found)


def _bite_words(at: dt.datetime, words: str) -> str:
    return _("Bit on %(date)s. %(words)s") % {
        "date": formats.date_format(timezone.localtime(at), "j F Y"),
        "words": words,
    }


def _last_words(past: DogPast, date: dt.date) -> str:
    """Last time, 6 weeks ago: body 10 mm blade, head scissored. 58 minutes usually. Calm."""
    if past.last is None:
        return _("First time with us.")
    said = [_("Last time, %(ago)s: %(cut)s.") if past.last_cut else _("Last time: %(ago)s.")]
    words = said[0] % {"ago": ago_words(past.last, date), "cut": past.last_cut}
    if past.median_seconds:
        count = rounded_half_up(past.median_seconds, MINUTE)
        words += " " + _("Usually %(count)d minutes.") % {"count": count}
    if past.last_stood:
        words += " " + _("Stood: %(how)s.") % {"how": past.last_stood}
    return f"{words} {past.last_notes}".strip()


def groom_plans(visits: Sequence[Visit], rows: SheetRows, bath_l: int) -> list[GroomPlan]:
    """What each dog still on the run needs of the kit."""
    plans = []
    for visit in visits:
        for row in visit.visit_dogs.all() if visit.state != "CANCELLED" else ():
            usual = rows.usuals.get(row.dog_id)
            steps = list(usual.steps.all()) if usual else []
            plans.append(groom_plan(row.dog, steps, usual.cut if usual else {}, bath_l))
    return plans

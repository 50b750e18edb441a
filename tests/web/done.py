"""A household with its dogs and what was done for them, in as few words as a test needs."""

import datetime as dt
from dataclasses import dataclass
from typing import Any

from coatround.ids import uuid7
from coatround.web.base.models import Worker
from coatround.web.records.models import Dog, Household, Person, Place, Product, RoutineStep, Usual, Van
from coatround.web.visits.models import (
    Finding,
    Fit,
    Groom,
    GroomStep,
    HandingBack,
    Incident,
    Measure,
    Visit,
    VisitDog,
)

DAY = dt.date(2026, 3, 3)
NOON = dt.datetime(2026, 3, 3, 1, 0, tzinfo=dt.UTC)  # 12:00 in Sydney


@dataclass
class Quinces:
    """Mary Quince with Pip (85.00 every six weeks, a double wash) and, if wanted, Fig (60.00); van Otter."""

    worker: Worker
    household: Household
    place: Place
    van: Van
    wash: Product
    dogs: dict[str, Dog]

    def visit(self, date: dt.date = DAY, **values: Any) -> Visit:
        visit = Visit.objects.create(household=self.household, place=self.place, date=date, van=self.van, **values)
        for order, dog in enumerate(self.dogs.values()):
            VisitDog.objects.create(visit=visit, dog=dog, order=order)
        return visit

    def groom(
        self,
        visit: Visit,
        name: str = "Pip",
        *,
        steps: list[dict[str, Any]] | None = None,
        findings: list[tuple[str, str, int]] | None = None,
        measures: dict[str, int] | None = None,
        **values: Any,
    ) -> Groom:
        """A groom that was done; a list of (part, kind, grade) found, and {kind: value} measured."""
        dog = self.dogs[name]
        given = {"id": uuid7(), "at": NOON, "who": self.worker, "visit": visit.pk, "dog": dog, "date": visit.date}
        groom = Groom.objects.create(**{**given, **values})
        for order, step in enumerate(steps or []):
            GroomStep.objects.create(groom=groom, order=order, **step)
        for part, kind, grade in findings or []:
            Finding.objects.create(groom=groom, part=part, kind=kind, grade=grade)
        for kind, value in (measures or {}).items():
            Measure.objects.create(groom=groom, dog=dog, date=groom.date, kind=kind, value=value)
        if groom.corrects:
            Groom.objects.filter(pk=groom.corrects).update(corrected=True)
        return groom

    def back(self, visit: Visit, **values: Any) -> HandingBack:
        given = {"id": uuid7(), "at": NOON, "who": self.worker, "visit": visit.pk, "household": self.household}
        row = HandingBack.objects.create(
            **{**given, "price_cents": 8500, "paid": "not paid", "next_how": "none", **values}
        )
        if row.corrects:
            HandingBack.objects.filter(pk=row.corrects).update(corrected=True)
        return row

    def incident(self, visit: Visit, name: str = "Pip", **values: Any) -> Incident:
        given = {"id": uuid7(), "at": NOON, "who": self.worker, "visit": visit.pk, "dog": self.dogs[name]}
        more = {"kind": "nick", "happened_at": NOON, "words": "left front pad", **values}
        return Incident.objects.create(**given, **more)

    def fit(self, visit: Visit, name: str, answer: str, reason: str = "") -> Fit:
        given = {"id": uuid7(), "at": NOON, "who": self.worker, "visit": visit.pk, "dog": self.dogs[name]}
        return Fit.objects.create(**given, answer=answer, reason=reason)


def quinces(worker: Worker, *, two: bool = False) -> Quinces:
    """Makes the household in the database."""
    household = Household.objects.create(name="Quince")
    Person.objects.create(household=household, name="Mary Quince", phone="+61255500110")
    place = Place.objects.create(household=household, line="8 Tannery Row", suburb="Hollow Ford")
    home = Place.objects.create(name="depot", line="1 Weir Road")
    van = Van.objects.create(name="Otter", home=home, bath_l=12)
    wash = Product.objects.create(name="Oat wash", ratio_product=1, ratio_other=16, ratio_rule="total")
    made = Quinces(worker, household, place, van, wash, {})
    for name, cents in [("Pip", 8500), ("Fig", 6000)][: 2 if two else 1]:
        made.dogs[name] = Dog.objects.create(household=household, name=name)
        usual = Usual.objects.create(dog=made.dogs[name], valid_from=dt.date(2025, 1, 1), price_cents=cents)
        for order, step in enumerate(["check-over", "first wash", "dryer"]):
            product = wash if step == "first wash" else None
            RoutineStep.objects.create(usual=usual, order=order, step=step, product=product)
    return made

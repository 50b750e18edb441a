"""A household of the invented town with everything a page can show, small enough to check by hand."""

import datetime as dt
import uuid

from django.utils import timezone

from coatround.web.base.models import Worker
from coatround.web.records.models import (
    Caution,
    Dog,
    Household,
    Person,
    Place,
    Product,
    RoutineStep,
    Usual,
    Van,
    WorkingHours,
)
from coatround.web.visits.models import Groom, Visit, VisitDog


def the_quills(name: str = "Quill", phone: str = "+61412345678", street: str = "8 Tannery Row") -> Household:
    """Odo Quill at 8 Tannery Row, with Biscuit, who is curly."""
    household = Household.objects.create(name=name)
    Person.objects.create(household=household, name=f"Odo {name}", phone=phone, email=f"odo@{name.lower()}.example")
    Place.objects.create(
        household=household, line=street, suburb="Weir Flat", postcode="2999", lat="-33.7", lon="150.3"
    )
    Dog.objects.create(household=household, name="Biscuit", coat="curly", size="small", weight_grams=6400)
    return household


def settled(dog: Dog, since: dt.date = dt.date(2026, 1, 5), weeks: int = 6) -> Usual:
    """Every so many weeks, with a wash and a clip."""
    usual = Usual.objects.create(dog=dog, valid_from=since, interval_weeks=weeks, price_cents=8500)
    for order, step in enumerate(("check-over", "first wash", "clip")):
        RoutineStep.objects.create(usual=usual, order=order, step=step)
    return usual


def otter() -> Van:
    """Van Otter, Mondays 8 to 17."""
    home = Place.objects.create(name="home", line="1 Mill Lane", suburb="Hollow Ford", lat="-33.71", lon="150.31")
    van = Van.objects.create(name="Otter", home=home)
    WorkingHours.objects.create(van=van, weekday=0, open=dt.time(8), close=dt.time(17))
    return van


def oatmeal() -> Product:
    return Product.objects.create(name="Plain oat wash", ratio_other=16)


def caution(dog: Dog, kind: str, words: str) -> Caution:
    return Caution.objects.create(dog=dog, kind=kind, words=words)


def visit_on(household: Household, date: dt.date, state: str = "TENTATIVE") -> Visit:
    """A visit with all of the household's dogs."""
    place = household.places.get()
    visit = Visit.objects.create(household=household, place=place, date=date, state=state, wanted="Odo's gate, nails")
    for order, dog in enumerate(household.dogs.all()):
        VisitDog.objects.create(visit=visit, dog=dog, order=order)
    return visit


def groomed(dog: Dog, visit: Visit, who: Worker) -> Groom:
    return Groom.objects.create(
        id=uuid.uuid4(), at=timezone.now(), who=who, visit=visit.pk, dog=dog, date=visit.date, notes="Odo was home"
    )

"""An invented corner of town: one van, and households with a dog each, drawn to be checked by hand.

Today is Monday 2 March 2026 (COATROUND_TODAY). The van works Monday to Friday, 8 to 17, without a break.
"""

import datetime as dt
from collections.abc import Sequence

from django.utils import timezone

from coatround.ids import uuid7
from coatround.web.base.models import Worker
from coatround.web.records.models import Dog, Household, Place, Usual, Van, WorkingHours
from coatround.web.visits.models import Groom, Visit, VisitDog

TODAY = dt.date(2026, 3, 2)
NAMES = ("Mop", "Biscuit", "Quill", "Odette", "Bramble", "Pilot")


def day(number: int) -> dt.date:
    return TODAY + dt.timedelta(days=number)


def a_van(worker: Worker, name: str = "Otter") -> Van:
    """A van that lives at the corner, with tanks of 150 litres."""
    home = Place.objects.create(line="1 Kiln Lane", lat="-31.000000", lon="152.000000", refills=True)
    van = Van.objects.create(name=name, home=home, groomer=worker)
    for weekday in range(5):
        WorkingHours.objects.create(van=van, weekday=weekday, open=dt.time(8), close=dt.time(17), break_minutes=0)
    return van


def a_household(name: str, *, pinned: bool = True, east: int = 1) -> Household:
    """A household so many hundredths of a degree east of the van's home."""
    household = Household.objects.create(name=name)
    lat, lon = ("-31.000000", f"{152 + east / 100:.6f}") if pinned else (None, None)
    Place.objects.create(household=household, line=f"{east} Mill Street", suburb="Hollow Ford", lat=lat, lon=lon)
    return household


def a_dog(
    household: Household,
    name: str,
    *,
    done: Sequence[int] = (),
    worker: Worker | None = None,
    weeks: int = 6,
    since: int = -300,
    **usual: object,
) -> Dog:
    """A medium curly dog, an hour of work, groomed on those days counted from today."""
    dog = Dog.objects.create(household=household, name=name, coat="curly", size="medium")
    values = {"days_early": 7, "days_late": 7, "work_seconds": 3600, "price_cents": 8500} | usual
    Usual.objects.create(dog=dog, valid_from=day(since), interval_weeks=weeks, **values)
    for number in done:
        assert worker is not None
        a_groom(dog, worker, number)
    return dog


def a_groom(dog: Dog, worker: Worker, number: int) -> Groom:
    return Groom.objects.create(
        id=uuid7(), at=timezone.now(), who=worker, visit=uuid7(), dog=dog, date=day(number), work_seconds=3600
    )


def a_visit(dog: Dog, number: int, **values: object) -> Visit:
    place = dog.household.places.get()
    visit = Visit.objects.create(household=dog.household, place=place, date=day(number), **values)
    VisitDog.objects.create(visit=visit, dog=dog)
    return visit


def a_town(worker: Worker, count: int = 6) -> list[Dog]:
    """So many households with a dog each, due on the days after today, farther east one after another."""
    a_van(worker)
    return [
        a_dog(a_household(f"{name}'s people", east=number + 1), name, done=(-42 + number,), worker=worker)
        for number, name in enumerate(NAMES[:count])
    ]

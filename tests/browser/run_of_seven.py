"""Makes a home with a run of seven visits to record: python -m tests.browser.run_of_seven HOME DATE."""

import datetime as dt
import sys

from coatround import start

CODE = "side gate 4711"
PASSWORD = "a long enough password"
PEOPLE = [
    ("Ashby", ["Mop"]),
    ("Reed", ["Biscuit"]),
    ("Marsh", ["Quill", "Fig"]),
    ("Thorn", ["Odette"]),
    ("Lowe", ["Bramble"]),
    ("Fenn", ["Tansy"]),
    ("Weir", ["Otto"]),
]


def make(home: str, date: dt.date) -> None:
    """Hollow Ford Mobile Grooming with van Otter, Wren and Ash, seven households on one day and two the day after."""
    start.use_home(home)
    start.bring_up_to_date()
    from coatround.web.base.models import Firm, Worker
    from coatround.web.records.models import Place, Product, Van

    Firm.objects.create(
        name="Hollow Ford Mobile Grooming",
        country="AU",
        currency="AUD",
        zone="Australia/Sydney",
        vet_phone="+61491570156",
        poison_phone="+61491570157",
    )
    for name in ("wren", "ash"):
        worker = Worker(name=name.capitalize(), sign_in_name=name)
        worker.set_password(PASSWORD)
        worker.save()
    home_place = Place.objects.create(line="1 Weir Road", suburb="Hollow Ford", lat="-31.0", lon="152.0", refills=True)
    van = Van.objects.create(name="Otter", home=home_place, clean_l=160, grey_l=160, bath_l=12)
    wash = Product.objects.create(name="Oat wash", ratio_other=16, ratio_rule="total", contact_minutes=5)
    visits = [_visit(van, date, name, dogs, wash) for name, dogs in PEOPLE]
    _run(van, date, visits)
    after = date + dt.timedelta(days=1)
    _run(van, after, [_visit(van, after, name, dogs, wash) for name, dogs in (("Rill", ["Juno"]), ("Holt", ["Pip"]))])


def _visit(van: object, date: dt.date, name: str, dogs: list[str], wash: object) -> object:
    from coatround.web.records.models import Caution, Dog, Household, Person, Place, PlaceKey, RoutineStep, Usual
    from coatround.web.visits.models import Visit, VisitDog

    household = Household.objects.create(name=name)
    Person.objects.create(household=household, name=f"Kim {name}", phone="+61491570156")
    place = Place.objects.create(
        household=household, line=f"{len(name)} Tannery Row", suburb="Hollow Ford", lat="-31.01", lon="152.01"
    )
    visit = Visit.objects.create(household=household, place=place, date=date, van=van)  # type: ignore[misc]
    for order, called in enumerate(dogs):
        dog = Dog.objects.create(
            household=household, name=called, coat="curly", size="small", microchip="953010001234567"
        )
        VisitDog.objects.create(visit=visit, dog=dog, order=order)
        usual = Usual.objects.create(
            dog=dog,
            valid_from=date - dt.timedelta(days=300),
            price_cents=8500,
            interval_weeks=6,
            cut={"body": {"how": "blade", "mm": 10}},
        )
        for at, step in enumerate(["check-over", "nails", "first wash", "dryer", "clip", "finish"]):
            product = wash if step == "first wash" else None
            RoutineStep.objects.create(usual=usual, order=at, step=step, product=product)  # type: ignore[misc]
        if called == "Biscuit":
            Caution.objects.create(dog=dog, kind="bite", words="Back feet. Feet last.")
            PlaceKey.objects.create(place=place, words=CODE)
    return visit


def _run(van: object, date: dt.date, visits: list[object]) -> None:
    from coatround.web.rounds.models import Run, Stop

    home = van.home  # type: ignore[attr-defined]
    run = Run.objects.create(
        van=van,  # type: ignore[misc]
        date=date,
        start_place=home,
        end_place=home,
        leave_seconds=8 * 3600,
        back_seconds=17 * 3600,
        accepted_at=dt.datetime(2026, 2, 20, tzinfo=dt.UTC),
    )
    for order, visit in enumerate(visits):
        begins = 8 * 3600 + 900 + order * 4200
        Stop.objects.create(
            run=run,
            visit=visit,  # type: ignore[misc]
            kind="visit",
            order=order,
            arrive_seconds=begins,
            start_seconds=begins,
            end_seconds=begins + 3300,
            drive_seconds=900,
        )


if __name__ == "__main__":
    make(sys.argv[1], dt.date.fromisoformat(sys.argv[2]))

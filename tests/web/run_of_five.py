"""One run to test with: five visits, six dogs, a refill and a break; drawn so that answers can be checked by hand."""

import datetime as dt
from dataclasses import dataclass, field

from coatround.core.units import HOUR, MINUTE
from coatround.web.base.models import Worker
from coatround.web.records.models import (
    Caution,
    Dog,
    Household,
    Person,
    Place,
    PlaceKey,
    Product,
    RoutineStep,
    Usual,
    Van,
    WorkingHours,
)
from coatround.web.rounds.models import Run, Stop
from coatround.web.visits.models import Visit, VisitDog

TUESDAY = dt.date(2026, 3, 3)
CODE = "gate code 4711"


def at(clock: str) -> int:
    """Seconds after midnight: at("8:15") is 29700."""
    hours, minutes = clock.split(":")
    return int(hours) * HOUR + int(minutes) * MINUTE


def time(clock: str) -> dt.time:
    hours, minutes = clock.split(":")
    return dt.time(int(hours), int(minutes))


@dataclass
class RunOfFive:
    """The run and what it is made of, by name."""

    run: Run
    van: Van
    visits: dict[str, Visit] = field(default_factory=dict)
    dogs: dict[str, Dog] = field(default_factory=dict)
    products: dict[str, Product] = field(default_factory=dict)


def make_run(worker: Worker, date: dt.date = TUESDAY) -> RunOfFive:
    """Van Otter on a Tuesday: leaves 8:00, back 16:45; bath 12 litres, tank 110."""
    home = Place.objects.create(line="1 Weir Road", suburb="Hollow Ford", lat="-31.0", lon="152.0", refills=True)
    van = Van.objects.create(name="Otter", home=home, groomer=worker, clean_l=110, grey_l=120, bath_l=12)
    WorkingHours.objects.create(van=van, weekday=date.weekday(), open=time("7:30"), close=time("17:15"))
    run = Run.objects.create(
        van=van,
        groomer=worker,
        date=date,
        start_place=home,
        end_place=home,
        leave_seconds=at("8:00"),
        back_seconds=at("16:45"),
        accepted_at=dt.datetime(2026, 2, 20, tzinfo=dt.UTC),
    )
    five = RunOfFive(run, van)
    five.products = {
        "oat": Product.objects.create(
            name="Oat wash", ratio_other=16, ratio_rule="total", contact_minutes=5, bottle_ml=500
        ),
        "herb": Product.objects.create(name="Herb wash", ratio_other=9, contact_minutes=10, not_for="whelping, heart"),
        "silk": Product.objects.create(name="Silk rinse", kind="conditioner", ratio_other=32, contact_minutes=3),
        "ears": Product.objects.create(name="Ear drops", kind="ears"),
    }
    _visits(five)
    return five


def _visits(five: RunOfFive) -> None:
    _visit(five, "Ashby", ("Mop",), "8:15", "9:45", 34, "7:45 8:30", drive=15, coat="curly")
    biscuit = _visit(five, "Reed", ("Biscuit",), "10:05", "11:05", 22, "9:45 10:30", drive=20, coat="smooth")
    _visit(five, "Marsh", ("Quill", "Fig"), "11:18", "13:00", 46, "11:00 11:45", drive=13, coat="wire")
    _halt(five, "refill", "13:05", "13:20", drive=5)
    _halt(five, "break", "13:20", "13:50")
    odette = _visit(five, "Thorn", ("Odette",), "14:00", "15:06", 28, "13:45 14:30", drive=10, coat="silky")
    _visit(five, "Lowe", ("Bramble",), "15:24", "16:30", 25, None, drive=18, coat="double")
    for dog, kind, words in (
        ("Biscuit", "airway", "Noisy at rest. Cool dryer only, stop if the sound changes."),
        ("Biscuit", "bite", "Back feet. Towel under the chin, feet last."),
        ("Odette", "heart", "Tablets at noon. Two short washes, rest between."),
    ):
        Caution.objects.create(dog=five.dogs[dog], kind=kind, words=words)
    biscuit.place.gate, biscuit.place.parking, biscuit.place.tap = "blue, lift the latch", "on the verge", "may use"
    biscuit.place.save()
    PlaceKey.objects.create(place=biscuit.place, words=CODE)
    odette.answer = "NEEDS-ACTION"
    odette.save()


def _visit(
    five: RunOfFive,
    household_name: str,
    dogs: tuple[str, ...],
    start: str,
    end: str,
    litres: int,
    told: str | None,
    *,
    drive: int,
    coat: str,
) -> Visit:
    household = Household.objects.create(name=household_name)
    Person.objects.create(household=household, name=f"Kim {household_name}", phone="+61491570156")
    number = len(five.visits)
    place = Place.objects.create(
        household=household, line=f"{number + 3} Tannery Row", suburb="Hollow Ford", lat=f"-31.0{number}", lon="152.1"
    )
    visit = Visit.objects.create(household=household, place=place, date=five.run.date, van=five.van)
    if told:
        visit.told_from, visit.told_until = (time(clock) for clock in told.split())
        visit.state, visit.answer = "CONFIRMED", "ACCEPTED"
        visit.save()
    for order, name in enumerate(dogs):
        dog = Dog.objects.create(household=household, name=name, coat=coat, size="small", weight_grams=9_500)
        VisitDog.objects.create(visit=visit, dog=dog, order=order)
        five.dogs[name] = dog
        _usual(five, dog)
    five.visits[dogs[0]] = visit
    _stop(five, "visit", start, end, drive, litres, visit)
    return visit


def _usual(five: RunOfFive, dog: Dog) -> None:
    cut = {"body": {"how": "blade", "mm": 10}, "head": {"how": "scissored"}, "ears": {"how": "left alone"}}
    usual = Usual.objects.create(dog=dog, valid_from=dt.date(2025, 1, 1), cut=cut, price_cents=9000)
    steps = [
        ("check-over", None),
        ("nails", None),
        ("cotton in", None),
        ("brush-out", None),
        ("first wash", "oat"),
        ("second wash", "herb" if dog.name == "Odette" else "oat"),
        ("condition", "silk"),
        ("rinse", None),
        ("cotton out", None),
        ("towel", None),
        ("dryer", None),
        ("clip", None),
        ("scissor", None),
        ("wipe", "ears"),
        ("finish", None),
    ]
    RoutineStep.objects.bulk_create(
        RoutineStep(usual=usual, order=order, step=step, product=five.products[product] if product else None)
        for order, (step, product) in enumerate(steps)
    )


def _halt(five: RunOfFive, kind: str, start: str, end: str, drive: int = 0) -> None:
    _stop(five, kind, start, end, drive, 0, None)


def _stop(five: RunOfFive, kind: str, start: str, end: str, drive: int, litres: int, visit: Visit | None) -> None:
    order = five.run.stops.count()
    previous = five.run.stops.order_by("order").last()
    left = previous.end_seconds if previous else five.run.leave_seconds
    Stop.objects.create(
        run=five.run,
        order=order,
        kind=kind,
        visit=visit,
        place=None if visit else five.van.home,
        arrive_seconds=left + drive * MINUTE,
        start_seconds=at(start),
        end_seconds=at(end),
        drive_seconds=drive * MINUTE,
        drive_metres=drive * 450,
        water_l=litres,
    )

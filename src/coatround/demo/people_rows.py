"""Households, people, places, dogs, cautions, the usual and consents as rows."""

import datetime as dt
import uuid
from random import Random

from coatround.core.due_work import YOUNG_DAYS
from coatround.demo.breeds import CUTS, ROUTINES
from coatround.demo.cautions import CAUTIONS
from coatround.demo.firm_rows import FirmIds
from coatround.demo.people import DemoDog, DemoHousehold
from coatround.demo.rows import Ids, Rows, Wall, clock

PRICES_RAISED_WEEKS_AGO = 40
RAISE_CENTS = 500
GATES = (
    "side gate, lift and push",
    "green gate on the left",
    "no gate, straight up the drive",
    "gate sticks, mind the fingers",
)
PARKING = ("on the drive", "kerb in front", "round the corner, no room before the house", "behind the blue shed")
FOODS = ("lamb and rice kibble", "chicken kibble", "fish and oats", "tins with vegetables", "cooked at home")
SENT_BY = ("a neighbour", "the vet by the weir", "saw the van", "friend from the park", "")


def raised_on(monday: dt.date) -> dt.date:
    """When the prices went up."""
    return monday - dt.timedelta(weeks=PRICES_RAISED_WEEKS_AGO)


def price_on(dog: DemoDog, date: dt.date, monday: dt.date) -> int:
    """What the groom of a dog cost on a date, cents."""
    return dog.price_cents - (RAISE_CENTS if date < raised_on(monday) else 0)


def routine(dog: DemoDog) -> list[tuple[str, str, str]]:
    """The dog's own steps in order: step, product or nothing, how."""
    steps = list(ROUTINES[dog.breed.coat])
    if {"airway", "heart"} & set(dog.cautions) and "dryer" in steps:
        steps[steps.index("dryer")] = "hand rub"
    if "throat" in dog.cautions or dog.story == "ear":
        steps = [step for step in steps if not step.startswith("cotton")]
    return [(step, _product(step, dog), _how(step, dog)) for step in steps]


def _product(step: str, dog: DemoDog) -> str:
    if step == "first wash":
        return "Oat wash" if {"skin", "product"} & set(dog.cautions) else "Plain wash"
    if step == "second wash":
        gentle = {"skin", "product"} & set(dog.cautions)
        return "Oat wash" if gentle or dog.cut else "Bright wash"
    return "Soft rinse" if step == "condition" else ""


def _how(step: str, dog: DemoDog) -> str:
    if step == "nails" and "bite" in dog.cautions:
        return "two people, hind feet last"
    if step == "hand rub" and dog.breed.coat != "smooth":
        return "towel and hand, no heated air"
    return ""


def household_rows(
    rows: Rows,
    ids: Ids,
    wall: Wall,
    household: DemoHousehold,
    starts: list[int],
    monday: dt.date,
    firm: FirmIds,
    chance: Random,
) -> None:
    """One household with all that is known of it. `starts` are the seconds after midnight at which it was visited."""
    made = wall.instant(household.joined - dt.timedelta(days=5), 18 * 3600)
    rows.add(
        "records.Household",
        id=household.id,
        made_at=made,
        name=household.name,
        how_found=chance.choice(SENT_BY),
        notes="Rings back after six." if chance.random() < 0.08 else "",
        closed_on=household.left,
        closed_why=household.left_why,
    )
    for person in household.people:
        rows.add(
            "records.Person",
            id=ids.at(made),
            made_at=made,
            household_id=household.id,
            name=person.name,
            phone=person.phone,
            email=person.email,
            may_decide=person.may_decide,
            second_contact=person.second,
        )
    _place(rows, ids, household, made, chance)
    for dog in household.dogs:
        _dog(rows, ids, wall, household, dog, starts, made, monday, firm, chance)
    _consents(rows, ids, wall, household, firm, chance)


def _place(rows: Rows, ids: Ids, household: DemoHousehold, made: dt.datetime, chance: Random) -> None:
    home = household.address
    rows.add(
        "records.Place",
        id=household.place_id,
        made_at=made,
        household_id=household.id,
        line=home.line,
        suburb=home.suburb,
        postcode=home.postcode,
        lat=f"{home.point.lat:.6f}",
        lon=f"{home.point.lon:.6f}",
        gate=chance.choice(GATES) if chance.random() < 0.5 else "",
        parking=chance.choice(PARKING),
        tap=chance.choice(("unknown", "may use", "may use", "none", "asked")),
        plug=chance.choice(("unknown", "may use", "none", "asked")),
    )
    if chance.random() < 0.12:
        words = f"Gate code {chance.randint(1000, 9999)}" if chance.random() < 0.6 else "Key under the third flower pot"
        rows.add("records.PlaceKey", id=ids.at(made), made_at=made, place_id=household.place_id, words=words)


def _dog(
    rows: Rows,
    ids: Ids,
    wall: Wall,
    household: DemoHousehold,
    dog: DemoDog,
    starts: list[int],
    made: dt.datetime,
    monday: dt.date,
    firm: FirmIds,
    chance: Random,
) -> None:
    known = chance.choices(("seen", "told", "unknown", "none"), (40, 40, 17, 3))[0]
    ends = monday + dt.timedelta(days=chance.randint(-60, 330))
    if (monday - dog.born).days < YOUNG_DAYS:  # else it goes first in its run, whatever its household was told
        known, ends = "seen", monday + dt.timedelta(days=200)
    gone = dog.died or household.left
    rows.add(
        "records.Dog",
        id=dog.id,
        made_at=made,
        household_id=household.id,
        name=dog.name,
        breed=dog.breed.words,
        coat=dog.breed.coat,
        size=dog.breed.size,
        weight_grams=dog.grams,
        born=dog.born,
        sex=dog.sex,
        microchip=dog.chip if chance.random() < 0.7 else "",
        vet_id=chance.choice(firm.vets) if chance.random() < 0.8 else None,
        vaccinated_until=ends if known in ("seen", "told") else None,
        vaccination_known=known,
        last_groomed_before=household.joined - dt.timedelta(weeks=chance.randint(5, 9)),
        closed_on=gone,
        closed_why="died of old age" if dog.died else household.left_why,
    )
    _cautions(rows, ids, wall, household, dog, chance)
    _foods(rows, wall, household, dog, monday)
    joined = household.joined - dt.timedelta(days=5)
    first_start = raised_on(monday)
    if joined < first_start:
        _usual(rows, ids, wall, household, dog, starts, joined, first_start - dt.timedelta(days=1), monday, firm)
    _usual(rows, ids, wall, household, dog, starts, max(joined, first_start), gone, monday, firm)


def _cautions(rows: Rows, ids: Ids, wall: Wall, household: DemoHousehold, dog: DemoDog, chance: Random) -> None:
    for kind in dict.fromkeys(dog.cautions):
        since = household.joined + dt.timedelta(days=chance.randint(0, 40))
        made = wall.instant(since, 17 * 3600)
        words = chance.choice(CAUTIONS[kind])
        rows.add("records.Caution", id=ids.at(made), made_at=made, dog_id=dog.id, kind=kind, words=words, since=since)


def _foods(rows: Rows, wall: Wall, household: DemoHousehold, dog: DemoDog, monday: dt.date) -> None:
    """What some dogs are fed, by a chance of their own: each with a caution for its skin, one in six others."""
    own = Random(f"food {dog.id}")
    if "skin" not in dog.cautions and own.random() > 1 / 6:
        return
    ids, gone = Ids(own), dog.died or household.left
    changed = monday - dt.timedelta(weeks=own.randint(5, 30))
    first, second = own.sample(FOODS, 2)
    periods = [(first, household.joined, changed), (second, changed, None)]
    for words, since, until in (
        periods if changed > household.joined and not gone else [(first, household.joined, gone)]
    ):
        made = wall.instant(since, 17 * 3600)
        rows.add("records.Food", id=ids.at(made), made_at=made, dog_id=dog.id, words=words, since=since, until=until)


def _usual(
    rows: Rows,
    ids: Ids,
    wall: Wall,
    household: DemoHousehold,
    dog: DemoDog,
    starts: list[int],
    first: dt.date,
    last: dt.date | None,
    monday: dt.date,
    firm: FirmIds,
) -> None:
    made = wall.instant(first, 18 * 3600)
    middle = sorted(starts)[len(starts) // 2] // 900 * 900 if starts else None
    hours = {"morning": (None, dt.time(13)), "": (None, None), "afternoon": (dt.time(12), None)}
    usual = rows.add(
        "records.Usual",
        id=ids.at(made),
        made_at=made,
        dog_id=dog.id,
        valid_from=first,
        valid_until=last,
        interval_weeks=dog.weeks,
        days_early=7,
        days_late=7,
        weekdays=household.weekdays,
        hours_from=hours[household.part_of_day][0],
        hours_until=hours[household.part_of_day][1],
        usual_weekday=household.weekday,
        usual_time=None if middle is None else clock(middle),
        cut=CUTS[dog.breed.coat][dog.cut % len(CUTS[dog.breed.coat])],
        price_cents=price_on(dog, first, monday),
    )
    for order, (step, product, words) in enumerate(routine(dog)):
        rows.add(
            "records.RoutineStep",
            id=ids.at(made),
            made_at=made,
            usual_id=usual,
            order=order,
            step=step,
            product_id=firm.products[product].id if product else None,
            words=words,
        )


def _consents(rows: Rows, ids: Ids, wall: Wall, household: DemoHousehold, firm: FirmIds, chance: Random) -> None:
    """What the household agreed to on the first visit; the words shown are filled in where they are written."""
    at = wall.instant(household.joined, 10 * 3600)
    wanted: list[tuple[uuid.UUID | None, str, bool]]
    wanted = [(None, "photos kept", chance.random() < 0.9), (None, "vet", chance.random() < 0.85)]
    wanted += [(None, "nobody home", True)] if chance.random() < 0.15 else []
    wanted += [(None, "photos shown", chance.random() < 0.5)] if chance.random() < 0.4 else []
    for dog in household.dogs:
        wanted += [(dog.id, "stop half", True)] if "age" in dog.cautions else []
        wanted += [(dog.id, "muzzle", True)] if "bite" in dog.cautions and "airway" not in dog.cautions else []
    for dog_id, kind, agreed in wanted:
        rows.add(
            "records.Consent",
            id=ids.at(at),
            made_at=at,
            household_id=household.id,
            dog_id=dog_id,
            kind=kind,
            agreed=agreed,
            person=household.people[0].name,
            at=at,
            words="",
            limit_cents=chance.choice((20_000, 30_000, 50_000)) if kind == "vet" and agreed else None,
            written_by_id=firm.groomers[household.number // 1000],
        )

"""The households of one van's part of the town: people, places, dogs, and what is settled for each dog."""

import datetime as dt
import math
import uuid
from dataclasses import dataclass, field
from random import Random

from coatround.core.trade.water import litres_for
from coatround.demo import town
from coatround.demo.breeds import BREEDS, ROUTINES, WEIGHTS, Breed
from coatround.demo.cautions import CAUTIONS, chance_cautions
from coatround.demo.names import DOG_NAMES, FIRST_NAMES, surname

BETWEEN_DOGS = 0.20
DOGS_A_SUBURB = 15
WEEKS_OF_HISTORY = 104
DRAMA_MOBILES = ("006", "110", "156", "157", "158", "159", "313", "737")
"""Australian mobile numbers after 0491 570 that are set aside for invented people."""
DRAMA_LINES = ("5550", "7010")
"""Australian numbers after an area code that are set aside for invented people, ten thousand each."""
AREA_CODES = ("2", "3", "7", "8")
UNUSED_CHIP_CODE = 899
"""A country code of microchips (ISO 3166 numeric) that no country has."""


@dataclass(slots=True)
class DemoDog:
    """One dog: its facts, its own pace, and its story where it has one."""

    name: str
    breed: Breed
    born: dt.date
    sex: str
    grams: int
    chip: str
    weeks: int
    seconds: float
    price_cents: int
    cut: int
    cautions: list[str]
    story: str = ""
    id: uuid.UUID = field(default_factory=lambda: uuid.UUID(int=0))
    usual_id: uuid.UUID = field(default_factory=lambda: uuid.UUID(int=0))
    died: dt.date | None = None

    @property
    def litres(self) -> int:
        washes = 2 if "second wash" in ROUTINES[self.breed.coat] else 1
        return litres_for(self.breed.coat, self.breed.size, self.grams, washes)


@dataclass(slots=True)
class DemoPerson:
    """One person of a household."""

    name: str
    phone: str
    email: str
    may_decide: bool = True
    second: bool = False


@dataclass(slots=True)
class DemoHousehold:
    """One household: who, where, since when, and when it is usually visited."""

    name: str
    people: list[DemoPerson]
    address: town.Address
    dogs: list[DemoDog]
    joined: dt.date
    weekday: int
    weekdays: list[int]
    part_of_day: str
    pays: str
    number: int
    left: dt.date | None = None
    left_why: str = ""
    told: bool = False
    id: uuid.UUID = field(default_factory=lambda: uuid.UUID(int=0))
    place_id: uuid.UUID = field(default_factory=lambda: uuid.UUID(int=0))


def phone(number: int) -> str:
    """A number nobody has: the few mobiles set aside for fiction, then the lines set aside for fiction."""
    if number < len(DRAMA_MOBILES):
        return f"+61491570{DRAMA_MOBILES[number]}"
    number -= len(DRAMA_MOBILES)
    ending = number * 7919 % 10_000
    block = number // 10_000 % (len(AREA_CODES) * len(DRAMA_LINES))
    return f"+61{AREA_CODES[block // 2]}{DRAMA_LINES[block % 2]}{ending:04d}"


def households(seed: int, monday: dt.date, van: int, dogs: int) -> list[DemoHousehold]:
    """The households of one van's suburbs, until their dogs are so many."""
    chance = Random(f"{seed}/van/{van}/households")
    first_suburb = van * town.SUBURBS_A_VAN
    suburbs = [town.suburb(first_suburb + each, seed) for each in range(max(1, math.ceil(dogs / DOGS_A_SUBURB)))]
    taken: dict[str, set[str]] = {each.name: set() for each in suburbs}
    found: list[DemoHousehold] = []
    left = dogs
    names = DOG_NAMES[:]
    chance.shuffle(names)
    while left:
        size = min(left, chance.choices((1, 2, 3), (79, 17, 4))[0])
        place = suburbs[len(found) * 7 % len(suburbs)]
        own = [_dog(names[(dogs - left + each) % len(names)], monday, chance) for each in range(size)]
        home = town.address(place, chance, taken[place.name])
        found.append(_household(van * 1000 + len(found), home, own, monday, chance))
        left -= size
    if van == 0:
        _give_stories(found, monday)
    return found


def _household(number: int, home: town.Address, dogs: list[DemoDog], monday: dt.date, chance: Random) -> DemoHousehold:
    last = surname(number * 37 + number // 480)
    people = [_person(number * 2, chance.choice(FIRST_NAMES), last, chance)]
    if chance.random() < 0.4:
        other = chance.choice([name for name in FIRST_NAMES if not people[0].name.startswith(f"{name} ")])
        people.append(_person(number * 2 + 1, other, last, chance, second=True))
    weeks = WEEKS_OF_HISTORY if chance.random() < 0.72 else chance.randint(8, 90)
    weekday = chance.randrange(5)
    others = sorted({weekday, *(chance.randrange(5) for _ in range(3))})
    return DemoHousehold(
        name=f"{people[0].name.split()[0]} & {people[1].name}" if len(people) > 1 else people[0].name,
        people=people,
        address=home,
        dogs=dogs,
        joined=monday - dt.timedelta(weeks=weeks) + dt.timedelta(days=chance.randrange(28)),
        weekday=weekday,
        weekdays=others if chance.random() < 0.35 else [],
        part_of_day=chance.choices(("", "morning", "afternoon"), (76, 12, 12))[0],
        pays=chance.choices(("card", "cash", "transfer"), (45, 20, 35))[0],
        number=number,
        told=chance.random() < 0.45,
    )


def _person(number: int, first: str, last: str, chance: Random, *, second: bool = False) -> DemoPerson:
    email = f"{first}.{last}.{number}@example.org".lower() if chance.random() < 0.8 else ""
    return DemoPerson(
        f"{first} {last}", phone(number), email, may_decide=not second or chance.random() < 0.7, second=second
    )


def _dog(name: str, monday: dt.date, chance: Random) -> DemoDog:
    breed = chance.choices(BREEDS, WEIGHTS)[0]
    years = min(15.5, max(0.6, chance.gauss(6.0, 3.6)))
    spread = math.sqrt(math.log(1 + BETWEEN_DOGS**2))
    own_pace = math.exp(chance.gauss(0, spread) - spread**2 / 2)
    return DemoDog(
        name=name,
        breed=breed,
        born=monday - dt.timedelta(days=round(years * 365.25)),
        sex=chance.choice(("spayed", "neutered", "spayed", "neutered", "female", "male")),
        grams=round(breed.grams * chance.uniform(0.85, 1.15) / 100) * 100,
        chip=f"{UNUSED_CHIP_CODE}{chance.randrange(270_000_000_000):012d}",
        weeks=chance.choice(breed.weeks),
        seconds=breed.minutes * 60 * own_pace,
        price_cents=(breed.dollars + 5 * round(2 * (own_pace - 1) * breed.minutes / 10)) * 100,
        cut=chance.randrange(2),
        cautions=chance_cautions(breed, years, chance),
    )


def _give_stories(found: list[DemoHousehold], monday: dt.date) -> None:
    """The first van's dogs hold what the watch is for, and each kind of caution at least once."""
    long_known = [each for each in found if (monday - each.joined).days > 600 and not each.left]
    dogs = [dog for each in long_known for dog in each.dogs]
    sober = [dog for dog in dogs if not dog.breed.flat_face]
    for dog, story in zip(sober[2::4], ("loss", "gain", "ear", "lump", "thin coat", "bite"), strict=False):
        dog.story = story
        if story == "bite" and "bite" not in dog.cautions:
            dog.cautions.append("bite")
    has = {kind for each in found for dog in each.dogs for kind in dog.cautions}
    for number, kind in enumerate(kind for kind in CAUTIONS if kind not in has):
        dog = dogs[(5 + number * 7) % len(dogs)] if dogs else found[0].dogs[0]
        if kind == "whelping":
            dog.sex = "female"
        dog.cautions.append(kind)
    if len(found) > 40:
        found[31].left, found[31].left_why = monday - dt.timedelta(weeks=20), "moved away"
        found[37].left, found[37].left_why = monday - dt.timedelta(weeks=9), "goes to family now"
        old = max(
            (dog for each in found for dog in each.dogs if len(each.dogs) > 1), key=lambda dog: -dog.born.toordinal()
        )
        old.died = monday - dt.timedelta(weeks=6)

"""The invented town of Hollow Ford on the river Tarrow: suburbs, streets, house numbers, and where they lie.

It is placed in a desert where no town is. Suburbs lie round the middle like seeds in a sunflower head, so that a
bigger town is the smaller one with more round it.
"""

import math
from dataclasses import dataclass
from random import Random

from coatround.demo.names import STREET_KINDS, STREET_NAMES, suburb_name

MIDDLE = (-29.60, 128.90)
METRES_A_DEGREE = 111_195.0
SPACING_METRES = 950.0
GOLDEN_ANGLE = math.pi * (3 - math.sqrt(5))
STREETS_A_SUBURB = 5
FIRST_POSTCODE = 9001
ROADS_LONGER_THAN_A_LINE = 1.35


@dataclass(frozen=True, slots=True)
class Point:
    """A point in degrees north and east."""

    lat: float
    lon: float


@dataclass(frozen=True, slots=True)
class Street:
    """A straight street between two points, its houses numbered from the first, odd on the left."""

    name: str
    begins: Point
    ends: Point
    houses: int


@dataclass(frozen=True, slots=True)
class Suburb:
    """A suburb with its middle, postcode and streets."""

    name: str
    postcode: str
    middle: Point
    streets: tuple[Street, ...]


@dataclass(frozen=True, slots=True)
class Address:
    """A house in a street."""

    line: str
    suburb: str
    postcode: str
    point: Point


def moved(point: Point, east_metres: float, north_metres: float) -> Point:
    """The point so many metres further east and north."""
    lat = point.lat + north_metres / METRES_A_DEGREE
    lon = point.lon + east_metres / (METRES_A_DEGREE * math.cos(math.radians(point.lat)))
    return Point(round(lat, 6), round(lon, 6))


def line_metres(here: Point, there: Point) -> float:
    """The straight line between two points of a town, metres (flat: right to 0.1 % over 50 km)."""
    north = (there.lat - here.lat) * METRES_A_DEGREE
    east = (there.lon - here.lon) * METRES_A_DEGREE * math.cos(math.radians((here.lat + there.lat) / 2))
    return math.hypot(north, east)


def drive(here: Point, there: Point) -> tuple[int, int]:
    """Seconds and metres by road in this town, where a longer drive is a faster one."""
    metres = line_metres(here, there) * ROADS_LONGER_THAN_A_LINE
    metres_a_second = 7 + 8 * metres / (metres + 6000)
    return round(60 + metres / metres_a_second), round(metres)


def suburb(number: int, seed: int) -> Suburb:
    """The town's suburb of that number, always the same for the same seed."""
    chance = Random(f"{seed}/suburb/{number}")
    far = SPACING_METRES * math.sqrt(number)
    angle = number * GOLDEN_ANGLE
    east = far * math.cos(angle) + chance.uniform(-120, 120)
    north = far * math.sin(angle) + chance.uniform(-120, 120)
    middle = moved(Point(*MIDDLE), east, north)
    turned = chance.uniform(-0.5, 0.5)
    streets = tuple(
        _street(number * STREETS_A_SUBURB + each, each, middle, turned, chance) for each in range(STREETS_A_SUBURB)
    )
    return Suburb(suburb_name(number), str(FIRST_POSTCODE + number % 900), middle, streets)


def _street(number: int, place: int, middle: Point, turned: float, chance: Random) -> Street:
    """Streets of a suburb are parallel, 160 m apart, but the last, which crosses them."""
    name = f"{STREET_NAMES[number * 5 % len(STREET_NAMES)]} {STREET_KINDS[number * 3 % len(STREET_KINDS)]}"
    crosses = place == STREETS_A_SUBURB - 1
    bearing = turned + (math.pi / 2 if crosses else 0)
    half = chance.uniform(200, 380)
    aside = 0.0 if crosses else (place - 1.5) * 160
    along = (math.cos(bearing), math.sin(bearing))
    start = moved(middle, -aside * math.sin(turned), aside * math.cos(turned))
    begins = moved(start, -half * along[0], -half * along[1])
    return Street(name, begins, moved(start, half * along[0], half * along[1]), houses=int(half / 6))


def address(place: Suburb, chance: Random, taken: set[str]) -> Address:
    """A house of the suburb that nobody lives in yet."""
    while True:
        street = chance.choice(place.streets)
        number = chance.randint(1, street.houses)
        line = f"{number} {street.name}"
        if line not in taken:
            taken.add(line)
            return Address(line, place.name, place.postcode, _house(street, number))


def _house(street: Street, number: int) -> Point:
    """Where a house stands: along its street by its number, 12 m to one side."""
    share = (number + 0.5) / (street.houses + 1)
    lat = street.begins.lat + share * (street.ends.lat - street.begins.lat)
    lon = street.begins.lon + share * (street.ends.lon - street.begins.lon)
    angle = math.atan2(street.ends.lat - street.begins.lat, street.ends.lon - street.begins.lon)
    side = 12 if number % 2 else -12
    return moved(Point(lat, lon), -side * math.sin(angle), side * math.cos(angle))


def river() -> tuple[Point, ...]:
    """The Tarrow, from west to east through the middle of the town."""
    bends = ((step * 500, 420 * math.sin(step / 3) + 160 * math.sin(step / 1.3)) for step in range(-60, 61))
    return tuple(moved(Point(*MIDDLE), east, north - 260) for east, north in bends)

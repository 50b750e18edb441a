"""The invented town of Hollow Ford on the river Tarrow: suburbs, streets, house numbers, and where they lie.

It is placed in a desert where no town is. Suburbs lie round the middle like seeds in a sunflower head, so that a
bigger town is the smaller one with more round it.
"""

import math
from dataclasses import dataclass
from random import Random

from coatround.demo.names import street_name, suburb_name

MIDDLE = (-29.60, 128.90)
METRES_A_DEGREE = 111_195.0
SPACING_METRES = 800.0
GOLDEN_ANGLE = math.pi * (3 - math.sqrt(5))
STREETS_A_SUBURB = 5
APART_METRES = 160
HALF_METRES = (240, 400)
STREET_PIECES = 3
"""A street bends twice on each half."""
BEND_METRES = 400
BANK_METRES = 45
SUBURBS_A_VAN = 9
BEND_EVERY_METRES = 500
FIRST_POSTCODE = 9001
ROADS_LONGER_THAN_A_LINE = 1.35


@dataclass(frozen=True, slots=True)
class Point:
    """A point in degrees north and east."""

    lat: float
    lon: float


@dataclass(frozen=True, slots=True)
class Street:
    """A street along its points, its houses numbered from the first, odd on the left."""

    name: str
    points: tuple[Point, ...]
    half_metres: float
    houses: int


@dataclass(frozen=True, slots=True)
class Lie:
    """How a suburb's streets lie: where its middle is, how far they are turned (radians), how much they bend."""

    middle: Point
    turned: float
    bow: float
    lean: float

    def spot(self, along: float, aside: float) -> Point:
        """The point so many metres along the parallel streets and aside of them."""
        bent_along = along + self.lean * (aside / BEND_METRES) ** 2
        bent_aside = aside + self.bow * (along / BEND_METRES) ** 2
        cos, sin = math.cos(self.turned), math.sin(self.turned)
        return moved(self.middle, bent_along * cos - bent_aside * sin, bent_along * sin + bent_aside * cos)


@dataclass(frozen=True, slots=True)
class Suburb:
    """A suburb with its postcode, how it lies, and its streets: parallel ones, and last the one that crosses them."""

    name: str
    postcode: str
    lie: Lie
    streets: tuple[Street, ...]

    @property
    def middle(self) -> Point:
        return self.lie.middle


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
    far = SPACING_METRES * math.sqrt(number + 0.5)
    angle = number * GOLDEN_ANGLE
    east = far * math.cos(angle) + chance.uniform(-90, 90)
    north = far * math.sin(angle) + chance.uniform(-90, 90)
    lie = Lie(
        moved(Point(*MIDDLE), east, north), chance.uniform(-0.5, 0.5), chance.uniform(-50, 50), chance.uniform(-40, 40)
    )
    streets = tuple(_street(number, place, lie, chance) for place in range(STREETS_A_SUBURB))
    return Suburb(suburb_name(number), str(FIRST_POSTCODE + number % 900), lie, streets)


def _street(number: int, place: int, lie: Lie, chance: Random) -> Street:
    """Streets of a suburb are parallel, 160 m apart, but the last, which crosses them."""
    half = chance.uniform(*HALF_METRES)
    lengths = [half * (step / STREET_PIECES - 1) for step in range(2 * STREET_PIECES + 1)]
    if place == STREETS_A_SUBURB - 1:
        points = tuple(lie.spot(0, length) for length in lengths)
    else:
        points = tuple(lie.spot(length, (place - 1.5) * APART_METRES) for length in lengths)
    return Street(street_name(number * STREETS_A_SUBURB + place), points, half, houses=int(half / 6))


def address(place: Suburb, chance: Random, taken: set[str]) -> Address:
    """A house of the suburb that nobody lives in yet."""
    while True:
        street = chance.choice(place.streets)
        number = chance.randint(1, street.houses)
        line, point = f"{number} {street.name}", house(street, number)
        if line not in taken and river_metres(point) >= BANK_METRES:
            taken.add(line)
            return Address(line, place.name, place.postcode, point)


def houses(street: Street) -> list[tuple[int, Point]]:
    """All houses of a street by their number; none stands in the river or on its bank."""
    every = [(number, house(street, number)) for number in range(1, street.houses + 1)]
    return [(number, point) for number, point in every if river_metres(point) >= BANK_METRES]


def house(street: Street, number: int) -> Point:
    """Where a house stands: along its street by its number, 12 m to one side."""
    piece, share = place_along(street, number)
    begins, ends = street.points[piece], street.points[piece + 1]
    north, east = ends.lat - begins.lat, (ends.lon - begins.lon) * math.cos(math.radians(begins.lat))
    far = math.hypot(north, east)
    side = 12 if number % 2 else -12
    beside = Point(begins.lat + share * north, begins.lon + share * (ends.lon - begins.lon))
    return moved(beside, -side * north / far, side * east / far)


def place_along(street: Street, number: int) -> tuple[int, float]:
    """On which piece of its street a house stands, and at which share of the piece."""
    pieces = len(street.points) - 1
    along = (number + 0.5) / (street.houses + 1) * pieces
    return min(pieces - 1, int(along)), along - min(pieces - 1, int(along))


def depot_yard(place: Suburb) -> Point:
    """Where a van that works in and round a suburb stays at night."""
    return moved(place.middle, 900, -500)


def weir_tap(place: Suburb) -> Point:
    """Where such a van fills and empties its tanks."""
    return moved(place.middle, -700, 800)


def river(far_metres: float = 30_000) -> tuple[Point, ...]:
    """The Tarrow, from so far west to so far east through the middle of the town."""
    most = math.ceil(far_metres / BEND_EVERY_METRES)
    return tuple(moved(Point(*MIDDLE), *_bend(step)) for step in range(-most, most + 1))


def _bend(step: int) -> tuple[float, float]:
    return step * BEND_EVERY_METRES, 420 * math.sin(step / 3) + 160 * math.sin(step / 1.3) - 260


def from_middle(point: Point) -> tuple[float, float]:
    """Metres east and north of the town's middle (flat)."""
    east = (point.lon - MIDDLE[1]) * METRES_A_DEGREE * math.cos(math.radians(MIDDLE[0]))
    return east, (point.lat - MIDDLE[0]) * METRES_A_DEGREE


def river_metres(point: Point) -> float:
    """How far a point lies from the river."""
    return river_metres_at(*from_middle(point))


def river_metres_at(east: float, north: float) -> float:
    """How far a place so many metres east and north of the middle lies from the river, where that is under 250 m."""
    step = math.floor(east / BEND_EVERY_METRES)
    return min(_piece_metres(east, north, _bend(near), _bend(near + 1)) for near in (step - 1, step, step + 1))


def _piece_metres(east: float, north: float, begin: tuple[float, float], end: tuple[float, float]) -> float:
    along = (end[0] - begin[0], end[1] - begin[1])
    share = ((east - begin[0]) * along[0] + (north - begin[1]) * along[1]) / (along[0] ** 2 + along[1] ** 2)
    share = max(0.0, min(1.0, share))
    return math.hypot(begin[0] + share * along[0] - east, begin[1] + share * along[1] - north)

"""The kit: all that must be in the van for a run, with a margin for its spread, rounded up to what can be loaded."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import ceil, sqrt

SPREAD = 0.20  # of what one groom uses, until it is learnt: our own default
ONE_SIDED_95 = 1.645  # standard normal: enough on 19 runs of 20
# Towels a washed dog takes: our own default.
TOWELS_BY_SIZE = {"tiny": 1, "small": 2, "medium": 3, "large": 4, "giant": 6}
TOWELS_MORE = {"double": 1, "curly": 1}
COTTON_A_DOG = 2  # one piece an ear, common practice
DOGS_A_BLADE = 4  # then a cool, clean one: our own default
CUT_TOOLS = ("blade", "comb")


@dataclass(frozen=True, slots=True)
class Use:
    """So many millilitres of one product in one groom; `product` is its id, bottles hold `bottle_ml`."""

    product: str
    name: str
    ml: int
    bottle_ml: int


@dataclass(frozen=True, slots=True)
class GroomPlan:
    """What one dog of the run needs. `tools` are (how, millimetres) of its cut."""

    coat: str
    size: str
    uses: tuple[Use, ...] = ()
    steps: tuple[str, ...] = ()
    tools: tuple[tuple[str, float], ...] = ()

    @property
    def is_washed(self) -> bool:
        """Whether its routine has a wash."""
        return "first wash" in self.steps or "second wash" in self.steps


@dataclass(frozen=True, slots=True)
class ProductLine:
    """One product to load: what the run should use, what to carry with the margin, and bottles that hold it."""

    product: str
    name: str
    expected_ml: int
    carry_ml: int
    bottle_ml: int
    bottles: int


@dataclass(frozen=True, slots=True)
class ToolLine:
    """A blade or comb of one length: how many to load, for how many dogs."""

    how: str
    mm: float
    pieces: int
    dogs: int


@dataclass(frozen=True, slots=True)
class WaterLine:
    """The run's water: expected litres, litres with the margin, and what tank and refills give."""

    expected_l: int
    carry_l: int
    holds_l: int

    @property
    def is_enough(self) -> bool:
        """Whether tank and refills give what the margin asks."""
        return self.carry_l <= self.holds_l


@dataclass(frozen=True, slots=True)
class Kit:
    """All that a run needs."""

    products: tuple[ProductLine, ...]
    tools: tuple[ToolLine, ...]
    towels: int
    cotton_pieces: int
    water: WaterLine


def with_margin(amounts: Iterable[float], spread: float = SPREAD) -> float:
    """The sum and a margin that is enough 19 times of 20, when each amount varies by `spread` on its own.

    sum + 1.645 * spread * sqrt(sum of squares): many small uses need a smaller share of margin than one large one.
    """
    values = list(amounts)
    return sum(values) + ONE_SIDED_95 * spread * sqrt(sum(value * value for value in values))


def kit(grooms: Sequence[GroomPlan], water_l: Sequence[int], tank_l: int, refills: int) -> Kit:
    """What to load for these grooms; `water_l` are the litres of each visit, `tank_l` what the tank holds."""
    towels = [_towels(groom) for groom in grooms if groom.is_washed]
    cotton = [COTTON_A_DOG for groom in grooms if "cotton in" in groom.steps]
    water = WaterLine(sum(water_l), ceil(with_margin(water_l)), tank_l * (1 + refills))
    return Kit(_products(grooms), _tools(grooms), ceil(with_margin(towels)), ceil(with_margin(cotton)), water)


def _towels(groom: GroomPlan) -> int:
    return TOWELS_BY_SIZE.get(groom.size, TOWELS_BY_SIZE["medium"]) + TOWELS_MORE.get(groom.coat, 0)


def _products(grooms: Sequence[GroomPlan]) -> tuple[ProductLine, ...]:
    uses: dict[str, list[Use]] = {}
    for groom in grooms:
        for use in groom.uses:
            uses.setdefault(use.product, []).append(use)
    lines = [_product_line(group) for group in uses.values()]
    return tuple(sorted(lines, key=lambda line: (line.name, line.product)))


def _product_line(uses: Sequence[Use]) -> ProductLine:
    first = uses[0]
    carry_ml = ceil(with_margin(use.ml for use in uses))
    bottle_ml = max(first.bottle_ml, 1)
    expected_ml = sum(use.ml for use in uses)
    return ProductLine(first.product, first.name, expected_ml, carry_ml, bottle_ml, -(-carry_ml // bottle_ml))


def _tools(grooms: Sequence[GroomPlan]) -> tuple[ToolLine, ...]:
    dogs = Counter(tool for groom in grooms for tool in set(groom.tools) if tool[0] in CUT_TOOLS)
    return tuple(ToolLine(how, mm, -(-count // DOGS_A_BLADE), count) for (how, mm), count in sorted(dogs.items()))

"""A dog's routine as baths: which products go in together, how many millilitres, minutes of contact."""

from collections.abc import Sequence
from itertools import groupby

from coatround.core.errors import BadInput
from coatround.core.trade import mix as core
from coatround.core.trade.kit import GroomPlan, Use
from coatround.web.records import words as record_words
from coatround.web.records.models import Caution, Dog, Product, RoutineStep
from coatround.web.runs.sheet import SheetBath, SheetPour
from coatround.web.runs.words import ratio_words

STEPS = dict(record_words.STEPS)
IN_THE_BATH = ("shampoo", "conditioner")
NEAT_ML = 10  # of a product used as it comes, an ear cleaner say: our own default


def label(product: Product) -> core.Product:
    """The product as its label has it; a ratio that cannot be is taken as undiluted, and shown so."""
    try:
        ratio = core.Ratio(product.ratio_product, product.ratio_other, _rule(product))
    except BadInput:
        ratio = core.Ratio(1, 0, "water")
    return core.Product(product.name, ratio, product.contact_minutes, product.not_for)


def _rule(product: Product) -> core.Rule:
    return "total" if product.ratio_rule == "total" else "water"


def baths_of(steps: Sequence[RoutineStep], bath_l: int) -> tuple[SheetBath, ...]:
    """One bath for every run of the same step that names products; several products share it."""
    baths = []
    for step, group in groupby(steps, key=lambda each: each.step):
        products = [each.product for each in group if each.product is not None]
        in_bath = [product for product in products if product.kind in IN_THE_BATH]
        neat = [product for product in products if product.kind not in IN_THE_BATH]
        if in_bath:
            baths.append(_bath(str(STEPS[step]), in_bath, bath_l))
        if neat:
            pours = tuple(SheetPour(product.name, None, "", product.contact_minutes) for product in neat)
            baths.append(SheetBath(str(STEPS[step]), None, pours, max(pour.contact_minutes for pour in pours)))
    return tuple(baths)


def _bath(step: str, products: Sequence[Product], bath_l: int) -> SheetBath:
    pours = tuple(
        SheetPour(product.name, ml_of(product, bath_l), ratio_words(product), product.contact_minutes)
        for product in products
    )
    return SheetBath(step, bath_l, pours, max(pour.contact_minutes for pour in pours))


def ml_of(product: Product, bath_l: int) -> int:
    """Millilitres of a product in a bath of so many litres."""
    return core.product_ml(label(product).ratio, bath_l)


def against(steps: Sequence[RoutineStep], cautions: Sequence[Caution]) -> tuple[core.NotFor, ...]:
    """What labels and cautions say against the products of a routine."""
    known = [core.Caution(caution.kind, caution.words) for caution in cautions]
    products = {each.product_id: each.product for each in steps if each.product is not None}
    return tuple(found for product in products.values() for found in core.not_for(label(product), known))


def groom_plan(dog: Dog, steps: Sequence[RoutineStep], cut: dict[str, dict[str, object]], bath_l: int) -> GroomPlan:
    """What the dog's groom needs of the kit."""
    uses = tuple(
        Use(str(step.product.pk), step.product.name, _use_ml(step.product, bath_l), step.product.bottle_ml)
        for step in steps
        if step.product is not None
    )
    return GroomPlan(dog.coat, dog.size, uses, tuple(step.step for step in steps), _tools(cut))


def _use_ml(product: Product, bath_l: int) -> int:
    return ml_of(product, bath_l) if product.kind in IN_THE_BATH else NEAT_ML


def _tools(cut: dict[str, dict[str, object]]) -> tuple[tuple[str, float], ...]:
    tools = []
    for said in cut.values():
        how, mm = said.get("how"), said.get("mm")
        if isinstance(how, str) and isinstance(mm, int | float):
            tools.append((how, float(mm)))
    return tuple(tools)

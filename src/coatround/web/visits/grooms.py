"""Keeps a groom with its steps, findings and measures; what a record leaves out is filled from the usual."""

import uuid
from collections.abc import Iterable, Sequence
from dataclasses import asdict, replace
from typing import Any

from django.utils.translation import gettext as _

from coatround.core.checking import Refused, plain
from coatround.core.trade.mix import Ratio, product_ml
from coatround.core.visit_bodies import Cotton, GroomBody, Measures, StepDone
from coatround.web.records.models import Dog, Product, RoutineStep, Usual
from coatround.web.records.usual import in_force
from coatround.web.visits.models import Finding, Groom, GroomStep, Measure, Visit

ASKED_BATH_L = 12  # our own default, where no van is named
MEASURE_KINDS = {
    "weight_grams": "weight",
    "condition": "condition",
    "left_ear": "left ear",
    "right_ear": "right ear",
    "skin": "skin",
    "hair_grams": "hair",
    "hair_grade": "hair grade",
}


def keep_groom(body: GroomBody, visit: Visit, dog: Dog, shared: dict[str, Any]) -> Groom:
    """The groom's row and the rows under it; `shared` are the columns that every fact has."""
    usual = in_force(visit.date).filter(dog=dog).prefetch_related("steps__product").first()
    is_usual = body.usual_done and body.state == "COMPLETED"
    steps = _steps(body, usual) if is_usual else body.steps
    _cotton_is_counted(body, steps if is_usual else ())
    products = _products(steps)
    bath_l = visit.van.bath_l if visit.van else ASKED_BATH_L
    groom = Groom.objects.create(**shared, **_columns(body, visit, dog, usual if is_usual else None))
    GroomStep.objects.bulk_create(_step_row(groom, order, step, products, bath_l) for order, step in enumerate(steps))
    Finding.objects.bulk_create(Finding(groom=groom, **asdict(found)) for found in body.findings)
    Measure.objects.bulk_create(_measure_rows(groom, body.measures))
    return groom


def _columns(body: GroomBody, visit: Visit, dog: Dog, usual: Usual | None) -> dict[str, Any]:
    cotton = body.cotton or Cotton()
    seconds = body.work_seconds
    if seconds is None and body.started_at and body.ended_at:
        seconds = int((body.ended_at - body.started_at).total_seconds())
    said_cut = {part.part: {name: value for name, value in plain(part).items() if name != "part"} for part in body.cut}
    return {
        "visit": visit.pk,
        "dog": dog,
        "date": visit.date,
        "state": body.state,
        "usual_done": body.usual_done and body.state == "COMPLETED",
        "started_at": body.started_at,
        "ended_at": body.ended_at,
        "work_seconds": seconds,
        "water_l": body.water_l,
        "cut": {**(usual.cut if usual else {}), **said_cut},
        "stood": body.stood,
        "notes": body.notes,
        "why_not": body.why_not,
        "cotton_in": cotton.in_,
        "cotton_taken_out": cotton.taken_out,
        "cotton_fell_out": cotton.fell_out,
        "cotton_swallowed": cotton.swallowed,
        "cotton_not_found": cotton.not_found,
    }


def _steps(body: GroomBody, usual: Usual | None) -> tuple[StepDone, ...]:
    """The routine with what differed put in its place; a step that is not in the routine comes after it."""
    said = list(body.steps)
    routine: Sequence[RoutineStep] = list(usual.steps.all()) if usual else []
    as_usual = [_usual_step(step, said) for step in routine]
    return (*as_usual, *said)


def _usual_step(usual: RoutineStep, said: list[StepDone]) -> StepDone:
    """The step as said, taken out of `said`, with the routine's product where none is named; else as usual."""
    for number, step in enumerate(said):
        if step.step == usual.step:
            del said[number]
            return replace(step, product=step.product or usual.product_id) if step.done else step
    return StepDone(usual.step, product=usual.product_id)


def _cotton_is_counted(body: GroomBody, steps: Iterable[StepDone]) -> None:
    """Cotton that the routine puts in the ears is always counted out again, in figures."""
    if body.cotton is None and any(step.step == "cotton in" and step.done for step in steps):
        raise Refused(
            "cotton-not-counted",
            _("Cotton goes into these ears, and it isn't said how many pieces, nor how each ended. Count them."),
            "body.cotton",
        )


def _products(steps: Iterable[StepDone]) -> dict[uuid.UUID, Product]:
    wanted = {step.product for step in steps if step.product}
    found = Product.objects.in_bulk(wanted)
    for missing in wanted - set(found):
        raise Refused(
            "unknown-product",
            _("Product %(id)s is not on the shelf. Choose the product anew.") % {"id": missing},
            "body.steps",
        )
    return found


def _step_row(groom: Groom, order: int, step: StepDone, products: dict[uuid.UUID, Product], bath_l: int) -> GroomStep:
    product = products[step.product] if step.product and step.done else None
    millilitres = step.product_ml if step.product_ml is not None or product is None else label_ml(product, bath_l)
    return GroomStep(
        groom=groom,
        order=order,
        step=step.step,
        done=step.done,
        product=product,
        product_ml=millilitres if product else None,
        seconds=step.seconds,
        words=step.words,
    )


def label_ml(product: Product, bath_l: int) -> int | None:
    """Millilitres in a bath of so many litres by the label's ratio; None for what does not go into the bath."""
    in_bath = product.kind in ("shampoo", "conditioner") and product.ratio_other > 0
    ratio = Ratio(product.ratio_product, product.ratio_other, "total" if product.ratio_rule == "total" else "water")
    return product_ml(ratio, bath_l) if in_bath else None


def _measure_rows(groom: Groom, measures: Measures | None) -> list[Measure]:
    said = asdict(measures) if measures else {}
    return [
        Measure(groom=groom, dog=groom.dog, date=groom.date, kind=MEASURE_KINDS[name], value=value)
        for name, value in said.items()
        if value is not None
    ]

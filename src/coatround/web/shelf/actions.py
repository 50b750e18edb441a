"""What moves the shelf: grooms take from it, people buy, count and spill. Rows are only added."""

import datetime as dt
import uuid

from django.utils.translation import gettext as _

from coatround.web.base.models import Worker
from coatround.web.base.writing import writing
from coatround.web.records.models import Product, Van
from coatround.web.shelf.models import Cleaned, Movement
from coatround.web.shelf.queries import left_ml
from coatround.web.visits.grooms import ASKED_BATH_L, label_ml
from coatround.web.visits.models import Groom, GroomStep, Visit


def use_for(groom: Groom, who: Worker) -> None:
    """Takes from the shelf what a groom used, once; what a corrected groom had taken goes back."""
    with writing():
        if groom.corrects:
            put_back(groom.corrects, who)
        if groom.state != "COMPLETED" or groom.corrected or Movement.objects.filter(groom=groom.pk).exists():
            return
        for product, ml in _used(groom).items():
            Movement.objects.create(product=product, date=groom.date, kind="used", ml=-ml, groom=groom.pk, who=who)


def _used(groom: Groom) -> dict[Product, int]:
    """Millilitres by product: as the step says, else by the label in the van's bath."""
    used: dict[Product, int] = {}
    for step in GroomStep.objects.filter(groom=groom, done=True, product__isnull=False).select_related("product"):
        assert step.product is not None
        ml = step.product_ml if step.product_ml is not None else label_ml(step.product, _bath_l(groom))
        if ml:
            used[step.product] = used.get(step.product, 0) + ml
    return used


def _bath_l(groom: Groom) -> int:
    visit = Visit.objects.select_related("van").filter(pk=groom.visit).first()
    van = visit.van if visit else Van.objects.filter(closed_on__isnull=True).first()
    return van.bath_l if van else ASKED_BATH_L


def put_back(groom: uuid.UUID, who: Worker) -> None:
    """What a groom that no longer stands had taken goes back, once."""
    rows = Movement.objects.filter(groom=groom)
    turned = {row.corrects for row in rows if row.corrects}
    for row in rows:
        if row.corrects is None and row.pk not in turned:
            Movement.objects.create(
                product=row.product,
                date=row.date,
                kind=row.kind,
                ml=-row.ml,
                groom=row.groom,
                corrects=row.pk,
                words=_("The groom was corrected"),
                who=who,
            )


def buy(product: Product, ml: int, who: Worker, *, date: dt.date, words: str = "") -> Movement:
    """So many millilitres came in."""
    return _move(product, "bought", ml, who, date, words)


def spill(product: Product, ml: int, who: Worker, *, date: dt.date, words: str = "") -> Movement:
    """So many millilitres were spilt or thrown out."""
    return _move(product, "spilt", -ml, who, date, words)


def count(product: Product, found_ml: int, who: Worker, *, date: dt.date, words: str = "") -> Movement:
    """What was found by looking; the row carries the difference to what was reckoned, even when there is none."""
    with writing():
        reckoned = left_ml(product)
        said = _("counted %(found)d ml, reckoned %(reckoned)d ml") % {"found": found_ml, "reckoned": reckoned}
        told = f"{said}. {words}" if words else said
        return _move(product, "counted", found_ml - reckoned, who, date, told)


def _move(product: Product, kind: str, ml: int, who: Worker, date: dt.date, words: str) -> Movement:
    with writing():
        return Movement.objects.create(product=product, kind=kind, ml=ml, date=date, words=words[:160], who=who)


def clean(what: str, who: Worker, now: dt.datetime, words: str = "") -> Cleaned:
    """Writes down that something was cleaned, at an instant in the firm's zone."""
    with writing():
        return Cleaned.objects.create(what=what, who=who, at=now, date=now.date(), words=words[:160])

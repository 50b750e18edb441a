"""A small visit to record: one household, two dogs, one with a routine that puts cotton in the ears."""

import datetime as dt
import uuid
from dataclasses import dataclass
from typing import Any

from coatround.ids import uuid7
from coatround.web.records.models import Dog, Household, Place, Product, RoutineStep, Usual, Van
from coatround.web.visits.models import Visit, VisitDog

DATE = dt.date(2026, 3, 3)
NOON = dt.datetime(2026, 3, 3, 1, 0, tzinfo=dt.UTC)  # twelve o'clock in Sydney
SAID = "2026-03-03T12:00:00+11:00"


@dataclass
class VisitDay:
    """The Tannery Row visit of Tuesday 3 March: Biscuit (a routine with cotton), then Mop (nothing settled)."""

    household: Household
    biscuit: Dog
    mop: Dog
    oatmeal: Product
    van: Van
    visit: Visit

    def record(self, kind: str, /, rid: uuid.UUID | None = None, **body: Any) -> dict[str, Any]:
        """A plain record of this visit, about Biscuit where it is about a dog."""
        about = {} if kind in ("handing-back", "visit-change") else {"dog": str(self.biscuit.pk)}
        said = {"kind": kind, "version": 1, "said_at": SAID, "visit": str(self.visit.pk)}
        return {"id": str(rid or uuid7()), **said, "body": {**about, **body}}

    def groom(self, rid: uuid.UUID | None = None, /, **body: Any) -> dict[str, Any]:
        """The usual, done on Biscuit: two pieces of cotton in and out."""
        return self.record("groom", rid, **{"cotton": {"in": 2, "taken_out": 2}, **body})

    def handing_back(self, rid: uuid.UUID | None = None, /, **body: Any) -> dict[str, Any]:
        usual = {"price_cents": 8500, "paid": "cash", "next": {"how": "usual", "date": "2026-04-14"}}
        return self.record("handing-back", rid, **{**usual, **body})


def visit_day() -> VisitDay:
    household = Household.objects.create(name="Tannery Row")
    place = Place.objects.create(household=household, line="8 Tannery Row", suburb="Hollow Ford", gate="Blue gate")
    biscuit = Dog.objects.create(household=household, name="Biscuit", coat="curly", size="small")
    mop = Dog.objects.create(household=household, name="Mop", coat="wire", size="medium")
    oatmeal = Product.objects.create(
        name="Oatmeal", ratio_product=1, ratio_other=16, ratio_rule="total", contact_minutes=5
    )
    cut = {"body": {"how": "blade", "mm": 10}, "head": {"how": "scissored"}}
    usual = Usual.objects.create(dog=biscuit, valid_from=DATE - dt.timedelta(days=300), price_cents=8500, cut=cut)
    for order, step in enumerate(["check-over", "nails", "cotton in", "first wash", "cotton out", "dryer", "finish"]):
        product = oatmeal if step == "first wash" else None
        RoutineStep.objects.create(usual=usual, order=order, step=step, product=product)
    van = Van.objects.create(name="Otter", home=Place.objects.create(name="Depot", line="1 Mill Lane"), bath_l=12)
    visit = Visit.objects.create(household=household, place=place, date=DATE, van=van, state="CONFIRMED")
    for order, dog in enumerate((biscuit, mop)):
        VisitDog.objects.create(visit=visit, dog=dog, order=order)
    return VisitDay(household, biscuit, mop, oatmeal, van, visit)

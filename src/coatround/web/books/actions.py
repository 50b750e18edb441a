"""What is written into the books. Rows are only added; what was wrong is turned round by a row of its own."""

import datetime as dt
import uuid

from django.utils.translation import gettext as _

from coatround.core.trade.tax import tax_in, tax_rule
from coatround.web.base.firm import the_firm
from coatround.web.base.models import Firm, Worker
from coatround.web.base.writing import writing
from coatround.web.books.models import Charge, Payment
from coatround.web.records.models import Dog, Household
from coatround.web.records.usual import in_force
from coatround.web.visits.models import Groom, HandingBack, Visit


class CannotTurnRound(Exception):
    """The row is a correction, or was turned round before; the message says so in words for people."""


def tax_inside(cents: int, firm: Firm) -> int:
    """How much of an amount is tax, by the firm's country; nothing when it is not registered."""
    return tax_in([cents], tax_rule(firm.country, firm.tax_rate_percent)) if firm.tax_registered else 0


def charge_visit(visit: uuid.UUID, who: Worker) -> None:
    """Makes a visit's charges follow from its grooms as they stand, and from the price agreed when handing back.

    Each dog that was done is charged once, at its usual's price on that date. A charge of a groom that no longer
    stands is turned round. Done again, it changes nothing.
    """
    with writing():
        firm = the_firm()
        grooms = list(
            Groom.objects.filter(visit=visit, corrected=False, state="COMPLETED")
            .select_related("dog__household")
            .order_by("at", "id")
        )
        _turn_round_others(visit, {groom.pk for groom in grooms}, who)
        charged = {charge.dog_id for charge in _standing(visit)}
        for groom in grooms:
            if groom.dog_id not in charged:
                charged.add(groom.dog_id)
                _charge_groom(groom, firm, who)
        _come_to_price_agreed(visit, grooms, firm, who)


def _standing(visit: uuid.UUID) -> list[Charge]:
    """The charges of a visit's grooms that nothing turned round."""
    rows = Charge.objects.filter(visit=visit, groom__isnull=False)
    turned = {row.corrects for row in rows if row.corrects}
    return [row for row in rows if row.corrects is None and row.pk not in turned]


def _turn_round_others(visit: uuid.UUID, grooms: set[uuid.UUID], who: Worker) -> None:
    for charge in _standing(visit):
        if charge.groom not in grooms:
            _turned_round(charge, charge.date, who, _("%(words)s, corrected") % {"words": charge.words}, charge.visit)


def _turned_round(charge: Charge, date: dt.date, who: Worker, words: str, visit: uuid.UUID | None) -> Charge:
    return Charge.objects.create(
        household=charge.household,
        dog=charge.dog,
        visit=visit,
        groom=charge.groom,
        date=date,
        words=words[:200],
        cents=-charge.cents,
        tax_cents=-charge.tax_cents,
        corrects=charge.pk,
        who=who,
    )


def _charge_groom(groom: Groom, firm: Firm, who: Worker) -> None:
    usual = in_force(groom.date).filter(dog=groom.dog_id).first()
    if usual is None or not usual.price_cents:
        return
    Charge.objects.create(
        household=groom.dog.household,
        dog=groom.dog,
        visit=groom.visit,
        groom=groom.pk,
        date=groom.date,
        words=_("Groom, %(dog)s") % {"dog": groom.dog.name},
        cents=usual.price_cents,
        tax_cents=tax_inside(usual.price_cents, firm),
        who=who,
    )


def _come_to_price_agreed(visit: uuid.UUID, grooms: list[Groom], firm: Firm, who: Worker) -> None:
    """Adds one row, where needed, so that the visit's charges are the price agreed."""
    back = HandingBack.objects.filter(visit=visit, corrected=False).order_by("-at", "-id").first()
    if back is None:
        return
    rows = Charge.objects.filter(visit=visit)
    cents = back.price_cents - sum(row.cents for row in rows)
    tax_cents = tax_inside(back.price_cents, firm) - sum(row.tax_cents for row in rows)
    if cents or tax_cents:
        Charge.objects.create(
            household=back.household,
            dog=_only_dog(grooms),
            visit=visit,
            date=_date_of(visit, back),
            words=_("Price agreed when handing back"),
            cents=cents,
            tax_cents=tax_cents,
            who=who,
        )


def _only_dog(grooms: list[Groom]) -> Dog | None:
    dogs = {groom.dog_id: groom.dog for groom in grooms}
    return next(iter(dogs.values())) if len(dogs) == 1 else None


def _date_of(visit: uuid.UUID, back: HandingBack) -> dt.date:
    planned = Visit.objects.filter(pk=visit).values_list("date", flat=True).first()
    return planned or back.at.date()


def take_payment(back: HandingBack) -> None:
    """Books what was paid when handing back, once; what a corrected handing back had booked is turned round."""
    with writing():
        if back.corrects:
            turn_round_payments(back.corrects, back.who)
        if back.paid == "not paid" or back.corrected or not (back.paid_cents or back.tip_cents):
            return
        if Payment.objects.filter(handing_back=back.pk).exists():
            return
        Payment.objects.create(
            household=back.household,
            visit=back.visit,
            handing_back=back.pk,
            date=_date_of(back.visit, back),
            way=back.paid,
            cents=back.paid_cents,
            tip_cents=back.tip_cents,
            who=back.who,
        )


def turn_round_payments(handing_back: uuid.UUID, who: Worker) -> None:
    """What a handing back that no longer stands had booked is turned round, once."""
    for payment in _payments_of(handing_back):
        _give_back(payment, payment.date, who, _("Corrected when handing back"))


def _payments_of(handing_back: uuid.UUID) -> list[Payment]:
    rows = Payment.objects.filter(handing_back=handing_back)
    turned = {row.corrects for row in rows if row.corrects}
    return [row for row in rows if row.corrects is None and row.pk not in turned]


def _give_back(payment: Payment, date: dt.date, who: Worker | None, words: str) -> Payment:
    return Payment.objects.create(
        household=payment.household,
        visit=payment.visit,
        handing_back=payment.handing_back,
        date=date,
        way=payment.way,
        cents=-payment.cents,
        tip_cents=-payment.tip_cents,
        words=words[:200],
        corrects=payment.pk,
        who=who,
    )


def add_payment(
    household: Household, cents: int, who: Worker, *, date: dt.date, way: str, tip_cents: int = 0, words: str = ""
) -> Payment:
    """Money received apart from a visit."""
    with writing():
        return Payment.objects.create(
            household=household, date=date, way=way, cents=cents, tip_cents=tip_cents, words=words, who=who
        )


def correct_charge(charge: Charge, right_cents: int | None, words: str, who: Worker, *, date: dt.date) -> None:
    """Turns a charge round and, with a right amount, charges that instead.

    Both rows stand apart from the visit, so that what its records say later does not undo them.
    """
    with writing():
        _refuse_twice(charge, Charge.objects.filter(corrects=charge.pk).exists())
        _turned_round(charge, date, who, words, None)
        if right_cents:
            Charge.objects.create(
                household=charge.household,
                dog=charge.dog,
                date=date,
                words=words,
                cents=right_cents,
                tax_cents=tax_inside(right_cents, the_firm()),
                who=who,
            )


def correct_payment(payment: Payment, words: str, who: Worker, *, date: dt.date) -> None:
    """Turns a payment round: it was not received, or not by this household."""
    with writing():
        _refuse_twice(payment, Payment.objects.filter(corrects=payment.pk).exists())
        _give_back(payment, date, who, words)


def _refuse_twice(row: Charge | Payment, is_turned: bool) -> None:
    if row.corrects is not None:
        raise CannotTurnRound(_("This row is a correction itself. Enter a new row instead."))
    if is_turned:
        raise CannotTurnRound(_("This row was turned round already. Look at the rows below it."))

"""Makes the fact of a checked record: what it names must be there, and what it corrects is marked."""

import datetime as dt
import uuid
from dataclasses import asdict, dataclass
from typing import Any

from django.utils.translation import gettext as _

from coatround.core.checking import Refused
from coatround.core.fit import fit_today
from coatround.core.visit_bodies import (
    CautionSeenBody,
    ChoiceBody,
    FitBody,
    GroomBody,
    HandingBackBody,
    IncidentBody,
    KeysSeenBody,
    VisitChangeBody,
)
from coatround.core.visit_records import CheckedRecord
from coatround.web.base import changes
from coatround.web.base.models import Worker
from coatround.web.records.models import Caution, Dog, Household, KeyLook, PlaceKey
from coatround.web.visits.grooms import keep_groom
from coatround.web.visits.models import Fact, Fit, Groom, HandingBack, Incident, Visit


@dataclass(frozen=True)
class Taken:
    """A checked record on its way in: the visit it belongs to, who said it, and when it arrived."""

    record: CheckedRecord
    visit: Visit | None
    who: Worker
    now: dt.datetime


@dataclass(frozen=True)
class Chosen:
    """Of two rows that stood beside each other, the one that stands and the one that was left, and who chose."""

    kept: Fit | Groom | HandingBack
    left: Fit | Groom | HandingBack
    who: Worker


def keep_fact(taken: Taken) -> Fit | Groom | HandingBack | Incident | Visit | Chosen | None:
    """The row that a record makes, or the visit it changed; None when the record itself is all there is."""
    body = taken.record.body
    match body:
        case FitBody():
            return _fit(taken, body)
        case GroomBody():
            return _groom(taken, body)
        case HandingBackBody():
            return _handing_back(taken, body)
        case IncidentBody():
            return _incident(taken, body)
        case VisitChangeBody():
            return _visit_change(taken, body)
        case CautionSeenBody():
            _check_cautions(taken, body)
            return None
        case KeysSeenBody():
            _look_at_keys(taken, body)
            return None
        case ChoiceBody():
            return _choice(taken, body)


def the_visit(taken: Taken) -> Visit:
    assert taken.visit is not None  # only an incident may stand without one
    return taken.visit


def _dog(dog_id: uuid.UUID, household: Household | None) -> Dog:
    """The dog a record names; it must be the visit's household's."""
    dog = Dog.objects.filter(pk=dog_id).first()
    if dog is None:
        raise Refused(
            "unknown-dog", _("Dog %(dog)s is not known here. Choose the dog anew.") % {"dog": dog_id}, "body.dog"
        )
    if household is not None and dog.household_id != household.pk:
        raise Refused(
            "dog-of-another-household",
            _("%(dog)s does not belong to %(household)s. Choose a dog of this visit.")
            % {"dog": dog.name, "household": household.name},
            "body.dog",
        )
    return dog


def _stands_in_place(taken: Taken, kind: type[Fact], **same: Any) -> dict[str, Any]:
    """The columns every fact has; an earlier row that this one corrects is marked, once."""
    record = taken.record
    if record.corrects is not None:
        _mark_corrected(kind, record.corrects, same)
    return {"id": record.id, "at": record.said_at, "who": taken.who, "corrects": record.corrects}


def _mark_corrected(kind: type[Fact], named: uuid.UUID, same: dict[str, Any]) -> None:
    old: Any = kind._default_manager.filter(pk=named).first()
    if old is None:
        raise Refused(
            "unknown-record",
            _("The record to be corrected (%(id)s) is not known here. Send that one first.") % {"id": named},
            "corrects",
        )
    if any(getattr(old, name) != value for name, value in same.items()):
        raise Refused(
            "corrects-something-else",
            _("The record to be corrected is about another visit or dog. Choose the right one."),
            "corrects",
        )
    if old.corrected:
        raise Refused(
            "already-corrected",
            _("That record was corrected already. Open the visit again and correct what stands there now."),
            "corrects",
        )
    old.corrected = True
    old.save(update_fields=["corrected"])


def _fit(taken: Taken, body: FitBody) -> Fit:
    visit = the_visit(taken)
    dog = _dog(body.dog, visit.household)
    reason = body.reason or fit_today(body.signs, matted_off_agreed=body.answer == "go").reason
    shared = _stands_in_place(taken, Fit, visit=visit.pk, dog_id=dog.pk)
    return Fit.objects.create(
        **shared, visit=visit.pk, dog=dog, signs=list(body.signs), answer=body.answer, reason=reason[:300]
    )


def _groom(taken: Taken, body: GroomBody) -> Groom:
    visit = the_visit(taken)
    dog = _dog(body.dog, visit.household)
    return keep_groom(body, visit, dog, _stands_in_place(taken, Groom, visit=visit.pk, dog_id=dog.pk))


def _handing_back(taken: Taken, body: HandingBackBody) -> HandingBack:
    visit = the_visit(taken)
    if body.next.date is not None and body.next.date <= visit.date:
        raise Refused(
            "next-before-visit",
            _("The next date, %(next)s, is not after this visit (%(date)s). Choose a later one.")
            % {"next": body.next.date.isoformat(), "date": visit.date.isoformat()},
            "body.next.date",
        )
    return HandingBack.objects.create(
        **_stands_in_place(taken, HandingBack, visit=visit.pk),
        visit=visit.pk,
        household=visit.household,
        price_cents=body.price_cents,
        tip_cents=body.tip_cents,
        paid=body.paid,
        paid_cents=body.paid_cents or 0,
        next_date=body.next.date,
        next_from=body.next.from_,
        next_until=body.next.until,
        next_how=body.next.how,
        notes=body.notes,
    )


def _incident(taken: Taken, body: IncidentBody) -> Incident:
    dog = _dog(body.dog, taken.visit.household if taken.visit else None)
    said = {name: value for name, value in asdict(body).items() if name != "dog"}
    visit = taken.visit.pk if taken.visit else None
    return Incident.objects.create(**_stands_in_place(taken, Incident, dog_id=dog.pk), visit=visit, dog=dog, **said)


def _visit_change(taken: Taken, body: VisitChangeBody) -> Visit:
    """Changes the visit, logged with who, old and new; a window told is a promise, so it makes the visit told."""
    visit = the_visit(taken)
    if body.told_from is not None:
        visit.told_from, visit.told_until, visit.told_at = body.told_from, body.told_until, taken.record.said_at
    visit.state = body.state or ("CONFIRMED" if body.told_from else visit.state)
    visit.answer = body.answer or visit.answer
    if visit.state == "CONFIRMED" and visit.told_from is None:
        raise Refused(
            "told-no-window",
            _("A visit that is told needs the window that was told. Add from and until."),
            "body.told_from",
        )
    if visit.state == "CANCELLED":
        visit.called_off_why = body.why
    changes.save(visit, taken.who, about=body.why)
    return visit


def _check_cautions(taken: Taken, body: CautionSeenBody) -> None:
    dog = _dog(body.dog, the_visit(taken).household)
    known = set(Caution.objects.filter(dog=dog).values_list("pk", flat=True))
    for caution in body.cautions:
        if caution not in known:
            raise Refused(
                "unknown-caution",
                _("%(dog)s has no caution %(caution)s. Open the visit again.") % {"dog": dog.name, "caution": caution},
                "body.cautions",
            )


def _look_at_keys(taken: Taken, body: KeysSeenBody) -> None:
    """Writes the look down as it happened; a key closed since was looked at all the same."""
    visit = the_visit(taken)
    if visit.place_id != body.place:
        raise Refused("unknown-place", _("Place %(place)s is not this visit's.") % {"place": body.place}, "body.place")
    keys = PlaceKey.objects.filter(place=body.place)
    at = taken.record.said_at
    KeyLook.objects.bulk_create(KeyLook(key=key, who=taken.who, run_date=visit.date, made_at=at) for key in keys)


def _choice(taken: Taken, body: ChoiceBody) -> Chosen:
    """Marks the row that is left; both must stand, and say something about the same."""
    visit = the_visit(taken)
    kept, left = (_standing(name, visit) for name in (body.kept, body.left))
    if type(kept) is not type(left) or getattr(kept, "dog_id", None) != getattr(left, "dog_id", None):
        raise Refused(
            "chosen-between-others",
            _("These two are not about the same. Open the visit again and choose there."),
            "body.left",
        )
    left.corrected = True
    left.save(update_fields=["corrected"])
    return Chosen(kept, left, taken.who)


def _standing(named: uuid.UUID, visit: Visit) -> Fit | Groom | HandingBack:
    kinds: tuple[type[Fit] | type[Groom] | type[HandingBack], ...] = (Groom, HandingBack, Fit)
    for kind in kinds:
        row: Fit | Groom | HandingBack | None = kind._default_manager.filter(pk=named, visit=visit.pk).first()
        if row is not None and not row.corrected:
            return row
    raise Refused(
        "unknown-record",
        _("Record %(id)s does not stand at this visit (any more). Open the visit again.") % {"id": named},
        "body",
    )

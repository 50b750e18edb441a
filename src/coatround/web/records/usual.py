"""Which row of the usual is in force: from `valid_from` up to and with `valid_until`."""

import datetime as dt

from django.db.models import Q, QuerySet

from coatround.web.records.models import Dog, Usual


def in_force(day: dt.date) -> QuerySet[Usual]:
    """Every dog's usual on a day."""
    rows = Usual.objects.filter(closed_on__isnull=True, valid_from__lte=day)
    return rows.filter(Q(valid_until__isnull=True) | Q(valid_until__gte=day))


def usual_on_or_next(dog: Dog) -> Usual | None:
    """What was settled last and has not ended: in force now, or from a day to come."""
    return dog.usuals.filter(closed_on__isnull=True, valid_until__isnull=True).order_by("-valid_from", "-id").first()


def usual_history(dog: Dog) -> QuerySet[Usual]:
    """Every row that was, is or will be in force, the latest first."""
    return dog.usuals.filter(closed_on__isnull=True).order_by("-valid_from", "-id")

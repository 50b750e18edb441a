"""Dogs by due date, reckoned in the database so that a page of them is quick among thousands."""

import datetime as dt
from typing import Any

from django.db import models
from django.db.models import F, Func, OuterRef, Q, Subquery
from django.db.models.functions import Cast, Coalesce, Greatest

from coatround.web.due.facts import counted_grooms
from coatround.web.records.models import Dog, Usual


class DaysLater(Func):
    """A date and so many days, in the database."""

    output_field = models.DateField()

    def as_sqlite(self, compiler: Any, connection: Any, **kwargs: Any) -> Any:
        return super().as_sql(
            compiler, connection, template="date(%(expressions)s || ' days')", arg_joiner=", '+' || ", **kwargs
        )

    def as_postgresql(self, compiler: Any, connection: Any, **kwargs: Any) -> Any:
        return super().as_sql(compiler, connection, template="(%(expressions)s::int)", arg_joiner=" + ", **kwargs)


def dogs_by_due(today: dt.date, until: dt.date | None = None) -> "models.QuerySet[Dog]":
    """Open dogs with something settled, soonest due first, `due_on` as the core reckons it for a usual in force."""
    last = counted_grooms().filter(dog=OuterRef("pk")).order_by("-date").values("date")[:1]
    live = Usual.objects.filter(Q(valid_until__isnull=True) | Q(valid_until__gte=today), closed_on__isnull=True)
    begun = live.filter(dog=OuterRef("pk"), valid_from__lte=today).order_by("-valid_from", "-id").values("pk")[:1]
    coming = live.filter(dog=OuterRef("pk"), valid_from__gt=today).order_by("valid_from", "id").values("pk")[:1]
    dogs = (
        Dog.objects.filter(closed_on__isnull=True, household__closed_on__isnull=True)
        .filter(usuals__pk=Coalesce(Subquery(begun), Subquery(coming)))
        .annotate(last_on=Coalesce(Subquery(last), F("last_groomed_before"), output_field=models.DateField()))
        .annotate(
            due_on=Coalesce(
                Greatest(DaysLater(F("last_on"), F("usuals__interval_weeks") * 7), F("usuals__valid_from")),
                F("usuals__valid_from"),
                output_field=models.DateField(),
            )
        )
        .order_by("due_on", "household__name", "name", "pk")
    )
    return dogs.filter(due_on__lte=until) if until else dogs


def due_order(today: dt.date) -> list[tuple[str, str]]:
    """Every open dog's due date and id as text, soonest first, in one query: most are only counted or skipped."""
    dogs = dogs_by_due(today).order_by()
    texts = dogs.annotate(due_text=Cast("due_on", models.CharField()), dog_text=Cast("pk", models.CharField()))
    return sorted(texts.values_list("due_text", "dog_text"))

"""The log of every change: who, when, old and new."""

import datetime as dt
import uuid
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.apps import apps
from django.core.paginator import Paginator
from django.db import models
from django.db.models import Model
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import formats
from django.utils.dates import WEEKDAYS
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from coatround.web.base.firm import firm_zone, the_firm
from coatround.web.base.models import Change
from coatround.web.base.money import amount_text
from coatround.web.base.templatetags.coatround import wall

A_PAGE = 40
NO_ROW = uuid.UUID(int=0)
UNSAID = {"id", "made_at", "password", "last_login"}
TABLES = {
    "Household": gettext_lazy("household"),
    "Person": gettext_lazy("person"),
    "Place": gettext_lazy("place"),
    "PlaceKey": gettext_lazy("key or code"),
    "Dog": gettext_lazy("dog"),
    "Caution": gettext_lazy("caution"),
    "Food": gettext_lazy("food"),
    "Usual": gettext_lazy("the usual"),
    "RoutineStep": gettext_lazy("step of a routine"),
    "WorkingHours": gettext_lazy("working hours"),
    "DayOff": gettext_lazy("days off"),
    "Rush": gettext_lazy("a rush"),
    "Weather": gettext_lazy("a day's weather"),
    "Waiting": gettext_lazy("the waiting list"),
    "Worker": gettext_lazy("groomer"),
    "Firm": gettext_lazy("the firm"),
}


@dataclass(frozen=True)
class Line:
    """One changed column in words."""

    name: str
    old: str
    new: str


@dataclass(frozen=True)
class Entry:
    """One change of one row."""

    change: Change
    what: str
    act: str
    lines: tuple[Line, ...]


def changes(request: HttpRequest) -> HttpResponse:
    """The latest first; `row` narrows it to one household, dog or other row."""
    rows = Change.objects.select_related("who").order_by("-made_at", "-id")
    row = request.GET.get("row", "")
    if row:
        rows = rows.filter(row=row_id(row))
    page = Paginator(rows, A_PAGE).get_page(request.GET.get("page"))
    names = names_of(page.object_list)
    context = {"page": page, "entries": [entry(change, names) for change in page.object_list], "row": row}
    return render(request, "records/changes.html", context)


def row_id(words: str) -> uuid.UUID:
    """The id that was asked for; one that is no id finds nothing."""
    try:
        return uuid.UUID(words)
    except ValueError:
        return NO_ROW


def names_of(rows: Iterable[Change]) -> dict[str, str]:
    """The names of the rows that changes point at, by id: households, dogs, vans and whatever else has a name."""
    wanted: dict[type[Model], set[str]] = defaultdict(set)
    for change in rows:
        for field in apps.get_model(change.table)._meta.concrete_fields:
            other = field.related_model
            if isinstance(other, type) and "__str__" in vars(other):
                kept = (change.old or {}, change.new or {})
                wanted[other] |= {values[field.attname] for values in kept if values.get(field.attname)}
    return {str(row.pk): str(row) for other, ids in wanted.items() for row in other._default_manager.filter(pk__in=ids)}


def entry(change: Change, named: Mapping[str, str]) -> Entry:
    """A change as a person reads it; an id that has no name says nothing to anybody and is left out."""
    model = apps.get_model(change.table)
    old, new = change.old or {}, change.new or {}
    names = [name for name in {**old, **new} if name not in UNSAID]
    lines = tuple(
        Line(
            column_words(model, name),
            *(named.get(str(kept.get(name))) or value_words(model, name, kept.get(name)) for kept in (old, new)),
        )
        for name in names
        if any(kept.get(name) not in (None, "") and not is_nameless(kept[name], named) for kept in (old, new))
    )
    what = TABLES.get(model.__name__) or model._meta.verbose_name or ""
    return Entry(change, str(what), act_words(change), lines)


def is_nameless(value: Any, named: Mapping[str, str]) -> bool:
    return isinstance(value, str) and value not in named and row_id(value) != NO_ROW


def act_words(change: Change) -> str:
    if change.undoes:
        return _("undone")
    if change.new is None:
        return _("taken away")
    if change.old is None:
        return _("entered")
    return _("changed")


def column_words(model: type[Model], name: str) -> str:
    """The word of a column, as its form has it."""
    try:
        field = model._meta.get_field(name)
    except Exception:
        return name
    words = {"closed_on": _("closed on"), "closed_why": _("closed because"), "household": _("household")}
    return words.get(field.name) or str(getattr(field, "verbose_name", name)).replace("_", " ")


def value_words(model: type[Model], name: str, value: Any) -> str:
    """A kept value in words: choices by their words, yes and no, lists with commas."""
    if value is None or value == "":
        return _("nothing")
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    field = next((field for field in model._meta.concrete_fields if field.attname == name), None)
    if field is not None and field.choices:
        return str(dict(field.flatchoices).get(value, value))
    if field is not None and isinstance(value, int | str):
        return plain_words(field, value)
    if isinstance(value, dict):
        return ", ".join(f"{key} {value_words(model, '', inner)}" for key, inner in value.items()) or _("nothing")
    if name == "weekdays":
        return ", ".join(str(WEEKDAYS[day]) for day in value) or _("nothing")
    if isinstance(value, list):
        return ", ".join(map(str, value)) or _("nothing")
    return str(value)


def plain_words(field: "models.Field[Any, Any]", value: int | str) -> str:
    """Times on the firm's clock, weekdays by name, amounts as money is written; the rest as it is kept."""
    if isinstance(field, models.DateTimeField):
        at = dt.datetime.fromisoformat(str(value))  # kept without its zone, it is UTC
        at = at if at.tzinfo else at.replace(tzinfo=dt.UTC)
        return formats.date_format(at.astimezone(firm_zone()), "j M Y, G:i")
    if isinstance(field, models.DateField):
        return formats.date_format(dt.date.fromisoformat(str(value)), "j M Y")
    if isinstance(field, models.TimeField):
        return wall(dt.time.fromisoformat(str(value)))
    if field.name.endswith("weekday"):
        return str(WEEKDAYS[int(value)])
    if field.name.endswith("_cents") or field.name == "cents":
        return amount_text(int(value), the_firm())
    return str(value)

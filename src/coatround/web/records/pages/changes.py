"""The log of every change: who, when, old and new."""

import uuid
from dataclasses import dataclass
from typing import Any

from django.apps import apps
from django.core.paginator import Paginator
from django.db.models import Model
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from coatround.web.base.models import Change

A_PAGE = 40
UNSAID = {"id", "made_at", "password", "last_login"}
TABLES = {
    "Household": gettext_lazy("household"),
    "Person": gettext_lazy("person"),
    "Place": gettext_lazy("place"),
    "PlaceKey": gettext_lazy("key or code"),
    "Dog": gettext_lazy("dog"),
    "Caution": gettext_lazy("caution"),
    "Usual": gettext_lazy("the usual"),
    "RoutineStep": gettext_lazy("step of a routine"),
    "WorkingHours": gettext_lazy("working hours"),
    "DayOff": gettext_lazy("days off"),
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
    context = {"page": page, "entries": [entry(change) for change in page.object_list], "row": row}
    return render(request, "records/changes.html", context)


def row_id(words: str) -> uuid.UUID:
    """The id that was asked for; one that is no id finds nothing."""
    try:
        return uuid.UUID(words)
    except ValueError:
        return uuid.UUID(int=0)


def entry(change: Change) -> Entry:
    """A change as a person reads it."""
    model = apps.get_model(change.table)
    old, new = change.old or {}, change.new or {}
    names = [name for name in {**old, **new} if name not in UNSAID]
    lines = tuple(
        Line(
            column_words(model, name), value_words(model, name, old.get(name)), value_words(model, name, new.get(name))
        )
        for name in names
        if old.get(name) not in (None, "") or new.get(name) not in (None, "")
    )
    what = TABLES.get(model.__name__) or model._meta.verbose_name or ""
    return Entry(change, str(what), act_words(change), lines)


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
    if isinstance(value, dict):
        return ", ".join(f"{key} {value_words(model, '', inner)}" for key, inner in value.items()) or _("nothing")
    if isinstance(value, list):
        return ", ".join(map(str, value)) or _("nothing")
    return str(value)

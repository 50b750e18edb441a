"""Every change keeps who, when, old and new; the last one can be undone."""

import datetime as dt
import decimal
import uuid
from typing import Any

from django.apps import apps
from django.db import models

from coatround.ids import uuid7
from coatround.web.base.models import Change, Worker
from coatround.web.base.writing import writing

HIDDEN = {"records.PlaceKey": {"words"}, "base.Worker": {"password"}}


class CannotUndo(Exception):
    """The last change can't be undone; the message says why in words for people."""


def plain(value: Any) -> Any:
    """A value as JSON keeps it."""
    if isinstance(value, dt.date | dt.datetime | dt.time):
        return value.isoformat()
    if isinstance(value, uuid.UUID | decimal.Decimal):
        return str(value)
    return value


def row_values(row: models.Model) -> dict[str, Any]:
    """A row's own columns as plain values; keys and codes are hidden."""
    hidden = HIDDEN.get(row._meta.label, set())
    fields = [field for field in row._meta.concrete_fields if field.attname not in hidden]
    return {field.attname: plain(getattr(row, field.attname)) for field in fields}


def save(row: models.Model, who: Worker | None, *, batch: uuid.UUID | None = None, about: str = "") -> bool:
    """Saves a row and logs what changed; False when nothing did. Rows saved together share a batch."""
    with writing():
        before = None if row._state.adding else type(row)._default_manager.filter(pk=row.pk).first()
        old = row_values(before) if before is not None else None
        row.full_clean(exclude=[field.name for field in row._meta.fields if not field.editable])
        row.save()
        row.refresh_from_db()
        new = row_values(row)
        if old == new and row._meta.label not in HIDDEN:
            return False
        changed_old = None if old is None else {name: value for name, value in old.items() if value != new[name]}
        changed_new = new if old is None else {name: new[name] for name in changed_old or {}}
        _log(row, who, batch, about, changed_old, changed_new)
    return True


def close(row: Any, who: Worker | None, on: dt.date, why: str = "", *, batch: uuid.UUID | None = None) -> None:
    """Closes a row that has a history; nothing is deleted."""
    row.closed_on, row.closed_why = on, why
    save(row, who, batch=batch, about=why)


def remove(row: Any, who: Worker | None, *, batch: uuid.UUID | None = None, about: str = "") -> None:
    """Takes away a row that has no history of its own (a day off, a weekday's hours); the log keeps it for undoing."""
    with writing():
        old = row_values(row)
        pk = row.pk
        row.delete()
        row.pk = pk
        _log(row, who, batch, about, old, None)


def _log(
    row: models.Model,
    who: Worker | None,
    batch: uuid.UUID | None,
    about: str,
    old: dict[str, Any] | None,
    new: dict[str, Any] | None,
    undoes: uuid.UUID | None = None,
) -> None:
    Change.objects.create(
        batch=batch or uuid7(),
        who=who,
        table=row._meta.label,
        row=row.pk,
        about=about[:200],
        old=old,
        new=new,
        undoes=undoes,
    )


def last_batch(who: Worker) -> list[Change]:
    """The changes of this worker's latest act that is not itself an undo and was not undone."""
    undone = {batch for batch in Change.objects.filter(who=who).values_list("undoes", flat=True) if batch}
    latest = (
        Change.objects.filter(who=who, undoes__isnull=True)
        .exclude(batch__in=undone)
        .order_by("-made_at", "-id")
        .first()
    )
    return list(Change.objects.filter(batch=latest.batch).order_by("-made_at", "-id")) if latest else []


def undo_last(who: Worker) -> list[Change]:
    """Puts back what this worker's latest act changed; a row that the act made is removed while nothing uses it."""
    with writing():
        batch = last_batch(who)
        if not batch:
            raise CannotUndo("There is nothing of yours to undo.")
        undo_batch = uuid7()
        for change in batch:
            _undo(change, who, undo_batch)
    return batch


def _undo(change: Change, who: Worker, undo_batch: uuid.UUID) -> None:
    model = apps.get_model(change.table)
    if change.new == {}:
        raise CannotUndo("What stood there before is not kept: a key or code, or an erased household.")
    if change.new is None:
        _put_back(model, change, who, undo_batch)
        return
    row = model._default_manager.filter(pk=change.row).first()
    if row is None:
        raise CannotUndo("What was changed is no longer there.")
    current = row_values(row)
    for name, value in (change.new or {}).items():
        if change.old is not None and current.get(name) != value:
            raise CannotUndo(f"{row} was changed again since then. Open it and mend it by hand.")
    if change.old is None:
        try:
            row.delete()
        except models.ProtectedError as error:
            raise CannotUndo(f"{row} is already used elsewhere. Close it instead.") from error
        row.pk = change.row
        _log(row, who, undo_batch, "", change.new, None, change.batch)
        return
    for name, value in change.old.items():
        setattr(row, name, model._meta.get_field(name).to_python(value) if value is not None else None)
    row.save()
    _log(row, who, undo_batch, "", change.new, change.old, change.batch)


def _put_back(model: type[models.Model], change: Change, who: Worker, undo_batch: uuid.UUID) -> None:
    """Makes a removed row again as it was."""
    fields: dict[str, Any] = {name: model._meta.get_field(name) for name in change.old or {}}
    row = model(**{name: fields[name].to_python(value) for name, value in (change.old or {}).items()})
    row.save(force_insert=True)
    _log(row, who, undo_batch, "", None, change.old, change.batch)

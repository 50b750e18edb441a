"""Every change keeps who, when, old and new; the last one can be undone."""

import datetime as dt
import decimal
import uuid
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from django.apps import apps
from django.db import models
from django.utils import timezone

from coatround.ids import uuid7
from coatround.web.base.models import Change, Worker
from coatround.web.base.writing import writing

HIDDEN = {
    "records.PlaceKey": {"words"},
    "base.Worker": {"password"},
    "rounds.Proposal": {"problem", "plan", "names", "progress_words", "heard_at"},
}

PARTS = {"rounds.Run": "stops", "visits.Visit": "visit_dogs"}
"""Rows without a UUID of their own that are logged with the row they belong to."""

Values = dict[str, Any]


class CannotUndo(Exception):
    """The last change can't be undone; the message says why in words for people."""


def plain(value: Any) -> Any:
    """A value as JSON keeps it."""
    if isinstance(value, dt.date | dt.datetime | dt.time):
        return value.isoformat()
    if isinstance(value, uuid.UUID | decimal.Decimal):
        return str(value)
    return value


def row_values(row: models.Model) -> Values:
    """A row's own columns as plain values; keys and codes are hidden."""
    hidden = HIDDEN.get(row._meta.label, set())
    fields = [field for field in row._meta.concrete_fields if field.attname not in hidden]
    return {field.attname: plain(getattr(row, field.attname)) for field in fields}


def whole_values(row: models.Model) -> Values:
    """A row's own columns, and those of the rows that are logged with it."""
    values, name = row_values(row), PARTS.get(row._meta.label)
    if name:
        own = {row._meta.get_field(name).field.attname, "id"}  # type: ignore[union-attr]
        parts = (row_values(part) for part in getattr(row, name).all())
        values[name] = [{key: value for key, value in part.items() if key not in own} for part in parts]
    return values


@contextmanager
def logged(
    who: Worker | None,
    rows: Callable[[], Iterable[models.Model]],
    *,
    batch: uuid.UUID | None = None,
    about: str = "",
) -> Iterator[uuid.UUID]:
    """Logs whatever an act makes of these rows, those they belong with included, so that it can be undone as one.

    `rows()` is asked before and after; a row named only before is looked up again, one named only after was made by
    the act. ValueError when that one was there before: then `rows()` leaves something out.
    """
    with writing():
        batch, begun = batch or uuid7(), timezone.now()
        before = {_key(row): (row, whole_values(row)) for row in rows()}
        yield batch
        after = {_key(row): (row, whole_values(row)) for row in _named(rows(), before)}
        for key in sorted({*before, *after}):
            if key not in before and after[key][0].made_at < begun:  # type: ignore[attr-defined]
                raise ValueError(f"{key} is changed by this act and was not named before it")
            _log_between(before.get(key), after.get(key), who, batch, about)


def _key(row: models.Model) -> tuple[str, str]:
    return row._meta.label, str(row.pk)


def _named(rows: Iterable[models.Model], before: Mapping[tuple[str, str], Any]) -> list[models.Model]:
    """These rows, and those of before that are still there."""
    found = {_key(row): row for row in rows}
    for label, pk in before.keys() - found.keys():
        row = apps.get_model(label)._default_manager.filter(pk=pk).first()
        if row is not None:
            found[label, pk] = row
    return list(found.values())


def _log_between(
    before: tuple[models.Model, Values] | None,
    after: tuple[models.Model, Values] | None,
    who: Worker | None,
    batch: uuid.UUID,
    about: str,
) -> None:
    if before is None and after is not None and not after[0]._state.adding:
        _log(after[0], who, batch, about, None, after[1])
    elif before is not None and after is None:
        row, old = before
        row.pk = uuid.UUID(old["id"])
        _log(row, who, batch, about, old, None)
    elif before is not None and after is not None and before[1] != after[1]:
        old, new = before[1], after[1]
        changed = [name for name in new if old[name] != new[name]]
        _log(after[0], who, batch, about, {name: old[name] for name in changed}, {name: new[name] for name in changed})


UNDO_GUARDS: list[Callable[[list[Change]], None]] = []
"""Each is shown an act before it is undone, and raises CannotUndo, with words, where that must not be."""

AFTER_UNDO: list[Callable[[list[Change], Worker], None]] = []
"""Each is shown an act after it was undone."""


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
        for guard in UNDO_GUARDS:
            guard(batch)
        undo_batch = uuid7()
        for change in _in_order(batch):
            _undo(change, who, undo_batch)
        for heard in AFTER_UNDO:
            heard(batch, who)
    return batch


def _in_order(batch: list[Change]) -> list[Change]:
    """Latest first; but runs give up their stops after lost visits are back and before visits that are too many go."""
    if not any(change.table == "rounds.Run" for change in batch):
        return batch
    return sorted(batch, key=_turn)


def _turn(change: Change) -> int:
    is_run, is_made, is_gone = change.table == "rounds.Run", change.old is None, change.new is None
    if is_run:
        return 1 if is_made else 3 if is_gone else 2
    return 0 if is_gone else 5 if is_made else 4


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
    current = whole_values(row)
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
    part = PARTS.get(change.table)
    for name, value in change.old.items():
        if name != part:
            setattr(row, name, model._meta.get_field(name).to_python(value) if value is not None else None)
    row.save()
    _put_parts(row, change.old)
    _log(row, who, undo_batch, "", change.new, change.old, change.batch)


def _put_back(model: type[models.Model], change: Change, who: Worker, undo_batch: uuid.UUID) -> None:
    """Makes a removed row again as it was."""
    old, part = change.old or {}, PARTS.get(change.table)
    fields: dict[str, Any] = {name: model._meta.get_field(name) for name in old if name != part}
    row = model(**{name: field.to_python(old[name]) for name, field in fields.items()})
    row.save(force_insert=True)
    _put_parts(row, old)
    _log(row, who, undo_batch, "", None, old, change.batch)


def _put_parts(row: models.Model, old: Values) -> None:
    """Puts the rows that belong to this one back as they were, where the values hold them."""
    name = PARTS.get(row._meta.label)
    if name is None or name not in old:
        return
    parts = getattr(row, name)
    parts.all().delete()
    model, own = parts.model, parts.field.name
    model._default_manager.bulk_create(model(**{own: row}, **_typed(model, values)) for values in old[name])


def _typed(model: type[models.Model], values: Values) -> Values:
    fields: dict[str, Any] = {field.attname: field for field in model._meta.concrete_fields}
    return {name: fields[name].to_python(value) for name, value in values.items()}

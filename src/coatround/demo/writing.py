"""Writes the generated rows into the database: many at a time, all in one transaction."""

import datetime as dt
import itertools
from collections.abc import Callable, Iterator
from typing import Any

from django.apps import apps
from django.db import connection, models
from django.utils import timezone

from coatround.core.letter_facts import LetterText
from coatround.demo.history import ByRoad
from coatround.demo.rows import Row, Rows
from coatround.demo.whole import demo_rows
from coatround.ids import uuid7
from coatround.web.base.writing import writing
from coatround.web.letters.body import body_of, digest
from coatround.web.records.consent_words import consent_words

BATCH = 5_000


def write_demo(
    seed: int, today: dt.date, dogs: int, tell: Callable[[str], None], by_road: ByRoad | None = None
) -> None:
    """Makes the demo's rows and writes them; `by_road` gives its vans drives by road."""
    with writing():
        for number, rows in enumerate(demo_rows(seed, today, dogs, by_road)):
            write_rows(rows)
            if number and number % 10 == 0:
                tell(f"{number} vans written")


def write_rows(rows: Rows) -> None:
    """Writes rows table by table; keys between tables are checked when the transaction ends."""
    for table, made in rows.tables.items():
        model = apps.get_model(table)
        unknown = {name for row in made for name in row} - {field.attname for field in model._meta.concrete_fields}
        if unknown:
            raise LookupError(f"{table} has no column {sorted(unknown)}.")
        _insert(model, _completed(table, made))


def _insert(model: type[models.Model], rows: Iterator[Row]) -> None:
    """One prepared statement for all rows of a table: three times as fast as making objects of them first."""
    fields = [field for field in model._meta.concrete_fields if not isinstance(field, models.AutoField)]
    quote = connection.ops.quote_name
    columns = ", ".join(quote(str(field.column)) for field in fields)
    places = ", ".join(["%s"] * len(fields))
    ways = [(field.attname, _default(field), _preparing(field)) for field in fields]
    values = (
        [prepare(row.get(name, default)) if prepare else row.get(name, default) for name, default, prepare in ways]
        for row in rows
    )
    with connection.cursor() as cursor:
        while batch := list(itertools.islice(values, BATCH)):
            cursor.executemany(f"INSERT INTO {quote(model._meta.db_table)} ({columns}) VALUES ({places})", batch)  # noqa: S608


def _default(field: "models.Field[Any, Any]") -> Any:
    """What a row holds where nothing was generated; ids and instants always are."""
    return None if field.default in (uuid7, timezone.now) else field.get_default()


def _preparing(field: "models.Field[Any, Any]") -> Callable[[Any], Any] | None:
    """How a value is made fit for the database; numbers and plain words are as they are."""
    target: models.Field[Any, Any] = field
    while isinstance(target, models.ForeignKey):
        target = target.target_field
    plain = isinstance(target, models.IntegerField | models.CharField | models.TextField | models.BooleanField)
    return None if plain else lambda value: target.get_db_prep_save(value, connection)


def _completed(table: str, rows: list[Row]) -> Iterator[Row]:
    """Rows with what only the application knows: the words of a consent, a letter's body as it is kept."""
    for row in rows:
        if table == "records.Consent":
            yield row | {"words": consent_words(row["kind"])}
        elif table == "letters.Letter":
            yield row | _letter(row["body"])
        else:
            yield row


def _letter(text: LetterText) -> dict[str, Any]:
    body = body_of(text)
    return {"body": body, "written": digest(body)}

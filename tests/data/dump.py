"""A database as lines of JSON that any database can take: first the migrations it stands at, then a row a line.

`load` migrates an empty database to just those migrations, fills it, and migrates it to the newest.
"""

import json
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from django.apps import apps
from django.core.serializers.json import DjangoJSONEncoder
from django.db import connection, models, transaction
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.recorder import MigrationRecorder

NOT_DUMPED = {"contenttypes", "auth", "sessions"}


def our_models() -> list[type[models.Model]]:
    """Every table that is ours; links that sign in are nobody's to keep."""
    ours = [model for model in apps.get_models() if model._meta.app_label not in NOT_DUMPED]
    return [model for model in ours if model._meta.label != "base.SignInLink"]


def lines(version: str) -> Iterator[str]:
    """The database as it is, line by line; rows in the order of their keys."""
    applied = sorted(key for key in MigrationRecorder(connection).applied_migrations())
    yield json.dumps({"version": version, "migrations": applied})
    for model in our_models():
        names = [field.attname for field in model._meta.concrete_fields]
        for values in model._default_manager.order_by("pk").values_list(*names):
            yield json.dumps(
                {"table": model._meta.label, "row": dict(zip(names, values, strict=True))},
                cls=_Exact,
                ensure_ascii=False,
            )


class _Exact(DjangoJSONEncoder):
    """Instants with all their digits."""

    def default(self, o: Any) -> Any:
        return o.isoformat() if hasattr(o, "isoformat") else super().default(o)


def load(file: Path) -> dict[str, int]:
    """Fills an empty database from a dump, at the dump's own migrations, and brings it to the newest; rows a table."""
    with file.open(encoding="utf-8") as held:
        head = json.loads(next(held))
        targets = _last_of_each([(app, name) for app, name in head["migrations"]])
        executor = MigrationExecutor(connection)
        executor.migrate(targets)
        then = executor.loader.project_state(targets).apps
        counts = _fill(then, map(json.loads, held))
    executor = MigrationExecutor(connection)
    executor.migrate(executor.loader.graph.leaf_nodes())
    connection.check_constraints()
    return counts


def _last_of_each(applied: list[tuple[str, str]]) -> list[tuple[str, str]]:
    """The migrations to stand at: those of the dump that no other of the dump builds on."""
    known = MigrationExecutor(connection).loader.graph
    has = set(applied)
    return [key for key in applied if key in known.nodes and not any(
        child.key in has and child.key[0] == key[0] for child in known.node_map[key].children
    )]  # fmt: skip


def _fill(then: Any, rows: Iterable[dict[str, Any]]) -> dict[str, int]:
    by_table: dict[str, list[models.Model]] = {}
    for line in rows:
        model = then.get_model(line["table"])
        columns = {field.attname: field for field in model._meta.concrete_fields}
        values = {name: columns[name].to_python(value) for name, value in line["row"].items()}
        by_table.setdefault(line["table"], []).append(model(**values))
    with transaction.atomic():
        for table, made in by_table.items():
            then.get_model(table)._default_manager.bulk_create(made)
    _count_on(by_table, then)
    return {table: len(made) for table, made in by_table.items()}


def _count_on(tables: Iterable[str], then: Any) -> None:
    """PostgreSQL's counters go on after the highest number that was filled in."""
    from django.core.management.color import no_style

    wanted = [then.get_model(table) for table in tables]
    with connection.cursor() as cursor:
        for sql in connection.ops.sequence_reset_sql(no_style(), wanted):
            cursor.execute(sql)

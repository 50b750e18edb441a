"""Starting the application from a command: which home, is its database up to date."""

import argparse
import os
import sys
from pathlib import Path

from coatround import home as home_module


class CannotStart(Exception):
    """The home folder or its database can't be used; the message says why and what to do."""


def named(typed: str) -> str:
    """A file or folder as typed, with `~` written out, for a parser of arguments."""
    try:
        return str(home_module.path(typed))
    except home_module.NoSuchPath as error:
        raise argparse.ArgumentTypeError(str(error)) from error


def use_home(folder: str | None, default: Path | None = None) -> Path:
    """Settles the home folder for this process, makes what is missing in it, and loads the application.

    Raises CannotStart when the folder can't be made or written.
    """
    if folder or (default and not os.environ.get("COATROUND_HOME", "").strip()):
        os.environ["COATROUND_HOME"] = str(home_module.path(folder or str(default)).resolve())
    home = home_module.home_folder()
    try:
        home_module.prepare(home)
    except OSError as error:
        raise CannotStart(f"The folder {home} can't be used: {error.strerror}. Name another with --home.") from error
    _must_have_key(home)
    import django

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coatround.web.settings")
    django.setup()
    return home


def _must_have_key(home: Path) -> None:
    """Raises CannotStart when the key that signs links can't be read."""
    try:
        home_module.secret_key(home)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or ("it is no text" if isinstance(error, UnicodeError) else str(error))
        raise CannotStart(
            f"The key that signs links, {home / home_module.SECRET_FILE}, can't be read: {why}. Take it from a backup, "
            "or move it away: a new one is made, and letter links sent before no longer open."
        ) from error


def bring_up_to_date(loud: bool = False) -> None:
    """Migrates the database to this version; raises CannotStart when a newer version wrote it or it can't be opened."""
    from django.core.management import call_command
    from django.db import DatabaseError, connection
    from django.db.migrations.executor import MigrationExecutor

    try:
        executor = MigrationExecutor(connection)
        unknown = set(executor.loader.applied_migrations) - set(executor.loader.disk_migrations)
        if unknown:
            raise CannotStart(
                f"This database was written by a newer Coatround ({sorted(unknown)[0][1]}). Install that one or newer."
            )
        if executor.migration_plan(executor.loader.graph.leaf_nodes()):
            if loud:
                print("Bringing the database up to date ...", file=sys.stderr)
            call_command("migrate", verbosity=0, interactive=False)
    except DatabaseError as error:
        raise CannotStart(
            f"The database can't be opened: {error}. Is it a Coatround database, and is there room?"
        ) from error


def must_hold_records(home: Path) -> None:
    """Raises CannotStart when nothing was ever kept in this home: the folder's name may be mistyped."""
    from django.db import DatabaseError, connection
    from django.db.migrations.recorder import MigrationRecorder

    try:
        if MigrationRecorder(connection).has_table():
            return
    except DatabaseError as error:
        raise CannotStart(f"The database can't be opened: {error}. Is it a Coatround database?") from error
    raise CannotStart(f"{home} holds no Coatround records. Name the right folder with --home.")

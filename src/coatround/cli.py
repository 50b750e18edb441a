"""The `coatround` command: each job is one word, loaded only when it is asked for."""

import importlib
import os
import sys
from collections.abc import Callable, Sequence

from coatround import __version__
from coatround.home import NoSuchPath

COMMANDS = {
    "serve": ("coatround.serve_command", "serve_main", "show Coatround in the browser"),
    "demo": (
        "coatround.demo_command",
        "demo_main",
        "show it with an invented town, groomer and two years of work",
    ),
    "import": (
        "coatround.import_command",
        "import_main",
        "bring in a list of households, contacts or appointments",
    ),
    "roads": ("coatround.roads_command", "roads_main", "say which roads are in use, or add those of your region"),
    "plan": ("coatround.plan_command", "plan_main", "plan a round problem file"),
    "check": (
        "coatround.plan_command",
        "check_main",
        "check a plan against its problem, by other means than it was made",
    ),
    "reckon": ("coatround.reckon_command", "reckon_main", "reckon mix, heat, noise, lifting, coat and more from JSON"),
    "doctor": ("coatround.doctor_command", "doctor_main", "say whether a phone will trust an address by https"),
    "export": ("coatround.export_command", "export_main", "write every kind of record to its own table file"),
    "backup": ("coatround.backup_command", "backup_main", "write everything into one file"),
    "restore": ("coatround.backup_command", "restore_main", "put a backup's contents into an empty folder"),
}


def usage() -> str:
    width = max(map(len, COMMANDS))
    lines = [f"  {name:<{width}}  {words}" for name, (_, _, words) in COMMANDS.items()]
    return "\n".join(
        [
            "coatround COMMAND ... : plans, prepares and records the repeating round of a mobile dog groomer.",
            "",
            *lines,
            "",
            "Each takes --help. What you own lives in one folder: --home DIR, or COATROUND_HOME.",
            "It ends with 0 when all went well, 1 when the answer is no, 2 when what was given is wrong.",
        ]
    )


def main(argv: Sequence[str] | None = None) -> int:
    """Runs one command; returns its exit status."""
    words = list(sys.argv[1:] if argv is None else argv)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "coatround.web.settings")
    if not words or words[0] in ("-h", "--help", "help"):
        print(usage(), file=sys.stdout if words else sys.stderr)
        return 0 if words else 2
    if words[0] == "--version":
        print(f"coatround {__version__}")
        return 0
    if words[0] not in COMMANDS:
        print(f"coatround: there is no command {words[0]!r}. There are: {', '.join(COMMANDS)}.", file=sys.stderr)
        return 2
    module, name, _ = COMMANDS[words[0]]
    command: Callable[[Sequence[str]], int] = getattr(importlib.import_module(module), name)
    try:
        return command(words[1:])
    except KeyboardInterrupt:
        print("coatround: stopped.", file=sys.stderr)
        return 1
    except BrokenPipeError:
        return 1
    except Exception as error:
        why = _words_of(error)
        if not why:
            raise
        print(f"coatround {words[0]}: {why}", file=sys.stderr)
        return 2


def _words_of(error: Exception) -> str:
    """What to say of an error that lies in what the command was given: a setting, a path, a database; else nothing."""
    from django.core.exceptions import ImproperlyConfigured
    from django.db import OperationalError

    if isinstance(error, (ImproperlyConfigured, NoSuchPath)):
        return str(error)
    if isinstance(error, OperationalError):
        return f"The database can't be used: {error}. Is there room, and may you write there?"
    return ""

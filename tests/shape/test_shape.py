"""The house keeps its shape: direction of foreign keys, purity of the core, names, file lengths, docs."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.apps import apps

from coatround.cli import COMMANDS

ROOT = Path(__file__).parents[2]
SOURCE = ROOT / "src" / "coatround"
LIBRARIES = ["contenttypes", "auth", "sessions", "messages", "staticfiles", "humanize", "django_htmx", "js_lib_leaflet"]
LOWER_ROOMS = ["base", "roads", "records", "visits", "notes", "due", "rounds", "runs"]
UPPER_ROOMS = ["letters", "books", "shelf", "watch", "reckon", "bringing", "phone", "desk"]
ROOMS = LIBRARIES + LOWER_ROOMS + UPPER_ROOMS
WITHOUT_TABLES = {"roads", "due", "runs", "watch", "reckon", "desk"}
CLOCK_AND_CHANCE = {"now", "today", "utcnow", "time", "monotonic", "perf_counter", "uuid4", "urandom", "getenv"}
BANNED_WORDS = re.compile(r"(utils|helpers?|manager|service)$", re.I)


def modules(folder: Path) -> list[Path]:
    return sorted(path for path in folder.rglob("*.py") if "migrations" not in path.parts)


def calls(tree: ast.AST) -> Iterator[ast.Call]:
    return (node for node in ast.walk(tree) if isinstance(node, ast.Call))


def test_foreign_keys_point_downwards() -> None:
    """A lower room never holds a key to a higher one, not even by a string."""
    for model in apps.get_models():
        for field in model._meta.get_fields():
            if field.is_relation and not field.auto_created and field.related_model:
                here, there = model._meta.app_label, field.related_model._meta.app_label
                assert ROOMS.index(there) <= ROOMS.index(here), f"{model.__name__}.{field.name} points up to {there}"


def test_derived_rooms_have_no_tables() -> None:
    for label in WITHOUT_TABLES:
        assert list(apps.get_app_config(label).get_models()) == []


@pytest.mark.parametrize("folder", ["core", "intake"])
def test_core_calls_no_clock_and_no_chance(folder: str) -> None:
    """today, now and seed come in as arguments; a generator with a given seed is not chance."""
    for path in modules(SOURCE / folder):
        tree = ast.parse(path.read_text())
        names = {alias.name for node in ast.walk(tree) if isinstance(node, ast.Import) for alias in node.names}
        assert not names & {"os", "time", "secrets", "socket", "subprocess"}, f"{path}: imports {names}"
        for call in calls(tree):
            if isinstance(call.func, ast.Attribute) and call.func.attr in CLOCK_AND_CHANCE:
                owner = ast.unparse(call.func.value)
                clocks = (
                    "date",
                    "datetime",
                    "dt.date",
                    "dt.datetime",
                    "time",
                    "datetime.date",
                    "datetime.datetime",
                    "uuid",
                )
                assert owner not in clocks, f"{path}:{call.lineno}: {owner}.{call.func.attr}()"


def test_core_opens_no_files() -> None:
    for path in [*modules(SOURCE / "core"), *modules(SOURCE / "intake")]:
        for call in calls(ast.parse(path.read_text())):
            assert not (isinstance(call.func, ast.Name) and call.func.id == "open"), f"{path}:{call.lineno}"


def test_names_are_the_trades() -> None:
    """No module or class is called utils, helpers, manager or service."""
    for path in modules(SOURCE):
        assert not BANNED_WORDS.search(path.stem), path
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.ClassDef):
                assert not BANNED_WORDS.search(node.name), f"{path}: class {node.name}"


def test_modules_stay_readable() -> None:
    """A module over 400 lines is a reason to split."""
    long = {
        str(path.relative_to(ROOT)): lines
        for path in modules(SOURCE)
        if (lines := len(path.read_text().splitlines())) > 400
    }
    assert long == {}


def test_core_is_documented() -> None:
    """Every public module, class and function of the core says what it is in a sentence."""
    silent = []
    for path in modules(SOURCE / "core"):
        tree = ast.parse(path.read_text())
        if path.stem != "__init__" and not ast.get_docstring(tree):
            silent.append(str(path))
        for node in tree.body:
            if (
                isinstance(node, ast.FunctionDef | ast.ClassDef)
                and not node.name.startswith("_")
                and not ast.get_docstring(node)
            ):
                silent.append(f"{path.name}: {node.name}")
    assert silent == []


def test_templates_hold_no_inline_code_or_style() -> None:
    """The nonce policy stays strict because no page needs more."""
    inline = re.compile(r"<script(?![^>]*\bsrc=)(?![^>]*application/json)|\son\w+=\"|\sstyle=\"|<style", re.I)
    for path in sorted(SOURCE.rglob("templates/**/*")):
        if path.is_file():
            found = inline.search(path.read_text())
            assert found is None, f"{path.relative_to(ROOT)}: {found and found.group()}"


def test_every_command_is_in_the_readme_and_the_words_in_the_docs() -> None:
    readme = (ROOT / "README.md").read_text()
    for name in COMMANDS:
        assert f"coatround {name}" in readme or f"make {name}" in readme, name
    words = (ROOT / "docs" / "words.md").read_text()
    for word in ("household", "caution", "the usual", "routine", "run sheet", "opening", "told", "finding"):
        assert word in words, word


def test_the_version_is_the_changelogs() -> None:
    from coatround import __version__

    first = re.search(r"^## (\S+),", (ROOT / "CHANGELOG.md").read_text(), re.M)
    assert first is not None
    assert first.group(1) == __version__
    assert f'version = "{__version__}"' in (ROOT / "pyproject.toml").read_text()


def test_licences_and_hosts() -> None:
    """No requirement names a host, and nothing GPL is needed to run."""
    for path in sorted((ROOT / "requirements").iterdir()):
        assert "://" not in path.read_text(), path

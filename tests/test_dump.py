"""Dumps of every version given out: each is filled into an empty database, migrated, and its pages open."""

import json
import os
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import psycopg
import pytest
from psycopg import sql

ROOT = Path(__file__).parents[1]
DUMPS = sorted((ROOT / "tests" / "data").glob("dump-*.jsonl"))
SERVER = os.environ.get("COATROUND_TEST_DATABASE", "") or os.environ.get("COATROUND_DATABASE", "")
MUST_RUN = os.environ.get("COATROUND_TEST_ALL") == "yes"
DATABASE = "coatround_dump_test"

LOAD = """
import json, sys
from pathlib import Path
from coatround.start import bring_up_to_date, use_home
use_home(None)
from tests.data.dump import load, our_models
counts = load(Path(sys.argv[1]))
bring_up_to_date()
from django.conf import settings
from django.test import Client
from django.urls import reverse
from coatround.web.base.context import NAVIGATION
from coatround.web.base.models import Worker
from coatround.web.visits.models import Groom, Visit
settings.ALLOWED_HOSTS.append("testserver")
client = Client()
client.force_login(Worker.objects.order_by("made_at")[0])
addresses = [reverse(name) for name, _ in NAVIGATION]
groom = Groom.objects.order_by("-date", "pk")[0]
addresses += [reverse("dog", args=[groom.dog_id]), reverse("household", args=[groom.dog.household_id])]
addresses += [reverse("visits:visit", args=[groom.visit])]
pages = {address: client.get(address).status_code for address in addresses}
there = {model._meta.label: model._default_manager.count() for model in our_models()}
print(json.dumps({"filled": counts, "there": there, "pages": pages}))
"""


@pytest.fixture
def sqlite() -> dict[str, str]:
    return {}


@pytest.fixture
def postgres() -> Iterator[dict[str, str]]:
    """A database of its own on the server that the tests were given."""
    if not SERVER:
        if MUST_RUN:
            pytest.fail("no PostgreSQL server: COATROUND_TEST_DATABASE is not set")
        pytest.skip("SKIPPED: no PostgreSQL server; name one in COATROUND_TEST_DATABASE")
    name = f"{DATABASE}_{os.getpid()}"
    drop = sql.SQL("DROP DATABASE IF EXISTS {}").format(sql.Identifier(name))
    with psycopg.connect(SERVER, autocommit=True) as server:
        server.execute(drop)
        server.execute(sql.SQL("CREATE DATABASE {}").format(sql.Identifier(name)))
        try:
            yield {"COATROUND_DATABASE": urlsplit(SERVER)._replace(path=f"/{name}").geturl()}
        finally:
            server.execute(drop)


def rows_of(dump: Path) -> Counter[str]:
    with dump.open(encoding="utf-8") as held:
        next(held)
        return Counter(json.loads(line)["table"] for line in held)


def test_there_is_a_dump() -> None:
    assert DUMPS
    for dump in DUMPS:
        assert dump.stat().st_size < 3_000_000
        assert len(rows_of(dump)) > 30


@pytest.mark.parametrize("dump", DUMPS, ids=[dump.stem for dump in DUMPS])
@pytest.mark.parametrize("database", ["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def test_a_dump_is_taken_and_migrated(
    dump: Path, database: str, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    """Every row is there after the newest migration, no key leads nowhere, and the navigation's pages open."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("COATROUND_", "DJANGO_"))}
    paths = os.pathsep.join([str(ROOT / "src"), str(ROOT)])
    more = {"PYTHONPATH": paths, "COATROUND_HOME": str(tmp_path / "dump"), "COATROUND_TODAY": "2026-11-25"}
    answer = subprocess.run(
        [sys.executable, "-c", LOAD, str(dump)],
        env=kept | more | request.getfixturevalue(database),
        capture_output=True,
        text=True,
        timeout=300,
    )
    assert answer.returncode == 0, answer.stderr
    told = json.loads(answer.stdout.splitlines()[-1])
    assert told["filled"] == dict(rows_of(dump))
    assert {table: count for table, count in told["there"].items() if table in told["filled"]} == told["filled"]
    assert set(told["pages"].values()) == {200}, told["pages"]

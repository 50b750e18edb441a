"""Files that are no extract to use, and buildings that are cut off: a clear error, and the old roads still in use."""

import datetime as dt
import os
import resource
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from coatround.roads import adding
from coatround.roads.extract import BadExtract
from coatround.roads.in_use import roads_in_use
from tests.roads.small_extract import SOUTH, WEST, write_squares

GOOD = "good.osm.pbf"
COMMAND = [sys.executable, "-m", "coatround"]
SURROUNDINGS = {name: value for name, value in os.environ.items() if not name.startswith(("COATROUND_HOME", "DJANGO"))}
SURROUNDINGS["PYTHONPATH"] = os.pathsep.join(sys.path)
PIN_FAR_AWAY = """
import django; django.setup()
from coatround.web.records.models import Household, Place
Place.objects.create(household=Household.objects.create(name="Far"), line="1 Far Street", lat={lat}, lon={lon})
"""


def coatround(*words: str | Path, **more: Any) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [*COMMAND, *map(str, words)], capture_output=True, text=True, env=SURROUNDINGS, timeout=120, check=False, **more
    )


@pytest.fixture(scope="module")
def good_home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("good")
    write_squares(folder / GOOD)
    done = coatround("roads", "add", folder / GOOD, "--home", folder / "home", "--country", "AU")
    assert done.returncode == 0, done.stderr
    return folder / "home"


@pytest.fixture
def used_home(good_home: Path, tmp_path: Path) -> Path:
    """A home of its own in which good roads are in use."""
    return shutil.copytree(good_home, tmp_path / "used")


def refused(home: Path, file: Path | list[Path], *words: str, **more: Any) -> None:
    """Adding must end with 2, say all of these words, and change nothing."""
    files = file if isinstance(file, list) else [file]
    done = coatround("roads", "add", *files, "--home", home, **more)
    assert done.returncode == 2, done.stderr
    assert "Traceback" not in done.stderr
    for word in words:
        assert word in done.stderr
    old_roads_are_used(home)


def old_roads_are_used(home: Path, parts: int = 0) -> None:
    told = coatround("roads", "--home", home)
    assert told.returncode == 0, told.stderr
    assert f"Roads of {GOOD}, added " in told.stdout
    assert len(list((home / "roads").glob("*.part"))) == parts
    roads = roads_in_use(home)
    assert roads
    assert {path.name for path in roads.folder.parent.iterdir() if path.is_dir() and path.suffix != ".part"} == {
        roads.about.stamp
    }


def cut_short(file: Path, real: Path) -> None:
    file.write_bytes(real.read_bytes()[: real.stat().st_size // 2])


def damaged(file: Path, real: Path) -> None:
    data = bytearray(real.read_bytes())
    middle = len(data) // 2
    data[middle : middle + 64] = bytes(64)
    file.write_bytes(data)


def as_xml(file: Path, _real: Path) -> None:
    file.write_text('<?xml version="1.0" encoding="UTF-8"?>\n<osm version="0.6"><node id="1" lat="1" lon="1"/></osm>\n')


def zipped(file: Path, real: Path) -> None:
    with zipfile.ZipFile(file, "w") as out:
        out.write(real, "region.osm.pbf")


def empty(file: Path, _real: Path) -> None:
    file.touch()


def missing(_file: Path, _real: Path) -> None:
    """Nothing is there."""


def a_folder(file: Path, _real: Path) -> None:
    file.mkdir()


def only_footpaths(file: Path, _real: Path) -> None:
    write_squares(file, highway="footway")


def two_regions(file: Path, _real: Path) -> None:
    write_squares(file, corners=((SOUTH, WEST), (SOUTH - 5, WEST + 5)))


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (cut_short, ("broken or cut short", "Download it again")),
        (damaged, ("broken or cut short", "Download it again")),
        (as_xml, ("XML", "Choose the same extract as .osm.pbf")),
        (zipped, ("is not an OpenStreetMap extract", "ends in .osm.pbf")),
        (empty, ("is empty", "Download it again")),
        (missing, ("is not there", "Check its name")),
        (a_folder, ("is a folder", "Choose the file")),
        (only_footpaths, ("holds no road that a van can drive", "Choose the extract of your own region")),
        (two_regions, ("holds two regions 7", " km apart", "Choose the extract of the region you work in")),
    ],
)
def test_a_bad_file(
    make: Callable[[Path, Path], None], words: tuple[str, ...], used_home: Path, helsinki_file: Path, tmp_path: Path
) -> None:
    file = tmp_path / "region.osm.pbf"
    make(file, helsinki_file)
    refused(used_home, file, "region.osm.pbf", *words, f"The roads of {GOOD}, added ", "are still in use.")


def test_two_files(used_home: Path, helsinki_file: Path, tmp_path: Path) -> None:
    refused(used_home, [helsinki_file, helsinki_file], "give one extract", "first joined into one file")


def test_a_bad_table_of_speeds(used_home: Path, helsinki_file: Path, tmp_path: Path) -> None:
    table = tmp_path / "speeds.csv"
    table.write_text("kind,days,from,until,percent\nresidential,Mon-Fri,9,7,50\n")
    done = coatround("roads", "add", helsinki_file, "--home", used_home, "--speeds", table)
    assert done.returncode == 2
    assert "speeds.csv, line 2: until '7' is not after 9" in done.stderr
    assert "still in use" in done.stderr
    old_roads_are_used(used_home)


def test_another_region_than_that_of_the_addresses(used_home: Path, helsinki_file: Path) -> None:
    words = PIN_FAR_AWAY.format(lat=SOUTH, lon=WEST)
    surroundings = SURROUNDINGS | {"COATROUND_HOME": str(used_home), "DJANGO_SETTINGS_MODULE": "coatround.web.settings"}
    subprocess.run([sys.executable, "-c", words], env=surroundings, check=True)
    refused(used_home, helsinki_file, "only 0 of your 1 addresses lie in it", "Choose the extract of the region")


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of a few megabytes, where one may be mounted."""
    disk = tmp_path / "disk"
    disk.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=40m", "tmpfs", str(disk)], capture_output=True, check=False
    )
    if mounted.returncode:
        pytest.skip("no file system may be mounted here; the next test stands for a full disk")
    yield disk
    subprocess.run(["umount", str(disk)], check=True)


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="mounts a file system as Linux does")
@pytest.mark.parametrize(
    ("room_kb", "words"),
    [
        (0, ("is there room?",)),
        (64, ("could not be built", "Is there room", "still in use")),
        (8000, ("could not be built", "Is there room", "still in use")),
        (9500, ("could not be built", "Is there room", "still in use")),
    ],
)
def test_a_full_disk(
    room_kb: int, words: tuple[str, ...], good_home: Path, small_disk: Path, helsinki_file: Path
) -> None:
    """Full at once, and while the boundary, the ways and the tiles are written."""
    home = shutil.copytree(good_home, small_disk / "home")
    free = shutil.disk_usage(small_disk).free - room_kb * 1024
    (small_disk / "filler").write_bytes(bytes(max(0, free)))
    refused(home, helsinki_file, *words)


@pytest.mark.parametrize("most_kb", [100, 200])
def test_files_may_not_grow(most_kb: int, used_home: Path, helsinki_file: Path) -> None:
    """What a full disk is to a program, by a limit on the size of its files: this runs everywhere."""
    limit = (most_kb * 1024, most_kb * 1024)
    refused(
        used_home,
        helsinki_file,
        "Is there room",
        "still in use",
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, limit),
    )


@pytest.mark.parametrize("error", [sqlite3.OperationalError("database or disk is full"), OSError(28, "No space left")])
def test_full_when_the_addresses_are_written(
    error: Exception, used_home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The tiles take more room while they are built than all that follows, so a disk is never filled just there."""

    def full(*_given: Any, **_named: Any) -> None:
        raise error

    write_squares(tmp_path / "other.osm.pbf")
    monkeypatch.setattr(adding, "build_addresses", full)
    with pytest.raises(BadExtract, match=r"Is there room in .*used, and may you write there"):
        adding.add_roads(used_home, tmp_path / "other.osm.pbf", now=dt.datetime.now(dt.UTC))
    old_roads_are_used(used_home)


def building(home: Path, file: Path) -> subprocess.Popen[str]:
    """An adding that has come to building the roads, in a process group of its own."""
    words = [*COMMAND, "roads", "add", str(file), "--home", str(home)]
    running = subprocess.Popen(
        words, env=SURROUNDINGS, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True
    )
    until = time.monotonic() + 60
    while not list((home / "roads").glob("*.part/tiles/*")):
        assert running.poll() is None
        assert time.monotonic() < until
        time.sleep(0.005)
    return running


def test_stopped_by_the_keyboard(used_home: Path, helsinki_file: Path) -> None:
    running = building(used_home, helsinki_file)
    os.killpg(running.pid, signal.SIGINT)
    _, said = running.communicate(timeout=60)
    assert running.returncode == 1
    assert "Traceback" not in said
    assert f"Stopped. The roads of {GOOD}, added " in said
    old_roads_are_used(used_home)


def test_killed_while_building(used_home: Path, helsinki_file: Path) -> None:
    running = building(used_home, helsinki_file)
    os.killpg(running.pid, signal.SIGKILL)
    running.communicate(timeout=60)
    assert running.returncode == -signal.SIGKILL
    old_roads_are_used(used_home, parts=1)
    (left,) = (used_home / "roads").glob("*.part")
    days_ago = time.time() - 2 * 24 * 3600
    os.utime(left, (days_ago, days_ago))
    done = coatround("roads", "add", helsinki_file, "--home", used_home)
    assert done.returncode == 0, done.stderr
    assert "Roads of Helsinki.osm.pbf" in coatround("roads", "--home", used_home).stdout
    assert not left.exists()

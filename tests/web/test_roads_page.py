"""The roads page: what is in use, handing over an extract, its progress, stopping, and files that are no good."""

import subprocess
import time
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from coatround.roads.in_use import About, put_in_use, write_about
from coatround.roads.progress import read_progress, stop_asked, write_progress
from coatround.roads_command import roads_main
from tests.roads.small_extract import write_squares

pytestmark = pytest.mark.django_db


@pytest.fixture
def at_home(settings: object, tmp_path: Path) -> Path:
    """A home folder of the test's own."""
    settings.HOME = tmp_path  # type: ignore[attr-defined]
    return tmp_path


def in_use(home: Path) -> About:
    """Roads in use, of which only what is said about them is there."""
    about = About(
        "20260301T080000-aa11",
        "ford.osm.pbf",
        "2026-03-01T08:00:00+00:00",
        "2026-01-05T00:00:00+00:00",
        1485,
        319_455,
        5563,
        350,
        (-29.636, 128.855, -29.559, 128.939),
        "AU",
        "left",
        speeds_by_hour=True,
    )
    folder = home / "roads" / about.stamp
    folder.mkdir(parents=True)
    write_about(folder, about)
    put_in_use(home, about.stamp)
    return about


def test_it_works(signed_in: Client, at_home: Path) -> None:
    page = signed_in.get(reverse("roads:page")).content.decode()
    assert "No roads are in use: every drive is an estimate" in page
    assert 'enctype="multipart/form-data"' in page


def test_it_says_what_is_in_use_and_how_old_it_is(signed_in: Client, at_home: Path) -> None:
    in_use(at_home)
    page = signed_in.get(reverse("roads:page")).content.decode()
    for words in ("ford.osm.pbf, added 1 March 2026", "drawn 5 January 2026", "1485, 319.5 km", "5563 in 350 streets"):
        assert words in page
    assert "AU, left" in page
    assert "by hour of the day" in page
    assert "© OpenStreetMap contributors" in page


def test_a_file_that_is_no_extract_is_refused_at_once(signed_in: Client, at_home: Path) -> None:
    in_use(at_home)
    file = SimpleUploadedFile("region.osm.pbf", b"<?xml version='1.0'?><osm/>")
    answer = signed_in.post(reverse("roads:page"), {"file": file})
    assert answer.status_code == 422
    assert "as XML. Choose the same extract as .osm.pbf." in answer.content.decode()
    assert "ford.osm.pbf, added" in answer.content.decode()
    assert not list((at_home / "roads" / "handed-over").iterdir())


def test_no_file_is_told(signed_in: Client, at_home: Path) -> None:
    answer = signed_in.post(reverse("roads:page"), {})
    assert answer.status_code == 422
    assert "required" in answer.content.decode()


def test_a_building_shows_how_far_it_is_and_can_be_stopped(signed_in: Client, at_home: Path) -> None:
    write_progress(at_home, "region.osm.pbf", "building", 42, "Building the roads.")
    page = signed_in.get(reverse("roads:page")).content.decode()
    assert "Building region.osm.pbf" in page
    assert 'value="42"' in page
    part = signed_in.get(reverse("roads:progress")).content.decode()
    assert "Building the roads." in part
    signed_in.post(reverse("roads:stop"))
    assert stop_asked(at_home)


def test_only_one_building_at_a_time(signed_in: Client, at_home: Path) -> None:
    write_progress(at_home, "region.osm.pbf", "building", 42, "Building the roads.")
    file = SimpleUploadedFile("other.osm.pbf", b"\x00\x00\x00\x0d\x0a\x09OSMHeader")
    page = signed_in.post(reverse("roads:page"), {"file": file}, follow=True).content.decode()
    assert "An extract is being built already." in page


def test_a_building_that_is_over_or_silent_is_told(
    signed_in: Client, at_home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_progress(at_home, "region.osm.pbf", "refused", 0, "It holds no road. The roads of ford.osm.pbf are in use.")
    assert "It holds no road." in signed_in.get(reverse("roads:page")).content.decode()
    assert signed_in.get(reverse("roads:progress"))["HX-Refresh"] == "true"
    write_progress(at_home, "region.osm.pbf", "building", 42, "Building the roads.")
    later = time.time() + 1000
    monkeypatch.setattr("coatround.roads.progress.time.time", lambda: later)
    assert "stopped by itself" in signed_in.get(reverse("roads:page")).content.decode()


def test_an_extract_that_was_handed_over_comes_into_use(
    signed_in: Client, at_home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The page starts the same command that a person would; here it is run to its end."""
    started: list[list[str]] = []
    monkeypatch.setattr(subprocess, "Popen", lambda words, **_more: started.append(words))
    file = at_home / "small.osm.pbf"
    write_squares(file)
    with file.open("rb") as handed:
        signed_in.post(reverse("roads:page"), {"file": SimpleUploadedFile("small.osm.pbf", handed.read())})
    assert started[0][1:5] == ["-m", "coatround", "roads", "add"]
    monkeypatch.undo()
    monkeypatch.setenv("COATROUND_HOME", str(at_home))
    assert roads_main(["add", "--anyway", started[0][-1]]) == 0
    adding = read_progress(at_home)
    assert adding is not None
    assert adding.state == "done"
    assert not list((at_home / "roads" / "handed-over").iterdir())


def test_a_stop_before_the_building_has_begun_is_kept(
    signed_in: Client, at_home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Between handing over and the first word of the building the page never forgets that something is being built."""
    started: list[list[str]] = []
    monkeypatch.setattr(subprocess, "Popen", lambda words, **_more: started.append(words))
    write_squares(at_home / "small.osm.pbf")
    file = SimpleUploadedFile("small.osm.pbf", (at_home / "small.osm.pbf").read_bytes())
    signed_in.post(reverse("roads:page"), {"file": file})
    signed_in.post(reverse("roads:stop"))
    monkeypatch.undo()
    monkeypatch.setenv("COATROUND_HOME", str(at_home))
    assert roads_main(["add", "--anyway", started[0][-1]]) == 1
    adding = read_progress(at_home)
    assert adding is not None
    assert adding.state == "stopped"
    assert "No roads are in use" in signed_in.get(reverse("roads:page")).content.decode()

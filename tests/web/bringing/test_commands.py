"""The commands import and export: answers, exit statuses, and that what went in comes out."""

import csv
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from coatround import export_command
from coatround.export_command import cell, export_main, tables
from coatround.import_command import import_main
from coatround.intake.cells import is_formula
from coatround.intake.phones import e164
from coatround.web.base.models import Firm
from coatround.web.bringing.actions import accept
from coatround.web.records.models import Household
from tests.intake.corpus import FILES, FOLDER, read_bytes, read_file


@pytest.fixture(autouse=True)
def this_home(monkeypatch: pytest.MonkeyPatch, home: Path, db: None) -> None:
    """The commands use the database of the test."""
    monkeypatch.setenv("COATROUND_HOME", str(home))
    monkeypatch.setenv("COATROUND_TODAY", "2026-11-25")
    monkeypatch.setattr("coatround.import_command.bring_up_to_date", lambda: None)
    monkeypatch.setattr("coatround.export_command.bring_up_to_date", lambda: None)


def answer_of(capsys: pytest.CaptureFixture[str], *argv: str) -> tuple[int, dict[str, Any]]:
    status = import_main([*argv, "--json"])
    printed = capsys.readouterr().out
    return status, json.loads(printed) if printed else {}


def test_it_works(capsys: pytest.CaptureFixture[str], firm: Firm) -> None:
    status, answer = answer_of(capsys, str(FOLDER / "plain.csv"))
    assert (status, answer["rows"], answer["made"], answer["joined"], answer["refused"]) == (0, 3, 3, 0, [])
    status, again = answer_of(capsys, str(FOLDER / "plain.csv"))
    assert (status, again["made"], again["joined"]) == (0, 0, 3)


def test_some_refused_is_1_and_they_come_back(capsys: pytest.CaptureFixture[str], firm: Firm, tmp_path: Path) -> None:
    out = tmp_path / "refused.csv"
    status, answer = answer_of(capsys, str(FOLDER / "nothing-to-go-by.csv"), "--refused", str(out))
    assert (status, answer["rows"], answer["made"]) == (1, 3, 1)
    assert [sorted(one) for one in answer["refused"]] == [["reason", "row"], ["reason", "row"]]
    assert b"Ghost" in out.read_bytes()


def test_a_preview_writes_nothing(capsys: pytest.CaptureFixture[str], firm: Firm) -> None:
    status, answer = answer_of(capsys, str(FOLDER / "plain.csv"), "--preview")
    assert (status, answer["made"]) == (0, 3)
    assert not Household.objects.exists()


@pytest.mark.parametrize("name", ["empty.csv", "broken.xlsx", "no-card.vcf", "page.csv", "dates-unsettled.csv", "none"])
def test_nothing_readable_is_2_in_words(capsys: pytest.CaptureFixture[str], firm: Firm, name: str) -> None:
    assert import_main([str(FOLDER / name)]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.startswith("coatround import: ")
    assert "Traceback" not in said.err


def test_open_dates_name_the_option(capsys: pytest.CaptureFixture[str], firm: Firm) -> None:
    assert import_main([str(FOLDER / "dates-unsettled.csv")]) == 2
    assert "--dates day-first" in capsys.readouterr().err
    assert import_main([str(FOLDER / "dates-unsettled.csv"), "--dates", "day-first"]) == 0


def test_a_home_not_set_up_says_which_country(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert import_main([str(FOLDER / "plain.csv"), "--country", "au", "--preview"]) == 0
    assert "as in AU (--country)" in capsys.readouterr().err
    monkeypatch.setenv("LC_ALL", "en_NZ.UTF-8")
    assert import_main([str(FOLDER / "plain.csv"), "--preview"]) == 0
    assert "as in NZ (the system's locale)" in capsys.readouterr().err
    assert import_main([str(FOLDER / "plain.csv"), "--country", "XY"]) == 2


def exported(folder: Path) -> dict[str, list[dict[str, str]]]:
    found = {}
    for file in folder.glob("*.csv"):
        with file.open(encoding="utf-8-sig", newline="") as opened:
            found[file.stem] = list(csv.DictReader(opened))
    return found


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_what_was_read_is_shown_by_export(path: Path, firm: Firm, tmp_path: Path) -> None:
    answer = json.loads(path.with_name(f"{path.name}.json").read_text())
    if "rows" not in answer:
        return
    accept(read_file(path), None)
    assert export_main(["--out", str(tmp_path / "out")]) == 0
    rows = exported(tmp_path / "out")
    plain = {name: {key: [row[key].removeprefix("'") for row in table] for key in (table[0] if table else {})}
             for name, table in rows.items()}  # fmt: skip
    assert len(rows["records-household"]) == len(answer["households"])
    for household in answer["households"]:
        assert household["name"] in plain["records-household"]["name"]
        for person in household.get("persons", []):
            assert set(person.get("phones", [])) <= set(plain["records-person"]["phone"])
            assert set(person.get("emails", [])) <= set(plain["records-person"]["email"])
        for dog in household.get("dogs", []):
            assert dog["name"] in plain["records-dog"]["name"]
        for note in household.get("notes", []):
            assert any(note in kept for kept in plain["records-household"]["notes"])
        for told in household.get("told", []):
            assert told["date"] in plain["visits-visit"]["date"]


def test_no_cell_of_an_export_runs_and_no_code_is_in_it(firm: Firm, tmp_path: Path) -> None:
    accept(read_file(FOLDER / "formulas.csv"), None)
    accept(read_bytes(b"Name,Phone,Gate code,Lat,Lon\nAda,0412 345 601,s3cret-4471,-33.7,150.3\n"), None)
    assert export_main(["--out", str(tmp_path)]) == 0
    for file in tmp_path.glob("*.csv"):
        text = file.read_text(encoding="utf-8-sig")
        assert "s3cret-4471" not in text
        assert not [one for row in csv.reader(text.splitlines(keepends=True)) for one in row if is_formula(one)]
    assert "records-placekey" not in exported(tmp_path)


def test_every_kind_of_record_is_exported_or_named_as_left_out(db: None) -> None:
    from django.apps import apps

    ours = {
        model._meta.label for model in apps.get_models(include_auto_created=True) if "coatround" in model.__module__
    }
    written = {name.removesuffix(".csv").lower() for name, _ in tables()}
    left = {label.lower().replace(".", "-") for label in export_command.LEFT_OUT}
    assert {label.lower().replace(".", "-") for label in ours} == written | left
    assert not any("password" in next(rows) for _, rows in tables())


def test_cells() -> None:
    assert cell("+61412345601") == "'+61412345601"
    assert cell([1, 2]) == "[1, 2]"
    assert cell(None) == ""
    assert e164(cell("+61412345601"), "AU") == "+61412345601"


def test_an_export_of_a_folder_without_records_says_so(tmp_path: Path) -> None:
    """A mistyped --home must not look like an empty firm."""
    command = [
        sys.executable,
        "-m",
        "coatround",
        "export",
        "--home",
        str(tmp_path / "none"),
        "--out",
        str(tmp_path / "out"),
    ]
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("COATROUND_", "DJANGO_"))}
    source = str(Path(__file__).parents[3] / "src")
    answer = subprocess.run(command, env=kept | {"PYTHONPATH": source}, capture_output=True, text=True, timeout=60)
    assert answer.returncode == 2
    assert "none is no folder" in answer.stderr
    assert not (tmp_path / "out").exists()
    assert not (tmp_path / "none").exists()

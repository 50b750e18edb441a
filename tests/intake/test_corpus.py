"""Every awkward file ends as the answer beside it says, with each of its rows accounted for."""

import csv
import io
import json
from pathlib import Path

import pytest

from coatround.intake import Unreadable, reconcile, refused_file
from coatround.intake.cells import is_formula
from tests.intake.corpus import FILES, known, read_bytes, read_file, told

ANSWERS = {path: json.loads(path.with_name(f"{path.name}.json").read_text()) for path in FILES}
READABLE = [path for path, answer in ANSWERS.items() if "rows" in answer]
REFUSING = [path for path, answer in ANSWERS.items() if answer.get("refused")]


def test_there_are_enough_awkward_files() -> None:
    assert len(FILES) >= 25
    assert {path.suffix for path in FILES} == {".csv", ".tsv", ".xlsx", ".vcf", ".ics"}


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_it_ends_as_its_answer_says(path: Path) -> None:
    assert told(path) == ANSWERS[path]


@pytest.mark.parametrize("path", READABLE, ids=lambda path: path.name)
def test_rows_are_the_sum_of_made_joined_and_refused(path: Path) -> None:
    reading = read_file(path)
    outcome = reconcile(reading)
    assert outcome.rows == len(reading.rows) == outcome.made + outcome.joined + len(outcome.refused)
    assert [end.row for end in outcome.ends] == [row.row for row in reading.rows]
    assert all(one.reason.rstrip().endswith((".", "…")) for one in outcome.refused)


@pytest.mark.parametrize("path", READABLE, ids=lambda path: path.name)
def test_the_same_file_twice_changes_nothing(path: Path) -> None:
    first = reconcile(read_file(path))
    second = reconcile(read_file(path), known(first))
    assert second.made == 0
    assert second.changes == 0
    assert second.refused == first.refused
    assert second.joined == first.made + first.joined


@pytest.mark.parametrize("path", REFUSING, ids=lambda path: path.name)
def test_refused_rows_come_back_in_their_own_format_and_are_refused_again(path: Path) -> None:
    reading = read_file(path)
    outcome = reconcile(reading)
    back = refused_file(reading, outcome)
    again = read_bytes(back.data, f"refused.{back.ending}", dates=reading.dates if "first" in reading.dates else None)
    assert again.kind == reading.kind
    assert len(again.rows) == len(outcome.refused)
    assert not any(row.household for row in again.rows) or path.name in WAIT_FOR_OTHERS


# Refused for what the other rows say; by themselves these rows are sound.
WAIT_FOR_OTHERS = {"by-address.csv", "crossed-lines.csv", "torn-between-two.csv"}


@pytest.mark.parametrize("path", [path for path in READABLE if path.suffix == ".csv"], ids=lambda path: path.name)
def test_no_cell_that_is_written_back_would_run(path: Path) -> None:
    reading = read_file(path)
    text = refused_file(reading, reconcile(reading, left_out=frozenset(row.row for row in reading.rows))).data
    rows = list(csv.reader(io.StringIO(text.decode("utf-8-sig"), newline=""), delimiter=reading.delimiter))
    assert not [cell for row in rows for cell in row if is_formula(cell)]
    assert len(read_bytes(text).rows) == len(reading.rows)


def test_a_mended_row_is_taken() -> None:
    reading = read_bytes(b"Name,Phone,Dog\n,,Stray\n")
    back = refused_file(reading, reconcile(reading)).data.decode("utf-8-sig")
    mended = reconcile(read_bytes(back.replace('"","","Stray"', '"Ada Finch","","Stray"').encode()))
    assert (mended.made, mended.refused) == (1, ())
    assert mended.households[0].household.notes == ()


def test_a_settled_date_order_is_asked_for_by_name() -> None:
    path = next(path for path in FILES if path.name == "dates-unsettled.csv")
    with pytest.raises(Unreadable, match="day-first or month-first"):
        reconcile(read_file(path))
    day_first = reconcile(read_file(path, dates="day-first")).households[0].household.dogs[0]
    month_first = reconcile(read_file(path, dates="month-first")).households[0].household.dogs[0]
    assert (str(day_first.last_groom), str(month_first.last_groom)) == ("2026-04-03", "2026-03-04")

"""The command `coatround export`: one CSV for each kind of record, without keys, codes and secrets."""

import argparse
import csv
import json
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from coatround.intake.cells import neutralised
from coatround.start import CannotStart, bring_up_to_date, must_hold_records, named, use_home

# The ninth promise: keys, gate and alarm codes are in no export. Neither is what signs people in.
LEFT_OUT = {
    "records.PlaceKey": "keys, gate and alarm codes show on that day's run only",
    "base.SignInLink": "a link that signs in is a secret",
}
COLUMNS_LEFT_OUT = {"base.Worker": {"password", "last_login"}}
CHUNK = 2_000


def export_main(argv: Sequence[str] | None = None) -> int:
    """`coatround export`: 0 when every kind of record was written, 2 when the home or the folder can't be used."""
    asked = _parser().parse_args(argv)
    out = Path(asked.out)
    try:
        if asked.home and not Path(asked.home).is_dir():
            raise CannotStart(f"{asked.home} is no folder. Name the one that holds your records with --home.")
        must_hold_records(use_home(asked.home))
        bring_up_to_date()
        out.mkdir(parents=True, exist_ok=True)
        written = [(name, _write(out / name, rows)) for name, rows in tables()]
    except CannotStart as error:
        print(f"coatround export: {error}", file=sys.stderr)
        return 2
    except OSError as error:
        print(f"coatround export: {out} can't be written: {error.strerror}. Name another folder.", file=sys.stderr)
        return 2
    for name, count in written:
        print(f"{name}: {count}")
    print(f"Keys, gate and alarm codes are left out on purpose. Everything else is in {out}.", file=sys.stderr)
    return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="coatround export",
        description="Writes one CSV file for each kind of record: households, dogs, visits, payments and so on. "
        "They open in any spreadsheet; no cell of them can run as a formula. Keys, gate and alarm codes and "
        "passwords are left out.",
        epilog="Exit status: 0 everything was written, 2 the home or the folder can't be used.",
    )
    parser.add_argument(
        "--home", metavar="DIR", type=named, help="the folder that holds everything (default: COATROUND_HOME)"
    )
    parser.add_argument(
        "--out", metavar="FOLDER", type=named, required=True, help="the folder to write into; it is made if missing"
    )
    return parser


def tables() -> Iterator[tuple[str, Iterator[list[str]]]]:
    """A file name and its rows, heading first, for every kind of record of our own applications."""
    from django.apps import apps

    for model in apps.get_models(include_auto_created=True):
        label = model._meta.label
        ours = model.__module__.startswith("coatround.")
        if ours and label not in LEFT_OUT and model._meta.managed and not model._meta.proxy:
            yield f"{model._meta.app_label}-{model._meta.model_name}.csv", _rows(model)


def _rows(model: Any) -> Iterator[list[str]]:
    hidden = COLUMNS_LEFT_OUT.get(model._meta.label, set())
    names = [field.attname for field in model._meta.concrete_fields if field.attname not in hidden]
    yield names
    for values in model._default_manager.order_by("pk").values_list(*names).iterator(chunk_size=CHUNK):
        yield [cell(value) for value in values]


def cell(value: Any) -> str:
    """A value as text that no spreadsheet runs; lists and records as JSON, instants and dates as ISO 8601."""
    from coatround.web.base.changes import plain

    if value is None:
        return ""
    if isinstance(value, (bool, list, dict)):
        return neutralised(json.dumps(value, ensure_ascii=False, sort_keys=True))
    return neutralised(str(plain(value)))


def _write(file: Path, rows: Iterator[list[str]]) -> int:
    """UTF-8 with a byte order mark, which the common spreadsheets need to see that it is UTF-8; returns the records."""
    count = -1
    with file.open("w", encoding="utf-8-sig", errors="replace", newline="") as opened:
        writer = csv.writer(opened, quoting=csv.QUOTE_ALL, lineterminator="\r\n")
        for row in rows:
            writer.writerow(row)
            count += 1
    return count

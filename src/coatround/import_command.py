"""The command `coatround import`: a file in, every row made, joined or refused with its reason."""

import argparse
import json
import locale
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from coatround.intake import KINDS, MOST_BYTES, DatesUnsettled, Outcome, Reading, Unreadable, read, refused_file
from coatround.start import CannotStart, bring_up_to_date, named, use_home


class _WrongInput(Exception):
    """What was given is wrong; the message says what, what was expected and what to do."""


def import_main(argv: Sequence[str] | None = None) -> int:
    """`coatround import`: 0 when all rows were made or joined, 1 when some were refused, 2 when nothing was read."""
    asked = _parser().parse_args(argv)
    try:
        data = _bytes_of(asked.file)
        if asked.refused:
            _must_be_writable(Path(asked.refused), Path(asked.file))
        use_home(asked.home)
        bring_up_to_date()
        reading = _reading(data, asked)
        outcome = _outcome(reading, asked.preview)
        if asked.refused and outcome.refused:
            _write(Path(asked.refused), refused_file(reading, outcome).data)
    except DatesUnsettled as error:
        print(f"coatround import: {error} Give --dates day-first or --dates month-first.", file=sys.stderr)
        return 2
    except (Unreadable, CannotStart, _WrongInput) as error:
        print(f"coatround import: {error}", file=sys.stderr)
        return 2
    _tell(reading, outcome, asked)
    return 1 if outcome.refused else 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="coatround import",
        description="Brings in a list of households (CSV, TSV or XLSX), contacts (vCard) or appointments (iCalendar). "
        "Each row is made, joined to a household that has the same phone, email or address, or refused with a reason. "
        "The same file twice changes nothing.",
        epilog="Exit status: 0 every row was made or joined, 1 some were refused, 2 nothing could be read and nothing "
        "was written.",
    )
    parser.add_argument("file", metavar="FILE", type=named, help="the file to bring in")
    parser.add_argument(
        "--home", metavar="DIR", type=named, help="the folder that holds everything (default: COATROUND_HOME)"
    )
    parser.add_argument("--kind", choices=KINDS, help="what kind of file it is (default: by what it holds)")
    parser.add_argument(
        "--country", metavar="AU", help="two letters: how phones are read that name no country (default: the firm's)"
    )
    parser.add_argument(
        "--dates", choices=("day-first", "month-first"), help="how 3/4/2026 is read, where the file does not settle it"
    )
    parser.add_argument("--preview", action="store_true", help="say what would happen, and write nothing")
    parser.add_argument(
        "--refused", metavar="OUT", type=named, help="write the refused rows here, in the file's own format"
    )
    parser.add_argument("--json", action="store_true", help="answer as JSON: rows, made, joined, refused")
    return parser


def _bytes_of(name: str) -> bytes:
    file = Path(name)
    try:
        if file.stat().st_size > MOST_BYTES:
            raise _WrongInput(f"{file} is larger than {MOST_BYTES // 10**6} MB. Bring it in as two files.")
        return file.read_bytes()
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else str(error)
        raise _WrongInput(f"{file} can't be read: {reason}. Check its name and place.") from error


def _reading(data: bytes, asked: argparse.Namespace) -> Reading:
    from django.utils import timezone

    from coatround.web.base.firm import firm_or_none, held_today
    from coatround.web.base.money import currency_decimals
    from coatround.web.records.countries import follows_from

    firm = firm_or_none()
    country = _country(asked.country, firm.country if firm else "")
    follows = follows_from(country)
    zone = ZoneInfo(firm.zone if firm else follows.zone)
    return read(
        data,
        Path(asked.file).name,
        kind=asked.kind,
        country=country,
        dates=asked.dates,
        today=held_today() or timezone.now().astimezone(zone).date(),
        zone=zone,
        exponent=firm.currency_decimals if firm else currency_decimals(follows.currency),
    )


def _country(asked: str | None, firm: str) -> str:
    """The country that was asked for, else the firm's, else the system's, which is said aloud."""
    from coatround.web.records.countries import country_codes

    if asked and asked.upper() not in country_codes():
        raise _WrongInput(f"--country {asked} is no country of ISO 3166. Give two letters, such as AU, NZ, GB or US.")
    if firm:
        return asked.upper() if asked else firm
    country = asked.upper() if asked else _country_of_system()
    if country not in country_codes():
        raise _WrongInput("This home is not set up yet and the system names no country. Give --country, such as AU.")
    source = "--country" if asked else "the system's locale"
    print(f"This home is not set up yet: phones, money and times are read as in {country} ({source}).", file=sys.stderr)
    return country


def _country_of_system() -> str:
    named = (os.environ.get(name, "") for name in ("LC_ALL", "LC_TELEPHONE", "LC_MESSAGES", "LANG"))
    language = next((value for value in named if "_" in value), "") or (locale.getlocale()[0] or "")
    return language.partition(".")[0].partition("@")[0].partition("_")[2].upper()[:2]


def _outcome(reading: Reading, preview: bool) -> Outcome:
    from coatround.intake import reconcile
    from coatround.web.bringing.actions import accept
    from coatround.web.bringing.queries import known_households

    return reconcile(reading, known_households()) if preview else accept(reading, None)


def _must_be_writable(out: Path, file: Path) -> None:
    """Refuses, before anything is brought in, a place where the refused rows can't be written afterwards."""
    if out.exists() and out.samefile(file):
        raise _WrongInput(f"--refused {out} is the file that is brought in, and would be lost. Name another.")
    if out.is_dir() or not out.parent.is_dir() or not os.access(out if out.exists() else out.parent, os.W_OK):
        raise _WrongInput(f"the refused rows can't be written to {out}. Name a file in a folder that you may write in.")


def _write(out: Path, data: bytes) -> None:
    try:
        out.write_bytes(data)
    except OSError as error:
        raise _WrongInput(f"the refused rows can't be written to {out}: {error.strerror}. Name another.") from error


def _tell(reading: Reading, outcome: Outcome, asked: argparse.Namespace) -> None:
    if asked.json:
        answer: dict[str, Any] = {"rows": outcome.rows, "made": outcome.made, "joined": outcome.joined}
        answer["refused"] = [{"row": one.row, "reason": one.reason} for one in outcome.refused]
        print(json.dumps(answer | {"remarks": list(reading.remarks)}, ensure_ascii=False))
        return
    for remark in reading.remarks:
        print(remark, file=sys.stderr)
    for one in outcome.refused:
        print(one.reason, file=sys.stderr)
    if asked.refused and outcome.refused:
        print(f"The refused rows are in {asked.refused}: mend them and bring that file in.", file=sys.stderr)
    would = "would be " if asked.preview else ""
    print(
        f"{outcome.rows} rows: {outcome.made} {would}made, {outcome.joined} {would}joined, "
        f"{len(outcome.refused)} {would}refused. {outcome.changes} households {'would change' if would else 'changed'}."
    )

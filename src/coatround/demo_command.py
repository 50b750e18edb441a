"""`coatround demo`: an invented town, groomer and two years of work, planned for four weeks and shown."""

import argparse
import contextlib
import datetime as dt
import json
import os
import sys
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

import platformdirs

from coatround import __version__, start
from coatround import home as home_module
from coatround.digits import whole_number
from coatround.serve_command import port_number, print_address
from coatround.serving import CannotServe, Served, free_or_words

HOST = "127.0.0.1"
TOWN = 2
"""Raised when the town itself changes, so that an older demo is made anew; 2 has roads."""
MARK_FILE = "demo.json"
HELD = "COATROUND_TODAY"
WEEKS = 4
FIRST_YEAR, LAST_YEAR = 2000, 2100
ITERATIONS = 1500


def parser() -> argparse.ArgumentParser:
    told = argparse.ArgumentParser(
        prog="coatround demo",
        description="Shows Coatround with an invented town, an invented groomer, about 120 dogs and two years of work, "
        "and a round planned for the next four weeks. Nothing in it is real, and your own records are not touched: the "
        "demo has a folder of its own. The first time takes some seconds longer than later times.",
        epilog="Example: coatround demo. It ends with 0 when stopped, 1 when it can't plan, 2 when it can't start.",
    )
    told.add_argument(
        "--home", metavar="DIR", type=start.named, help="keep the demo in this folder instead (must be empty or a demo)"
    )
    told.add_argument("--today", metavar="DATE", type=_date, help="show it as on this date, held still (2026-11-25)")
    told.add_argument("--port", type=port_number, default=8000, help="the number after the colon in the address (8000)")
    told.add_argument("--dogs", type=_dogs, default=120, help="how many dogs the town has (120; 10000 need 80 vans)")
    told.add_argument("--no-serve", action="store_true", help="make it, print nothing to open, and end")
    told.add_argument("--fresh", action="store_true", help="make it anew, even if this week's is there")
    return told


def _date(typed: str) -> dt.date:
    try:
        date = dt.date.fromisoformat(typed)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{typed!r} is not a date. Write it like 2026-11-25.") from None
    if not FIRST_YEAR <= date.year <= LAST_YEAR:
        raise argparse.ArgumentTypeError(f"{typed} is out of reach. Give a year from {FIRST_YEAR} to {LAST_YEAR}.")
    return date


def _dogs(typed: str) -> int:
    dogs = whole_number(typed, 20_000)
    if not dogs:
        raise argparse.ArgumentTypeError(f"{typed!r} is not a number of dogs. Give a whole number from 1 to 20000.")
    return dogs


def demo_main(argv: Sequence[str]) -> int:
    """Makes the demo where it is missing, and serves it; returns the exit status."""
    asked = parser().parse_args(argv)
    try:
        _ready(asked)
        if asked.no_serve:
            return 0
        served = Served(HOST, asked.port)
    except (start.CannotStart, CannotServe) as error:
        print(f"coatround demo: {error}", file=sys.stderr)
        return 2
    except _CannotPlanDemo as error:
        print(f"coatround demo: {error}", file=sys.stderr)
        return 1
    if asked.today:
        os.environ[HELD] = asked.today.isoformat()
    print_address(f"http://{HOST}:{served.port}", with_link=True)
    served.run()
    print("Stopped.", file=sys.stderr)
    return 0


class _CannotPlanDemo(Exception):
    """The first plan could not be made; the message says why."""


def _ready(asked: argparse.Namespace) -> None:
    """Sees to it that the demo of the asked week stands in its folder."""
    if os.environ.get("COATROUND_DATABASE", "").strip():
        raise start.CannotStart("The demo keeps to its own folder. Unset COATROUND_DATABASE and start it again.")
    if not asked.no_serve:
        free_or_words(HOST, asked.port)
    from coatround.demo.catching_up import catch_up
    from coatround.demo.whole import MOST_DOGS_PLANNED, SEED

    folder = demo_folder(asked.home)
    today = asked.today or dt.date.today()  # noqa: DTZ011 - the week on this computer's own calendar
    wanted = _mark(today, asked.dogs)
    if _old(folder, wanted, fresh=asked.fresh):
        for name in ("", "-wal", "-shm"):
            (folder / f"{home_module.DATABASE_FILE}{name}").unlink(missing_ok=True)
        (folder / MARK_FILE).unlink()
    start.use_home(str(folder))
    start.bring_up_to_date()
    if not (folder / MARK_FILE).exists():
        _make(folder, wanted, today, asked.dogs)
    if asked.dogs <= MOST_DOGS_PLANNED:
        with _held(today):
            catch_up(SEED, today)


def demo_folder(asked: str | None) -> Path:
    """Where the demo is kept: the folder named, COATROUND_HOME, or the system's data folder for the demo alone."""
    folder = (
        asked or os.environ.get("COATROUND_HOME", "").strip() or platformdirs.user_data_dir("coatround-demo", False)
    )
    return home_module.path(folder).resolve()


def _mark(today: dt.date, dogs: int) -> dict[str, str | int | bool]:
    """What a demo is made of; another mark is another demo."""
    from coatround.demo.whole import SEED, monday_of

    week = monday_of(today).isoformat()
    return {"week": week, "dogs": dogs, "seed": SEED, "version": __version__, "town": TOWN, "ready": True}


def _old(folder: Path, wanted: dict[str, str | int | bool], *, fresh: bool) -> bool:
    """Whether a demo stands there that is to be made anew; refuses a folder that holds anything else."""
    mark = folder / MARK_FILE
    if not mark.exists():
        if (folder / home_module.DATABASE_FILE).exists():
            raise start.CannotStart(f"{folder} holds records that are no demo. Name an empty folder with --home.")
        return False
    try:
        found = json.loads(mark.read_text())
    except OSError as error:
        raise start.CannotStart(f"{mark} can't be read: {error.strerror}. Name an empty folder with --home.") from error
    except ValueError:
        found = {}
    if not isinstance(found, dict):
        found = {}
    if found == wanted and not fresh:
        return False
    why = "as asked"
    if not found.get("ready"):
        why = "because it was never finished"
    elif found != wanted:
        why = f"because it was made for the week of {found.get('week')} with {found.get('dogs')} dogs"
    print(f"The demo in {folder} is made anew, {why}.", file=sys.stderr)
    return True


def _make(folder: Path, wanted: dict[str, str | int | bool], today: dt.date, dogs: int) -> None:
    """Writes the town and plans it; the mark says only at the end that it is whole."""
    from coatround.demo.town_roads import add_town_roads, by_road
    from coatround.demo.whole import MOST_DOGS_PLANNED, SEED, monday_of, vans_for
    from coatround.demo.writing import write_demo
    from coatround.roads.in_use import roads_in_use

    mark, began = folder / MARK_FILE, time.monotonic()
    mark.write_text(json.dumps(wanted | {"ready": False}))
    _tell(f"Inventing a town with {dogs} dogs and two years of work ...")
    add_town_roads(folder, SEED, vans_for(dogs), dt.datetime.combine(monday_of(today), dt.time(6), dt.UTC))
    roads = roads_in_use(folder)
    write_demo(SEED, today, dogs, _tell, by_road(roads) if roads else None)
    monday = monday_of(today)
    if dogs <= MOST_DOGS_PLANNED:
        _tell(f"Planning the {WEEKS} weeks from {monday:%A} {monday.day} {monday:%B} ...")
        with _held(monday):
            _plan(monday)
    mark.write_text(json.dumps(wanted))
    _tell(f"The demo is in {folder}, made in {time.monotonic() - began:.0f} seconds.")


def _plan(monday: dt.date) -> None:
    """Plans four weeks from that Monday and accepts the plan, as the groomer."""
    from coatround.web.base.models import Worker
    from coatround.web.rounds.actions import accept
    from coatround.web.rounds.gather import CannotPlan
    from coatround.web.rounds.propose import plan_now

    groomer = Worker.objects.order_by("made_at", "id")[0]
    last = monday + dt.timedelta(days=7 * WEEKS - 1)
    try:
        proposal = plan_now(monday, last, who=groomer, iterations=ITERATIONS)
    except CannotPlan as error:
        raise _CannotPlanDemo(str(error)) from error
    accept(proposal, groomer, base_version=proposal.base_version)


@contextlib.contextmanager
def _held(today: dt.date) -> Iterator[None]:
    """Today held still, so that the plan is the same on every day of the week."""
    before = os.environ.get(HELD)
    os.environ[HELD] = today.isoformat()
    try:
        yield
    finally:
        if before is None:
            del os.environ[HELD]
        else:
            os.environ[HELD] = before


def _tell(words: str) -> None:
    print(words, file=sys.stderr, flush=True)

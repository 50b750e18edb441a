"""`coatround roads`: which roads are in use, and adding an extract of one's own region."""

import argparse
import datetime as dt
import json
import re
import shutil
import sys
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path

from coatround.roads.in_use import HANDED_OVER, ROADS, About, roads_in_use
from coatround.start import CannotStart, bring_up_to_date, named, use_home

HOW_TO = (
    "Drives are an estimate from straight lines. Add an OpenStreetMap extract of your region, a file that ends in"
    " .osm.pbf: coatround roads add FILE"
)


def parser() -> argparse.ArgumentParser:
    told = argparse.ArgumentParser(
        prog="coatround roads",
        description="Without more words says which roads are in use and how old they are. `add FILE` reads an"
        " OpenStreetMap extract (.osm.pbf) of your region: roads for drives, addresses to find, streets for the map."
        " All three come into use at once; until then, and when the file is no good, the old roads stay in use.",
        epilog="It ends with 0 when roads are in use, 1 when there are none or the building was stopped, 2 when the"
        " file can't be used. Example: coatround roads add region.osm.pbf",
    )
    told.add_argument("what", nargs="?", choices=["add"], help="add: build the roads of an extract and use them")
    told.add_argument("file", nargs="*", metavar="FILE", type=named, help="one extract, a file that ends in .osm.pbf")
    told.add_argument("--home", metavar="DIR", type=named, help="the folder that holds everything you own")
    told.add_argument(
        "--country",
        metavar="AU",
        type=_country,
        help="two letters: where the roads are, if the file"
        " does not say (default: the firm's country); it decides the side of the road",
    )
    told.add_argument(
        "--speeds",
        metavar="TABLE",
        type=named,
        help="speeds by hour: a table with kind,days,from,until,percent (docs/roads.md)",
    )
    told.add_argument(
        "--anyway", action="store_true", help="take it though your addresses lie elsewhere, or it holds two regions"
    )
    told.add_argument("--json", action="store_true", help="answer as JSON")
    return told


def _country(typed: str) -> str:
    if not re.fullmatch(r"[A-Za-z]{2}", typed):
        raise argparse.ArgumentTypeError(
            f"{typed!r} is no country. Give two letters of ISO 3166, like AU, NZ, GB or US."
        )
    return typed.upper()


def roads_main(argv: Sequence[str]) -> int:
    """Says what roads are in use, or adds some; returns the exit status."""
    told = parser()
    asked = told.parse_intermixed_args(argv)
    if asked.what == "add" and len(asked.file) != 1:
        told.error(
            "give one extract: coatround roads add FILE. Two regions are first joined into one file."
            if asked.file
            else "give the extract to add: coatround roads add FILE"
        )
    try:
        home = use_home(asked.home)
        if asked.what == "add":
            bring_up_to_date()
            return _add(home, asked)
    except CannotStart as error:
        print(f"coatround roads: {error}", file=sys.stderr)
        return 2
    roads = roads_in_use(home)
    if roads is None:
        print(json.dumps(None) if asked.json else f"No roads are in use. {HOW_TO}")
        return 1
    _tell(roads.about, asked.json)
    return 0


def _add(home: Path, asked: argparse.Namespace) -> int:
    from coatround.roads.adding import add_roads
    from coatround.roads.extract import BadExtract
    from coatround.roads.progress import clear_progress, stop_asked, write_progress
    from coatround.roads.speeds import BadSpeeds, read_speeds
    from coatround.roads.tiles import Stopped

    file = Path(asked.file[0])

    def on_progress(percent: int, words: str) -> None:
        write_progress(home, file.name, "building", percent, words)
        print(f"\r{percent:3d} %  {words:<40}", end="", file=sys.stderr, flush=True)

    is_handed_over = file.parent.parent == home / ROADS / HANDED_OVER
    if not is_handed_over:  # else the page has said that it began, and may be told already to stop
        clear_progress(home)
    try:
        country, places = _wanted(asked.country)
        about = add_roads(
            home,
            file,
            now=dt.datetime.now(dt.UTC),
            country=country,
            places=places,
            speeds=read_speeds(Path(asked.speeds)) if asked.speeds else (),
            anyway=asked.anyway,
            on_progress=on_progress,
            stopped=lambda: stop_asked(home),
        )
    except (BadExtract, BadSpeeds) as error:
        words = f"{error} {_still(home)}"
        write_progress(home, file.name, "refused", 0, words)
        print(f"\ncoatround roads: {words}", file=sys.stderr)
        return 2
    except (Stopped, KeyboardInterrupt):
        words = f"Stopped. {_still(home)}"
        write_progress(home, file.name, "stopped", 0, words)
        print(f"\ncoatround roads: {words}", file=sys.stderr)
        return 1
    finally:
        if is_handed_over:
            shutil.rmtree(file.parent, ignore_errors=True)
    write_progress(home, file.name, "done", 100, "In use.")
    print(file=sys.stderr)
    _tell(about, asked.json)
    return 0


def _still(home: Path) -> str:
    roads = roads_in_use(home)
    if roads is None:
        return "No roads are in use, as before."
    return f"The roads of {roads.about.file}, added {roads.about.added_at[:10]}, are still in use."


def _wanted(country: str | None) -> tuple[str, list[tuple[float, float]]]:
    """The country to take where the extract says none, and the points that roads are wanted for."""
    from coatround.web.base.firm import firm_or_none
    from coatround.web.records.queries import pinned_points

    firm = firm_or_none()
    return country or (firm.country if firm else ""), pinned_points()


def _tell(about: About, as_json: bool) -> None:
    if as_json:
        print(json.dumps(asdict(about), indent=1))
        return
    south, west, north, east = about.bounds
    lines = [
        f"Roads of {about.file}, added {about.added_at[:10]}"
        + (f", drawn {about.data_from[:10]}." if about.data_from else "; the file does not say how old it is."),
        f"{about.roads} roads, {about.road_metres / 1000:.0f} km.",
        f"{about.addresses} addresses in {about.streets} streets.",
        f"From {south:.3f}, {west:.3f} to {north:.3f}, {east:.3f}.",
        f"Country {about.country or 'not known'}, driving on the {about.drives_on}.",
        "Speeds by hour are in them." if about.speeds_by_hour else "One speed for all hours.",
        "Map data © OpenStreetMap contributors, ODbL.",
    ]
    print("\n".join(lines))

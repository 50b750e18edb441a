"""Building the engine's tiles of an extract, in a process of its own that can be watched and stopped."""

import contextlib
import json
import os
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

import osmium
import valhalla
from babel import Locale
from osmium.osm.mutable import Node, Relation, Way

from coatround.roads.engine import config
from coatround.roads.extract import BadExtract

DRIVE_ON_THE_LEFT = frozenset(
    "AG AI AU BB BD BM BN BS BT BW CC CK CX CY DM FJ FK GB GD GG GY HK ID IE IM IN JE JM JP KE KI KN KY LC LK LS MO MS"  # noqa: SIM905
    " MT MU MV MW MY MZ NA NF NP NR NU NZ PG PK PN SB SC SG SH SR SZ TC TH TK TL TO TT TV TZ UG VC VG VI WS ZA ZM"
    " ZW".split()
)
"""Countries (ISO 3166) that drive on the left: common knowledge, from memory."""
STAGE_WORDS = {
    "osmdata": 0.05,
    "Parsing ways": 0.05,
    "Parsing nodes": 0.2,
    "Building": 0.45,
    "Enhancing": 0.6,
    "HierarchyBuilder": 0.75,
    "Creating shortcuts": 0.8,
    "Adding complex turn restrictions": 0.85,
    "Validating": 0.9,
    "Cleaning up": 0.98,
}
"""What the builder says as it comes to a stage, and the share of the work that lies behind it (a rough guess)."""


class Stopped(Exception):
    """Someone asked for the building to be stopped."""


def drives_on(country: str) -> str:
    """`left` or `right`."""
    return "left" if country in DRIVE_ON_THE_LEFT else "right"


def build_tiles(
    extract: Path,
    folder: Path,
    *,
    country: str,
    bounds: tuple[float, float, float, float],
    on_progress: Callable[[float], None],
    stopped: Callable[[], bool],
) -> None:
    """Builds `tiles/` and `admin.sqlite` in a folder; raises BadExtract in words, or Stopped."""
    (folder / "tiles").mkdir(parents=True)
    settings = folder / "valhalla.json"
    made = config(folder)
    made["mjolnir"] |= {"logging": {"type": "std_out", "color": False}, "include_bicycle": False}
    made["mjolnir"] |= {"include_pedestrian": False, "max_cache_size": 500_000_000}
    made["logging"] = {"type": "std_out", "color": False}
    settings.write_text(json.dumps(made))
    if country:
        _build_admins(folder, settings, country, bounds)
    run_builder("valhalla_build_tiles", ["-c", str(settings), str(extract)], on_progress, stopped)
    if not any((folder / "tiles").rglob("*.gph")):
        raise BadExtract(f"{extract.name} holds no road that a van can drive. Choose the extract of your own region.")
    settings.unlink()


def _build_admins(folder: Path, settings: Path, country: str, bounds: tuple[float, float, float, float]) -> None:
    """A boundary round the whole extract that says which country it is: most regional extracts lack their own."""
    with tempfile.TemporaryDirectory(dir=folder) as own:
        boundary = Path(own) / "boundary.osm.pbf"
        _write_boundary(boundary, country, bounds)
        run_builder("valhalla_build_admins", ["-c", str(settings), str(boundary)])
    with contextlib.closing(sqlite3.connect(folder / "admin.sqlite", isolation_level=None)) as file:
        file.execute("UPDATE admins SET drive_on_right = ?", (drives_on(country) == "right",))


def _write_boundary(file: Path, country: str, bounds: tuple[float, float, float, float]) -> None:
    south, west, north, east = bounds[0] - 0.1, bounds[1] - 0.1, bounds[2] + 0.1, bounds[3] + 0.1
    name = Locale("en").territories.get(country, country)
    tags = {"boundary": "administrative", "admin_level": "2"}
    writer = osmium.SimpleWriter(str(file))
    try:
        for number, at in enumerate([(west, south), (east, south), (east, north), (west, north)], 1):
            writer.add_node(Node(id=number, location=at, version=1, tags={}))
        writer.add_way(Way(id=1, nodes=[1, 2, 3, 4, 1], version=1, tags=tags))
        named = {"type": "boundary", "name": name, "ISO3166-1": country, "ISO3166-1:alpha2": country}
        writer.add_relation(Relation(id=1, members=[("w", 1, "outer")], version=1, tags=tags | named))
    finally:
        writer.close()


def run_builder(
    program: str,
    words: list[str],
    on_progress: Callable[[float], None] = lambda _share: None,
    stopped: Callable[[], bool] = lambda: False,
) -> None:
    """Runs one of the builder's programs to its end; a failure is told in its own last words."""
    folder = Path(valhalla.__file__).parent / "bin"
    path = folder / (f"{program}.exe" if sys.platform == "win32" else program)
    libraries = Path(valhalla.__file__).parent.parent / "pyvalhalla.libs"
    surroundings = os.environ | {"PATH": f"{libraries}{os.pathsep}{os.environ.get('PATH', '')}"}
    said: list[str] = []
    with subprocess.Popen(  # noqa: S603 - the engine's own program with our own words
        [path, *words], stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, errors="replace", env=surroundings
    ) as running:
        try:
            assert running.stdout is not None
            for line in running.stdout:
                said = [*said[-20:], line.strip()]
                for words_of_stage, share in STAGE_WORDS.items():
                    if words_of_stage in line:
                        on_progress(share)
                if stopped():
                    raise Stopped
        except BaseException:
            running.kill()
            raise
    if running.returncode:
        raise BadExtract(
            f"The roads could not be built of it: {_why(said, running.returncode)}. Is there room on the disk, and"
            " memory to spare? If there is, download the extract again."
        )


def _why(said: list[str], status: int) -> str:
    """The builder's own words for its failure, where it found any."""
    line = next((line for line in reversed(said) if "ERROR" in line or "what()" in line), "")
    return line.split("]", 1)[-1].replace("what():", "").strip(" .") or f"the engine stopped with {status}"

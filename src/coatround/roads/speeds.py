"""Speeds by hour: how much slower each kind of road is at each hour of the week, put into the engine's tiles.

The file is a table of `kind,days,from,until,percent`: kind of road as OpenStreetMap calls it (or `all`), days as
`Mon-Fri` or `Sat`, clock hours, and the speed as percent of the free road's. Later lines count over earlier ones.
"""

import csv
import json
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from valhalla.baldr import GraphTileHeader
from valhalla.baldr.utils import compress_speed_buckets, encode_compressed_speeds

from coatround.roads.engine import config
from coatround.roads.tiles import run_builder

KINDS = ("motorway", "trunk", "primary", "secondary", "tertiary", "unclassified", "residential", "service")
"""The engine's eight classes of road, most important first; `service` is service, track and living street."""
DAYS = ("Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat")
"""The engine's week begins on Sunday."""
BUCKETS_AN_HOUR = 12
EDGE_BYTES, NODE_BYTES, TRANSITION_BYTES = 48, 32, 8


class BadSpeeds(Exception):
    """The table of speeds can't be used; the message says which line, and what was expected."""


@dataclass(frozen=True, slots=True)
class HourSpeeds:
    """The speed of one kind of road at hours of some days, as percent of that of the free road."""

    kind: str
    days: tuple[int, ...]
    from_hour: int
    until_hour: int
    percent: int


def read_speeds(file: Path) -> tuple[HourSpeeds, ...]:
    """The table in a file; raises BadSpeeds."""
    try:
        rows = list(csv.DictReader(file.read_text(encoding="utf-8-sig").splitlines()))
    except (OSError, ValueError) as error:
        raise BadSpeeds(f"{file} can't be read: {error}. Give a table with kind,days,from,until,percent.") from error
    if not rows:
        raise BadSpeeds(f"{file.name} holds no line. Give a table with kind,days,from,until,percent.")
    return tuple(_row(file.name, number, row) for number, row in enumerate(rows, 2))


def _row(name: str, number: int, row: dict[str, str]) -> HourSpeeds:
    def bad(what: str, expected: str) -> BadSpeeds:
        return BadSpeeds(f"{name}, line {number}: {what} {(row.get(what) or '')!r} is not {expected}.")

    kind, days = (row.get("kind") or "").strip(), _days(row.get("days") or "")
    if kind not in (*KINDS, "all"):
        raise bad("kind", f"one of {', '.join(KINDS)}, all")
    if not days:
        raise bad("days", "like Mon-Fri, Sat or Mon-Sun")
    numbers = {}
    for what, most in (("from", 23), ("until", 24), ("percent", 150)):
        typed = (row.get(what) or "").strip()
        if not re.fullmatch(r"\d{1,3}", typed) or int(typed) > most:
            raise bad(what, f"a whole number up to {most}")
        numbers[what] = int(typed)
    if numbers["from"] >= numbers["until"]:
        raise bad("until", f"after {numbers['from']}")
    if numbers["percent"] < 5:
        raise bad("percent", "at least 5")
    return HourSpeeds(kind, days, numbers["from"], numbers["until"], numbers["percent"])


def _days(typed: str) -> tuple[int, ...]:
    first, dash, last = (part.strip().capitalize() for part in typed.partition("-"))
    if first not in DAYS or (dash and last not in DAYS):
        return ()
    begin, end = DAYS.index(first), DAYS.index(last if dash else first)
    return tuple(sorted((begin + step) % 7 for step in range((end - begin) % 7 + 1)))


def shares(speeds: Iterable[HourSpeeds]) -> NDArray[np.float64]:
    """The share of the free speed by class of road (8) and hour of the week from Sunday midnight (168)."""
    share = np.ones((len(KINDS), 7 * 24))
    for one in speeds:
        kinds = range(len(KINDS)) if one.kind == "all" else [KINDS.index(one.kind)]
        for day in one.days:
            share[list(kinds), day * 24 + one.from_hour : day * 24 + one.until_hour] = one.percent / 100
    return share


def add_speeds(folder: Path, speeds: Sequence[HourSpeeds]) -> None:
    """Writes the speeds by hour into the tiles of a folder."""
    share, coded = shares(speeds), dict[tuple[int, int], str]()
    lines = folder / "speeds"
    for tile in sorted((folder / "tiles").rglob("*.gph")):
        parts = tile.relative_to(folder / "tiles").with_suffix("").parts
        level, number = int(parts[0]), int("".join(parts[1:]))
        out = lines / Path(*parts).with_suffix(".csv")
        out.parent.mkdir(parents=True, exist_ok=True)
        with out.open("w") as file:
            for edge, (kind, km_h) in enumerate(edges_of(tile)):
                if (kind, km_h) not in coded:
                    coded[kind, km_h] = _coded(share[kind] * km_h)
                file.write(f"{level}/{number}/{edge},{km_h},{km_h},{coded[kind, km_h]}\n")
    settings = folder / "valhalla.json"
    settings.write_text(json.dumps(config(folder)))
    run_builder("valhalla_add_predicted_traffic", ["-c", str(settings), str(lines)])
    settings.unlink()


def _coded(km_h: NDArray[np.float64]) -> str:
    buckets = np.repeat(np.maximum(km_h, 1), BUCKETS_AN_HOUR).astype(np.float32)
    return str(encode_compressed_speeds(compress_speed_buckets(buckets).tolist()))


def edges_of(tile: Path) -> list[tuple[int, int]]:
    """Class of road (0 motorway to 7 service) and free speed in km/h of each directed edge of a tile.

    Read from the tile itself, whose layout is that of engine 3.9: header, nodes, transitions, edges of 48 bytes, whose
    third word holds the speed in its lowest byte and the class in bits 54 to 56. A test holds it against the engine.
    """
    data = tile.read_bytes()
    header = GraphTileHeader.from_bytes(data[: GraphTileHeader.byte_size()])
    first = GraphTileHeader.byte_size() + NODE_BYTES * header.nodecount + TRANSITION_BYTES * header.transitioncount
    end = first + EDGE_BYTES * header.directededgecount
    third = np.frombuffer(data[first:end], dtype="<u8").reshape(-1, EDGE_BYTES // 8)[:, 2]
    kinds, speeds = (third >> np.uint64(54)) & np.uint64(7), third & np.uint64(255)
    return list(zip(kinds.tolist(), speeds.tolist(), strict=True))

"""The awkward files beside their expected answers, and how a file is told in plain values to compare."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date, time
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from coatround.intake import Known, Outcome, Reading, Unreadable, read, reconcile
from coatround.intake.found import Household

FOLDER = Path(__file__).parents[1] / "data" / "intake"
FILES = sorted(path for path in FOLDER.iterdir() if path.suffix != ".json")
TODAY = date(2026, 11, 25)
SYDNEY = ZoneInfo("Australia/Sydney")


def read_file(path: Path, **changes: Any) -> Reading:
    return read_bytes(path.read_bytes(), path.name, **changes)


def read_bytes(data: bytes, name: str = "list.csv", **changes: Any) -> Reading:
    asked: dict[str, Any] = {"country": "AU", "today": TODAY, "zone": SYDNEY} | changes
    return read(data, name, **asked)


def known(outcome: Outcome) -> tuple[Known, ...]:
    """What is there after an outcome is accepted, in an empty home."""
    return tuple(Known(one.id or str(at), one.household) for at, one in enumerate(outcome.households))


def told(path: Path) -> dict[str, Any]:
    """What becomes of a file in an empty home, in the plain values that its answer is kept in."""
    try:
        reading = read_file(path)
        outcome = reconcile(reading)
    except Unreadable as error:
        return {"unreadable": str(error)}
    return {
        "rows": outcome.rows,
        "made": outcome.made,
        "joined": outcome.joined,
        "refused": [{"row": one.row, "reason": one.reason} for one in outcome.refused],
        "remarks": list(reading.remarks),
        "households": [plain_household(one.household) for one in outcome.households],
    }


def plain_household(household: Household) -> dict[str, Any]:
    found: dict[str, Any] = _plain(asdict(household))
    return found


def _plain(value: Any) -> Any:
    """Only what is filled, dates and times as ISO 8601."""
    if isinstance(value, dict):
        kept = {key: _plain(one) for key, one in value.items()}
        return {
            key: one for key, one in kept.items() if one is not None and one is not False and one not in ("", [], {})
        }
    if isinstance(value, (list, tuple)):
        return [_plain(one) for one in value]
    return value.isoformat() if isinstance(value, (date, time)) else value

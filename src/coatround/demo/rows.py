"""Where the generated rows gather: plain columns by table name, with ids that are the same every time."""

import datetime as dt
import uuid
import zoneinfo
from collections import defaultdict
from random import Random
from typing import Any

from coatround.ids import uuid7_from

ZONE = "Australia/Sydney"

Row = dict[str, Any]


class Rows:
    """Rows by table ("records.Dog"), in the order they were added, keyed by column ("household_id")."""

    def __init__(self) -> None:
        self.tables: dict[str, list[Row]] = defaultdict(list)

    def add(self, table: str, **columns: Any) -> Any:
        """Adds one row; returns its id."""
        self.tables[table].append(columns)
        return columns.get("id")

    def add_all(self, other: "Rows") -> None:
        """Adds another's rows after these."""
        for table, rows in other.tables.items():
            self.tables[table].extend(rows)


class Ids:
    """UUIDv7s from an instant and a generator of chance."""

    def __init__(self, chance: Random) -> None:
        self.chance = chance

    def at(self, instant: dt.datetime) -> uuid.UUID:
        """A new id of that instant."""
        return uuid7_from(int(instant.timestamp() * 1000), self.chance.getrandbits(74))


class Wall:
    """The firm's wall clock: instants in UTC from a date and whole seconds after its midnight."""

    def __init__(self, zone: str = ZONE) -> None:
        self.zone = zoneinfo.ZoneInfo(zone)
        self._midnights: dict[dt.date, dt.datetime] = {}

    def instant(self, date: dt.date, seconds: int) -> dt.datetime:
        """The instant in UTC. Counted back from noon, so that a clock change in the night does not move the day."""
        midnight = self._midnights.get(date)
        if midnight is None:
            noon = dt.datetime.combine(date, dt.time(12), self.zone).astimezone(dt.UTC)
            midnight = self._midnights[date] = noon - dt.timedelta(hours=12)
        return midnight + dt.timedelta(seconds=seconds)


def clock(seconds: int) -> dt.time:
    """Seconds after midnight as a time of day, to the minute."""
    minutes = min(max(seconds // 60, 0), 24 * 60 - 1)
    return dt.time(minutes // 60, minutes % 60)

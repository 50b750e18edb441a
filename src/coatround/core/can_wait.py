"""Who can wait least, of the visits that cannot be made on their day."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

SOONER = dt.timedelta(days=7)
"""A visit with a concern is put so much before where its last day would put it: our own default."""


@dataclass(frozen=True, slots=True)
class CanWait:
    """One visit of a lost day: when it fell due, the last day left to it, and what speaks against waiting.

    `due` is None where no interval asked for the visit, `last` where nothing settled leaves it another day. `concerns`
    are words, such as a skin caution; they order and are shown, and diagnose nothing.
    """

    id: str
    date: dt.date
    due: dt.date | None
    last: dt.date | None
    was_told: bool
    concerns: tuple[str, ...] = ()

    @property
    def days_past(self) -> int:
        """Days between when it was due and its lost day; 0 when it is not past."""
        return max(0, (self.date - self.due).days) if self.due else 0

    @property
    def ordered_by(self) -> dt.date:
        """The day that says how soon it has to be: the last one left, sooner where something speaks against waiting."""
        return (self.last or self.date) - (SOONER if self.concerns else dt.timedelta(0))


def least_first(visits: Iterable[CanWait]) -> tuple[CanWait, ...]:
    """The visits in the order in which they can wait: by day, then who was told, then the one longer past its date."""
    return tuple(sorted(visits, key=lambda one: (one.ordered_by, not one.was_told, -one.days_past, one.date, one.id)))

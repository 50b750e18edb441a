"""Everything that writes records: each act is one transaction, logged as one batch that can be undone."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from coatround.ids import uuid7
from coatround.web.base import changes
from coatround.web.base.firm import firm_today
from coatround.web.base.models import Firm, Worker
from coatround.web.base.money import currency_decimals
from coatround.web.base.rows import Kept, Row
from coatround.web.base.writing import writing
from coatround.web.records.models import (
    DayOff,
    Dog,
    Household,
    Person,
    Place,
    PlaceKey,
    Product,
    RoutineStep,
    Usual,
    Van,
    Vet,
    WorkingHours,
)

NAMELESS = "you"  # the first worker, as the serve command makes it


@dataclass(frozen=True)
class Step:
    """One step of a routine as it was entered."""

    step: str
    product: Product | None = None
    words: str = ""


@dataclass(frozen=True)
class DayHours:
    """The hours of one weekday (0 is Monday) as they were entered."""

    weekday: int
    open: dt.time
    close: dt.time
    break_minutes: int
    break_from: dt.time | None = None
    break_until: dt.time | None = None


def keep(row: Row, who: Worker | None, about: str = "") -> bool:
    """Saves one row; False when nothing had changed."""
    return changes.save(row, who, about=about)


def keep_all(rows: Sequence[Row], who: Worker | None, about: str = "") -> None:
    """Saves several rows as one act."""
    batch = uuid7()
    with writing():
        for row in rows:
            changes.save(row, who, batch=batch, about=about)


def shut(row: Kept, who: Worker | None, on: dt.date, why: str) -> None:
    """Closes a row with its reason; one who no longer works here can't sign in."""
    if isinstance(row, Worker):
        row.is_active = False
    changes.close(row, who, on, why)


def open_again(row: Kept, who: Worker | None) -> None:
    """Opens a closed row again."""
    row.closed_on, row.closed_why = None, ""
    if isinstance(row, Worker):
        row.is_active = True
    changes.save(row, who, about="opened again")


def enter_household(
    household: Household, person: Person | None, place: Place | None, dog: Dog | None, who: Worker | None
) -> Household:
    """A new household with its first person, place and dog, where they were given."""
    rows: list[Person | Place | Dog] = [row for row in (person, place, dog) if row is not None]
    for row in rows:
        row.household = household
    keep_all([household, *rows], who)
    return household


def keep_dog(dog: Dog, who: Worker | None, new_vet: Vet | None = None) -> None:
    """A dog, and the vet that was entered with it."""
    if new_vet is not None:
        dog.vet = new_vet
    keep_all([new_vet, dog] if new_vet is not None else [dog], who)


def keep_key(place: Place, words: str, replaces: PlaceKey | None, who: Worker | None) -> PlaceKey:
    """Enters a key or a code; the one it replaces is closed."""
    batch = uuid7()
    with writing():
        if replaces is not None:
            changes.close(replaces, who, firm_today(), "replaced", batch=batch)
        key = PlaceKey(place=place, words=words)
        changes.save(key, who, batch=batch, about="a key or code was entered")
    return key


def settle(usual: Usual, steps: Iterable[Step], day: dt.date, who: Worker | None) -> Usual:
    """Settles the usual from a day on: what stood till then ends the day before, and what had not begun is closed."""
    batch = uuid7()
    with writing():
        for before in standing_from(usual.dog, day):
            if before.valid_from < day:
                before.valid_until = day - dt.timedelta(days=1)
                changes.save(before, who, batch=batch)
            else:
                changes.close(before, who, day, "settled anew before it was used", batch=batch)
        usual.valid_from, usual.valid_until = day, None
        changes.save(usual, who, batch=batch)
        for order, step in enumerate(steps):
            row = RoutineStep(usual=usual, order=order, step=step.step, product=step.product, words=step.words)
            changes.save(row, who, batch=batch)
    return usual


def standing_from(dog: Dog, day: dt.date) -> list[Usual]:
    """The rows of the usual that are in force on a day, or would be later."""
    return [
        row for row in dog.usuals.filter(closed_on__isnull=True) if row.valid_until is None or row.valid_until >= day
    ]


def keep_van(van: Van, home: Place, week: Sequence[DayHours] | None, who: Worker | None) -> Van:
    """A van with its home place and, where given, its week."""
    batch = uuid7()
    with writing():
        changes.save(home, who, batch=batch)
        van.home = home
        changes.save(van, who, batch=batch)
        if week is not None:
            _keep_week(van, week, who, batch)
    return van


def keep_week(van: Van, week: Sequence[DayHours], who: Worker | None) -> None:
    """The hours of a van by weekday; a weekday that is not named is free."""
    with writing():
        _keep_week(van, week, who, uuid7())


def _keep_week(van: Van, week: Sequence[DayHours], who: Worker | None, batch: Any) -> None:
    rows = {row.weekday: row for row in van.hours.all()}
    for hours in week:
        row = rows.pop(hours.weekday, None) or WorkingHours(van=van, weekday=hours.weekday)
        row.open, row.close, row.break_minutes = hours.open, hours.close, hours.break_minutes
        row.break_from, row.break_until = hours.break_from, hours.break_until
        changes.save(row, who, batch=batch)
    for row in rows.values():
        changes.remove(row, who, batch=batch)


def drop_day_off(day_off: DayOff, who: Worker | None) -> None:
    """Takes back days off."""
    changes.remove(day_off, who)


def set_up_firm(firm: Firm, who: Worker | None) -> Firm:
    """The firm with what follows from its currency."""
    firm.currency_decimals = currency_decimals(firm.currency)
    changes.save(firm, who)
    return firm


def first_set_up(firm: Firm, who: Worker) -> Firm:
    """The firm of a new installation; its first worker, made without a name, is called as the firm is."""
    with writing():
        set_up_firm(firm, who)
        for first in Worker.objects.filter(pk=who.pk, name=NAMELESS):
            first.name = firm.name
            new_groomer(first, who)
    return firm


def new_groomer(worker: Worker, who: Worker | None) -> None:
    """Someone who works here; they sign in by a link until they have chosen a password."""
    if not worker.password:
        worker.set_unusable_password()
    changes.save(worker, who)

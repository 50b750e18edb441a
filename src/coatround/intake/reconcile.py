"""Each row of a reading as made, joined or refused, given the households that are there already.

Rows that say a phone or an email go first, then those with an address only, the fullest first, then those with no
more than a name. That order is what makes a second reading of the same file join every row where it went before.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal

from coatround.intake.errors import DatesUnsettled
from coatround.intake.found import (
    TO_BE_NAMED,
    AddressKey,
    Appointment,
    Dog,
    Household,
    Usual,
    address_key,
    agree,
    fold_in,
    folded,
)  # fmt: skip
from coatround.intake.past import history
from coatround.intake.preview import Reading, SourceRow

How = Literal["made", "joined", "refused"]


@dataclass(frozen=True)
class Known:
    """A household that is there already, under its id."""

    id: str
    household: Household


@dataclass(frozen=True)
class Refused:
    """A row that comes back, with the reason."""

    row: int
    reason: str


@dataclass(frozen=True)
class End:
    """How one row ended; `by` is what it was joined by, `household` an index into Outcome.households."""

    row: int
    shown: str
    how: How
    household: int | None
    by: str
    reason: str


@dataclass(frozen=True)
class Landed:
    """A household after the file: `id` and `before` are None where the file makes it."""

    id: str | None
    before: Household | None
    household: Household
    rows: tuple[int, ...]

    @property
    def changes(self) -> bool:
        """Whether accepting the file would write anything here."""
        return self.before != self.household


@dataclass(frozen=True)
class Outcome:
    """Every row's end; `rows` is always made + joined + the number refused."""

    ends: tuple[End, ...]
    households: tuple[Landed, ...]

    @property
    def rows(self) -> int:
        return len(self.ends)

    @property
    def made(self) -> int:
        return sum(end.how == "made" for end in self.ends)

    @property
    def joined(self) -> int:
        return sum(end.how == "joined" for end in self.ends)

    @property
    def refused(self) -> tuple[Refused, ...]:
        return tuple(Refused(end.row, end.reason) for end in self.ends if end.how == "refused")

    @property
    def changes(self) -> int:
        """How many households would be written."""
        return sum(one.changes for one in self.households)


class _Index:
    """Households so far, by everything that a row can be joined by."""

    def __init__(self, existing: Iterable[Known]) -> None:
        self.known = list(existing)
        self.households = [one.household for one in self.known]
        self.rows: list[list[int]] = [[] for _ in self.known]
        self.contacts: dict[str, set[int]] = {}
        self.streets: dict[str, dict[int, AddressKey]] = {}
        self.names: dict[str, set[int]] = {}
        self.words: dict[str, set[int]] = {}
        for at in range(len(self.households)):
            self._enter(at)

    def add(self, row: int, household: Household) -> int:
        self.households.append(household)
        self.rows.append([row])
        self._enter(len(self.households) - 1)
        return len(self.households) - 1

    def fold(self, at: int, row: int, household: Household) -> None:
        self.households[at] = fold_in(self.households[at], household)
        self.rows[at].append(row)
        self._enter(at)

    def _enter(self, at: int) -> None:
        household = self.households[at]
        for contact in (*household.phones, *household.emails):
            self.contacts.setdefault(contact, set()).add(at)
        key = address_key(household.place.address) if household.place else None
        if key:
            self.streets.setdefault(key.street, {})[at] = key
        self.names.setdefault(folded(household.name), set()).add(at)
        if not household.to_be_named:
            told = " ".join((household.name, *(dog.name for dog in household.dogs)))
            for word in folded(told).split():
                self.words.setdefault(word, set()).add(at)

    def by_contact(self, household: Household) -> list[tuple[str, set[int]]]:
        pairs = [(phone, self.contacts.get(phone, set())) for phone in household.phones]
        pairs += [(email, self.contacts.get(email, set())) for email in household.emails]
        return [(contact, owners) for contact, owners in pairs if owners]

    def by_address(self, household: Household) -> list[int]:
        """The households at this address that agree best with how it is written."""
        key = address_key(household.place.address) if household.place else None
        if not key:
            return []
        fits = {at: len(key.rest & one.rest) for at, one in self.streets.get(key.street, {}).items() if agree(key, one)}
        best = max(fits.values(), default=0)
        return sorted(at for at, shared in fits.items() if shared == best)

    def by_name(self, household: Household) -> list[int]:
        return sorted(self.names.get(folded(household.name), ()))

    def by_summary(self, summary: str) -> list[int]:
        """Named households whose dog and surname, whole name, or else dog alone stands in an event's summary."""
        said = set(folded(summary).split())
        near = sorted(set().union(*(self.words.get(word, set()) for word in said)))
        both, named, dogs = [], [], []
        for at in near:
            household = self.households[at]
            name = folded(household.name).split()
            has_dog = any(said >= set(folded(dog.name).split()) for dog in household.dogs if folded(dog.name))
            both += [at] if has_dog and len(said & set(name)) > 0 else []
            named += [at] if said >= set(name) else []
            dogs += [at] if has_dog else []
        return both or named or dogs


def reconcile(reading: Reading, existing: Sequence[Known] = (), *, left_out: frozenset[int] = frozenset()) -> Outcome:
    """Say how every row ends; raises DatesUnsettled until its dates are. Rows in `left_out` are refused as asked."""
    if reading.unsettled:
        raise DatesUnsettled(reading.unsettled)
    index = _Index(existing)
    ends = {one.row: _refused(one, one.reason) for one in reading.rows if one.household is None}
    for one in sorted(reading.rows, key=_turn):
        if one.row in left_out:
            ends[one.row] = _refused(one, f"{_called(reading, one)}: left out, as you asked.")
        elif one.household is not None:
            ends[one.row] = _land(index, reading, one, one.household)
    landed = tuple(_landed(index, at, reading.today) for at in range(len(index.households)) if index.rows[at])
    places = {at: place for place, at in enumerate(at for at in range(len(index.households)) if index.rows[at])}
    ordered = (ends[one.row] for one in reading.rows)
    return Outcome(
        tuple(end if end.household is None else replace(end, household=places[end.household]) for end in ordered),
        landed,
    )


def _turn(one: SourceRow) -> tuple[int, int, int]:
    household = one.household
    if household is None or household.phones or household.emails:
        return 0, 0, one.row
    key = address_key(household.place.address) if household.place else None
    return (1, -len(key.rest), one.row) if key else (2, 0, one.row)


def _called(reading: Reading, one: SourceRow) -> str:
    word = {"vcard": "Card", "ical": "Event"}.get(reading.kind, "Row")
    return f"{word} {one.row} ('{one.shown}')"


def _refused(one: SourceRow, reason: str) -> End:
    return End(one.row, one.shown, "refused", None, "", reason)


def _land(index: _Index, reading: Reading, one: SourceRow, household: Household) -> End:
    found, by, fault = _match(index, reading, household)
    if fault:
        return _refused(one, f"{_called(reading, one)}: {fault}")
    if found is None:
        return End(one.row, one.shown, "made", index.add(one.row, household), "", "")
    index.fold(found, one.row, household)
    return End(one.row, one.shown, "joined", found, by, "")


def _match(index: _Index, reading: Reading, household: Household) -> tuple[int | None, str, str]:
    """The household a row belongs to, what says so, and why that cannot be told."""
    contacts = index.by_contact(household)
    if contacts:
        common = set.intersection(*(owners for _, owners in contacts))
        if common:
            return min(common), "email" if "@" in contacts[0][0] else "phone", ""
        return None, "", _torn(index, contacts)
    fits = index.by_address(household)
    named = [at for at in fits if folded(index.households[at].name) == folded(household.name)]
    if len(fits) == 1 or len(named) == 1:
        return (named or fits)[0], "address", ""
    if len(fits) > 1 and not (household.phones or household.emails):
        return None, "", _several(index, fits, f"live at {household.place.address if household.place else ''}")
    if reading.kind == "ical":
        return _match_summary(index, household)
    if household.phones or household.emails or (household.place and address_key(household.place.address)):
        return None, "", ""
    return _match_name(index, household)


def _match_summary(index: _Index, household: Household) -> tuple[int | None, str, str]:
    same = [at for at in index.by_name(household) if index.households[at].to_be_named or not household.place]
    if household.place and address_key(household.place.address):
        same = [at for at in same if not index.households[at].to_be_named]
    fits = same or index.by_summary(household.name)
    if len(fits) > 1:
        return None, "", _several(index, fits, f"fit '{household.name}'")
    return (fits[0], "summary", "") if fits else (None, "", "")


def _match_name(index: _Index, household: Household) -> tuple[int | None, str, str]:
    fits = index.by_name(household)
    if len(fits) > 1:
        dogs = {folded(dog.name) for dog in household.dogs}
        fits = [at for at in fits if dogs & {folded(dog.name) for dog in index.households[at].dogs}] or fits
    if len(fits) > 1:
        return None, "", _several(index, fits, f"are called '{household.name}'")
    return (fits[0], "name", "") if fits else (None, "", "")


def _torn(index: _Index, contacts: list[tuple[str, set[int]]]) -> str:
    said = "; ".join(f"{contact} is {index.households[min(owners)].name}'s" for contact, owners in contacts)
    return f"it belongs to two households: {said}. Expected one: take out what is not theirs and bring it in again."


def _several(index: _Index, fits: list[int], what: str) -> str:
    names = ", ".join(dict.fromkeys(index.households[at].name for at in fits[:4]))
    return f"{len(fits)} households {what} ({names}). Add a phone or an email that says which, and bring it in again."


def _landed(index: _Index, at: int, today: date) -> Landed:
    known = index.known[at] if at < len(index.known) else None
    household = summed_up(index.households[at], today)
    return Landed(known.id if known else None, known.household if known else None, household, tuple(index.rows[at]))


def summed_up(household: Household, today: date) -> Household:
    """A household with its diary worked into its dogs' last groom and usual, and into what it was told."""
    if household.past:
        household = _with_diary(household, today)
    if household.told and not (household.place and household.place.address):
        lines = tuple(f"told {_when(one)}, but no address: no visit was made of it" for one in household.told)
        household = fold_in(replace(household, told=()), Household(household.name, notes=lines, to_be_named=True))
    return household


def _when(one: Appointment) -> str:
    return f"{one.date.isoformat()} at {one.start:%H:%M}" if one.start else one.date.isoformat()


def _with_diary(household: Household, today: date) -> Household:
    lines: list[str] = []
    dogs = tuple(_with_history(dog, household, today, lines) for dog in household.dogs)
    told = history(household.past, today).told
    whole = replace(household, dogs=dogs, past=())
    return fold_in(whole, Household(whole.name, told=told, notes=tuple(dict.fromkeys(lines)), to_be_named=True))


def _with_history(dog: Dog, household: Household, today: date, lines: list[str]) -> Dog:
    others = [folded(one.name) for one in household.dogs if one.name not in (dog.name, TO_BE_NAMED)]
    mine = [one for one in household.past if _is_about(one.summary, dog.name, others)]
    past = history(mine, today)
    mine_now = dog.usual
    if past.interval and (mine_now.interval is None or mine_now.interval.weeks != past.interval.weeks):
        kept = f"; {mine_now.interval.weeks} weeks was kept" if mine_now.interval else ""
        lines.append(
            f"{dog.name}: the diary says every {past.interval.weeks} weeks (median of {_gaps(past.gaps)}){kept}"
        )
    found = past.interval and replace(past.interval, remark=f"the diary: median of {_gaps(past.gaps)}")
    usual = Usual(
        interval=mine_now.interval or found,
        price=mine_now.price,
        weekday=past.weekday if mine_now.weekday is None else mine_now.weekday,
        hour=past.hour if mine_now.hour is None else mine_now.hour,
    )
    last = max((day for day in (dog.last_groom, past.last_groom) if day), default=None)
    return replace(dog, usual=usual, last_groom=last)


def _gaps(count: int) -> str:
    return f"{count} gap{'' if count == 1 else 's'}"


def _is_about(summary: str, name: str, others: list[str]) -> bool:
    said = f" {folded(summary)} "
    return f" {folded(name)} " in said or not any(f" {other} " in said for other in others if other)

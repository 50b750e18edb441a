"""What a what-if supposes: another weekday off, another interval or price, a second van, dogs in a new suburb.

It is applied to what was gathered, in memory; no record is touched.
"""

import datetime as dt
import uuid
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Any

from coatround.core.day_table import Dog as CoreDog
from coatround.core.due import Usual as CoreUsual
from coatround.core.due_visits import DueVisit
from coatround.core.workdays import Workday
from coatround.web.base.firm import firm_today
from coatround.web.records.models import Dog, Van

NEW_INTERVAL_WEEKS = 6
NEW_WORK_SECONDS = 75 * 60
NEW_WATER_L = 25
"""Our own defaults for an invented dog of a new suburb."""

SPACE = uuid.UUID("6f6f7d0e-5d38-5d3b-9c1d-3f0f2c2f7a11")


@dataclass(frozen=True, slots=True)
class Supposed:
    """One what-if; a field that is empty supposes nothing.

    `weekday` off is of `van`; `weeks` and `percent` change interval and price of dogs of `coat` (empty: all of them);
    `dogs_more` are invented dogs at a place that is on record.
    """

    van: str = ""
    weekday: int | None = None
    coat: str = ""
    weeks: int = 0
    percent: int = 0
    second_van: bool = False
    place: str = ""
    dogs_more: int = 0

    @classmethod
    def of(cls, values: dict[str, Any]) -> "Supposed":
        """From what a proposal keeps."""
        return cls(**values)

    def values(self) -> dict[str, Any]:
        """As a proposal keeps it: only what is supposed."""
        return {one.name: getattr(self, one.name) for one in fields(self) if getattr(self, one.name) != one.default}

    @property
    def can_be_made_so(self) -> bool:
        """Whether it can be written down as it is; a van or dogs that are only supposed are not on record."""
        return self.weekday is not None or bool(self.weeks or self.percent)

    def vans(self, vans: list[Van]) -> list[Van]:
        """The vans, with a second like the first where there is to be one."""
        if not self.second_van or not vans:
            return vans
        first = vans[0]
        same = {field.attname: getattr(first, field.attname) for field in first._meta.concrete_fields}
        second = Van(**same | {"id": self._second(first), "name": f"{first.name} 2", "groomer_id": None})
        return [*vans, second]

    def _second(self, van: Van) -> uuid.UUID:
        return uuid.uuid5(SPACE, str(van.pk))

    def days(self, days: Sequence[Workday]) -> list[Workday]:
        """The working days: without the weekday that is off, and the second van's like the first's."""
        found = [one for one in days if not self._is_off(one)]
        if self.second_van and found:
            first = found[0].van
            found += [replace(one, van=str(uuid.uuid5(SPACE, first))) for one in found if one.van == first]
        return sorted(found, key=lambda one: (one.date, one.van))

    def _is_off(self, one: Workday) -> bool:
        return self.weekday == one.date.weekday() and self.van in ("", one.van)

    def dogs(self, dogs: tuple[CoreDog, ...]) -> tuple[CoreDog, ...]:
        """The dogs with their intervals and prices as supposed, and those of the new suburb."""
        if self.weeks or self.percent:
            of_coat = Dog.objects.filter(coat=self.coat) if self.coat else Dog.objects.all()
            changed = {str(pk) for pk in of_coat.values_list("pk", flat=True)}
            dogs = tuple(replace(one, usuals=self._usuals(one.usuals)) if one.id in changed else one for one in dogs)
        return (*dogs, *(self._invented(number) for number in range(self.dogs_more if self.place else 0)))

    def _usuals(self, usuals: tuple[CoreUsual, ...]) -> tuple[CoreUsual, ...]:
        return tuple(
            replace(
                one,
                interval_weeks=self.interval(one.interval_weeks),
                price_cents=self.priced(one.price_cents),
            )
            for one in usuals
        )

    def interval(self, weeks: int) -> int:
        """An interval as supposed; a week is the least."""
        return max(1, weeks + self.weeks)

    def priced(self, cents: int) -> int:
        """A price as supposed."""
        return cents * (100 + self.percent) // 100

    def _invented(self, number: int) -> CoreDog:
        """A dog of the new suburb; they fall due one after another, evenly over an interval."""
        today = firm_today()
        days = NEW_INTERVAL_WEEKS * 7
        since = today - dt.timedelta(days=days - days * number // max(1, self.dogs_more))
        usual = CoreUsual(valid_from=since, interval_weeks=NEW_INTERVAL_WEEKS, days_early=7, days_late=7)
        name = str(uuid.uuid5(SPACE, f"dog {number}"))
        return CoreDog(
            id=name,
            household=str(uuid.uuid5(SPACE, f"household {number}")),
            place=self.place,
            usuals=(usual,),
            done=(since,),
            work_seconds=NEW_WORK_SECONDS,
            water_l=NEW_WATER_L,
        )

    def visits(self, visits: Sequence[DueVisit]) -> tuple[DueVisit, ...]:
        """The visits; with a second van those that are not settled may go with either."""
        if not self.second_van:
            return tuple(visits)
        return tuple(one if one.settled else replace(one, visit=replace(one.visit, vans=None)) for one in visits)

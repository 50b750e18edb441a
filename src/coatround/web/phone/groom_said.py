"""Reads what was typed on a groom's page into the body of a plain record: only what differs from the usual is said."""

import datetime as dt
import decimal
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from django.utils.translation import gettext as _

from coatround.web.base.models import Firm
from coatround.web.phone.groom_rows import MORE_FINDINGS, PLAIN_STEPS, routine_of, slug
from coatround.web.records import words as record_words
from coatround.web.records.models import Usual

GRAMS_A_POUND = decimal.Decimal("453.59237")
COTTON = ("in", "taken_out", "fell_out", "swallowed", "not_found")
WHOLE_MEASURES = ("condition", "left_ear", "right_ear", "skin", "hair_grams", "hair_grade")
SHORTEST_SECONDS, LONGEST_SECONDS = 5 * 60, 6 * 3600


@dataclass
class GroomSaid:
    """The values of the form as typed, and what is wrong with them, by field name."""

    values: Mapping[str, str]
    usual: Usual | None
    firm: Firm
    date: dt.date
    errors: dict[str, str] = field(default_factory=dict)

    def of(self, name: str) -> str:
        return self.values.get(name, "").strip()

    def body(self, dog: str, state: str, said_at: dt.datetime) -> dict[str, Any]:
        """The record's body; what can't be read is left out and stands in `errors`."""
        self.errors.clear()
        if state == "CANCELLED":
            return self._not_done(dog)
        body = {
            "dog": dog,
            "state": "COMPLETED",
            "usual_done": self.usual is not None,
            "steps": self._steps(),
            "cut": self._cut(),
            "findings": self._findings(),
            "measures": self._measures(),
            "cotton": self._cotton(),
            "stood": self.of("stood"),
            "notes": self.of("notes"),
            "water_l": self._whole("water_l"),
            **self._times(said_at),
        }
        return {name: value for name, value in body.items() if value not in (None, "", [], {})}

    def _not_done(self, dog: str) -> dict[str, Any]:
        body = {
            "dog": dog,
            "state": "CANCELLED",
            "usual_done": False,
            "why_not": self.of("why_not"),
            "findings": self._findings(),
            "notes": self.of("notes"),
        }
        return {name: value for name, value in body.items() if value not in ("", [])}

    def _whole(self, name: str) -> int | None:
        said = self.of(name)
        if not said:
            return None
        if not (said.isascii() and said.isdecimal() and len(said) < 8):
            self.errors[name] = _("“%(said)s” is not a whole number. Write it in digits, like 12.") % {
                "said": said[:30]
            }
            return None
        return int(said)

    def _decimal(self, name: str) -> decimal.Decimal | None:
        said = self.of(name).replace(",", ".")
        if not said:
            return None
        try:
            number = decimal.Decimal(said)
        except decimal.InvalidOperation:
            number = decimal.Decimal("NaN")
        if not number.is_finite() or abs(number) > 10_000:
            self.errors[name] = _("“%(said)s” is not a number. Write it in digits, like 8.4.") % {"said": said[:30]}
            return None
        return number

    def _steps(self) -> list[dict[str, Any]]:
        """The steps that differ from the routine; without a routine, all that were ticked."""
        steps = []
        for row in routine_of(self.usual):
            step = self._step(row.key, row.step, row.product)
            if step:
                steps.append(step)
        steps += [{"step": name} for name, _words in PLAIN_STEPS if self.of(f"also-{slug(name)}")]
        return steps

    def _step(self, key: str, name: str, usual_product: str) -> dict[str, Any] | None:
        if not self.of(f"done-{key}"):
            said = {"step": name, "done": False, "words": self.of(f"words-{key}")}
            return {part: value for part, value in said.items() if value != ""}
        product = self.of(f"product-{key}")
        said = {
            "step": name,
            "product": product if product != usual_product else "",
            "product_ml": self._whole(f"ml-{key}") if product else None,
            "words": self.of(f"words-{key}"),
        }
        differs = {part: value for part, value in said.items() if value not in ("", None)}
        return differs if len(differs) > 1 else None

    def _cut(self) -> dict[str, Any]:
        usual = self.usual.cut if self.usual else {}
        cut: dict[str, Any] = {}
        for part, _words in record_words.CUT_PARTS:
            how, length = self.of(f"how-{part}"), self._decimal(f"mm-{part}")
            if length is not None and not how:
                self.errors[f"mm-{part}"] = _("A length without how it was cut. Choose blade, comb or scissored.")
            if how:
                said = {"how": how} | ({"mm": float(length)} if length is not None else {})
                cut |= {part: said} if said != usual.get(part) else {}
        return cut

    def _findings(self) -> list[dict[str, Any]]:
        rows = [(slug(part), part) for part, _words in record_words.PARTS]
        rows += [(f"more-{number}", self.of(f"part-more-{number}")) for number in range(MORE_FINDINGS)]
        return [found for key, part in rows if (found := self._finding(key, part))]

    def _finding(self, key: str, part: str) -> dict[str, Any] | None:
        kind, grade, words = self.of(f"kind-{key}"), self.of(f"grade-{key}"), self.of(f"found-{key}")
        if not kind and not words:
            return None
        if not kind or not part:
            self.errors[f"kind-{key}"] = _("Choose where, and what was found, for “%(words)s”.") % {"words": words[:40]}
            return None
        return {"part": part, "kind": kind, "grade": int(grade) if grade in "0123" and grade else 1, "words": words}

    def _measures(self) -> dict[str, int]:
        measures = {name: self._whole(name) for name in WHOLE_MEASURES}
        weight = self._decimal("weight")
        if weight is not None:
            grams = weight * (GRAMS_A_POUND if self.firm.units == "us" else 1000)
            measures["weight_grams"] = int(grams.to_integral_value(decimal.ROUND_HALF_UP))
        return {name: value for name, value in measures.items() if value is not None}

    def _cotton(self) -> dict[str, int] | None:
        counts = {name: self._whole(f"cotton-{name}") or 0 for name in COTTON}
        left_out = self.of("cotton-asked") and not any(self.of(f"cotton-{name}") for name in COTTON)
        return None if not self.of("cotton-asked") or left_out else counts

    def _times(self, said_at: dt.datetime) -> dict[str, Any]:
        """Times as typed; an end that was not typed is now, when the groom began today and not too long ago."""
        start, end = self._time("started", said_at), self._time("ended", said_at)
        is_today = said_at.date() == self.date
        if (
            start
            and end is None
            and is_today
            and SHORTEST_SECONDS <= (said_at - start).total_seconds() <= LONGEST_SECONDS
        ):
            end = said_at
        if end is None and self.of("started") == self.of("started-guess"):
            start = None  # a start that was only guessed says nothing without an end
        return {
            "started_at": start.isoformat() if start else None,
            "ended_at": end.isoformat() if end else None,
        }

    def _time(self, name: str, said_at: dt.datetime) -> dt.datetime | None:
        said = self.of(name)
        if not said:
            return None
        try:
            return dt.datetime.combine(self.date, dt.time.fromisoformat(said), said_at.tzinfo)
        except ValueError:
            self.errors[name] = _("“%(said)s” is not a time. Write it like 9:30.") % {"said": said[:30]}
            return None

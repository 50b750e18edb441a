"""The form of the usual: interval, days and hours, the routine in its order, the cut by part, price."""

import decimal
from typing import Any

from django import forms
from django.forms.utils import ErrorDict
from django.http import QueryDict
from django.utils import formats
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from coatround.digits import whole_number
from coatround.web.base.firm import firm_today
from coatround.web.base.forms import DateInput, MoneyField, RowPage, TimeInput
from coatround.web.base.models import Firm
from coatround.web.records import words
from coatround.web.records.actions import Step
from coatround.web.records.models import Dog, Product, Usual

WEEKDAYS = [
    ("0", gettext_lazy("Monday")), ("1", gettext_lazy("Tuesday")), ("2", gettext_lazy("Wednesday")),
    ("3", gettext_lazy("Thursday")), ("4", gettext_lazy("Friday")), ("5", gettext_lazy("Saturday")),
    ("6", gettext_lazy("Sunday")),
]  # fmt: skip
NEEDS_MM = ("blade", "comb")
LONGEST_MM = 120


class UsualForm(RowPage):
    """Everything of the usual but its routine and cut, which are lists of their own."""

    class Meta:
        model = Usual
        fields = ("interval_weeks", "days_early", "days_late", "hours_from", "hours_until", "usual_time")
        widgets = {"hours_from": TimeInput, "hours_until": TimeInput, "usual_time": TimeInput}

    day = forms.DateField(label=gettext_lazy("Settled from"), widget=DateInput())
    weekdays = forms.MultipleChoiceField(
        label=gettext_lazy("Days they can do"), choices=WEEKDAYS, required=False, widget=forms.CheckboxSelectMultiple,
        help_text=gettext_lazy("None ticked: any day."),
    )  # fmt: skip
    usual_weekday = forms.ChoiceField(
        label=gettext_lazy("Usual weekday"), choices=[("", gettext_lazy("none")), *WEEKDAYS], required=False
    )
    work_minutes = forms.IntegerField(
        label=gettext_lazy("Minutes of work"), min_value=5, max_value=480, required=False,
        help_text=gettext_lazy("For this dog alone, without setting up and packing up."),
    )  # fmt: skip

    def __init__(self, *args: Any, dog: Dog, firm: Firm, before: Usual | None, **kwargs: Any) -> None:
        self.before = before
        kwargs["instance"] = new_from(before, dog)
        seconds = before.work_seconds if before else None
        kwargs["initial"] = {
            "day": firm_today(firm),
            "weekdays": [str(day) for day in before.weekdays] if before else [],
            "usual_weekday": "" if before is None or before.usual_weekday is None else str(before.usual_weekday),
            "work_minutes": round(seconds / 60) if seconds else None,
        }
        super().__init__(*args, **kwargs)
        self.fields["price"] = MoneyField(
            firm=firm,
            label=_("Price, %(currency)s") % {"currency": firm.currency},
            initial=before.price_cents if before else None,
        )
        self.fields["interval_weeks"].min_value = 1  # type: ignore[attr-defined]

    def leave_unjudged(self) -> None:
        """A press of a routine's button shows what was typed again, without telling what is still wrong."""
        self._errors = ErrorDict()

    def clean_interval_weeks(self) -> int:
        weeks = int(self.cleaned_data["interval_weeks"])
        if not 1 <= weeks <= 104:
            raise forms.ValidationError(_("%(weeks)d weeks can't be: write 1 to 104.") % {"weeks": weeks})
        return weeks

    def clean_day(self) -> Any:
        day = self.cleaned_data["day"]
        if self.before is not None and day < self.before.valid_from:
            raise forms.ValidationError(
                _("What stands now began on %(day)s; a change can't begin before it.")
                % {"day": formats.date_format(self.before.valid_from, "j F Y")}
            )
        return day

    def clean(self) -> dict[str, Any]:
        typed = super().clean() or {}
        first, last = typed.get("hours_from"), typed.get("hours_until")
        if first and last and last <= first:
            self.add_error("hours_until", _("This is not after “not before”. Write a later time, or leave one empty."))
        weeks = typed.get("interval_weeks")
        for name in ("days_early", "days_late"):
            if weeks and typed.get(name) is not None and typed[name] > 7 * weeks:
                self.add_error(
                    name, _("That is longer than the interval itself (%(days)d days).") % {"days": 7 * weeks}
                )
        weekday = typed.get("usual_weekday")
        if weekday and typed.get("weekdays") and weekday not in typed["weekdays"]:
            self.add_error(
                "usual_weekday", _("That is not one of the days they can do. Tick it above, or choose another.")
            )
        return typed

    def save(self, commit: bool = True) -> Usual:
        usual: Usual = super().save(commit=False)
        typed = self.cleaned_data
        usual.weekdays = sorted(int(day) for day in typed["weekdays"])
        usual.usual_weekday = int(typed["usual_weekday"]) if typed["usual_weekday"] else None
        usual.work_seconds = 60 * typed["work_minutes"] if typed["work_minutes"] else None
        usual.price_cents = typed["price"]
        return usual


def new_from(before: Usual | None, dog: Dog) -> Usual:
    """A new row that begins as the one before it ended."""
    if before is None:
        return Usual(dog=dog, valid_from=firm_today())
    kept = ("interval_weeks", "days_early", "days_late", "hours_from", "hours_until", "usual_time")
    return Usual(dog=dog, valid_from=before.valid_from, **{name: getattr(before, name) for name in kept})


class Routine:
    """The routine as typed: rows of step, product and how, moved and removed by buttons before anything is saved."""

    def __init__(self, rows: list[dict[str, str]]) -> None:
        self.rows = rows
        self.products = list(
            Product.objects.filter(closed_on__isnull=True, kind__in=("shampoo", "conditioner", "ears", "other"))
        )
        self.steps = words.STEPS

    @classmethod
    def of(cls, usual: Usual | None, first: tuple[str, ...]) -> "Routine":
        if usual is None:
            return cls([{"step": step, "product": "", "how": ""} for step in first])
        rows = [
            {"step": row.step, "product": str(row.product_id or ""), "how": row.words}
            for row in usual.steps.order_by("order")
        ]
        return cls(rows)

    @classmethod
    def typed(cls, data: QueryDict) -> "Routine":
        columns = [data.getlist(f"routine-{name}") for name in ("step", "product", "how")]
        return cls([dict(zip(("step", "product", "how"), row, strict=True)) for row in zip(*columns, strict=False)])

    def act(self, button: str) -> None:
        """One press: `add`, `up-2`, `down-2`, `remove-2`."""
        word, _dash, number = button.partition("-")
        at = whole_number(number, len(self.rows) - 1) if self.rows else None
        if word == "add":
            self.rows.append({"step": "", "product": "", "how": ""})
        elif word == "remove" and at is not None:
            del self.rows[at]
        elif word in ("up", "down") and at is not None:
            to = min(max(at + (1 if word == "down" else -1), 0), len(self.rows) - 1)
            self.rows.insert(to, self.rows.pop(at))

    def errors(self) -> list[str]:
        known = dict(self.steps)
        products = {str(product.pk) for product in self.products}
        found = []
        for number, row in enumerate(self.rows, 1):
            if row["step"] not in known:
                found.append(
                    _("Step %(number)d has no step chosen. Choose one, or take the row away.") % {"number": number}
                )
            if row["product"] and row["product"] not in products:
                found.append(
                    _("Step %(number)d uses a product that is not on the list. Choose another.") % {"number": number}
                )
            if len(row["how"]) > 160:
                found.append(_("Step %(number)d says too much: 160 letters at most.") % {"number": number})
        return found

    def as_steps(self) -> list[Step]:
        products = {str(product.pk): product for product in self.products}
        return [Step(row["step"], products.get(row["product"]), row["how"].strip()) for row in self.rows]


class Cut:
    """The cut as typed: for each part how, and how many millimetres where a blade or a comb is used."""

    def __init__(self, typed: dict[str, tuple[str, str]]) -> None:
        self.typed = typed
        self.ways = words.CUT_WAYS

    @classmethod
    def of(cls, cut: dict[str, dict[str, Any]]) -> "Cut":
        return cls(
            {
                part: (str(how.get("how", "")), "" if how.get("mm") is None else str(how["mm"]))
                for part, how in cut.items()
            }
        )

    @classmethod
    def from_post(cls, data: QueryDict) -> "Cut":
        return cls(
            {
                part: (data.get(f"cut-{part}-how", ""), data.get(f"cut-{part}-mm", "").strip())
                for part, _word in words.CUT_PARTS
            }
        )

    @property
    def rows(self) -> list[tuple[str, Any, str, str]]:
        return [(part, word, *self.typed.get(part, ("", ""))) for part, word in words.CUT_PARTS]

    def errors(self) -> list[str]:
        found = []
        for _part, word, how, mm in self.rows:
            if how and how not in dict(words.CUT_WAYS):
                found.append(_("%(part)s: “%(how)s” is not a way to cut.") % {"part": word, "how": how})
            if mm and millimetres(mm) is None:
                found.append(
                    _("%(part)s: “%(mm)s” are no millimetres. Write a number up to %(most)d, like 10 or 9.5.")
                    % {"part": word, "mm": mm, "most": LONGEST_MM}
                )
            if mm and not how:
                found.append(
                    _("%(part)s: %(mm)s mm, but how? Choose blade, comb or scissored.") % {"part": word, "mm": mm}
                )
            if how in NEEDS_MM and not mm:
                found.append(_("%(part)s: how many millimetres does the blade or comb leave?") % {"part": word})
        return found

    def as_kept(self) -> dict[str, dict[str, Any]]:
        return {part: {"how": how, "mm": millimetres(mm)} for part, _word, how, mm in self.rows if how}


def millimetres(typed: str) -> int | float | None:
    """A length of coat left, whole where it can be; None for what is no such length."""
    try:
        value = decimal.Decimal(typed.replace(",", "."))
    except decimal.InvalidOperation:
        return None
    if not value.is_finite() or not 0 < value <= LONGEST_MM:
        return None
    return int(value) if value == value.to_integral_value() else float(value)

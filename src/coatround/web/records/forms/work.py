"""Forms of vans, their week, days off and products."""

import datetime as dt
from typing import Any

from django import forms
from django.db.models import Q
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from coatround.web.base.forms import DateInput, Page, RowPage, TimeInput
from coatround.web.base.models import Worker
from coatround.web.records.actions import DayHours
from coatround.web.records.fields import Notes, PinField
from coatround.web.records.forms.usual import WEEKDAYS
from coatround.web.records.models import DayOff, Place, Product, Van, WorkingHours

FIRST_OPEN, FIRST_CLOSE = dt.time(8), dt.time(17)  # our own default: Monday to Friday, 8 to 17
FIRST_WEEK = range(5)


class VanForm(RowPage):
    """A van, its tanks, and the place it starts from and comes home to."""

    class Meta:
        model = Van
        fields = ("name", "clean_l", "grey_l", "bath_l")

    line = forms.CharField(label=gettext_lazy("Home address"), max_length=160, required=False)
    suburb = forms.CharField(label=gettext_lazy("Suburb or town"), max_length=80, required=False)
    pin = PinField()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        home = self.home
        pin = f"{home.lat}, {home.lon}" if home.is_pinned else ""
        self.initial.update(line=home.line, suburb=home.suburb, pin=pin)

    @property
    def home(self) -> Place:
        return self.instance.home if self.instance.home_id else Place(name=_("home"))

    def clean(self) -> dict[str, Any]:
        typed = super().clean() or {}
        if not typed.get("line") and not typed.get("pin") and "pin" not in self.errors:
            self.add_error("line", _("Where does the van start from? Write its address, or a pin, or both."))
        return typed

    def home_place(self) -> Place:
        home, typed = self.home, self.cleaned_data
        home.line, home.suburb = typed["line"] or _("home"), typed["suburb"]
        home.lat, home.lon = typed["pin"] or (None, None)
        return home


class VanLaterForm(VanForm):
    """The same with what can wait until the van is known better."""

    class Meta(VanForm.Meta):
        fields = (*VanForm.Meta.fields, "groomer", "battery_wh", "has_big_tub", "paid_minutes", "max_overtime_minutes")  # type: ignore[assignment]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        who = Worker.objects.filter(Q(closed_on__isnull=True, is_groomer=True) | Q(pk=self.instance.groomer_id))
        self.fields["groomer"].queryset = who.order_by("name")  # type: ignore[attr-defined]


class DayForm(Page):
    """One weekday of a van."""

    works = forms.BooleanField(required=False)
    open = forms.TimeField(label=gettext_lazy("leaves after"), required=False, widget=TimeInput())
    close = forms.TimeField(label=gettext_lazy("back by"), required=False, widget=TimeInput())
    break_minutes = forms.IntegerField(label=gettext_lazy("break, minutes"), min_value=0, max_value=180, required=False)
    break_from = forms.TimeField(label=gettext_lazy("break after"), required=False, widget=TimeInput())
    break_until = forms.TimeField(label=gettext_lazy("break before"), required=False, widget=TimeInput())

    def clean(self) -> dict[str, Any]:
        typed = super().clean() or {}
        if not typed.get("works"):
            return typed
        for name in ("open", "close"):
            if not typed.get(name) and name not in self.errors:
                self.add_error(name, _("A working day has both times."))
        first, last = typed.get("open"), typed.get("close")
        if first and last and last <= first:
            self.add_error("close", _("The van is back before it leaves. Write a later time."))
        self._clean_break(typed)
        return typed

    def _clean_break(self, typed: dict[str, Any]) -> None:
        first, last = typed.get("break_from"), typed.get("break_until")
        if (first is None) != (last is None):
            self.add_error("break_until" if first else "break_from", _("Write both times of the break, or none."))
        elif first and last and minutes_of(last) - minutes_of(first) < (typed.get("break_minutes") or 0):
            self.add_error("break_until", _("The break does not fit between these times."))


def minutes_of(time: dt.time) -> int:
    return 60 * time.hour + time.minute


class Week:
    """Seven days of one van."""

    def __init__(self, data: Any, van: Van) -> None:
        rows = {row.weekday: row for row in van.hours.all()} if not van._state.adding else None
        self.days = [
            (word, DayForm(data, prefix=f"day-{number}", initial=day_initial(int(number), rows)))
            for number, word in WEEKDAYS
        ]
        for word, form in self.days:
            form.fields["works"].label = word

    def is_valid(self) -> bool:
        return all([day.is_valid() for _word, day in self.days])  # noqa: C419 - every day says what is wrong

    def as_hours(self) -> list[DayHours]:
        return [
            DayHours(
                weekday,
                typed["open"],
                typed["close"],
                typed.get("break_minutes") or 0,
                typed["break_from"],
                typed["break_until"],
            )
            for weekday, (_word, form) in enumerate(self.days)
            if (typed := form.cleaned_data).get("works")
        ]


def day_initial(weekday: int, rows: dict[int, WorkingHours] | None) -> dict[str, Any]:
    """A kept day, or for a new van our own default."""
    row = (rows or {}).get(weekday)
    if row is None:
        return {
            "works": rows is None and weekday in FIRST_WEEK,
            "open": FIRST_OPEN,
            "close": FIRST_CLOSE,
            "break_minutes": 30,
        }
    names = ("open", "close", "break_minutes", "break_from", "break_until")
    return {"works": True, **{name: getattr(row, name) for name in names}}


class DayOffForm(RowPage):
    class Meta:
        model = DayOff
        fields = ("first", "last", "van", "words")
        widgets = {"first": DateInput, "last": DateInput}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        van = self.fields["van"]
        van.queryset = Van.objects.filter(closed_on__isnull=True).order_by("name")  # type: ignore[attr-defined]
        van.empty_label = _("every van")  # type: ignore[attr-defined]
        self.fields["last"].required = False
        self.fields["last"].help_text = _("Empty: that one day.")

    def clean(self) -> dict[str, Any]:
        typed = super().clean() or {}
        first = typed.get("first")
        if first and not typed.get("last") and "last" not in self.errors:
            typed["last"] = first
        if first and typed.get("last") and typed["last"] < first:
            self.add_error("last", _("This is before the first day. Write a later day."))
        return typed


class ProductForm(RowPage):
    """A product with its label's ratio as two numbers and a rule."""

    class Meta:
        model = Product
        fields = (
            "name", "kind", "ratio_product", "ratio_other", "ratio_rule", "contact_minutes", "not_for",
            "bottle_ml", "label", "safety",
        )  # fmt: skip
        widgets = {"ratio_rule": forms.RadioSelect, "label": Notes, "safety": Notes}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        helps = {
            "ratio_product": _("“1 in 16” and “16:1” both have 1 part product."),
            "ratio_other": _("The label's other number, for example 16. For use as it is: 0 parts of water added."),
            "ratio_rule": _(
                "16 parts of water added make 17 in all; 16 parts in all hold 15 of water. Read the label;"
                " ask the maker if it does not say."
            ),
            "not_for": _("Puppies, cats in the house, broken skin: as the label says."),
        }
        for name, words in helps.items():
            self.fields[name].help_text = words

    def clean(self) -> dict[str, Any]:
        typed = super().clean() or {}
        part, other = typed.get("ratio_product"), typed.get("ratio_other")
        if part == 0:
            self.add_error("ratio_product", _("No product at all? Write at least 1."))
        if typed.get("ratio_rule") == "total" and part and other is not None and other < part:
            self.add_error("ratio_other", _("Parts in all can't be fewer than the parts of product."))
        if typed.get("bottle_ml") == 0:
            self.add_error("bottle_ml", _("How many millilitres does a full bottle hold?"))
        return typed

"""What is asked before planning, and what is written down after a word with a household."""

import datetime as dt
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from coatround.web.base.forms import DateInput, Page, TimeInput
from coatround.web.records.models import Van
from coatround.web.visits.words import ANSWERS

WEEKS = [(1, _("one week")), (2, _("two weeks")), (4, _("four weeks")), (6, _("six weeks")), (8, _("eight weeks"))]
SECONDS = [(5, _("5 seconds, a first look")), (20, _("20 seconds")), (60, _("a minute")), (180, _("three minutes"))]
ALL_VANS_AT_MOST = 12


class PlanForm(Page):
    """Which days to plan, for which van, and how long to try."""

    first = forms.DateField(label=_("From"), widget=DateInput())
    weeks = forms.TypedChoiceField(label=_("For"), choices=WEEKS, coerce=int, initial=4)
    van = forms.ModelChoiceField(label=_("Van"), queryset=Van.objects.none(), required=False, empty_label=_("all vans"))
    seconds = forms.TypedChoiceField(label=_("Try for"), choices=SECONDS, coerce=int, initial=20)

    def __init__(self, *args: Any, today: dt.date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        vans = Van.objects.filter(closed_on__isnull=True).order_by("name")
        count = vans.count()
        if count < 2:
            del self.fields["van"]
            return
        field = self.fields["van"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = vans
        if count > ALL_VANS_AT_MOST:
            field.required, field.empty_label = True, None
            field.help_text = _("With so many vans, plan one at a time.")

    def clean_first(self) -> dt.date:
        first: dt.date = self.cleaned_data["first"]
        if first < self.today:
            raise forms.ValidationError(_("This day is over. Plan from today on."))
        if first > self.today + dt.timedelta(days=366):
            raise forms.ValidationError(_("This is more than a year away. Choose an earlier day."))
        return first

    @property
    def last(self) -> dt.date:
        """The last day to plan."""
        last: dt.date = self.cleaned_data["first"] + dt.timedelta(days=7 * self.cleaned_data["weeks"] - 1)
        return last


class TellForm(Page):
    """The window that a household was told."""

    told_from = forms.TimeField(label=_("From"), widget=TimeInput())
    told_until = forms.TimeField(label=_("Until"), widget=TimeInput())

    def clean(self) -> dict[str, Any]:
        found = super().clean() or {}
        from_, until = found.get("told_from"), found.get("told_until")
        if from_ and until and until < from_:
            self.add_error("told_until", _("Until comes before from. Write the later time here."))
        return found


class AnswerForm(Page):
    """What the household said."""

    answer = forms.ChoiceField(label=_("They"), choices=ANSWERS, widget=forms.RadioSelect())


class CallOffForm(Page):
    """Why a visit does not take place."""

    why = forms.CharField(label=_("Why"), max_length=200, help_text=_("For example: away that week, dog is ill."))

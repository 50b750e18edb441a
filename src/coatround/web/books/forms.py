"""What is typed into the books."""

import datetime as dt
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from coatround.web.base.forms import DateInput, MoneyField, Page
from coatround.web.base.models import Firm
from coatround.web.books.models import PAYMENT_WAYS

DAYS_AHEAD = 1


class PaymentForm(Page):
    """Money received from a household, apart from a visit."""

    way = forms.ChoiceField(label=_("How"), choices=PAYMENT_WAYS, initial="cash")
    date = forms.DateField(label=_("When"), widget=DateInput())
    words = forms.CharField(label=_("Words, if any"), max_length=200, required=False)

    field_order = ["cents", "tip_cents", "way", "date", "words"]

    def __init__(self, *args: Any, firm: Firm, today: dt.date, owed: int = 0, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = today
        cents = MoneyField(firm=firm, label=_("Received, without the tip"))
        cents.initial = owed if owed > 0 else None
        tip = MoneyField(firm=firm, label=_("Tip"), required=False)
        self.fields["cents"], self.fields["tip_cents"] = cents, tip
        self.fields["date"].initial = today
        self.order_fields(self.field_order)

    def clean_date(self) -> dt.date:
        return not_ahead(self.cleaned_data["date"], self.today)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if "cents" in data and not (data.get("cents") or data.get("tip_cents")):
            self.add_error("cents", _("Nothing was received. Enter an amount, or go back."))
        return data


class CorrectForm(Page):
    """Why a row was wrong, and what a charge should have been."""

    words = forms.CharField(label=_("What was wrong"), max_length=200)

    def __init__(self, *args: Any, firm: Firm, is_charge: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if is_charge:
            self.fields["right_cents"] = MoneyField(
                firm=firm,
                label=_("The right amount"),
                required=False,
                help_text=_("Leave nothing if it should not have been charged at all."),
            )


def not_ahead(date: dt.date, today: dt.date) -> dt.date:
    """A date up to tomorrow; what has not happened yet is not booked."""
    if date > today + dt.timedelta(days=DAYS_AHEAD):
        raise forms.ValidationError(_("That day has not come yet. Enter the day on which it happened."))
    return date

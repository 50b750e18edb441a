"""What is typed at the shelf."""

import datetime as dt
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from coatround.web.base.forms import DateInput, Page
from coatround.web.records.models import Product

MOST_BOTTLES, MOST_ML = 500, 1_000_000


class ShelfForm(Page):
    """A day and words, which every movement has."""

    date = forms.DateField(label=_("When"), widget=DateInput())
    words = forms.CharField(label=_("Words, if any"), max_length=100, required=False)

    def __init__(self, *args: Any, product: Product, today: dt.date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.product, self.today = product, today
        self.fields["date"].initial = today

    def clean_date(self) -> dt.date:
        date: dt.date = self.cleaned_data["date"]
        if date > self.today:
            raise forms.ValidationError(_("That day has not come yet. Enter the day on which it happened."))
        return date


class BoughtForm(ShelfForm):
    """Bottles that came in."""

    bottles = forms.IntegerField(label=_("Bottles"), min_value=1, max_value=MOST_BOTTLES, initial=1)
    bottle_ml = forms.IntegerField(label=_("Millilitres in each"), min_value=1, max_value=MOST_ML)
    field_order = ["bottles", "bottle_ml", "date", "words"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["bottle_ml"].initial = self.product.bottle_ml

    @property
    def ml(self) -> int:
        return int(self.cleaned_data["bottles"]) * int(self.cleaned_data["bottle_ml"])


class CountedForm(ShelfForm):
    """What was found by looking: full bottles, and millilitres in those begun."""

    full = forms.IntegerField(label=_("Full bottles"), min_value=0, max_value=MOST_BOTTLES, initial=0)
    begun_ml = forms.IntegerField(label=_("Millilitres in bottles begun"), min_value=0, max_value=MOST_ML, initial=0)
    field_order = ["full", "begun_ml", "date", "words"]

    @property
    def ml(self) -> int:
        return int(self.cleaned_data["full"]) * self.product.bottle_ml + int(self.cleaned_data["begun_ml"])


class SpiltForm(ShelfForm):
    """What was spilt or thrown out."""

    spilt_ml = forms.IntegerField(label=_("Millilitres"), min_value=1, max_value=MOST_ML)
    field_order = ["spilt_ml", "date", "words"]

    @property
    def ml(self) -> int:
        return int(self.cleaned_data["spilt_ml"])

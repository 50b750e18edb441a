"""The look of every form: one labelled field under the other, errors in words beside the field."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from coatround.web.base.models import Firm
from coatround.web.base.money import amount_text, cents_from


class Page(forms.Form):
    """A plain form; its fields are drawn by base/field.html."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("label_suffix", "")
        super().__init__(*args, **kwargs)


class RowPage(forms.ModelForm):  # type: ignore[type-arg]
    """A form of one row, drawn the same way."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("label_suffix", "")
        super().__init__(*args, **kwargs)


class MoneyField(forms.CharField):
    """An amount typed in the currency's major unit; cleaned to whole minor units."""

    def __init__(self, *, firm: Firm, **kwargs: Any) -> None:
        super().__init__(widget=forms.TextInput(attrs={"inputmode": "decimal"}), **kwargs)
        self.firm = firm

    def prepare_value(self, value: Any) -> Any:
        return amount_text(value, self.firm) if isinstance(value, int) else value

    def clean(self, value: Any) -> Any:
        words = super().clean(value)
        if not words:
            return None
        try:
            cents = cents_from(words, self.firm)
        except ValueError as error:
            raise forms.ValidationError(str(error)) from error
        if cents < 0:
            raise forms.ValidationError(_("An amount can't be below zero."))
        return cents


class DateInput(forms.DateInput):
    """A date by the browser's own picker."""

    input_type = "date"

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(format="%Y-%m-%d", **kwargs)


class TimeInput(forms.TimeInput):
    """A wall-clock time by the browser's own picker."""

    input_type = "time"

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(format="%H:%M", **kwargs)

"""Form fields for what groomers type: phones, weights, pins, microchips."""

import decimal
import re
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from coatround.web.base.models import Firm
from coatround.web.records.microchip import microchip_number, microchip_words
from coatround.web.records.phones import phone_number, phone_words

GRAMS_A_POUND = decimal.Decimal("453.59237")  # NIST Handbook 44, exact
HEAVIEST_GRAMS = 150_000  # our own default: more than any dog
PIN = re.compile(r"(?:geo:)?\s*(-?\d{1,2}(?:\.\d+)?)\s*[,; ]\s*(-?\d{1,3}(?:\.\d+)?)(?:[;?].*)?", re.I)


class Notes(forms.Textarea):
    """A few lines of free words."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(attrs={"rows": 4, **kwargs.pop("attrs", {})}, **kwargs)


class PhoneField(forms.CharField):
    """A phone as it is dialled where the firm works; cleaned to E.164."""

    def __init__(self, *, country: str, **kwargs: Any) -> None:
        kwargs.setdefault("label", gettext_lazy("Phone"))
        kwargs.setdefault("required", False)
        super().__init__(widget=forms.TextInput(attrs={"type": "tel", "autocomplete": "off"}), **kwargs)
        self.country = country

    def prepare_value(self, value: Any) -> Any:
        return phone_words(value, self.country) if re.fullmatch(r"\+\d{6,15}", str(value or "")) else value

    def clean(self, value: Any) -> str:
        try:
            return phone_number(super().clean(value), self.country)
        except ValueError as error:
            raise forms.ValidationError(str(error)) from error


class WeightField(forms.DecimalField):
    """A weight in the firm's units; cleaned to whole grams."""

    def __init__(self, *, firm: Firm, **kwargs: Any) -> None:
        self.grams_a_unit = GRAMS_A_POUND if firm.units == "us" else decimal.Decimal(1000)
        self.unit = _("lb") if firm.units == "us" else _("kg")
        kwargs.setdefault("label", _("Weight, %(unit)s") % {"unit": self.unit})
        kwargs.setdefault("required", False)
        super().__init__(widget=forms.TextInput(attrs={"inputmode": "decimal"}), **kwargs)

    def prepare_value(self, value: Any) -> Any:
        if not isinstance(value, int):
            return value
        return f"{(value / self.grams_a_unit).quantize(decimal.Decimal('0.1')):f}".removesuffix(".0")

    def clean(self, value: Any) -> int | None:
        typed = str(value or "").strip().lower().removesuffix("kg").removesuffix("lb").replace(",", ".")
        units = super().clean(typed)
        if units is None:
            return None
        grams = int((units * self.grams_a_unit).to_integral_value(decimal.ROUND_HALF_UP))
        if not 0 < grams <= HEAVIEST_GRAMS:
            raise forms.ValidationError(
                _("%(typed)s %(unit)s is no weight of a dog. Write it in %(unit)s, like 8.5.")
                % {"typed": value, "unit": self.unit}
            )
        return grams


class MicrochipField(forms.CharField):
    """Fifteen digits, spaces allowed."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("label", gettext_lazy("Microchip"))
        kwargs.setdefault("required", False)
        kwargs.setdefault("help_text", gettext_lazy("Fifteen digits; spaces do no harm."))
        super().__init__(widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off"}), **kwargs)

    def prepare_value(self, value: Any) -> Any:
        return microchip_words(value) if re.fullmatch(r"\d{15}", str(value or "")) else value

    def clean(self, value: Any) -> str:
        try:
            return microchip_number(super().clean(value))
        except ValueError as error:
            raise forms.ValidationError(str(error)) from error


class PinField(forms.CharField):
    """A point as latitude and longitude, as maps copy it; cleaned to a pair of decimals, or None."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("label", gettext_lazy("Pin"))
        kwargs.setdefault("required", False)
        kwargs.setdefault(
            "help_text",
            gettext_lazy(
                "Latitude and longitude, as a map copies them: -33.71234, 150.32345. Without a pin no drive"
                " can be planned."
            ),
        )
        said = {
            "data-pin": "",
            "data-here": gettext_lazy("Put the pin where I am now"),
            "data-here-failed": gettext_lazy("This phone did not say where it is. Copy the point from a map instead."),
        }
        kwargs.setdefault("template_name", "roads/pin_field.html")
        super().__init__(widget=forms.TextInput(attrs={**said, "autocomplete": "off"}), **kwargs)

    def clean(self, value: Any) -> tuple[decimal.Decimal, decimal.Decimal] | None:
        typed = super().clean(value)
        if not typed:
            return None
        found = PIN.fullmatch(typed.strip())
        lat, lon = (decimal.Decimal(found[1]), decimal.Decimal(found[2])) if found else (None, None)
        if lat is None or lon is None or abs(lat) > 90 or abs(lon) > 180:
            raise forms.ValidationError(
                _("“%(typed)s” is not a point. Write latitude, then longitude, like -33.71234, 150.32345.")
                % {"typed": typed}
            )
        six = decimal.Decimal("0.000001")
        return lat.quantize(six), lon.quantize(six)

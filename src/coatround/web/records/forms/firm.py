"""Forms of the firm and the people who work in it."""

from collections.abc import Iterable
from typing import Any

from django import forms
from django.core.validators import MaxValueValidator
from django.utils.dates import MONTHS
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from stdnum import get_cc_module
from stdnum.exceptions import ValidationError as WrongNumber

from coatround.web.base.forms import MoneyField, Page, RowPage, TimeInput
from coatround.web.base.models import Firm, Worker
from coatround.web.base.money import currency_decimals
from coatround.web.records import countries
from coatround.web.records.fields import PhoneField
from coatround.web.records.seasons import hot_months


def zone_choices(country: str) -> list[Any]:
    """The country's own zones first, then every other."""
    own = countries.zones_of(country)
    others = [(zone, zone.replace("_", " ")) for zone in countries.all_zones() if zone not in own]
    here = [(zone, zone.replace("_", " ")) for zone in own]
    return [(_("There"), here), (_("Elsewhere"), others)] if here else others


class NameAndCountry(Page):
    """The first two things that are asked; the rest follows."""

    name = forms.CharField(label=gettext_lazy("Your name, as households know you"), max_length=120)
    country = forms.ChoiceField(label=gettext_lazy("Country"))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["country"].choices = [("", _("choose")), *countries.countries()]  # type: ignore[attr-defined]


class FollowsFromCountry(RowPage):
    """What follows from the country, filled in and changeable."""

    class Meta:
        model = Firm
        fields = ("currency", "tax_name", "tax_rate_percent", "tax_registered", "units", "zone")
        widgets = {"units": forms.RadioSelect}

    def __init__(self, *args: Any, country: str, **kwargs: Any) -> None:
        follows = countries.follows_from(country)
        kwargs["initial"] = {**vars(follows), **kwargs.get("initial", {})}
        super().__init__(*args, **kwargs)
        self.fields["currency"] = forms.ChoiceField(label=_("Currency"), choices=countries.currencies())
        self.fields["zone"] = forms.ChoiceField(label=_("Time zone"), choices=zone_choices(country))
        self.fields["tax_name"].required = False
        self.fields["tax_rate_percent"].help_text = _("As the law has it where you work.")
        self.order_fields(self.Meta.fields)


class FirmForm(RowPage):
    """Everything about the firm, for changing it later."""

    class Meta:
        model = Firm
        fields = (
            "name", "country", "phone", "email", "vet_phone", "night_vet_phone", "poison_phone", "pound_phone",
            "currency", "tax_name", "tax_rate_percent",
            "tax_registered",
            "tax_number", "units", "zone", "hot_from", "hot_until", "blow_percent",
        )  # fmt: skip
        widgets = {"units": forms.RadioSelect, "hot_from": TimeInput, "hot_until": TimeInput}

    def __init__(self, *args: Any, firm: Firm, **kwargs: Any) -> None:
        super().__init__(*args, instance=firm, **kwargs)
        country = (self.data.get("country") or "") if self.is_bound else firm.country
        country = country if country in countries.country_codes() else firm.country
        choices = {"country": countries.countries(), "currency": countries.currencies(), "zone": zone_choices(country)}
        for name, some in choices.items():
            self.fields[name] = forms.ChoiceField(label=self.fields[name].label, choices=some)
        self.initial["tax_rate_percent"] = f"{firm.tax_rate_percent:f}".rstrip("0").rstrip(".") or "0"
        self.fields["phone"] = PhoneField(country=country)
        for name, label in (
            ("vet_phone", _("Your nearest vet's phone")),
            ("night_vet_phone", _("The vet's phone at night and on Sundays")),
            ("poison_phone", _("The animal poison line's phone")),
            ("pound_phone", _("The pound's phone")),
        ):
            self.fields[name] = PhoneField(country=country, label=label)
        self.fields["setting_up"] = _minutes_field(_("Minutes to park and set up"), firm.setting_up_seconds)
        self.fields["packing_up"] = _minutes_field(_("Minutes to hand back and pack up"), firm.packing_up_seconds)
        self._add_seasons(firm)
        for name, words in COSTS.items():
            self.fields[name] = MoneyField(firm=firm, label=words)
            self.initial[name] = getattr(firm, name)

    def _add_seasons(self, firm: Firm) -> None:
        """The months of heat, and those in which double coats come out, with what follows from them."""
        hot = _months_field(_("Hot months"), hot_months(firm))
        hot.help_text = _(
            "In these months a dog with a caution about airway, heat, heart or age is planned outside the hot hours. "
            "How hot is too hot for a dog is for the vet to say, and for the thermometer on the day."
        )
        blow = _months_field(_("Months in which double coats come out"), firm.blow_months)
        self.fields |= {"hot": hot, "blow": blow}
        self.fields["blow_percent"].validators.append(MaxValueValidator(200))
        self.order_fields([*self.Meta.fields[:-3], "hot", "hot_from", "hot_until", "blow", "blow_percent"])

    def clean_tax_number(self) -> str:
        typed = str(self.cleaned_data["tax_number"]).strip()
        country = self.cleaned_data.get("country", "")
        kind = countries.TAX_NUMBERS.get(country)
        module = get_cc_module(country, kind) if typed and kind else None
        if module is None:
            return typed
        try:
            module.validate(typed)
        except WrongNumber as error:
            raise forms.ValidationError(
                _("“%(typed)s” is not a whole %(kind)s: a digit is missing or wrong. Read it again from your papers.")
                % {"typed": typed, "kind": kind.upper() if kind else ""}
            ) from error
        return str(getattr(module, "format", str)(typed))

    def clean(self) -> dict[str, Any]:
        typed = super().clean() or {}
        if self.instance.pk and typed.get("currency") and not self._same_decimals(typed["currency"]):
            self.add_error(
                "currency",
                _("Amounts are already kept with other decimals. Export, and begin a new home folder for it."),
            )
        hot = typed.get("hot_from"), typed.get("hot_until")
        if hot[0] and hot[1] and hot[0] >= hot[1]:
            words = _("%(until)s is not after %(from)s. Write when the heat of the day begins, then when it ends.")
            self.add_error("hot_until", words % {"from": f"{hot[0]:%H:%M}", "until": f"{hot[1]:%H:%M}"})
        return typed

    def _same_decimals(self, currency: str) -> bool:
        return currency_decimals(currency) == int(self.instance.currency_decimals)

    def save(self, commit: bool = True) -> Firm:
        firm: Firm = super().save(commit=False)
        firm.setting_up_seconds = 60 * self.cleaned_data["setting_up"]
        firm.packing_up_seconds = 60 * self.cleaned_data["packing_up"]
        firm.hot_months = sorted(int(month) for month in self.cleaned_data["hot"])
        firm.blow_months = sorted(int(month) for month in self.cleaned_data["blow"])
        for name in COSTS:
            setattr(firm, name, self.cleaned_data[name])
        return firm


COSTS = {
    "cents_per_drive_hour": gettext_lazy("An hour of driving costs"),
    "cents_per_km": gettext_lazy("A kilometre costs"),
    "cents_per_overtime_hour": gettext_lazy("An hour over the day costs"),
}


def _months_field(label: str, chosen: Iterable[int]) -> forms.MultipleChoiceField:
    names = [(str(month), name) for month, name in MONTHS.items()]
    return forms.MultipleChoiceField(
        label=label,
        choices=names,
        required=False,
        initial=[str(month) for month in chosen],
        widget=forms.CheckboxSelectMultiple,
    )


def _minutes_field(label: str, seconds: int) -> forms.IntegerField:
    return forms.IntegerField(label=label, min_value=0, max_value=120, initial=round(seconds / 60))


class WorkerForm(RowPage):
    """Someone who works here."""

    class Meta:
        model = Worker
        fields = ("name", "sign_in_name", "phone", "email", "is_groomer")

    def __init__(self, *args: Any, country: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["phone"] = PhoneField(country=country)
        self.order_fields(self.Meta.fields)

    def clean_sign_in_name(self) -> str:
        typed = str(self.cleaned_data["sign_in_name"]).strip()
        if Worker.objects.exclude(pk=self.instance.pk).filter(sign_in_name__iexact=typed).exists():
            raise forms.ValidationError(
                _("Someone signs in as “%(typed)s” already. Choose another.") % {"typed": typed}
            )
        return typed

"""Forms of dogs and their cautions."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from coatround.web.base.firm import firm_today
from coatround.web.base.forms import DateInput, RowPage
from coatround.web.base.models import Firm
from coatround.web.records.fields import MicrochipField, Notes, PhoneField, WeightField
from coatround.web.records.models import Caution, Dog, Food, Vet


class DogForm(RowPage):
    """A dog; a vet that is not in the list yet is entered with it."""

    class Meta:
        model = Dog
        fields = (
            "name", "breed", "coat", "size", "sex", "born", "vaccination_known", "vaccinated_until", "vet",
            "two_people",
            "last_groomed_before", "notes",
        )  # fmt: skip
        widgets = {"born": DateInput, "vaccinated_until": DateInput, "last_groomed_before": DateInput, "notes": Notes}

    new_vet = forms.CharField(label=gettext_lazy("A vet that is not in the list"), max_length=120, required=False)

    def __init__(self, *args: Any, firm: Firm, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        dog = self.instance
        self.fields["weight"] = WeightField(firm=firm, initial=dog.weight_grams)
        self.fields["microchip"] = MicrochipField(initial=dog.microchip)
        self.fields["vet"].queryset = Vet.objects.filter(closed_on__isnull=True).order_by("name")  # type: ignore[attr-defined]
        self.fields["vet"].empty_label = _("none, or not known")  # type: ignore[attr-defined]
        self.fields["new_vet_phone"] = PhoneField(country=firm.country, label=_("That vet's phone"))
        self.order_fields(
            ["name", "breed", "coat", "size", "weight", "sex", "born", "microchip", "vaccination_known",
             "vaccinated_until",
             "vet", "new_vet", "new_vet_phone", "two_people", "last_groomed_before", "notes"]
        )  # fmt: skip

    def clean(self) -> dict[str, Any]:
        typed = super().clean() or {}
        for name in ("born", "last_groomed_before"):
            if typed.get(name) and typed[name] > firm_today():
                self.add_error(name, _("That day is still to come. Write a day up to today, or leave it empty."))
        if typed.get("vaccinated_until") and typed.get("vaccination_known") in ("unknown", "none"):
            self.add_error(
                "vaccination_known", _("There is a date, so say whether you have seen the paper or were told.")
            )
        if typed.get("new_vet_phone") and not typed.get("new_vet"):
            self.add_error("new_vet", _("There is a phone, but no name of that vet."))
        return typed

    def save(self, commit: bool = True) -> Dog:
        dog: Dog = super().save(commit=False)
        dog.weight_grams, dog.microchip = self.cleaned_data["weight"], self.cleaned_data["microchip"]
        return dog

    def vet_to_enter(self) -> Vet | None:
        """The vet that was written in, joined to one of the same name where there is one."""
        name = self.cleaned_data["new_vet"]
        if not name:
            return None
        same = Vet.objects.filter(name__iexact=name, closed_on__isnull=True).first()
        return same or Vet(name=name, phone=self.cleaned_data["new_vet_phone"])


class FoodForm(RowPage):
    class Meta:
        model = Food
        fields = ("words", "since", "until")
        widgets = {"since": DateInput, "until": DateInput}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["words"].help_text = _("As the household says it. It is laid under what is measured, no more.")
        self.fields["until"].help_text = _("Empty: it still is.")

    def clean(self) -> dict[str, Any]:
        typed = super().clean() or {}
        until_not_before_since(self, typed)
        return typed


class CautionForm(RowPage):
    class Meta:
        model = Caution
        fields = ("kind", "words", "since", "until")
        widgets = {"since": DateInput, "until": DateInput}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["words"].help_text = _(
            "Say what to do, not what it is: “cool dryer only, stop if the breathing changes”. It stands"
            " before the first step of every visit."
        )
        self.fields["until"].help_text = _("Empty: until it is closed. After this day it no longer shows.")

    def clean(self) -> dict[str, Any]:
        typed = super().clean() or {}
        until_not_before_since(self, typed)
        return typed


def until_not_before_since(form: RowPage, typed: dict[str, Any]) -> None:
    since, until = typed.get("since"), typed.get("until")
    if since and until and until < since:
        form.add_error("until", _("This is before it began. Write a later day, or leave it empty."))

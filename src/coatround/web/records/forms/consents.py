"""The form of a consent: the words stand above it, and are kept with the answer."""

import datetime as dt
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from coatround.web.base.firm import firm_now
from coatround.web.base.forms import MoneyField, Page
from coatround.web.base.models import Firm
from coatround.web.records.models import Dog, Household


class ConsentForm(Page):
    """Who said yes or no to the words shown, and when."""

    agreed = forms.TypedChoiceField(
        label=gettext_lazy("The answer"),
        choices=[("yes", gettext_lazy("agreed")), ("no", gettext_lazy("not agreed, or taken back"))],
        coerce=lambda word: word == "yes",
        widget=forms.RadioSelect,
    )
    person = forms.CharField(
        label=gettext_lazy("Who said so"), max_length=120, widget=forms.TextInput(attrs={"list": "people"})
    )
    dog = forms.ModelChoiceField(
        Dog.objects.none(), label=gettext_lazy("For"), required=False, empty_label=gettext_lazy("all their dogs")
    )
    at = forms.DateTimeField(
        label=gettext_lazy("When"),
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
    )

    def __init__(self, *args: Any, household: Household, kind: str, firm: Firm, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["dog"].queryset = household.dogs.filter(closed_on__isnull=True)  # type: ignore[attr-defined]
        self.fields["at"].initial = firm_now(firm).replace(second=0, microsecond=0, tzinfo=None)
        self.kind = kind
        if kind == "vet":
            self.fields["limit"] = MoneyField(
                firm=firm, label=_("Up to, %(currency)s") % {"currency": firm.currency}, required=False
            )
        self.fields["photo"] = forms.FileField(
            label=_("Photo, where it helps"),
            required=False,
            widget=forms.FileInput(attrs={"accept": "image/*"}),
            help_text=_(
                "Of the coat as it is now, or of a signed paper. Where and when it was taken is removed from it."
            ),
        )
        self.order_fields(["agreed", "limit", "person", "dog", "at"])

    def clean_at(self) -> dt.datetime:
        at: dt.datetime = self.cleaned_data["at"]
        if at > timezone.now() + dt.timedelta(minutes=10):
            raise forms.ValidationError(_("That is still to come. Write when they said it."))
        return at

    def clean(self) -> dict[str, Any]:
        typed = super().clean() or {}
        if self.kind == "vet" and typed.get("agreed") and not typed.get("limit") and "limit" not in self.errors:
            self.add_error("limit", _("Up to how much may be spent without asking again?"))
        return typed

"""Forms of households, people, places and vets."""

from typing import Any

from django import forms
from django.utils import formats, timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from coatround.web.base.forms import DateInput, Page, RowPage
from coatround.web.base.models import Firm
from coatround.web.records import words
from coatround.web.records.fields import Notes, PhoneField, PinField
from coatround.web.records.models import Dog, Household, Person, Place, PlaceKey, Vet


class NewHousehold(Page):
    """A household on one page: who, how to reach them, where, and the first dog."""

    household = forms.CharField(
        label=gettext_lazy("Household"),
        max_length=160,
        help_text=gettext_lazy("What you call them: a family name, or two names."),
    )
    person = forms.CharField(label=gettext_lazy("Person to talk to"), max_length=120, required=False)
    email = forms.EmailField(label=gettext_lazy("Email"), required=False)
    line = forms.CharField(label=gettext_lazy("Address"), max_length=160, required=False)
    suburb = forms.CharField(label=gettext_lazy("Suburb or town"), max_length=80, required=False)
    postcode = forms.CharField(label=gettext_lazy("Postcode"), max_length=12, required=False)
    pin = PinField()
    dog = forms.CharField(label=gettext_lazy("First dog"), max_length=80, required=False)
    coat = forms.ChoiceField(label=gettext_lazy("Coat"), choices=words.COATS, initial="mixed")
    size = forms.ChoiceField(label=gettext_lazy("Size"), choices=words.SIZES, initial="medium")

    def __init__(self, *args: Any, firm: Firm, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["phone"] = PhoneField(country=firm.country)
        self.order_fields(
            ["household", "person", "phone", "email", "line", "suburb", "postcode", "pin", "dog", "coat", "size"]
        )

    def clean(self) -> dict[str, Any]:
        typed = super().clean() or {}
        if typed.get("phone") or typed.get("email"):
            self._look_for_the_same(typed)
        if (typed.get("suburb") or typed.get("postcode") or typed.get("pin")) and not typed.get("line"):
            self.add_error(
                "line",
                _("There is a suburb, postcode or pin, but no address. Write the street, or “no street address”."),
            )
        return typed

    def _look_for_the_same(self, typed: dict[str, Any]) -> None:
        """A phone or email that someone has already is asked about once."""
        same = Person.objects.none()
        for name in ("phone", "email"):
            if typed.get(name):
                same |= Person.objects.filter(**{f"{name}__iexact": typed[name]})
        found = same.filter(closed_on__isnull=True).select_related("household").first()
        if found is None or self.data.get("another"):
            return
        self.fields["another"] = forms.BooleanField(
            label=_("It is another household: enter it all the same"), required=False
        )
        self.add_error(
            None,
            _(
                "%(person)s of the household %(household)s has this phone or email already. Find them under"
                " People, or tick below."
            )
            % {"person": found.name, "household": found.household.name},
        )

    def rows(self) -> tuple[Household, Person | None, Place | None, Dog | None]:
        """The rows that were asked for; a person without a name is called as the household is."""
        typed = self.cleaned_data
        person = None
        if typed["person"] or typed["phone"] or typed["email"]:
            person = Person(name=typed["person"] or typed["household"], phone=typed["phone"], email=typed["email"])
        place = Place(line=typed["line"], suburb=typed["suburb"], postcode=typed["postcode"]) if typed["line"] else None
        if place is not None and typed["pin"]:
            place.lat, place.lon = typed["pin"]
        dog = Dog(name=typed["dog"], coat=typed["coat"], size=typed["size"]) if typed["dog"] else None
        return Household(name=typed["household"]), person, place, dog


class HouseholdForm(RowPage):
    class Meta:
        model = Household
        fields = ("name", "how_found", "notes")
        widgets = {"notes": Notes}

    def save(self, commit: bool = True) -> Household:
        household: Household = super().save(commit=False)
        household.to_be_named = household.to_be_named and "name" not in self.changed_data
        return household


class PersonForm(RowPage):
    class Meta:
        model = Person
        fields = ("name", "phone", "email", "may_decide", "second_contact", "notes")

    def __init__(self, *args: Any, firm: Firm, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["phone"] = PhoneField(country=firm.country)
        self.order_fields(self.Meta.fields)


class PlaceForm(RowPage):
    """An address; a depot or a tap has no household and says how long filling takes."""

    class Meta:
        model = Place
        fields = ("line", "suburb", "postcode", "name", "gate", "parking", "tap", "plug", "notes")
        widgets = {"tap": forms.RadioSelect, "plug": forms.RadioSelect}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        place = self.instance
        self.fields["pin"] = PinField(initial=f"{place.lat}, {place.lon}" if place.is_pinned else "")
        self.fields["parking_minutes"] = forms.IntegerField(
            label=_("Extra minutes to park here"),
            min_value=0,
            max_value=120,
            required=False,
            initial=place.parking_seconds // 60 or None,
            help_text=_("Beyond what every visit takes: a long driveway, a walk from the street."),
        )
        self.fields["gate"].help_text = _(
            "How to find and shut it. A code or a key goes to “Keys and codes”, which only that day's run shows."
        )
        self.order_fields(["line", "suburb", "postcode", "pin", "name", "gate", "parking", "parking_minutes"])
        if place.household_id is None:
            self.fields["refills"] = forms.BooleanField(
                label=_("The van can fill and empty here"), required=False, initial=place.refills
            )
            self.fields["refill_minutes"] = forms.IntegerField(
                label=_("Minutes to fill and empty"), min_value=0, max_value=240, initial=place.refill_seconds // 60
            )

    def save(self, commit: bool = True) -> Place:
        place: Place = super().save(commit=False)
        place.lat, place.lon = self.cleaned_data["pin"] or (None, None)
        place.parking_seconds = 60 * (self.cleaned_data["parking_minutes"] or 0)
        if place.household_id is None:
            place.refills = self.cleaned_data["refills"]
            place.refill_seconds = 60 * self.cleaned_data["refill_minutes"]
        return place


class KeyForm(Page):
    """A key, gate or alarm code: entered or replaced here, and shown on that day's run only."""

    words = forms.CharField(
        label=gettext_lazy("Key or code"),
        max_length=200,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        help_text=gettext_lazy("Once saved it is not shown here again."),
    )
    replaces = forms.ModelChoiceField(
        PlaceKey.objects.none(),
        label=gettext_lazy("This is"),
        required=False,
        empty_label=gettext_lazy("one more"),
        blank=True,
    )

    def __init__(self, *args: Any, place: Place, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["replaces"]
        field.queryset = place.keys.filter(closed_on__isnull=True).order_by("made_at")  # type: ignore[attr-defined]
        field.label_from_instance = key_name  # type: ignore[attr-defined]
        if not field.queryset:  # type: ignore[attr-defined]
            del self.fields["replaces"]


def key_name(key: PlaceKey) -> str:
    """A key by the day it was entered, never by its words."""
    return _("in place of the one entered on %(day)s") % {
        "day": formats.date_format(timezone.localtime(key.made_at), "j F Y, G:i")
    }


class VetForm(RowPage):
    class Meta:
        model = Vet
        fields = ("name", "phone", "address")

    def __init__(self, *args: Any, firm: Firm, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["phone"] = PhoneField(country=firm.country)
        self.order_fields(self.Meta.fields)


class CloseForm(Page):
    """Why something is closed, and on which day."""

    why = forms.CharField(label=gettext_lazy("Why"), max_length=200)
    on = forms.DateField(label=gettext_lazy("On"), widget=DateInput())

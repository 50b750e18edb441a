"""Facts about households, places, dogs, what is settled with them, and what the van carries."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from coatround.web.base.models import Worker
from coatround.web.base.rows import Kept, Row
from coatround.web.records import words


class Household(Kept):
    """The people who own the dogs, and how to reach them."""

    name = models.CharField(_("household"), max_length=160, db_index=True)
    to_be_named = models.BooleanField(default=False, help_text=_("made from an appointment; who is it?"))
    how_found = models.CharField(_("who sent them"), max_length=120, blank=True)
    notes = models.TextField(_("notes"), blank=True)
    erased_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class Person(Kept):
    """One person of a household."""

    household = models.ForeignKey(Household, on_delete=models.PROTECT, related_name="people")
    name = models.CharField(_("name"), max_length=120)
    phone = models.CharField(
        _("phone"), max_length=20, blank=True, db_index=True, help_text=_("kept as +country number")
    )
    email = models.EmailField(_("email"), blank=True, db_index=True)
    may_decide = models.BooleanField(_("may decide about the dogs"), default=True)
    second_contact = models.BooleanField(_("second contact, when the first can't be reached"), default=False)
    notes = models.CharField(_("notes"), max_length=200, blank=True)

    class Meta:
        ordering = ["second_contact", "made_at", "id"]
        verbose_name_plural = "people"

    def __str__(self) -> str:
        return self.name


class Place(Kept):
    """An address with coordinates, gate, parking, tap and plug; without a household it is home, a depot or a tap."""

    household = models.ForeignKey(Household, on_delete=models.PROTECT, null=True, blank=True, related_name="places")
    name = models.CharField(_("called"), max_length=80, blank=True, help_text=_("for a depot or a second address"))
    line = models.CharField(_("address"), max_length=160, db_index=True)
    suburb = models.CharField(_("suburb or town"), max_length=80, blank=True, db_index=True)
    postcode = models.CharField(_("postcode"), max_length=12, blank=True)
    lat = models.DecimalField(_("latitude"), max_digits=9, decimal_places=6, null=True, blank=True)
    lon = models.DecimalField(_("longitude"), max_digits=9, decimal_places=6, null=True, blank=True)
    gate = models.CharField(_("gate"), max_length=160, blank=True)
    parking = models.CharField(_("parking"), max_length=160, blank=True)
    parking_seconds = models.PositiveIntegerField(default=0, help_text=_("beyond what parking takes at every visit"))
    tap = models.CharField(_("water tap"), max_length=10, choices=words.SUPPLY, default="unknown")
    plug = models.CharField(_("power plug"), max_length=10, choices=words.SUPPLY, default="unknown")
    notes = models.CharField(_("notes"), max_length=200, blank=True)
    refills = models.BooleanField(_("the van can fill and empty here"), default=False)
    refill_seconds = models.PositiveIntegerField(default=900)

    def __str__(self) -> str:
        return ", ".join(part for part in (self.line, self.suburb) if part) or self.name

    @property
    def is_pinned(self) -> bool:
        return self.lat is not None and self.lon is not None


class PlaceKey(Kept):
    """A key, gate or alarm code. Shown on that day's run only; every look is logged."""

    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="keys")
    words = models.CharField(_("key or code"), max_length=200)


class KeyLook(Row):
    """Someone looked at a key or a code, or a phone was given it for the day, to be shown without signal."""

    key = models.ForeignKey(PlaceKey, on_delete=models.PROTECT, related_name="looks")
    who = models.ForeignKey(Worker, on_delete=models.PROTECT)
    run_date = models.DateField()
    how = models.CharField(max_length=8, choices=words.KEY_LOOKS, default="looked")


class Vet(Kept):
    """A veterinary practice that a household uses."""

    name = models.CharField(_("vet"), max_length=120)
    phone = models.CharField(_("phone"), max_length=20, blank=True)
    address = models.CharField(_("address"), max_length=200, blank=True)

    def __str__(self) -> str:
        return self.name


class Dog(Kept):
    """The animal."""

    household = models.ForeignKey(Household, on_delete=models.PROTECT, related_name="dogs")
    name = models.CharField(_("dog"), max_length=80, db_index=True)
    breed = models.CharField(_("breed or cross"), max_length=80, blank=True)
    coat = models.CharField(_("coat"), max_length=10, choices=words.COATS, default="mixed")
    size = models.CharField(_("size"), max_length=8, choices=words.SIZES, default="medium")
    weight_grams = models.PositiveIntegerField(_("weight, grams"), null=True, blank=True)
    born = models.DateField(_("born"), null=True, blank=True)
    sex = models.CharField(_("sex"), max_length=10, choices=words.SEXES, blank=True)
    microchip = models.CharField(_("microchip"), max_length=15, blank=True)
    vet = models.ForeignKey(Vet, on_delete=models.PROTECT, null=True, blank=True, related_name="dogs")
    vaccinated_until = models.DateField(_("vaccinated until"), null=True, blank=True)
    vaccination_known = models.CharField(_("vaccination"), max_length=8, choices=words.KNOWN, default="unknown")
    last_groomed_before = models.DateField(_("last groomed, before these records"), null=True, blank=True)
    two_people = models.BooleanField(_("needs two people"), default=False)
    notes = models.TextField(_("notes"), blank=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class Caution(Kept):
    """A thing that can hurt the dog or the groomer, with what to do about it."""

    dog = models.ForeignKey(Dog, on_delete=models.PROTECT, related_name="cautions")
    kind = models.CharField(_("caution"), max_length=10, choices=words.CAUTIONS)
    words = models.CharField(_("what to do about it"), max_length=240)
    since = models.DateField(_("since"), null=True, blank=True)
    until = models.DateField(_("until"), null=True, blank=True)

    class Meta:
        ordering = ["made_at", "id"]

    def __str__(self) -> str:
        return self.words


class Food(Kept):
    """What a dog is fed, from and until a day, as its household says."""

    dog = models.ForeignKey(Dog, on_delete=models.PROTECT, related_name="foods")
    words = models.CharField(_("food"), max_length=160)
    since = models.DateField(_("since"))
    until = models.DateField(_("until"), null=True, blank=True)

    class Meta:
        ordering = ["since", "id"]

    def __str__(self) -> str:
        return self.words


class Product(Kept):
    """A shampoo, conditioner, cleaner or disinfectant with its label's ratio: parts in water, or in all."""

    name = models.CharField(_("product"), max_length=120)
    kind = models.CharField(_("kind"), max_length=14, choices=words.PRODUCTS, default="shampoo")
    ratio_product = models.PositiveIntegerField(_("parts product"), default=1)
    ratio_other = models.PositiveIntegerField(_("parts water or total"), default=16)
    ratio_rule = models.CharField(_("the label counts"), max_length=5, choices=words.RATIO_RULES, default="water")
    contact_minutes = models.PositiveIntegerField(_("minutes of contact"), default=0)
    not_for = models.CharField(_("not for"), max_length=240, blank=True)
    label = models.TextField(_("what the label says"), blank=True)
    safety = models.TextField(_("what its safety sheet says: eyes, skin, swallowed, not to be mixed with"), blank=True)
    bottle_ml = models.PositiveIntegerField(_("bottle, ml"), default=1000)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class Usual(Kept):
    """What is settled with a household for a dog, dated from and to, so that last year's can still be read."""

    dog = models.ForeignKey(Dog, on_delete=models.PROTECT, related_name="usuals")
    valid_from = models.DateField(_("from"))
    valid_until = models.DateField(_("until"), null=True, blank=True)
    interval_weeks = models.PositiveSmallIntegerField(_("weeks from one groom to the next"), default=6)
    days_early = models.PositiveSmallIntegerField(_("days early"), default=7)
    days_late = models.PositiveSmallIntegerField(_("days late"), default=7)
    weekdays = models.JSONField(_("weekdays"), default=list, blank=True, help_text=_("0 is Monday; empty is any"))
    hours_from = models.TimeField(_("not before"), null=True, blank=True)
    hours_until = models.TimeField(_("not after"), null=True, blank=True)
    usual_weekday = models.PositiveSmallIntegerField(_("usual weekday"), null=True, blank=True)
    usual_time = models.TimeField(_("usual hour"), null=True, blank=True)
    cut = models.JSONField(_("cut"), default=dict, blank=True, help_text=_('part: {"how": ..., "mm": ...}'))
    work_seconds = models.PositiveIntegerField(_("seconds of work"), null=True, blank=True)
    price_cents = models.PositiveIntegerField(_("price"), default=0)
    worked_out = models.CharField(_("worked out from"), max_length=160, blank=True)

    class Meta:
        ordering = ["-valid_from", "-id"]
        indexes = [
            models.Index(fields=["dog", "valid_from"]),
            models.Index(fields=["dog", "closed_on", "valid_from", "id", "valid_until"], name="usual_in_force"),
        ]


class RoutineStep(Row):
    """One step of the dog's own ordered routine."""

    usual = models.ForeignKey(Usual, on_delete=models.CASCADE, related_name="steps")
    order = models.PositiveSmallIntegerField()
    step = models.CharField(_("step"), max_length=12, choices=words.STEPS)
    product = models.ForeignKey(Product, on_delete=models.PROTECT, null=True, blank=True)
    words = models.CharField(_("how"), max_length=160, blank=True)

    class Meta:
        ordering = ["order"]
        constraints = [models.UniqueConstraint(fields=["usual", "order"], name="one_step_a_place")]


class Van(Kept):
    """A van with its tanks, battery and home place."""

    name = models.CharField(_("van"), max_length=60)
    home = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="vans")
    groomer = models.ForeignKey(Worker, on_delete=models.PROTECT, null=True, blank=True, related_name="vans")
    clean_l = models.PositiveIntegerField(_("clean water tank, litres"), default=150)
    grey_l = models.PositiveIntegerField(_("grey water tank, litres"), default=150)
    battery_wh = models.PositiveIntegerField(_("battery, watt-hours"), null=True, blank=True)
    has_big_tub = models.BooleanField(_("has a big tub"), default=False)
    bath_l = models.PositiveIntegerField(_("bath, litres a fill"), default=12)
    paid_minutes = models.PositiveIntegerField(_("minutes of an ordinary day"), default=510)
    max_overtime_minutes = models.PositiveIntegerField(_("overtime at most, minutes"), default=45)

    def __str__(self) -> str:
        return self.name


class WorkingHours(Row):
    """The hours of one van on one weekday, with its break."""

    van = models.ForeignKey(Van, on_delete=models.CASCADE, related_name="hours")
    weekday = models.PositiveSmallIntegerField()
    open = models.TimeField(_("leaves after"))
    close = models.TimeField(_("back by"))
    break_minutes = models.PositiveSmallIntegerField(default=30)
    break_from = models.TimeField(null=True, blank=True)
    break_until = models.TimeField(null=True, blank=True)

    class Meta:
        ordering = ["weekday"]
        constraints = [models.UniqueConstraint(fields=["van", "weekday"], name="one_row_a_weekday")]


class DayOff(Row):
    """Days on which a van (or, with none named, the firm) does not work."""

    van = models.ForeignKey(Van, on_delete=models.CASCADE, null=True, blank=True, related_name="days_off")
    first = models.DateField(_("from"))
    last = models.DateField(_("to and with"))
    words = models.CharField(_("why"), max_length=120, blank=True)


class Weather(Row):
    """A day's low, high and humidity, as a forecast or a thermometer said; tenths of a degree Celsius."""

    date = models.DateField(_("day"), unique=True)
    low_tenths_c = models.IntegerField(_("low, tenths of a degree"))
    high_tenths_c = models.IntegerField(_("high, tenths of a degree"))
    humidity_percent = models.PositiveSmallIntegerField(_("humidity, percent"), default=50)

    def __str__(self) -> str:
        return f"{self.date}"


class Rush(Row):
    """Weeks before a holiday in which all want to come: regulars first, minutes of each van's day held back."""

    name = models.CharField(_("called"), max_length=60, help_text=_("such as: before the midwinter holiday"))
    first = models.DateField(_("from"))
    last = models.DateField(_("to and with"))
    held_minutes = models.PositiveSmallIntegerField(_("minutes a day held back for regulars"), default=60)
    open_days = models.PositiveSmallIntegerField(_("open to all so many days before"), default=7)

    class Meta:
        ordering = ["first", "id"]

    def __str__(self) -> str:
        return self.name


class Consent(Row):
    """Who agreed to what, when, with the words that were shown; a later row of a kind replaces an earlier one."""

    household = models.ForeignKey(Household, on_delete=models.PROTECT, related_name="consents")
    dog = models.ForeignKey(Dog, on_delete=models.PROTECT, null=True, blank=True, related_name="consents")
    kind = models.CharField(_("about"), max_length=14, choices=words.CONSENTS)
    agreed = models.BooleanField(_("agreed"))
    person = models.CharField(_("who said so"), max_length=120)
    at = models.DateTimeField(_("when"))
    words = models.TextField(_("the words that were shown"))
    limit_cents = models.PositiveIntegerField(_("up to"), null=True, blank=True)
    photo = models.UUIDField(null=True, blank=True)
    written_by = models.ForeignKey(Worker, on_delete=models.PROTECT, null=True, blank=True)

    class Meta:
        ordering = ["-at"]

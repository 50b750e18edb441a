"""Visits as agreed, and what happened at them.

Work records are only added to; a correction is a new row that names the old one.
"""

from django.db import models
from django.utils.translation import gettext_lazy as _

from coatround.web.base.models import Worker
from coatround.web.base.rows import Row
from coatround.web.records import words as record_words
from coatround.web.records.models import Dog, Household, Place, Product, Van
from coatround.web.visits import words


class Visit(Row):
    """One arrival at one household on one date. States are RFC 5545's; a window told is a promise."""

    household = models.ForeignKey(Household, on_delete=models.PROTECT, related_name="visits")
    place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="visits")
    date = models.DateField(db_index=True)
    van = models.ForeignKey(Van, on_delete=models.PROTECT, null=True, blank=True, related_name="visits")
    state = models.CharField(max_length=10, choices=words.VISIT_STATES, default="TENTATIVE")
    answer = models.CharField(max_length=12, choices=words.ANSWERS, default="NEEDS-ACTION")
    told_from = models.TimeField(null=True, blank=True)
    told_until = models.TimeField(null=True, blank=True)
    told_at = models.DateTimeField(null=True, blank=True)
    source = models.CharField(max_length=12, choices=words.VISIT_SOURCES, default="plan")
    called_off_why = models.CharField(max_length=200, blank=True)
    wanted = models.CharField(_("what's wanted"), max_length=200, blank=True)
    pinned_seconds = models.PositiveIntegerField(
        null=True, blank=True, help_text=_("when its work starts where a person keeps it; null is not pinned")
    )
    dogs = models.ManyToManyField(Dog, through="VisitDog", related_name="visits")

    class Meta:
        ordering = ["date", "told_from", "id"]
        indexes = [models.Index(fields=["household", "date"])]

    def __str__(self) -> str:
        return f"{self.household}, {self.date}"

    @property
    def is_told(self) -> bool:
        return self.state == "CONFIRMED" and self.told_from is not None

    @property
    def is_pinned(self) -> bool:
        """Whether a person keeps it on its day, its van and near its hour."""
        return self.pinned_seconds is not None


class VisitDog(models.Model):
    """One dog of a visit, in the order they are to be done."""

    visit = models.ForeignKey(Visit, on_delete=models.CASCADE, related_name="visit_dogs")
    dog = models.ForeignKey(Dog, on_delete=models.PROTECT)
    order = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["order", "id"]
        constraints = [models.UniqueConstraint(fields=["visit", "dog"], name="a_dog_once_a_visit")]


class Record(models.Model):
    """A plain record as it was sent, kept as it was: the id was made where it was written, and is accepted once."""

    id = models.UUIDField(primary_key=True)
    kind = models.CharField(max_length=14)
    version = models.PositiveSmallIntegerField(default=1)
    body = models.JSONField()
    said_at = models.DateTimeField(help_text=_("by the clock of the device"))
    received_at = models.DateTimeField()
    who = models.ForeignKey(Worker, on_delete=models.PROTECT, related_name="records")
    device = models.CharField(max_length=60, blank=True)
    visit = models.UUIDField(null=True, db_index=True)
    corrects = models.UUIDField(null=True, db_index=True)

    class Meta:
        ordering = ["received_at", "id"]


class Fact(models.Model):
    """A work record's row: it has its record's id, and names the row that it corrects."""

    id = models.UUIDField(primary_key=True)
    at = models.DateTimeField()
    who = models.ForeignKey(Worker, on_delete=models.PROTECT, related_name="+")
    corrects = models.UUIDField(null=True, blank=True)
    corrected = models.BooleanField(default=False, help_text=_("a later row stands in its place"))

    class Meta:
        abstract = True


class Fit(Fact):
    """The look at the door: what was seen or told, and go, shorter, not today or vet."""

    visit = models.UUIDField(db_index=True)
    dog = models.ForeignKey(Dog, on_delete=models.PROTECT, related_name="fits")
    signs = models.JSONField(default=list)
    answer = models.CharField(max_length=10, choices=words.FIT_ANSWERS)
    reason = models.CharField(max_length=300, blank=True)


class Groom(Fact):
    """The work on one dog in one visit."""

    visit = models.UUIDField(db_index=True)
    dog = models.ForeignKey(Dog, on_delete=models.PROTECT, related_name="grooms")
    date = models.DateField(db_index=True)
    state = models.CharField(max_length=12, choices=words.GROOM_STATES, default="COMPLETED")
    usual_done = models.BooleanField(default=True)
    started_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    work_seconds = models.PositiveIntegerField(null=True, blank=True)
    water_l = models.PositiveIntegerField(null=True, blank=True)
    cut = models.JSONField(default=dict)
    stood = models.CharField(_("how it stood"), max_length=10, choices=words.STOOD, blank=True)
    notes = models.TextField(blank=True)
    why_not = models.CharField(max_length=200, blank=True)
    cotton_in = models.PositiveSmallIntegerField(default=0)
    cotton_taken_out = models.PositiveSmallIntegerField(default=0)
    cotton_fell_out = models.PositiveSmallIntegerField(default=0)
    cotton_swallowed = models.PositiveSmallIntegerField(default=0)
    cotton_not_found = models.PositiveSmallIntegerField(default=0)

    class Meta:
        indexes = [
            models.Index(fields=["dog", "date"]),
            models.Index(fields=["dog", "corrected", "state", "date"], name="last_groom_of_a_dog"),
        ]


class GroomStep(models.Model):
    """One step of a groom as it was done."""

    groom = models.ForeignKey(Groom, on_delete=models.CASCADE, related_name="steps")
    order = models.PositiveSmallIntegerField()
    step = models.CharField(max_length=12, choices=record_words.STEPS)
    done = models.BooleanField(default=True)
    product = models.ForeignKey(Product, on_delete=models.PROTECT, null=True)
    product_ml = models.PositiveIntegerField(null=True)
    seconds = models.PositiveIntegerField(null=True)
    words = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["order"]


class Finding(models.Model):
    """What was seen or felt on a part of the body, with a grade 0 to 3. Never a diagnosis."""

    groom = models.ForeignKey(Groom, on_delete=models.CASCADE, related_name="findings")
    part = models.CharField(max_length=16, choices=record_words.PARTS)
    kind = models.CharField(max_length=10, choices=record_words.FINDINGS)
    grade = models.PositiveSmallIntegerField()
    words = models.CharField(max_length=240, blank=True)


class Measure(models.Model):
    """One number taken at a groom: weight, condition, an ear's grade, loose hair."""

    groom = models.ForeignKey(Groom, on_delete=models.CASCADE, related_name="measures")
    dog = models.ForeignKey(Dog, on_delete=models.PROTECT, related_name="measures")
    date = models.DateField()
    kind = models.CharField(max_length=14, choices=words.MEASURES)
    value = models.IntegerField()

    class Meta:
        indexes = [
            models.Index(fields=["dog", "kind", "date"]),
            models.Index(fields=["kind", "date", "dog", "value"]),
        ]


class HandingBack(Fact):
    """Found, price, paid how, next date, at the door."""

    visit = models.UUIDField(db_index=True)
    household = models.ForeignKey(Household, on_delete=models.PROTECT, related_name="handings_back")
    price_cents = models.PositiveIntegerField()
    tip_cents = models.PositiveIntegerField(default=0)
    paid = models.CharField(max_length=10, choices=words.PAID)
    paid_cents = models.PositiveIntegerField(default=0)
    next_date = models.DateField(null=True, blank=True)
    next_from = models.TimeField(null=True, blank=True)
    next_until = models.TimeField(null=True, blank=True)
    next_how = models.CharField(max_length=10, choices=words.NEXT_HOW, default="usual")
    notes = models.CharField(max_length=300, blank=True)


class Incident(Fact):
    """A nick, burn, bite, fall, escape or collapse: when, what was done, who was told."""

    visit = models.UUIDField(null=True, blank=True, db_index=True)
    dog = models.ForeignKey(Dog, on_delete=models.PROTECT, related_name="incidents")
    kind = models.CharField(max_length=10, choices=words.INCIDENTS)
    happened_at = models.DateTimeField()
    words = models.TextField()
    what_was_done = models.TextField(blank=True)
    owner_told = models.BooleanField(default=False)
    vet_rung = models.BooleanField(default=False)
    insurer_told = models.BooleanField(default=False)


class Photo(Row):
    """A picture by content hash under the home folder; never overwritten, stripped of where and when it was taken."""

    sha256 = models.CharField(max_length=64, db_index=True)
    bytes = models.PositiveIntegerField()
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    household = models.ForeignKey(Household, on_delete=models.PROTECT, null=True, blank=True, related_name="photos")
    dog = models.ForeignKey(Dog, on_delete=models.PROTECT, null=True, blank=True, related_name="photos")
    visit = models.UUIDField(null=True, blank=True, db_index=True)
    belongs_to = models.UUIDField(null=True, blank=True, help_text=_("the groom, incident or consent it shows"))
    words = models.CharField(max_length=160, blank=True)
    who = models.ForeignKey(Worker, on_delete=models.PROTECT, null=True, related_name="+")

"""Decisions about the round: the runs that stand, and proposals that nobody has accepted yet."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from coatround.web.base.models import Worker
from coatround.web.base.rows import Row
from coatround.web.records.models import Household, Place, Van
from coatround.web.visits.models import Visit

STOP_KINDS = [("visit", _("visit")), ("refill", _("refill")), ("break", _("break"))]
PROPOSAL_STATES = [
    ("waiting", _("waiting")),
    ("planning", _("planning")),
    ("ready", _("ready")),
    ("accepted", _("accepted")),
    ("dropped", _("dropped")),
    ("failed", _("failed")),
]


class Standing(models.Model):
    """The standing plan's version: one row, raised by every acceptance and every change of a run by hand."""

    version = models.PositiveIntegerField(default=0)
    changed_at = models.DateTimeField(null=True)
    changed_by = models.ForeignKey(Worker, on_delete=models.PROTECT, null=True, related_name="+")


class Run(Row):
    """One van's working day as accepted. Clock times are whole seconds after midnight of its date, wall clock."""

    van = models.ForeignKey(Van, on_delete=models.PROTECT, related_name="runs")
    groomer = models.ForeignKey(Worker, on_delete=models.PROTECT, null=True, related_name="runs")
    date = models.DateField(db_index=True)
    start_place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="+")
    end_place = models.ForeignKey(Place, on_delete=models.PROTECT, related_name="+")
    leave_seconds = models.PositiveIntegerField()
    back_seconds = models.PositiveIntegerField()
    home_metres = models.PositiveIntegerField(default=0)
    home_by_road = models.BooleanField(default=False)
    accepted_at = models.DateTimeField()
    accepted_by = models.ForeignKey(Worker, on_delete=models.PROTECT, null=True, related_name="+")
    version = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["date", "van__name"]
        constraints = [models.UniqueConstraint(fields=["van", "date"], name="one_run_a_van_a_day")]

    def __str__(self) -> str:
        return f"{self.van}, {self.date}"


class Stop(models.Model):
    """One stop of a run, in order: a visit, a refill or a break."""

    run = models.ForeignKey(Run, on_delete=models.CASCADE, related_name="stops")
    order = models.PositiveSmallIntegerField()
    kind = models.CharField(max_length=6, choices=STOP_KINDS)
    visit = models.ForeignKey(Visit, on_delete=models.PROTECT, null=True, related_name="stops")
    place = models.ForeignKey(Place, on_delete=models.PROTECT, null=True, related_name="+")
    arrive_seconds = models.PositiveIntegerField()
    start_seconds = models.PositiveIntegerField()
    end_seconds = models.PositiveIntegerField()
    drive_seconds = models.PositiveIntegerField(default=0)
    drive_metres = models.PositiveIntegerField(default=0)
    engine_seconds = models.PositiveIntegerField(
        default=0, help_text=_("what the engine or the estimate said, uncorrected and without parking")
    )
    by_road = models.BooleanField(default=False, help_text=_("the drive is known by road; else it is an estimate"))
    water_l = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["order"]
        constraints = [models.UniqueConstraint(fields=["run", "order"], name="one_stop_a_place_in_the_run")]


class Proposal(Row):
    """A plan that is being made or waits to be accepted; derived, so it can be thrown away."""

    state = models.CharField(max_length=8, choices=PROPOSAL_STATES, default="waiting")
    asked_by = models.ForeignKey(Worker, on_delete=models.PROTECT, null=True, related_name="+")
    first_date = models.DateField()
    last_date = models.DateField()
    base_version = models.PositiveIntegerField(default=0)
    seconds = models.PositiveIntegerField(default=20)
    seed = models.PositiveIntegerField(default=1)
    stop_asked = models.BooleanField(default=False)
    progress_percent = models.PositiveSmallIntegerField(default=0)
    progress_words = models.CharField(max_length=200, blank=True)
    heard_at = models.DateTimeField(null=True)
    problem = models.JSONField(null=True)
    plan = models.JSONField(null=True)
    names = models.JSONField(
        default=dict, help_text=_("what each visit of the problem stands for: household, dogs, reason")
    )
    failed_why = models.CharField(max_length=300, blank=True)
    accepted_dates = models.JSONField(default=list)
    called = models.CharField(max_length=80, blank=True, help_text=_("what a what-if is called"))
    supposed = models.JSONField(null=True, help_text=_("what a what-if supposes; null where it is no what-if"))

    class Meta:
        ordering = ["-id"]


WAITING_STATES = [("waiting", _("waiting")), ("placed", _("pencilled in")), ("gone", _("no longer waiting"))]


class Waiting(Row):
    """A household that waits for an opening for some of its dogs (their ids), with when they are free."""

    household = models.ForeignKey(Household, on_delete=models.PROTECT, related_name="waits")
    dogs = models.JSONField(default=list)
    first = models.DateField(_("from"))
    weekdays = models.JSONField(default=list, blank=True, help_text=_("0 is Monday; empty is any"))
    hours_from = models.TimeField(_("not before"), null=True, blank=True)
    hours_until = models.TimeField(_("not after"), null=True, blank=True)
    words = models.CharField(_("what they said"), max_length=200, blank=True)
    state = models.CharField(max_length=8, choices=WAITING_STATES, default="waiting", db_index=True)
    visit = models.ForeignKey(Visit, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    settled_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["made_at", "id"]

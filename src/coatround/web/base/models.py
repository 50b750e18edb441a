"""The firm, the people who sign in, and the log of every change."""

import datetime as dt
from typing import ClassVar

from django.contrib.auth.models import AbstractBaseUser, BaseUserManager
from django.db import models
from django.utils.translation import gettext_lazy as _

from coatround.web.base.rows import Kept, Row


class WorkerQuery(BaseUserManager["Worker"]):
    """Makes and finds the people who sign in."""

    def get_by_natural_key(self, username: str | None) -> "Worker":
        return self.get(sign_in_name__iexact=username)


class Worker(AbstractBaseUser, Kept):
    """Someone who works in the firm and signs in: a groomer, or the one who keeps the books."""

    name = models.CharField(_("name"), max_length=120)
    sign_in_name = models.CharField(_("sign-in name"), max_length=120, unique=True)
    phone = models.CharField(_("phone"), max_length=20, blank=True)
    email = models.EmailField(_("email"), blank=True)
    is_groomer = models.BooleanField(_("works as a groomer"), default=True)
    is_active = models.BooleanField(default=True)

    USERNAME_FIELD = "sign_in_name"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["name"]
    objects = WorkerQuery()

    def __str__(self) -> str:
        return self.name


def spring_and_autumn() -> list[int]:
    """April, May, October and November: spring and autumn on either side of the equator; our own default."""
    return [4, 5, 10, 11]


class Firm(Row):
    """The one firm of this installation: what follows from its country, and how it works."""

    name = models.CharField(_("your name, as households know you"), max_length=120)
    country = models.CharField(_("country"), max_length=2)
    currency = models.CharField(_("currency"), max_length=3)
    currency_decimals = models.PositiveSmallIntegerField(default=2)
    zone = models.CharField(_("time zone"), max_length=64)
    units = models.CharField(
        _("units"), max_length=8, choices=[("metric", _("metric")), ("us", _("US"))], default="metric"
    )
    tax_name = models.CharField(_("tax is called"), max_length=20, blank=True)
    tax_number = models.CharField(_("tax number"), max_length=30, blank=True)
    tax_rate_percent = models.DecimalField(_("tax rate, percent"), max_digits=6, decimal_places=3, default=0)
    tax_registered = models.BooleanField(_("registered for tax"), default=False)
    phone = models.CharField(_("phone"), max_length=20, blank=True)
    email = models.EmailField(_("email"), blank=True)
    vet_phone = models.CharField(_("your nearest vet's phone"), max_length=20, blank=True)
    night_vet_phone = models.CharField(_("the vet's phone at night and on Sundays"), max_length=20, blank=True)
    poison_phone = models.CharField(_("the animal poison line's phone"), max_length=20, blank=True)
    pound_phone = models.CharField(_("the pound's phone"), max_length=20, blank=True)
    setting_up_seconds = models.PositiveIntegerField(_("seconds to park and set up"), default=480)
    packing_up_seconds = models.PositiveIntegerField(_("seconds to hand back and pack up"), default=420)
    cents_per_drive_hour = models.PositiveIntegerField(_("an hour of driving costs"), default=4200)
    cents_per_km = models.PositiveIntegerField(_("a kilometre costs"), default=30)
    cents_per_overtime_hour = models.PositiveIntegerField(_("an hour over the day costs"), default=9000)
    hot_months = models.JSONField(_("hot months"), null=True, blank=True, help_text=_("1 is January; null: our own"))
    hot_from = models.TimeField(_("hot from"), default=dt.time(11))
    hot_until = models.TimeField(_("hot until"), default=dt.time(17))
    blow_months = models.JSONField(_("months in which double coats come out"), default=spring_and_autumn, blank=True)
    figures = models.JSONField(_("figures of your own"), default=dict, blank=True)
    blow_percent = models.PositiveSmallIntegerField(_("more work on a double coat then, percent"), default=25)

    def __str__(self) -> str:
        return self.name


class Change(Row):
    """One change of one row: who, when, old and new. Rows are only added; an undo is a change of its own."""

    batch = models.UUIDField(db_index=True)
    who = models.ForeignKey(Worker, on_delete=models.PROTECT, null=True, related_name="changes")
    table = models.CharField(max_length=60)
    row = models.UUIDField()
    about = models.CharField(max_length=200, blank=True)
    old = models.JSONField(null=True)
    new = models.JSONField(null=True)
    undoes = models.UUIDField(null=True)

    class Meta:
        indexes = [models.Index(fields=["table", "row"]), models.Index(fields=["made_at"])]


class SignInLink(Row):
    """A link that signs one worker in, once, for a short time. Only its hash is kept."""

    worker = models.ForeignKey(Worker, on_delete=models.CASCADE)
    digest = models.CharField(max_length=64, unique=True)
    ends_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True)

"""Charges and payments; a balance is the fold of both. Rows are only added."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from coatround.web.base.models import Worker
from coatround.web.base.rows import Row
from coatround.web.records.models import Dog, Household

PAYMENT_WAYS = [("cash", _("cash")), ("transfer", _("transfer")), ("card", _("card"))]


class Charge(Row):
    """Money a household owes for a groom; a correction is a row of its own with the amount turned round."""

    household = models.ForeignKey(Household, on_delete=models.PROTECT, related_name="charges")
    dog = models.ForeignKey(Dog, on_delete=models.PROTECT, null=True, related_name="charges")
    visit = models.UUIDField(null=True, db_index=True)
    groom = models.UUIDField(null=True, db_index=True)
    date = models.DateField(db_index=True)
    words = models.CharField(max_length=200)
    cents = models.IntegerField(help_text=_("tax included"))
    tax_cents = models.IntegerField(default=0)
    corrects = models.UUIDField(null=True)
    who = models.ForeignKey(Worker, on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        indexes = [models.Index(fields=["household", "cents"]), models.Index(fields=["corrects"])]


class Payment(Row):
    """Money received from a household; the tip stands apart."""

    household = models.ForeignKey(Household, on_delete=models.PROTECT, related_name="payments")
    visit = models.UUIDField(null=True, db_index=True)
    handing_back = models.UUIDField(null=True, db_index=True)
    date = models.DateField(db_index=True)
    way = models.CharField(max_length=10, choices=PAYMENT_WAYS)
    cents = models.IntegerField()
    tip_cents = models.IntegerField(default=0)
    words = models.CharField(max_length=200, blank=True)
    corrects = models.UUIDField(null=True)
    who = models.ForeignKey(Worker, on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        indexes = [models.Index(fields=["household", "cents"]), models.Index(fields=["corrects"])]

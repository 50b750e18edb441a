"""Stock as movements: bought, used by a groom, counted. What is left is their fold."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from coatround.core.trade.hygiene import CLEANINGS
from coatround.web.base.models import Worker
from coatround.web.base.rows import Row
from coatround.web.records.models import Product

MOVEMENT_KINDS = [
    ("bought", _("bought")),
    ("used", _("used")),
    ("counted", _("counted")),
    ("spilt", _("spilt or thrown out")),
]


class Movement(Row):
    """So many millilitres in (above zero) or out (below); a count's row carries the difference it made."""

    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="movements")
    date = models.DateField(db_index=True)
    kind = models.CharField(max_length=8, choices=MOVEMENT_KINDS)
    ml = models.IntegerField()
    groom = models.UUIDField(null=True, db_index=True)
    words = models.CharField(max_length=160, blank=True)
    corrects = models.UUIDField(null=True)
    who = models.ForeignKey(Worker, on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        indexes = [models.Index(fields=["product", "date", "kind", "ml"])]


class Cleaned(Row):
    """What was cleaned between dogs, by whom and when."""

    at = models.DateTimeField()
    date = models.DateField(db_index=True)
    what = models.CharField(max_length=16, help_text=_("the key of a line of core/trade/hygiene.py"))
    who = models.ForeignKey(Worker, on_delete=models.PROTECT, related_name="+")
    words = models.CharField(max_length=160, blank=True)

    class Meta:
        ordering = ["-at", "-id"]

    @property
    def what_words(self) -> str:
        """What was cleaned, in words; the key itself where the list no longer has it."""
        return next((one.what for one in CLEANINGS if one.key == self.what), self.what)

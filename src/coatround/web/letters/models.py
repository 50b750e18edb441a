"""Letters to owners: what was done and found, in plain words, as reviewed."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from coatround.web.base.models import Worker
from coatround.web.base.rows import Row
from coatround.web.records.models import Household

LETTER_STATES = [("draft", _("to be read through")), ("reviewed", _("read through")), ("sent", _("sent"))]


class Letter(Row):
    """One letter about one visit; its paragraphs are kept as they were sent."""

    household = models.ForeignKey(Household, on_delete=models.PROTECT, related_name="letters")
    visit = models.UUIDField(unique=True)
    date = models.DateField()
    state = models.CharField(max_length=8, choices=LETTER_STATES, default="draft")
    body = models.JSONField(help_text=_("greeting, paragraphs by heading, next date, closing"))
    reviewed_at = models.DateTimeField(null=True, blank=True)
    reviewed_by = models.ForeignKey(Worker, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    link_ends_at = models.DateTimeField(null=True, blank=True)
    link_number = models.PositiveIntegerField(default=1, help_text=_("raised to end every link given out before"))

    written = models.CharField(max_length=64, default="", blank=True, help_text=_("digest of what the records said"))
    edited = models.BooleanField(default=False, help_text=_("its words were changed by hand"))
    out_of_date = models.BooleanField(default=False, help_text=_("the records say more since"))

    class Meta:
        ordering = ["-date", "-id"]
        indexes = [models.Index(fields=["state", "-date"]), models.Index(fields=["-date"])]

    @property
    def is_read(self) -> bool:
        return self.state != "draft"

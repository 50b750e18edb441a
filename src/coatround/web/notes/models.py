"""Words for a household, drafted here and sent by hand."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from coatround.web.base.models import Worker
from coatround.web.base.rows import Row
from coatround.web.records.models import Household
from coatround.web.visits.models import Visit

NOTE_STATES = [("DRAFT", _("drafted")), ("FINAL", _("sent")), ("CANCELLED", _("dropped"))]
"""The states of RFC 5545's VJOURNAL."""

ABOUT = [
    ("new time", _("a new time today")),
    ("moved", _("moved to another day")),
    ("off", _("called off")),
    ("told", _("a time told")),
]


class Note(Row):
    """A few sentences to one household about one visit; nothing here sends them."""

    household = models.ForeignKey(Household, on_delete=models.PROTECT, related_name="notes_to")
    visit = models.ForeignKey(Visit, on_delete=models.SET_NULL, null=True, blank=True, related_name="notes_about")
    about = models.CharField(max_length=10, choices=ABOUT)
    words = models.TextField(_("words"))
    state = models.CharField(max_length=10, choices=NOTE_STATES, default="DRAFT", db_index=True)
    by = models.ForeignKey(Worker, on_delete=models.PROTECT, null=True, related_name="+")
    date = models.DateField(null=True, blank=True, help_text=_("the day that the words tell"))
    told_from = models.TimeField(_("told from"), null=True, blank=True)
    told_until = models.TimeField(_("told until"), null=True, blank=True)
    settled_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["made_at", "id"]

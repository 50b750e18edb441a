"""What every table shares: an id that sorts by time, and closing instead of deleting."""

from django.db import models
from django.utils import timezone

from coatround.ids import uuid7


class Row(models.Model):
    """A row with a UUIDv7 and the instant it was made."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    made_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        abstract = True


class Kept(Row):
    """A row that is closed, never deleted, once it has a history."""

    closed_on = models.DateField(null=True, blank=True, editable=False)
    closed_why = models.CharField(max_length=200, blank=True, editable=False)

    class Meta:
        abstract = True

    @property
    def is_open(self) -> bool:
        return self.closed_on is None

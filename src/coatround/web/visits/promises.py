"""What a household was told: a promise that every later plan keeps."""

import datetime as dt
import uuid

from django.utils import timezone

from coatround.web.base.changes import save
from coatround.web.base.models import Worker
from coatround.web.base.writing import writing
from coatround.web.visits.models import Visit


def tell(visit: Visit, who: Worker, from_: dt.time, until: dt.time, batch: uuid.UUID | None = None) -> None:
    """Writes down that a household was told to expect the van between two times."""
    with writing():
        visit.state, visit.answer = "CONFIRMED", "NEEDS-ACTION"
        visit.told_from, visit.told_until, visit.told_at = from_, until, timezone.now()
        save(visit, who, batch=batch)

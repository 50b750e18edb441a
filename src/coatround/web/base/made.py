"""When a page was made, for the scripts that lay over it what was recorded since."""

import datetime as dt

from django.utils import timezone

from coatround.web.base.firm import firm_now


def when_made() -> dict[str, int | str]:
    """Milliseconds since 1970, how far a day that is held still lies from the real one, and the firm's offset."""
    now, shown = timezone.now(), firm_now()
    return {"made": _milliseconds(now), "shift": _milliseconds(shown) - _milliseconds(now), "offset": f"{shown:%:z}"}


def _milliseconds(at: dt.datetime) -> int:
    return round(at.timestamp() * 1000)

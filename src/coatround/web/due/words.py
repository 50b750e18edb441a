"""Why a dog is due, as a sentence for people."""

import datetime as dt

from django.utils import formats
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from coatround.core.due import Reason


def reason_words(reason: Reason, today: dt.date) -> str:
    """Every 6 weeks since 12 May, last done 4 days late."""
    every = ngettext("every week", "every %(count)d weeks", reason.weeks) % {"count": reason.weeks}
    since = _("%(every)s since %(date)s") % {"every": every, "date": date_words(reason.since, today)}
    if reason.last is None:
        return _("%(every)s, not groomed here yet") % {"every": since}
    if reason.planned:
        return _("%(every)s, counted from the visit on %(date)s") % {
            "every": every,
            "date": date_words(reason.last, today),
        }
    return _("%(every)s, %(last)s") % {"every": since, "last": _last_words(reason, today)}


def _last_words(reason: Reason, today: dt.date) -> str:
    days = reason.days_late
    if days is None or reason.last is None:
        return _("last done %(date)s") % {"date": date_words(reason.last or today, today)}
    if days == 0:
        return _("last done on the day")
    if days > 0:
        return ngettext("last done %(count)d day late", "last done %(count)d days late", days) % {"count": days}
    return ngettext("last done %(count)d day early", "last done %(count)d days early", -days) % {"count": -days}


def date_words(date: dt.date, today: dt.date) -> str:
    """12 May; with its year when that is over half a year away."""
    return formats.date_format(date, "j F" if abs((date - today).days) < 183 else "j F Y")


def over_words(days: int) -> str:
    """9 days over."""
    return ngettext("%(count)d day over", "%(count)d days over", days) % {"count": days}

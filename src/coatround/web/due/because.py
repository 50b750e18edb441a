"""What a visit's days and hours follow from, as sentences."""

import datetime as dt
from collections.abc import Mapping, Sequence

from django.utils import formats
from django.utils.dates import WEEKDAYS
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from coatround.core.day_reasons import DayReason
from coatround.web.base.templatetags.coatround import clock
from coatround.web.records import words as record_words
from coatround.web.roads.map import names_in_words

SOME_DATES = 6
"""So many dates are named; of more, how many there are, the first and the last."""

SENTENCES: dict[str, str | Promise] = {
    "interval": gettext_lazy(
        "%(dogs)s: %(every)s, due %(due)s; %(early)d days early to %(late)d days late suits, so %(first)s to %(last)s."
    ),
    "told": gettext_lazy("They were told %(dates)s, %(from)s to %(until)s."),
    "agreed": gettext_lazy("The date is settled with them: %(dates)s."),
    "stands": gettext_lazy("It is pencilled in on %(dates)s, and leaving that day is dear."),
    "stands at": gettext_lazy(
        "It is pencilled in on %(dates)s at %(from)s: leaving that day is dear, leaving that hour a little."
    ),
    "refused": gettext_lazy("They did not want %(dates)s."),
    "weekdays": gettext_lazy("They can do only %(weekdays)s."),
    "hours": gettext_lazy("They can do only %(from)s to %(until)s."),
    "closed": gettext_lazy("Nobody works on %(dates)s: %(words)s."),
    "no van": gettext_lazy("No van works on %(dates)s."),
    "no room": gettext_lazy("On %(dates)s the hours are too short for the work."),
    "hot hours": gettext_lazy(
        "%(dogs)s not between %(from)s and %(until)s in the hot months (caution: %(cautions)s). "
        "What a dog can bear is for its vet to say."
    ),
    "puppy first": gettext_lazy("%(dogs)s first in the run: a puppy whose vaccination is not known to hold."),
    "fleas last": gettext_lazy("%(dogs)s last in the run: fleas at the last visit."),
    "coat comes out": gettext_lazy("%(dogs)s: %(percent)d %% more work in the months when double coats come out."),
    "rush": gettext_lazy("%(words)s: regulars go first, and %(dogs)s is one."),
    "tap": gettext_lazy("Their water tap may be used; what is washed off still fills the grey tank."),
    "plug": gettext_lazy("Their power plug may be used: nothing is drawn from the battery."),
}

NEEDS: dict[str, str | Promise] = {
    "two people": gettext_lazy("%(dogs)s needs two people."),
    "big tub": gettext_lazy("%(dogs)s needs the big tub, and only a van that has one can come."),
}


def because_words(reason: DayReason, dogs: Mapping[str, str]) -> str:
    """One reason as a sentence; `dogs` are their names by id."""
    if reason.name == "usual time":
        return _usual_time(reason)
    sentence = NEEDS.get(reason.words[0], "") if reason.name == "needs" else SENTENCES[reason.name]
    if reason.name == "stands" and reason.hours is not None:
        sentence = SENTENCES["stands at"]
    if reason.name == "told" and reason.hours is None:
        sentence = SENTENCES["agreed"]
    from_, until = reason.hours or (0, 0)
    about: dict[str, object] = {
        "dogs": names_in_words([dogs.get(id_, "") for id_ in reason.dogs]),
        "dates": _dates(reason.dates),
        "from": clock(from_),
        "until": clock(until),
        "words": names_in_words(reason.words),
        "weekdays": _weekdays(reason.numbers) if reason.name == "weekdays" else "",
        "percent": reason.numbers[0] if reason.numbers else 0,
        "cautions": names_in_words([str(dict(record_words.CAUTIONS).get(kind, kind)) for kind in reason.words]),
    }
    if reason.name == "interval":
        about |= _interval(reason)
    return str(sentence) % about


def _usual_time(reason: DayReason) -> str:
    weekday = _weekdays(reason.numbers)
    if reason.hours is None:
        return _("Their usual weekday is %(weekday)s; another one is dear.") % {"weekday": weekday}
    at = clock(reason.hours[0])
    if not weekday:
        return _("Their usual hour is %(at)s, kept to within an hour.") % {"at": at}
    words = _(
        "Their usual time is %(weekday)s at %(at)s: on that weekday within an hour of it, another weekday is dear."
    )
    return words % {"weekday": weekday, "at": at}


def _interval(reason: DayReason) -> dict[str, object]:
    weeks, early, late = reason.numbers
    due, first, last = (_date(date) for date in reason.dates)
    every = ngettext("every week", "every %(count)d weeks", weeks) % {"count": weeks}
    return {"every": every, "early": early, "late": late, "due": due, "first": first, "last": last}


def _date(date: dt.date) -> str:
    return formats.date_format(date, "D j M")


def _dates(dates: Sequence[dt.date]) -> str:
    if len(dates) <= SOME_DATES:
        return names_in_words([_date(date) for date in dates])
    words = _("%(count)d dates from %(first)s to %(last)s")
    return words % {"count": len(dates), "first": _date(dates[0]), "last": _date(dates[-1])}


def _weekdays(numbers: Sequence[int]) -> str:
    return names_in_words([str(WEEKDAYS[number]) for number in numbers])

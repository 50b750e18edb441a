"""What the run sheet says: lateness, windows told, ratios, and how to handle a dog where it matters."""

import datetime as dt
from collections.abc import Set

from django.utils import formats
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from coatround.core.trade.mix import NotFor
from coatround.core.units import MINUTE, rounded_half_up
from coatround.web.base.templatetags.coatround import minutes, wall
from coatround.web.records import words as record_words
from coatround.web.records.models import Dog, Place, Product
from coatround.web.runs.sheet import SheetBath
from coatround.web.visits.models import Visit

ON_TIME_SECONDS = 2 * MINUTE
LONG_MINUTES = 100
SUPPLY = dict(record_words.SUPPLY)
COATS = dict(record_words.COATS)
SIZES = dict(record_words.SIZES)


def handling(kinds: Set[str]) -> tuple[str, ...]:
    """Rules of handling that this dog's cautions call for; common practice."""
    return tuple(words for wanted, words in _rules() if wanted & kinds)


def at_the_work(steps: Set[str]) -> tuple[str, ...]:
    """Rules that steps of the routine call for; common practice."""
    rules = (({"de-mat"}, _("No scissors under a mat.")), ({"cotton in"}, _("Cotton: count it in, count it out.")))
    return tuple(words for wanted, words in rules if wanted & steps)


def _rules() -> tuple[tuple[set[str], str], ...]:
    return (
        ({"airway", "throat"}, _("Body strap; nothing round the neck.")),
        ({"airway"}, _("Cool air only. Stop if the breathing changes.")),
        ({"airway", "heat", "bite"}, _("No muzzle on a panting dog.")),
        ({"heart", "age", "heat"}, _("Rest between steps; stop when it tires.")),
        ({"escape"}, _("Lead on before the van door opens.")),
    )


def whole_minutes(seconds: int) -> int:
    """Seconds as minutes, to the nearest."""
    return rounded_half_up(abs(seconds), MINUTE)


def time_words(seconds: int) -> str:
    """4 minutes; from 100 minutes on, 1 h 40."""
    count = whole_minutes(seconds)
    if count >= LONG_MINUTES:
        return minutes(abs(seconds))
    return ngettext("%(count)d minute", "%(count)d minutes", count) % {"count": count}


def late_words(seconds: int) -> str:
    """You are 4 minutes early."""
    if abs(seconds) < ON_TIME_SECONDS:
        return _("You are on time.")
    words = _("You are %(time)s early.") if seconds < 0 else _("You are %(time)s late.")
    return words % {"time": time_words(seconds)}


def told_words(visit: Visit) -> str:
    """Told 9:45 to 10:30. Said yes."""
    if visit.state == "CANCELLED":
        return _("Called off. %(why)s") % {"why": visit.called_off_why}
    if visit.told_from is None or visit.told_until is None:
        return _("Pencilled in; no time told yet.")
    times = {"from": wall(visit.told_from), "until": wall(visit.told_until)}
    answer = str(visit.get_answer_display())
    return _("Told %(from)s to %(until)s.") % times + f" {answer[:1].upper()}{answer[1:]}."


def ratio_words(product: Product) -> str:
    """1 to 16 of water; 1 in 16."""
    if product.ratio_rule == "total":
        return _("%(product)d in %(other)d") % {"product": product.ratio_product, "other": product.ratio_other}
    return _("%(product)d to %(other)d of water") % {"product": product.ratio_product, "other": product.ratio_other}


def bath_words(bath: SheetBath) -> str:
    """Oat wash 750 ml, 5 min."""
    pours = [f"{pour.name} {pour.ml} ml" if pour.ml is not None else pour.name for pour in bath.pours]
    if bath.contact_minutes:
        pours.append(_("%(count)d min") % {"count": bath.contact_minutes})
    return ", ".join(pours)


def not_for_words(against: NotFor) -> str:
    """What a label or a caution says against a product of the routine."""
    if against.why == "label":
        return _("%(product)s: the label says not for %(words)s") % {
            "product": against.product,
            "words": against.words,
        }
    return _("%(product)s is in the routine, but: %(words)s") % {"product": against.product, "words": against.words}


def about_dog(dog: Dog, on: dt.date, weight_words: str) -> str:
    """Spoodle, curly, 9.5 kg, 11 years."""
    parts = [dog.breed, str(COATS.get(dog.coat, "")), weight_words or str(SIZES.get(dog.size, ""))]
    if dog.born is not None:
        years = on.year - dog.born.year - ((on.month, on.day) < (dog.born.month, dog.born.day))
        months = (on.year - dog.born.year) * 12 + on.month - dog.born.month
        if years:
            parts.append(ngettext("%(count)d year", "%(count)d years", years) % {"count": years})
        else:
            parts.append(ngettext("%(count)d month", "%(count)d months", months) % {"count": months})
    if dog.two_people:
        parts.append(_("needs two people"))
    return ", ".join(part for part in parts if part)


def vaccination_words(dog: Dog, on: dt.date) -> str:
    """Only when there is something to mind: ran out, or not vaccinated."""
    if dog.vaccination_known == "none":
        return _("Not vaccinated.")
    if dog.vaccinated_until is not None and dog.vaccinated_until < on:
        return _("Vaccination ran out on %(date)s.") % {"date": formats.date_format(dog.vaccinated_until, "j F Y")}
    return ""


def ago_words(last: dt.date, on: dt.date) -> str:
    """6 weeks ago; 5 days ago."""
    days = (on - last).days
    if days < 14:
        return ngettext("%(count)d day ago", "%(count)d days ago", days) % {"count": days}
    weeks = rounded_half_up(days, 7)
    return ngettext("%(count)d week ago", "%(count)d weeks ago", weeks) % {"count": weeks}


def place_notes(place: Place) -> tuple[str, ...]:
    """Gate, parking, tap and plug, in sentences."""
    notes = [
        (_("Gate: %(words)s"), place.gate),
        (_("Parking: %(words)s"), place.parking),
        (_("Tap: %(words)s"), _supply(place.tap)),
        (_("Plug: %(words)s"), _supply(place.plug)),
        ("%(words)s", place.notes),
    ]
    said = [pattern % {"words": words} for pattern, words in notes if words]
    return tuple(words if words.endswith((".", "!", "?")) else words + "." for words in said)


def _supply(stored: str) -> str:
    return "" if stored == "unknown" else str(SUPPLY.get(stored, stored))


def weight_words(grams: int | None, units: str) -> str:
    """9.5 kg, or pounds."""
    if grams is None:
        return ""
    if units == "us":
        return _("%(count).0f lb") % {"count": grams / 453.59237}
    return _("%(count).1f kg") % {"count": grams / 1000}


def turn_words(metres: int, units: str) -> str:
    """How far to drive after a turn: 450 m, 2.3 km, or miles; empty where one has arrived."""
    if not metres:
        return ""
    if units != "us" and metres < 1000:
        return _("%(count)d m") % {"count": max(10, round(metres, -1))}
    return distance_words(metres, units)


def distance_words(metres: int, units: str) -> str:
    """6.2 km, or miles."""
    if units == "us":
        return _("%(count).1f miles") % {"count": metres / 1609.344}
    return _("%(count).1f km") % {"count": metres / 1000}

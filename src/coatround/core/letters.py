"""What a letter to an owner says, from what was done and found. It diagnoses nothing and defers to the vet.

Every sentence goes through the `_` that is passed in (the web passes gettext), so this stays free of Django and any
language can be had. Dates, weights and names come in as words, already as the household reads them. The groomer's own
notes of a groom are not told: they are for the next visit.
"""

from collections.abc import Callable, Iterable, Sequence
from functools import partial

from coatround.core import watch_for
from coatround.core.letter_facts import CutPart, Found, Happened, LetterGroom, LetterText, LetterVisit, Part
from coatround.core.watch_for import Translate, gettext_noop

BATHS = {"first wash", "second wash", "condition"}
STEP_DONE = {
    "check-over": gettext_noop("looked over from nose to tail"),
    "nails": gettext_noop("nails trimmed"),
    "brush-out": gettext_noop("brushed out"),
    "de-mat": gettext_noop("mats worked out"),
    "pre-clip": gettext_noop("clipped down before the bath"),
    "first wash": gettext_noop("washed"),
    "second wash": gettext_noop("washed a second time"),
    "condition": gettext_noop("conditioned"),
    "towel": gettext_noop("towelled"),
    "dryer": gettext_noop("blown dry"),
    "hand rub": gettext_noop("rubbed dry by hand"),
    "clip": gettext_noop("clipped"),
    "scissor": gettext_noop("scissored"),
    "strip": gettext_noop("stripped by hand"),
    "feet": gettext_noop("feet tidied"),
    "hygiene": gettext_noop("hygiene trim done"),
    "wipe": gettext_noop("wiped clean"),
}
CUT_DONE = {
    "blade": gettext_noop("%(part)s %(mm)s mm"),
    "comb": gettext_noop("%(part)s %(mm)s mm by comb"),
    "scissored": gettext_noop("%(part)s scissored"),
    "stripped": gettext_noop("%(part)s stripped"),
    "left alone": gettext_noop("%(part)s left alone"),
}
HAPPENED = {
    "nick": gettext_noop("%(dog)s was nicked."),
    "burn": gettext_noop("%(dog)s has a brush, clipper or dryer burn."),
    "bite": gettext_noop("There was a bite by %(dog)s."),
    "fall": gettext_noop("%(dog)s had a fall."),
    "escape": gettext_noop("%(dog)s got away and was caught again."),
    "collapse": gettext_noop("%(dog)s collapsed."),
    "other": gettext_noop("Something happened with %(dog)s."),
}
AFTER = {
    "nick": gettext_noop("See a vet if the nick opens or bleeds again, swells, smells, or %(dog)s keeps licking it."),
    "burn": gettext_noop("See a vet if the burnt skin breaks, weeps, swells or hurts, or the place spreads."),
    "bite": gettext_noop("Anyone who was bitten should see a doctor. See a vet if %(dog)s is not as usual."),
    "fall": gettext_noop("See a vet if %(dog)s limps, is sore, listless, or breathes or walks differently."),
    "escape": gettext_noop("See a vet if %(dog)s limps, is sore or listless."),
    "collapse": gettext_noop(
        "Please have a vet see %(dog)s today, even if all seems well. Ring a vet now if it returns."
    ),
    "other": gettext_noop("See a vet if %(dog)s is not as usual."),
}


def letter(visit: LetterVisit, _: Translate) -> LetterText:
    """The letter about one visit: what is urgent, what was done, what was found, what to watch for, next time."""
    many = len({groom.dog for groom in visit.grooms}) > 1
    troubled = frozenset(one.dog for one in visit.happened)
    parts = (
        Part(_("Please ring a vet now"), tuple(_urgent(visit, _)), urgent=True),
        Part("", (_opening(visit, _),)),
        Part(_("What happened"), tuple(_happened(visit.happened, _))),
        Part(_("What was done"), tuple(_each(visit.grooms, _done, many, _))),
        Part(_("What was found"), tuple(_each(visit.grooms, partial(_found, troubled=troubled), many, _))),
        Part(_("What to watch for"), (*_each(visit.grooms, _watch, many, _), *_after(visit, _))),
        Part(_("Next time"), (_next(visit, _),)),
    )
    return LetterText(_greeting(visit, _), tuple(part for part in parts if part.paragraphs), tuple(_closing(visit, _)))


def listed(words: Sequence[str], _: Translate) -> str:
    """Words as a person lists them: "a, b and c"."""
    if len(words) < 2:
        return "".join(words)
    return _("%(most)s and %(last)s") % {"most": ", ".join(words[:-1]), "last": words[-1]}


def _greeting(visit: LetterVisit, _: Translate) -> str:
    if not visit.owners:
        return _("Hello,")
    return _("Dear %(names)s,") % {"names": listed(visit.owners, _)}


def _opening(visit: LetterVisit, _: Translate) -> str:
    dogs = listed(list(dict.fromkeys(groom.dog for groom in visit.grooms)), _)
    if not dogs:
        return _("Thank you for having us on %(date)s.") % {"date": visit.date}
    return _("Thank you for having us on %(date)s. This is how it went with %(dogs)s.") % {
        "date": visit.date,
        "dogs": dogs,
    }


def _each(
    grooms: Iterable[LetterGroom], tell: Callable[[LetterGroom, Translate], list[str]], many: bool, _: Translate
) -> list[str]:
    told = [(groom.dog, words) for groom in grooms for words in tell(groom, _)]
    if not many:
        return [words for _dog, words in told]
    return [_("%(dog)s: %(words)s") % {"dog": dog, "words": words} for dog, words in told]


def _urgent(visit: LetterVisit, _: Translate) -> list[str]:
    return [words for groom in visit.grooms for words in _cotton(groom, _)]


def _cotton(groom: LetterGroom, _: Translate) -> list[str]:
    told = []
    if groom.cotton.swallowed:
        told.append(_("%(dog)s swallowed a piece of the cotton that is put into the ears for the bath."))
    if groom.cotton.missing:
        told.append(_("A piece of the cotton put into the ears of %(dog)s for the bath was not found again."))
    if not told:
        return []
    told.append(_("Please ring a vet now and say so, even if %(dog)s seems well."))
    words = " ".join(told) % {"dog": groom.dog}
    return [_("%(words)s Your vet: %(vet)s.") % {"words": words, "vet": groom.vet}] if groom.vet else [words]


def _happened(happened: Iterable[Happened], _: Translate) -> list[str]:
    return [_incident(one, _) for one in happened]


def _incident(one: Happened, _: Translate) -> str:
    words = [_(HAPPENED.get(one.kind, HAPPENED["other"])) % {"dog": one.dog}, _sentence(one.words)]
    if one.what_was_done:
        words.append(_("What was done: %(words)s") % {"words": _ended(one.what_was_done)})
    if not one.owner_told:
        words.append(_("We would like to talk with you about it: please ring us."))
    return " ".join(word for word in words if word)


def _done(groom: LetterGroom, _: Translate) -> list[str]:
    if not groom.done:
        return [_not_done(groom, _)]
    told = [_steps(groom, _)]
    if groom.cut:
        told.append(_("The cut: %(parts)s.") % {"parts": ", ".join(_cut(part, _) for part in groom.cut)})
    if groom.products:
        told.append(_("Used in the bath: %(products)s.") % {"products": listed(groom.products, _)})
    if groom.left_out:
        words = ", ".join(_(step) for step in groom.left_out)
        told.append(_("Left out this time: %(steps)s.") % {"steps": words})
    return [" ".join(told)]


def _not_done(groom: LetterGroom, _: Translate) -> str:
    words = [_("Not groomed this time.")]
    if groom.why_not:
        words.append(_("Why: %(why)s") % {"why": _ended(groom.why_not)})
    if groom.vet_first:
        words.append(_("Please see a vet first; we come again on the vet's word."))
    return " ".join(words)


def _steps(groom: LetterGroom, _: Translate) -> str:
    steps = [step for step in groom.steps if step in STEP_DONE]
    if {"first wash", "second wash"} <= set(steps):
        steps.remove("second wash")
    words = [_(STEP_DONE[step]) for step in steps]
    if "first wash" in steps and "second wash" in groom.steps:
        words[steps.index("first wash")] = _("washed twice")
    if not words:
        return _("Groomed as usual.")
    return _sentence(listed(words, _))


def _cut(part: CutPart, _: Translate) -> str:
    return _(CUT_DONE.get(part.how, "%(part)s")) % {"part": _(part.part), "mm": part.mm}


def _found(groom: LetterGroom, _: Translate, *, troubled: frozenset[str]) -> list[str]:
    told = [_one_found(one, _) for one in groom.found]
    seen = any(one.grade for one in groom.found) or groom.lost_percent >= watch_for.LOSS_PERCENT
    if groom.done and not (seen or groom.cotton.is_lost or groom.dog in troubled):
        told.append(_("Nothing unusual was seen."))
    if groom.weight:
        told.append(_weight(groom, _))
    return told


def _one_found(one: Found, _: Translate) -> str:
    return f"{watch_for.seen_words(one.part, one.kind, one.grade, _)} {_sentence(one.words)}".strip()


def _weight(groom: LetterGroom, _: Translate) -> str:
    if groom.lost_percent >= watch_for.LOSS_PERCENT:
        words = _("Weight: %(weight)s, %(percent)d %% less than before.")
        return words % {"weight": groom.weight, "percent": groom.lost_percent}
    return _("Weight: %(weight)s.") % {"weight": groom.weight}


def _watch(groom: LetterGroom, _: Translate) -> list[str]:
    told = [watch_for.vet_words(one.part, one.kind, one.grade, groom.dog, _) for one in groom.found if one.grade]
    if groom.lost_percent >= watch_for.LOSS_PERCENT:
        told.append(_(watch_for.WEIGHT_LOST) % {"dog": groom.dog})
    return told


def _after(visit: LetterVisit, _: Translate) -> list[str]:
    told = [_(AFTER.get(one.kind, AFTER["other"])) % {"dog": one.dog} for one in visit.happened]
    if any(groom.done and BATHS & set(groom.steps) for groom in visit.grooms):
        told.append(_(watch_for.AFTER_A_BATH))
    return told


def _closing(visit: LetterVisit, _: Translate) -> list[str]:
    limits = _("This letter says what was seen and felt while grooming. It is not a vet's examination.")
    told = [f"{limits} {_('Where your vet says otherwise, follow the vet.')}"]
    if visit.phone:
        told.append(_("Anything you wonder about: ring %(phone)s.") % {"phone": visit.phone})
    return [*told, _("Kind regards"), *[name for name in (visit.groomer, visit.firm) if name]]


def _next(visit: LetterVisit, _: Translate) -> str:
    if visit.next_day and visit.next_from:
        words = _("We come again on %(day)s, and arrive between %(from)s and %(until)s.")
        return words % {"day": visit.next_day, "from": visit.next_from, "until": visit.next_until}
    if visit.next_day:
        return _("We come again on %(day)s. We will tell you the hour.") % {"day": visit.next_day}
    if visit.next_due:
        return _("The next groom is due about %(day)s. We will tell you the day.") % {"day": visit.next_due}
    return _("No next date is settled yet. Ring us and we will find one.")


def _ended(words: str) -> str:
    """Someone's own words with a full stop."""
    words = words.strip()
    return words + ("" if not words or words[-1] in ".!?" else ".")


def _sentence(words: str) -> str:
    """Someone's own words as a sentence: a capital letter and a full stop."""
    words = _ended(words)
    return words[:1].upper() + words[1:]

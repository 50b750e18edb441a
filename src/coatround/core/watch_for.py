"""What a finding is called in plain words, and when to see a vet about it. It names no illness and defers to the vet.

Sentences are translated by the callable that is passed in; tables here are marked for translation by `gettext_noop`.
The signs for ears, and which findings are for a vet on the same day, follow the sources named in docs/sources.md
(aftercare and referral); the steps from grade to urgency are our own default.
"""

from collections.abc import Callable

Translate = Callable[[str], str]


def gettext_noop(words: str) -> str:
    """Marks words for translation and leaves them as they are."""
    return words


KEEP_AN_EYE, IN_DAYS, TODAY = 1, 2, 3

ON_PART = {
    "head": gettext_noop("on the head"),
    "muzzle": gettext_noop("on the muzzle"),
    "left ear": gettext_noop("on the left ear"),
    "right ear": gettext_noop("on the right ear"),
    "left eye": gettext_noop("at the left eye"),
    "right eye": gettext_noop("at the right eye"),
    "mouth": gettext_noop("in the mouth"),
    "neck": gettext_noop("on the neck"),
    "chest": gettext_noop("on the chest"),
    "back": gettext_noop("on the back"),
    "belly": gettext_noop("on the belly"),
    "left side": gettext_noop("on the left side"),
    "right side": gettext_noop("on the right side"),
    "left front leg": gettext_noop("on the left front leg"),
    "right front leg": gettext_noop("on the right front leg"),
    "left hind leg": gettext_noop("on the left hind leg"),
    "right hind leg": gettext_noop("on the right hind leg"),
    "front feet": gettext_noop("on the front feet"),
    "hind feet": gettext_noop("on the hind feet"),
    "rear": gettext_noop("at the rear"),
    "tail": gettext_noop("on the tail"),
}
SEEN = {
    "lump": gettext_noop("A lump %(on)s"),
    "sore": gettext_noop("A sore place %(on)s"),
    "red": gettext_noop("A red place %(on)s"),
    "smell": gettext_noop("A smell %(on)s"),
    "discharge": gettext_noop("Something weeping or running %(on)s"),
    "mat": gettext_noop("A mat in the coat %(on)s"),
    "flea": gettext_noop("Fleas or their dirt %(on)s"),
    "tick": gettext_noop("A tick %(on)s"),
    "scab": gettext_noop("A scab %(on)s"),
    "flaky": gettext_noop("Flaky skin %(on)s"),
    "bald": gettext_noop("A bald patch %(on)s"),
    "pain": gettext_noop("Sore to the touch %(on)s"),
    "nail": gettext_noop("A broken or ingrown nail %(on)s"),
    "tooth": gettext_noop("A tooth or the gum %(on)s"),
    "seed": gettext_noop("A grass seed %(on)s"),
    "other": gettext_noop("Something to look at %(on)s"),
}
GRADES = {1: gettext_noop("slight"), 2: gettext_noop("moderate"), 3: gettext_noop("severe")}

SIGNS = {
    "lump": gettext_noop("it grows, changes, bleeds, or is sore to the touch"),
    "sore": gettext_noop("it gets bigger, weeps, smells, or %(dog)s keeps licking it"),
    "red": gettext_noop("it spreads, feels hot, weeps, or %(dog)s keeps scratching it"),
    "smell": gettext_noop("it is still there in two days, or the skin is red, wet or sore"),
    "discharge": gettext_noop("it is still there tomorrow, is thick or bloody, or the place is sore"),
    "mat": gettext_noop("the skin beneath is broken, wet, sore, or has anything living in it"),
    "flea": gettext_noop("the scratching goes on, or the skin is broken or bald; ask which treatment suits %(dog)s"),
    "tick": gettext_noop("a part is left in the skin, the place swells, or %(dog)s is listless, lame or off food"),
    "scab": gettext_noop("there are more of them, they itch, or they weep"),
    "flaky": gettext_noop("it itches, spreads, or the coat gets thin"),
    "bald": gettext_noop("it grows, itches, or the hair is not back at the next visit"),
    "pain": gettext_noop("it is still sore tomorrow, or %(dog)s limps or is slow to get up"),
    "nail": gettext_noop("it bleeds, the toe swells, or %(dog)s limps"),
    "tooth": gettext_noop("%(dog)s eats slowly or on one side, dribbles, or the gum bleeds"),
    "seed": gettext_noop("the place swells, weeps, or %(dog)s keeps licking it: a seed can work its way in"),
    "other": gettext_noop("it changes, or you are worried about it"),
}
EAR_SIGNS = gettext_noop(
    "%(dog)s shakes the head, scratches the ear, or it smells, swells, hurts or runs;"
    " at once if the head tilts or the balance goes"
)
EYE_SIGNS = gettext_noop("%(dog)s keeps the eye half shut, rubs it, or it is red, cloudy or runs")

ASKED = {
    KEEP_AN_EYE: gettext_noop("%(seen)s: please keep an eye on it. See a vet if %(signs)s."),
    IN_DAYS: gettext_noop(
        "%(seen)s: please have a vet look at it in the next few days. See a vet sooner if %(signs)s."
    ),
    TODAY: gettext_noop("%(seen)s: please ring a vet today. See a vet at once if %(signs)s."),
}
NO_GRADE = {"tick", "nail", "seed"}
EASY_TO_MODERATE = {"mat", "flaky", "flea"}
SKIN_OF_AN_EAR = {"mat", "flea", "tick", "lump"}

MEASURED = {
    "left ear": gettext_noop("The left ear"),
    "right ear": gettext_noop("The right ear"),
    "skin": gettext_noop("The skin"),
}
LOSS_PERCENT = 10  # a sudden weight change over 10 % is for a vet
WEIGHT_LOST = gettext_noop("See a vet if you did not mean %(dog)s to lose weight.")
AFTER_A_BATH = gettext_noop(
    "In the week after a bath: see a vet the same day if your dog is feverish or listless, is sore along the neck or"
    " back, or the skin gets bumps, bleeds or weeps. Say that there was a bath, and on which day."
)


def is_ear(part: str) -> bool:
    """Whether a part of the body is an ear."""
    return part.endswith(" ear")


def is_eye(part: str) -> bool:
    """Whether a part of the body is an eye."""
    return part.endswith(" eye")


def urgency(part: str, kind: str, grade: int) -> int:
    """How soon a vet is to be asked about a finding of grade 1 to 3: keep an eye on it, in the next days, or today."""
    if kind == "seed" and (is_ear(part) or is_eye(part)):
        return TODAY
    if grade == 2 and is_eye(part) and kind in ("red", "sore", "pain", "discharge"):
        return TODAY
    if grade == 2 and is_ear(part) and kind in ("smell", "pain", "discharge"):
        return TODAY
    if grade == 2 and kind in EASY_TO_MODERATE:
        return KEEP_AN_EYE
    return max(KEEP_AN_EYE, min(grade, TODAY))


def place_words(part: str, kind: str, _: Translate) -> str:
    """What was seen and where: "A red place on the right ear"."""
    return _(SEEN.get(kind, SEEN["other"])) % {"on": _(ON_PART.get(part, part))}


def seen_words(part: str, kind: str, grade: int, _: Translate) -> str:
    """A finding as a sentence: "A red place on the right ear, slight."; grade 0 says that it was not there."""
    seen = place_words(part, kind, _)
    if grade == 0:
        return _("%(seen)s: looked for again, and not there this time.") % {"seen": seen}
    if kind in NO_GRADE:
        return _("%(seen)s.") % {"seen": seen}
    return _("%(seen)s, %(grade)s.") % {"seen": seen, "grade": _(GRADES[min(grade, 3)])}


def signs_words(part: str, kind: str, dog: str, _: Translate) -> str:
    """What would make it a matter for a vet, as the words after "if"."""
    words = SIGNS.get(kind, SIGNS["other"])
    if is_ear(part) and kind not in SKIN_OF_AN_EAR:
        words = EAR_SIGNS
    if is_eye(part) and kind != "tick":
        words = EYE_SIGNS
    return _(words) % {"dog": dog}


def vet_words(part: str, kind: str, grade: int, dog: str, _: Translate) -> str:
    """What the owner is asked to do about a finding of grade 1 to 3: always with "see a vet"."""
    seen = place_words(part, kind, _)
    return _(ASKED[urgency(part, kind, grade)]) % {"seen": seen, "signs": signs_words(part, kind, dog, _)}


def graded_words(kind: str, grade: int, dog: str, _: Translate) -> str:
    """The same about an ear or the skin that was given a grade of 1 to 3, without a finding of its own."""
    signs = signs_words(kind, "red", dog, _)
    return _(ASKED[urgency(kind, "red", grade)]) % {"seen": _(MEASURED[kind]), "signs": signs}

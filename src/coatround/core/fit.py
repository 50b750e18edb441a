"""The look at the door: what was seen or told, and go, shorter, not today or vet, with the reason. It names no illness.

The strictest answer of all signs wins. The groomer may always be stricter; going milder than the rule takes a reason.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from coatround.core.visit_words import FIT_ANSWERS

COMMON_PRACTICE = "common practice"
OWN_DEFAULT = "our own default"


@dataclass(frozen=True)
class Rule:
    """What one sign at the door leads to, why, and where the rule comes from."""

    sign: str
    answer: str
    words: str
    mark: str


@dataclass(frozen=True)
class FitToday:
    """The answer for a dog at the door, with the rule of each sign, strictest first."""

    answer: str
    rules: tuple[Rule, ...]

    @property
    def reason(self) -> str:
        """The words of the strictest rule, or that nothing was seen."""
        return self.rules[0].words if self.rules else NOTHING_SEEN


NOTHING_SEEN = "Nothing seen or told that stands against the groom."

RULES = (
    Rule(
        "breathing",
        "vet",
        "Breathing hard at rest is not for us: do not start, keep the dog cool and still, ring a vet now.",
        COMMON_PRACTICE,
    ),
    Rule(
        "listless",
        "vet",
        "A dog that is listless or off its food should be seen by a vet before it is bathed or dried.",
        OWN_DEFAULT,
    ),
    Rule(
        "cough",
        "not today",
        "A cough can be catching: not in the van today. Comes back on a vet's word.",
        COMMON_PRACTICE,
    ),
    Rule(
        "vomit",
        "not today",
        "Vomit or diarrhoea: not today. Comes back on a vet's word.",
        COMMON_PRACTICE,
    ),
    Rule(
        "catching",
        "not today",
        "Looks catching, or is said to be: not today, and clean down what was touched. Comes back on a vet's word.",
        COMMON_PRACTICE,
    ),
    Rule(
        "stitches",
        "not today",
        "Stitches stay dry and still: not today, unless the vet who put them in agrees.",
        COMMON_PRACTICE,
    ),
    Rule(
        "lame",
        "shorter",
        "Lame: no lifting by that leg, no long standing, only what is needed. If the foot is not put down, choose vet.",
        OWN_DEFAULT,
    ),
    Rule(
        "spot-on",
        "shorter",
        "A spot-on was just used: no bath today. The product's label says how long to wait.",
        COMMON_PRACTICE,
    ),
    Rule(
        "vaccine",
        "shorter",
        "A vaccine was just had: gentle and short, or another day.",
        COMMON_PRACTICE,
    ),
    Rule(
        "whelping",
        "shorter",
        "Whelping or in season: short and gentle, nothing tight on the belly. Near her time or nursing, another day.",
        COMMON_PRACTICE,
    ),
    Rule(
        "medicine",
        "go",
        "A new medicine: ask what it is for, and whether a bath, a product or standing long is all right with it.",
        OWN_DEFAULT,
    ),
    Rule(
        "fleas",
        "go",
        "Fleas or ticks: go, as the last of the run, and clean down after.",
        COMMON_PRACTICE,
    ),
)
MATS_AGREED = Rule(
    "mats",
    "go",
    "Mats: agreed that matted coat may come off short. Look at the skin as it comes off; no scissors under a mat.",
    COMMON_PRACTICE,
)
MATS_NOT_AGREED = Rule(
    "mats",
    "shorter",
    "Mats, and no consent that they may come off short: ask first, or leave them and do the rest.",
    COMMON_PRACTICE,
)
_BY_SIGN = {rule.sign: rule for rule in RULES}


def strictness(answer: str) -> int:
    """0 for go up to 3 for vet; raises ValueError for a word that is no answer."""
    return FIT_ANSWERS.index(answer)


def fit_today(signs: Iterable[str], *, matted_off_agreed: bool = False) -> FitToday:
    """The answer for these signs (words of FIT_SIGNS); unknown ones are passed over."""
    mats = MATS_AGREED if matted_off_agreed else MATS_NOT_AGREED
    known = {**_BY_SIGN, "mats": mats}
    rules = [known[sign] for sign in dict.fromkeys(signs) if sign in known]
    rules.sort(key=lambda rule: -strictness(rule.answer))
    return FitToday(rules[0].answer if rules else "go", tuple(rules))


def is_milder(chosen: str, reckoned: str) -> bool:
    """Whether a person's answer is milder than the rule's, and so needs a reason."""
    return strictness(chosen) < strictness(reckoned)

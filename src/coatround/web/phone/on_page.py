"""What the scripts of a recording page are told: the visit, its dogs and how far they are, and the words for them."""

import uuid
from typing import Any

from django.urls import reverse

from coatround.core.fit import MATS_AGREED, MATS_NOT_AGREED, NOTHING_SEEN, RULES, Rule
from coatround.web.base.firm import the_firm
from coatround.web.base.made import when_made
from coatround.web.base.models import Firm
from coatround.web.phone.groom_rows import MORE_FINDINGS, PLAIN_STEPS, routine_of, slug
from coatround.web.records import words as record_words
from coatround.web.records.models import Usual
from coatround.web.visits.models import Visit
from coatround.web.visits.queries import VisitFacts
from coatround.web.visits.words import FIT_ANSWERS, GROOM_STATES, PAID


def on_page(found: Visit, facts: VisitFacts, firm: Firm | None = None) -> dict[str, Any]:
    """What every recording page of a visit tells its scripts."""
    firm = firm or the_firm()
    dogs = []
    for dog in facts.dogs:
        fit, groom = facts.fits.get(dog.pk), facts.grooms.get(dog.pk)
        dogs.append(
            {
                "id": str(dog.pk),
                "name": dog.name,
                "fit": fit.answer if fit else "",
                "groom": groom is not None,
                "state": groom.state if groom else "",
                "address": reverse("phone:groom", args=[found.pk, dog.pk]),
            }
        )
    return {
        **when_made(),
        "visit": str(found.pk),
        "date": found.date.isoformat(),
        "household": str(found.household),
        "handingBack": reverse("phone:handing-back", args=[found.pk]),
        "decimals": firm.currency_decimals,
        "units": firm.units,
        "dogs": dogs,
        "words": {
            "answers": _words(FIT_ANSWERS),
            "states": _words(GROOM_STATES),
            "paid": _words(PAID),
            "nothing": NOTHING_SEEN,
        },
    }


def _words(choices: list[tuple[str, Any]]) -> dict[str, str]:
    return {value: str(words) for value, words in choices}


def at_the_door(facts: VisitFacts, agreed: set[uuid.UUID]) -> dict[str, Any]:
    """The rule of each sign for each dog, and what was said at the door already."""
    return {
        "rules": {str(dog.pk): _rules(dog.pk in agreed) for dog in facts.dogs},
        "fits": {
            str(dog): {"body": {"signs": list(fit.signs), "answer": fit.answer}, "reason": fit.reason}
            for dog, fit in facts.fits.items()
        },
    }


def _rules(agreed: bool) -> dict[str, dict[str, str]]:
    rules: list[Rule] = [*RULES, MATS_AGREED if agreed else MATS_NOT_AGREED]
    return {rule.sign: {"answer": rule.answer, "words": rule.words, "mark": rule.mark} for rule in rules}


def on_the_table(usual: Usual | None) -> dict[str, Any]:
    """What is settled for one dog, so that only what differs from it is said."""
    return {
        "usual": {
            "settled": usual is not None,
            "routine": [{"key": row.key, "step": row.step, "product": row.product} for row in routine_of(usual)],
            "also": {slug(step): step for step, _shown in PLAIN_STEPS},
            "cut": usual.cut if usual else {},
        },
        "cutParts": [part for part, _shown in record_words.CUT_PARTS],
        "parts": {slug(part): part for part, _shown in record_words.PARTS},
        "more": [f"more-{number}" for number in range(MORE_FINDINGS)],
    }

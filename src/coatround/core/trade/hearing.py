"""A groomer's noise dose from minutes at so many dB(A). Screening arithmetic: local work-safety law governs.

An allowed time halves each time the level rises by the exchange: 8 / 2^((L - criterion) / exchange) hours; the dose is
the sum of minutes over allowed minutes. Sources: NIOSH 98-126 (1998), table 1-1 (85 dB, 3 dB); 29 CFR 1910.95,
appendix A, table G-16a (90 dB, 5 dB); WHS Regulations (AU) regulation 56 for LAeq,8h 85 dB; ISO 9612 for LEX,8h (from
memory). At the ear without protectors; no exposure limit for dogs is known to us.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from coatround.core.errors import BadInput

SHIFT_MINUTES = 480
DRYER_DBA = (94.8, 108.0)
"""Four forced-air dryers at 1 m (Scheifele et al. 2012, Noise Health 14:224)."""


@dataclass(frozen=True, slots=True)
class Rule:
    """The level that fills a shift of 8 hours, dB(A), and the exchange; None is equal energy, 10 log 2 = 3.01 dB."""

    name: str
    criterion_dba: float
    exchange_db: float | None


NIOSH = Rule("niosh", 85, 3)
OSHA = Rule("osha", 90, 5)
LEX8H = Rule("lex8h", 85, None)
RULES = {rule.name: rule for rule in (NIOSH, OSHA, LEX8H)}


@dataclass(frozen=True, slots=True)
class Segment:
    """So many minutes at so many dB(A)."""

    dba: float
    minutes: float


@dataclass(frozen=True, slots=True)
class Dose:
    """A day's dose in percent, the level that gives it in 8 hours (None without noise), minutes left at the loudest."""

    percent: float
    level_dba: float | None
    minutes_left: float


def allowed_minutes(rule: Rule, dba: float) -> float:
    """Minutes at a level that fill the day's dose."""
    return SHIFT_MINUTES / 2 ** ((dba - rule.criterion_dba) / _exchange(rule))


def dose(rule: Rule, segments: Sequence[Segment]) -> Dose:
    """The dose of a day; minutes left until 100 % at the level of its loudest segment. BadInput for no segment."""
    if not segments:
        raise BadInput("segments", "is empty, expected at least one")
    share = sum(segment.minutes / allowed_minutes(rule, segment.dba) for segment in segments)
    loudest = max(segment.dba for segment in segments)
    level = rule.criterion_dba + _exchange(rule) * math.log2(share) if share > 0 else None
    if rule is NIOSH and share > 0:  # NIOSH prints 10 log10, not 3 log2: 0.3 % apart
        level = 10 * math.log10(share) + rule.criterion_dba
    if rule is OSHA and share > 0:
        level = 16.61 * math.log10(share) + rule.criterion_dba
    return Dose(100 * share, level, max(0.0, 1 - share) * allowed_minutes(rule, loudest))


def _exchange(rule: Rule) -> float:
    return rule.exchange_db if rule.exchange_db is not None else 10 * math.log10(2)

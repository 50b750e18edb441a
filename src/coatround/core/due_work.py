"""What a dog's groom takes: seconds of work, their spread, and its rank in the run."""

import datetime as dt
from collections.abc import Sequence
from statistics import median_low

from coatround.core.learn.durations import Expected
from coatround.core.units import HOUR

SPREAD_PERCENT = 20
"""The spread of a groom's length until minutes are learnt."""

SIZES = ("tiny", "small", "medium", "large", "giant")
WORK_MINUTES = {
    "smooth": (25, 30, 35, 45, 60),
    "hairless": (25, 30, 35, 45, 60),
    "wire": (45, 55, 65, 85, 105),
    "mixed": (45, 50, 60, 75, 95),
    "silky": (45, 55, 70, 85, 105),
    "double": (40, 50, 65, 85, 110),
    "curly": (55, 65, 80, 100, 125),
}
"""Minutes on the table by coat, one number a size from tiny to giant: our own default."""

WATT_HOURS_AN_HOUR = 240
BIG_GRAMS = 45_000
PUPPY_DAYS = 16 * 7
YOUNG_DAYS = 365
PUPPY, USUAL, FLEAS = 0, 1, 2


def work_seconds(settled: int | None, past: Sequence[int], coat: str, size: str) -> tuple[int, bool]:
    """Expected seconds of work on a dog, and whether that is only our own default.

    What is settled comes first, then the median of the dog's own past, then the table by coat and size.
    """
    if settled:
        return settled, False
    known = [seconds for seconds in past if seconds > 0]
    if known:
        return median_low(known), False
    return WORK_MINUTES.get(coat, WORK_MINUTES["mixed"])[SIZES.index(size)] * 60, True


def expected_seconds(
    settled: int | None, learnt: Expected | None, within_share: float, default: int
) -> tuple[int, int]:
    """Expected seconds of work and their spread: what is settled first, then what was learnt, then `default`.

    What is settled is a person's own word; it varies as a dog's grooms do about its own length.
    """
    if settled:
        return settled, round(settled * within_share)
    if learnt is not None:
        return learnt.seconds, learnt.sd_seconds
    return default, spread_seconds(default)


def power_wh(seconds: int) -> int:
    """Watt-hours that pump and dryer draw while a dog is worked on: so many an hour, our own default."""
    return seconds * WATT_HOURS_AN_HOUR // HOUR


def needs_big_tub(size: str, weight_grams: int | None) -> bool:
    """Whether a dog is washed in a big tub only: by weight where it is known, else by size; our own default."""
    return weight_grams >= BIG_GRAMS if weight_grams else size == "giant"


def spread_seconds(seconds: int) -> int:
    """The spread of so many seconds of work, in seconds."""
    return seconds * SPREAD_PERCENT // 100


def is_unvaccinated_puppy(
    born: dt.date | None, vaccination: str, vaccinated_until: dt.date | None, today: dt.date
) -> bool:
    """Whether a dog goes first in its run: under 16 weeks, or under a year without a vaccination known to hold.

    `vaccination` is "seen", "told", "unknown" or "none". The ages are our own default.
    """
    if born is None or (today - born).days >= YOUNG_DAYS:
        return False
    holds = vaccination in ("seen", "told") and (vaccinated_until is None or vaccinated_until >= today)
    return (today - born).days < PUPPY_DAYS or not holds


def rank_of(puppy: bool, fleas: bool) -> int:
    """The dog's rank in a run: fleas go last, an unvaccinated puppy first, all others between."""
    if fleas:
        return FLEAS
    return PUPPY if puppy else USUAL

"""Between dogs: how strong a disinfectant is, what is cleaned with what, and how long it stays wet. The label governs.

Clean first: a disinfectant on hair and dirt does nothing. Rinse before the next dog. Never bleach with an acid or
ammonia.
"""

from dataclasses import dataclass
from fractions import Fraction

from coatround.core.trade.mix import Ratio

PPM_A_PERCENT = 10_000


def strength_percent(stock_percent: Fraction, ratio: Ratio) -> Fraction:
    """The share of what works in the mix, in percent: the stock's, thinned by the ratio (C1 V1 = C2 V2)."""
    return stock_percent * ratio.share


@dataclass(frozen=True, slots=True)
class Cleaning:
    """One thing to clean: with what, how strong, how many minutes wet; `catching` is only after a catching dog."""

    key: str
    what: str
    how: str
    minutes_wet: int
    source: str = ""
    catching: bool = False


CDC_BLEACH = "CDC, bleach page: at least 1,000 ppm, at least 1 minute; use within 24 hours"
SHELTER_BLEACH = "shelter sheets: 1 part household bleach and 32 of water, 10 minutes wet, on clean surfaces"
MORIELLO = "Moriello 2019, Vet Dermatol 30:178: ringworm, cleaning and 1 part bleach and 100 of water"
CLEANINGS: tuple[Cleaning, ...] = (
    Cleaning(
        "tub",
        "tub",
        "hair out, wash with detergent, rinse; then the disinfectant by its label, rinse again",
        1,
        CDC_BLEACH,
    ),
    Cleaning(
        "hose",
        "hose and pump",
        "run clean water through, then the disinfectant by its label, then clean water",
        1,
    ),
    Cleaning(
        "table",
        "table and loop",
        "wipe hair and dirt off with detergent, then the disinfectant by its label",
        1,
        CDC_BLEACH,
    ),
    Cleaning("blades", "blades and combs", "brush the hair off, then the blade wash by its label; cool and dry", 5),
    Cleaning("towels", "towels", "one dog, one towel; used ones shut away, washed hot and dried", 0),
    Cleaning(
        "after catching",
        "tub, table, floor after a catching dog",
        "cleaned twice with detergent, then 1 part household bleach and 32 of water, rinsed",
        10,
        SHELTER_BLEACH,
        True,
    ),
    Cleaning(
        "after ringworm",
        "all of it after ringworm",
        "all hair gone, cleaned twice, then 1 part household bleach and 100 of water",
        10,
        MORIELLO,
        True,
    ),
)
NEVER = (
    "Never bleach with vinegar, descaler, any acid or ammonia: the gas harms lungs. Windows and doors open.",
    "A quaternary ammonium product is not enough against parvovirus.",
    "Permethrin on a dog can kill a cat of the household: read the label, keep them apart.",
)
VAN = (
    "Power for pump and dryer only through a device that trips on a shock (30 mA residual current), tested each month.",
    "Never run an engine or generator where its exhaust can reach van or house; a carbon monoxide alarm in the van.",
    "Pump, hose and a recirculated bath are drained and dried at night; bath water is fresh for each dog, never "
    "used to rinse.",
)

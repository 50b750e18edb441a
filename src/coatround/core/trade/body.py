"""A dog's body in figures for a groomer's eyes: resting energy, condition. No diet, no dose: a vet's "
"work."""

from coatround.core.errors import BadInput

IDEAL_CONDITION = 5
FAT_AT_IDEAL, FAT_A_POINT = 20, 5
"""Condition 1 to 9: at 5 a dog is about 20 % fat, each point is about 5 % (Laflamme 1997, Canine Practice 22:10)."""


def resting_kcal(kg: float) -> float:
    """Resting energy a day, 70 * kg^0.75 kcal (as veterinary manuals print it). BadInput at 0 kg or below."""
    if not kg > 0:
        raise BadInput("kg", f"is {kg}, expected more than 0")
    return float(70 * kg**0.75)


def fat_percent(condition: int) -> int:
    """About so much of the body is fat at a condition from 1 to 9, give or take 5 at the least."""
    if not 1 <= condition <= 9:
        raise BadInput("condition", f"is {condition}, expected from 1 to 9")
    return max(FAT_AT_IDEAL + FAT_A_POINT * (condition - IDEAL_CONDITION), 0)

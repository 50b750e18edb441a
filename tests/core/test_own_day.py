"""A groomer's day by hand: minutes at each level, lifts, breaks."""

import pytest

from coatround.core.trade.hearing import NIOSH, allowed_minutes
from coatround.core.trade.lifting import limit_kg
from coatround.core.trade.own_day import TUB_LIFT, Worked, dose_of, lifts, longest_break, noise, rule_of

HOUR = 3600


def test_minutes_by_level_and_dose_by_hand() -> None:
    """An hour on a dog, 20 minutes of dryer counted; another hour, dried but not counted: three tenths of it."""
    day = [
        Worked(HOUR, {"dryer": 1200, "clip": 600}, frozenset({"dryer", "clip", "first wash"}), 12_000),
        Worked(HOUR, {"dryer": 0}, frozenset({"dryer"}), 30_000),
    ]
    found = {segment.dba: segment.minutes for segment in noise(day)}
    assert found == {94.8: pytest.approx(20 + 18), 78.0: pytest.approx(10), 70.0: pytest.approx(30 + 42)}
    dose = dose_of(day, NIOSH)
    assert dose is not None
    by_hand = sum(minutes / allowed_minutes(NIOSH, dba) for dba, minutes in found.items())
    assert dose.percent == pytest.approx(100 * by_hand)
    assert dose_of([], NIOSH) is None


def test_lifts_are_of_washed_dogs_lifted_alone() -> None:
    washed = frozenset({"first wash"})
    day = [
        Worked(HOUR, {}, washed, 12_000),
        Worked(HOUR, {}, washed, 40_000, alone=False),
        Worked(HOUR, {}, frozenset({"nails"}), 25_000),
    ]
    found = lifts(day)
    assert (found.count, found.heaviest_grams) == (2, 12_000)
    assert found.index == pytest.approx(12 / limit_kg(TUB_LIFT))
    assert lifts([]).index is None


def test_a_break_is_what_is_left_of_a_pause_after_the_drive() -> None:
    """Left at 10:00, next at 10:40 after a drive of 20 minutes: 20 minutes. Ten minutes are no break."""
    visits = [(8 * HOUR, 10 * HOUR, 0), (10 * HOUR + 2400, 12 * HOUR, 1200), (12 * HOUR + 1200, 13 * HOUR, 600)]
    assert longest_break(visits) == 1200
    assert longest_break([visits[1], visits[2]]) == 0
    assert longest_break([]) == 0


def test_the_rule_of_a_country() -> None:
    assert [rule_of(country).name for country in ("AU", "US", "NZ")] == ["lex8h", "niosh", "lex8h"]

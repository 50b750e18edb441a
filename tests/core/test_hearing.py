"""Noise dose against the printed tables and the paper on forced-air dryers."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coatround.core.errors import BadInput
from coatround.core.trade.hearing import DRYER_DBA, LEX8H, NIOSH, OSHA, RULES, Segment, allowed_minutes, dose

segments = st.lists(st.builds(Segment, st.floats(60, 120), st.floats(0, 300)), min_size=1, max_size=6)


@pytest.mark.parametrize(
    ("dba", "minutes", "within"),
    [
        (80, 25 * 60 + 24, 0.5),
        (83, 12 * 60 + 42, 0.5),
        (85, 480, 1e-9),
        (90, 151, 0.5),
        (95, 47 + 37 / 60, 0.01),
        (100, 15, 1e-9),
        (105, 4 + 43 / 60, 0.02),
        (115, 28 / 60, 0.01),
    ],
)
def test_niosh_table_1_1(dba: float, minutes: float, within: float) -> None:
    """NIOSH 98-126 (1998), table 1-1, as read in a text that quotes it."""
    assert allowed_minutes(NIOSH, dba) == pytest.approx(minutes, abs=within)


@pytest.mark.parametrize(
    ("dba", "hours"), [(80, 32), (83, 21.1), (85, 16), (90, 8), (95, 4), (100, 2), (105, 1), (115, 0.25)]
)
def test_osha_table_g_16a(dba: float, hours: float) -> None:
    """29 CFR 1910.95, appendix A, table G-16a; for 83 dBA it prints 21.1."""
    assert allowed_minutes(OSHA, dba) / 60 == pytest.approx(hours, abs=0.05)


def test_the_dryers_of_the_paper() -> None:
    """Scheifele et al. 2012, Noise Health 14:224: 94.8 dBA: 4 hours by the 5 dB rule, under an hour by 3 dB."""
    assert allowed_minutes(OSHA, DRYER_DBA[0]) / 60 == pytest.approx(4, abs=0.15)
    assert allowed_minutes(NIOSH, DRYER_DBA[0]) < 60
    assert allowed_minutes(NIOSH, DRYER_DBA[1]) == pytest.approx(2.36, abs=0.01)
    assert allowed_minutes(OSHA, DRYER_DBA[1]) == pytest.approx(39.6, abs=0.1)


def test_a_day_by_hand() -> None:
    """4 h at 85 is half, 1 h at 94 a whole, 15 min at 100 a whole: 250 % by NIOSH's own formulas."""
    found = dose(NIOSH, [Segment(85, 240), Segment(94, 60), Segment(100, 15)])
    assert found.percent == pytest.approx(250)
    assert found.level_dba == pytest.approx(10 * math.log10(2.5) + 85)
    assert found.minutes_left == 0


@pytest.mark.parametrize(("percent", "twa"), [(10, 75.0), (50, 81.99), (200, 88.01)])
def test_niosh_levels_of_a_dose(percent: float, twa: float) -> None:
    """NIOSH: TWA = 10 log10(D / 100) + 85."""
    assert dose(NIOSH, [Segment(85, 4.8 * percent)]).level_dba == pytest.approx(twa, abs=0.005)


@pytest.mark.parametrize(("percent", "twa"), [(25, 80), (50, 85), (100, 90), (200, 95)])
def test_osha_levels_of_a_dose(percent: float, twa: float) -> None:
    """29 CFR 1910.95, appendix A, table A-1: TWA = 16.61 log10(D / 100) + 90."""
    assert dose(OSHA, [Segment(90, 4.8 * percent)]).level_dba == pytest.approx(twa, abs=0.005)


def test_osha_at_a_dryer() -> None:
    found = dose(OSHA, [Segment(94.8, 240)])
    assert (found.percent, found.level_dba) == (pytest.approx(97.265, abs=0.001), pytest.approx(89.80, abs=0.005))
    assert found.minutes_left == pytest.approx(246.75 - 240, abs=0.1)


def test_equal_energy() -> None:
    """ISO 9612: LEX,8h = LAeq + 10 log10(T / 8 h), from memory. 4 h at 88 is 84.99, for 10 log10 2 is not 3."""
    assert dose(LEX8H, [Segment(90, 120), Segment(80, 360)]).level_dba == pytest.approx(85.1188, abs=1e-4)
    assert dose(LEX8H, [Segment(88, 240)]).level_dba == pytest.approx(84.9897, abs=1e-4)
    assert dose(LEX8H, [Segment(85, 480)]).percent == pytest.approx(100)  # WHS regulation 56 (AU): 85 dB(A) over 8 h


@given(segments, st.sampled_from(sorted(RULES)))
def test_more_noise_is_never_less_dose(noises: list[Segment], name: str) -> None:
    rule = RULES[name]
    before, after = dose(rule, noises), dose(rule, [*noises, Segment(85, 10)])
    assert after.percent > before.percent
    assert after.minutes_left <= before.minutes_left + 1e-6 or max(one.dba for one in noises) < 85


@given(segments, st.sampled_from(sorted(RULES)))
def test_what_is_left_fills_the_day(noises: list[Segment], name: str) -> None:
    rule = RULES[name]
    found = dose(rule, noises)
    loudest = max(one.dba for one in noises)
    filled = dose(rule, [*noises, Segment(loudest, found.minutes_left)])
    assert filled.percent == pytest.approx(max(100, found.percent))


def test_silence_has_no_level() -> None:
    assert dose(NIOSH, [Segment(0, 0)]).level_dba is None
    with pytest.raises(BadInput, match="segments: is empty"):
        dose(NIOSH, [])

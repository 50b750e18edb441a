"""What drives teach: known factors come back, nothing known leaves the engine right, wild drives turn little."""

import datetime as dt
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatround.core.errors import BadInput
from coatround.core.learn.drives import (
    ENOUGH_DRIVES,
    HOURS,
    KINDS,
    WIDEST,
    DriveSeen,
    Learned,
    hours_of,
    learn,
    road_kind,
)

DAY = dt.date(2026, 3, 2)
OVERALL = 0.05
BY_KIND = dict(zip(KINDS, (0.10, 0.0, -0.05), strict=True))
BY_HOURS = (0.15, 0.0, -0.05, 0.10, -0.10)
KM_H = dict(zip(KINDS, ((20, 29), (31, 58), (62, 85)), strict=True))
CLOCK = (8, 10, 13, 16, 18)


def drawn(seed: int, count: int, *, noise: float = 0.2, standing: int = 0, day: float = 0.0) -> list[DriveSeen]:
    """Drives of eight minutes or so, six a day, drawn with the factors above."""
    chance, drives, of_day = np.random.default_rng(seed), [], 0.0
    for number in range(count):
        of_day = chance.normal(0, day) if number % 6 == 0 else of_day
        kind, hour = KINDS[chance.choice(3, p=(0.6, 0.3, 0.1))], int(chance.integers(8, 19))
        expected = round(math.exp(chance.normal(math.log(480), 0.5)))
        metres = round(expected * chance.uniform(*KM_H[kind]) / 3.6)
        logarithm = OVERALL + BY_KIND[kind] + BY_HOURS[hours_of(hour)] + of_day + chance.normal(0, noise)
        taken = round(expected * math.exp(logarithm) + standing)
        drives.append(DriveSeen(DAY + dt.timedelta(days=number // 6), hour, expected, metres, taken))
    return drives


def true_factor(kind: str, hour: int) -> float:
    return math.exp(OVERALL + BY_KIND[kind] + BY_HOURS[hours_of(hour)])


def inside(learned: Learned) -> list[bool]:
    """Whether the true factor of each kind and hour lies in its interval."""
    return [
        learned.factor(kind, hour).low <= true_factor(kind, hour) <= learned.factor(kind, hour).high
        for kind in KINDS
        for hour in CLOCK
    ]


@pytest.mark.parametrize(
    ("seconds", "metres", "kind"),
    [
        (600, 4_999, "streets"),  # 29.99 km/h
        (600, 5_000, "main roads"),  # 30
        (600, 10_000, "main roads"),  # 60
        (600, 10_001, "open road"),
        (60, 0, "streets"),
    ],
)
def test_the_kind_of_road_is_the_mean_speed_expected(seconds: int, metres: int, kind: str) -> None:
    assert road_kind(seconds, metres) == kind


def test_no_speed_without_time() -> None:
    with pytest.raises(BadInput, match="seconds: is 0"):
        road_kind(0, 100)
    with pytest.raises(BadInput, match="seconds: is 0"):
        learn([DriveSeen(DAY, 9, 0, 100, 60)])


def test_every_hour_lies_in_one_part_of_the_day() -> None:
    assert [hours_of(hour) for hour in (0, 8, 9, 11, 12, 14, 15, 17, 18, 23)] == [0, 0, 1, 1, 2, 2, 3, 3, 4, 4]
    assert HOURS[0][0] == 0
    assert HOURS[-1][1] == 24
    with pytest.raises(BadInput, match="hour: is 24"):
        hours_of(24)


def test_nothing_known_leaves_the_engine_right() -> None:
    learned = learn([])
    assert learned.drives == 0
    assert (learned.spread, learned.standing.seconds) == (0.25, 0)
    for kind in KINDS:
        for hour in (None, *CLOCK):
            factor = learned.factor(kind, hour)
            assert (factor.median, factor.learnt, factor.drives, factor.used) == (1, 1, 0, False)
            assert factor.low < 0.8
            assert factor.high > 1.25
    with pytest.raises(BadInput, match="kind: is 'lane'"):
        learned.factor("lane", None)


def test_an_engine_that_is_right_stays_right() -> None:
    """Every drive took what was expected: the factor is 1 whatever is shrunk."""
    drives = [
        DriveSeen(one.date, one.hour, one.seconds_expected, one.metres, one.seconds_expected) for one in drawn(1, 90)
    ]
    learned = learn(drives)
    assert learned.factor("streets", None).median == pytest.approx(1, abs=0.01)
    assert learned.factor("streets", None).used


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_known_factors_come_back(seed: int) -> None:
    learned = learn(drawn(seed, 3_000))
    for kind in KINDS:
        for hour in CLOCK:
            found = learned.factor(kind, hour)
            assert found.median == pytest.approx(true_factor(kind, hour), rel=0.06), (kind, hour)
            assert found.used
    assert learned.spread == pytest.approx(0.2, abs=0.02)
    assert learned.standing.seconds == pytest.approx(0, abs=25)


@pytest.mark.parametrize(("standing", "day"), [(0, 0.0), (300, 0.0), (0, 0.15)])
def test_intervals_hold_what_they_promise(standing: int, day: float) -> None:
    """30 firms of 200 drives, 15 factors each: about four in five lie inside, and never far fewer.

    Intervals of one firm hang together, so the share scatters more than 450 draws would.
    """
    found = [hit for seed in range(30) for hit in inside(learn(drawn(seed, 200, standing=standing, day=day)))]
    assert 0.70 < sum(found) / len(found) < 0.98


def test_standing_is_no_driving() -> None:
    """Five minutes between records at every drive: said apart, and the factors are what they were."""
    learned = learn(drawn(4, 1_500, standing=300))
    assert learned.standing.seconds == pytest.approx(300, abs=25)
    assert learned.factor("streets", 10).median == pytest.approx(true_factor("streets", 10), rel=0.06)


def test_standing_is_as_sure_as_it_says() -> None:
    """40 firms of 300 drives with five minutes of standing: four in five intervals hold it, within three deviations
    of that share (0.19); what is reckoned scatters by as much as it says."""
    found = [learn(drawn(seed, 300, standing=300)).standing for seed in range(40)]
    held = sum(one.low < 300 < one.high for one in found) / len(found)
    said = np.mean([(one.high - one.seconds) / 1.2816 for one in found])
    assert 0.61 < held < 0.99
    assert np.mean([one.seconds for one in found]) == pytest.approx(300, abs=8)
    assert np.std([one.seconds for one in found]) == pytest.approx(said, rel=0.4)


def test_few_drives_are_shown_and_not_used() -> None:
    learned = learn(drawn(5, ENOUGH_DRIVES - 1, noise=0.02))
    factor = learned.factor("streets", None)
    assert not factor.used
    assert factor.median == 1
    assert factor.learnt != 1
    assert factor.low < factor.learnt < factor.high


@given(st.integers(0, 10_000), st.integers(1, 300))
@settings(max_examples=20, deadline=None)
def test_a_factor_that_is_used_is_known_well_enough(seed: int, count: int) -> None:
    learned = learn(drawn(seed, count, noise=0.3))
    for factor in learned.factors.values():
        assert factor.used == (count >= ENOUGH_DRIVES and factor.high / factor.low <= WIDEST + 1e-12)
        assert factor.median == (factor.learnt if factor.used else 1)
        assert 0 < factor.low < factor.learnt < factor.high
    for kind in KINDS:
        assert learned.factor(kind, None).drives == sum(learned.factor(kind, hour).drives for hour in CLOCK)
    assert sum(learned.factor(kind, None).drives for kind in KINDS) == learned.overall.drives == count


@given(st.randoms(use_true_random=False), st.integers(0, 120))
@settings(max_examples=15, deadline=None)
def test_the_order_they_come_in_does_not_matter(order: "np.random.Generator", count: int) -> None:
    drives = drawn(6, count)
    shuffled = drives.copy()
    order.shuffle(shuffled)
    assert learn(shuffled) == learn(drives)


@pytest.mark.parametrize("taken", [1, 10_800])
def test_one_wild_drive_turns_a_factor_little(taken: int) -> None:
    """A plain mean of 100 logarithms would move by 0.031 and more; this moves by less than 0.02."""
    drives = drawn(7, 100)
    wild = [*drives[:50], DriveSeen(drives[50].date, drives[50].hour, 480, 3_000, taken), *drives[51:]]
    assert abs(math.log(taken / 480)) / 100 > 0.031
    before, after = learn(drives), learn(wild)
    for kind in KINDS:
        assert abs(math.log(after.factor(kind, None).learnt / before.factor(kind, None).learnt)) < 0.02


def test_more_drives_are_surer() -> None:
    few, many = learn(drawn(8, 100)), learn(drawn(8, 1_000))
    for kind in KINDS:
        a, b = few.factor(kind, None), many.factor(kind, None)
        assert b.high / b.low < a.high / a.low


def test_drives_of_one_day_that_are_alike_are_less_sure() -> None:
    """The same spread of a drive in all, once each drive for itself, once half of it the day's."""
    apart, alike = learn(drawn(9, 600, noise=0.2)), learn(drawn(9, 600, noise=math.sqrt(0.02), day=math.sqrt(0.02)))
    a, b = apart.overall, alike.overall
    assert b.high / b.low > a.high / a.low

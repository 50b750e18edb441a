"""The spread of work: none seen, many seen that agree, and a log-normal one that is found again."""

import math
import random

from hypothesis import given
from hypothesis import strategies as st

from coatround.core.learn.works import BELIEVED_SPREAD, work_spread


def test_before_anything_is_seen_it_is_the_belief() -> None:
    assert work_spread([]) == BELIEVED_SPREAD
    assert work_spread([(0, 50), (3600, 0), (3600, 60)]) == BELIEVED_SPREAD


def test_always_half_as_long_again_is_no_spread() -> None:
    """970 visits that all take 1.5 times as long: what is left is the belief, 30 of 1,000."""
    assert math.isclose(work_spread([(3600, 5400)] * 970), BELIEVED_SPREAD * math.sqrt(30 / 1000))


def test_a_known_spread_is_found_again() -> None:
    chance = random.Random(1)
    seen = [(3600, round(3600 * math.exp(chance.gauss(0, 0.12)))) for _ in range(4000)]
    assert abs(work_spread(seen) - 0.12) < 0.005


@given(st.lists(st.tuples(st.integers(0, 10_000), st.integers(0, 10_000)), max_size=30))
def test_it_is_a_spread_whatever_was_seen(visits: list[tuple[int, int]]) -> None:
    assert 0 < work_spread(visits) < math.log(4) * 2

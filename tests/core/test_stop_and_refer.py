"""What the stop-and-refer page may say: somebody is rung first, nothing is dosed, nothing diagnosed."""

import re

from coatround.core.trade.stop_and_refer import REFER

NEVER = re.compile(r"\b(mg|mcg|ml|tablets?|inject\w*|sedat\w*|aspirin|antihistamine|probably|diagnos\w*)\b", re.I)
ASKED = {
    "collapse", "breathing", "heat", "seizure", "belly", "bleeding", "eye", "chemical", "swallowed", "shock",
    "swelling", "skin", "ear", "person",
}  # fmt: skip


def test_everything_asked_for_is_there_once() -> None:
    keys = [one.key for one in REFER]
    assert len(keys) == len(set(keys))
    assert set(keys) >= ASKED


def test_each_says_whom_to_ring_and_none_doses() -> None:
    for one in REFER:
        said = " ".join((one.seen, one.first, *one.then))
        assert re.search(r"\b(rings?|rung|see a doctor)\b", said, re.I), one.key
        assert not NEVER.search(said), one.key


def test_heat_is_cooled_first() -> None:
    """Cool first, transport second: Hall et al. 2023, Veterinary Sciences 10(7):465."""
    heat = next(one for one in REFER if one.key == "heat")
    assert heat.first.startswith("Cool first, then drive.")
    assert "2023" in heat.source

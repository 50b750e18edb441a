"""Who can wait least: by the last day left, sooner with a concern, then who was told, then who is longer past."""

import datetime as dt

from coatround.core.can_wait import CanWait, least_first


def march(day: int) -> dt.date:
    return dt.date(2026, 3, day)


def waits(id_: str, last: int | None, **other: object) -> CanWait:
    return CanWait(id_, march(2), march(1), march(last) if last else None, **({"was_told": False} | other))  # type: ignore[arg-type]


def order(*visits: CanWait) -> list[str]:
    return [one.id for one in least_first(visits)]


def test_the_one_with_the_nearer_last_day_comes_first() -> None:
    assert order(waits("late", 20), waits("soon", 9), waits("none left", None)) == ["none left", "soon", "late"]


def test_a_concern_puts_a_visit_a_week_sooner() -> None:
    """A last day of the 15th counts as the 8th with a skin caution, before the 9th, after the 7th."""
    sore = waits("sore", 15, concerns=("caution: skin",))
    assert order(waits("ninth", 9), sore, waits("seventh", 7)) == ["seventh", "sore", "ninth"]


def test_of_two_alike_who_was_told_comes_first_then_who_is_longer_past() -> None:
    told = waits("told", 9, was_told=True)
    past = CanWait("past", march(2), dt.date(2026, 2, 20), march(9), was_told=False)
    assert order(waits("other", 9), past, told) == ["told", "past", "other"]
    assert (past.days_past, told.days_past) == (10, 1)
    assert CanWait("agreed", march(2), None, None, was_told=True).days_past == 0

"""Whole numbers as typed."""

import pytest

from coatround.digits import whole_number


@pytest.mark.parametrize(
    ("typed", "most", "number"),
    [
        ("0", 9, 0),
        ("7", 9, 7),
        ("10", 9, None),
        ("-1", 9, None),
        ("", 9, None),
        ("1.5", 9, None),
        ("9" * 5000, 9, None),
    ],
)
def test_it_works(typed: str, most: int, number: int | None) -> None:
    assert whole_number(typed, most) == number

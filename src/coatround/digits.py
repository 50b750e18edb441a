"""Whole numbers as people and addresses give them: digits, and not thousands of them."""


def whole_number(typed: str, most: int = 999_999_999) -> int | None:
    """The number that is typed, from 0 to `most`; None where it is none, or more."""
    if not typed.isdecimal() or len(typed) > len(str(most)):
        return None
    number = int(typed)
    return number if number <= most else None

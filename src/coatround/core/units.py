"""Units that the core shares, and how they are written for people."""

MINUTE = 60
HOUR = 3600
DAY = 86400


def rounded_half_up(numerator: int, denominator: int) -> int:
    """The whole number nearest to numerator / denominator (denominator > 0), a half going up."""
    return (2 * numerator + denominator) // (2 * denominator)


def clock(seconds: int) -> str:
    """Seconds after midnight as hours and minutes, cut to the minute: 34200 is "09:30", 90000 is "25:00"."""
    return f"{seconds // HOUR:02d}:{seconds % HOUR // MINUTE:02d}"


def minutes(seconds: int) -> str:
    """A length of time in whole minutes rounded up, in words: 61 seconds is "2 minutes"."""
    count = -(-seconds // MINUTE)
    return "1 minute" if count == 1 else f"{count} minutes"

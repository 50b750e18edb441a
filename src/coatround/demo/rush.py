"""How much slower the invented town's roads are at each hour of the week: all our own invention."""

BIG = ("motorway", "trunk", "primary", "secondary")
MIDDLING = ("tertiary", "unclassified")
RUSH = {7: 0.84, 8: 0.68, 9: 0.86, 15: 0.88, 16: 0.76, 17: 0.70, 18: 0.86}
"""Monday to Friday, on big roads: to work and home again."""
BETWEEN = 0.94
BETWEEN_HOURS = range(10, 15)
FRIDAY_AFTERNOON = 0.95
SHOPPING = 0.90
SHOPPING_HOURS = range(10, 14)
SCHOOL = {8: 0.84, 15: 0.82}
"""Monday to Friday, on small streets: to school and home again."""
FRIDAY, SATURDAY = 4, 5


def share_of_free_speed(kind: str, weekday: int, hour: int) -> float:
    """What part of its free speed a kind of road (as OpenStreetMap calls it) allows, from `hour` on for one hour.

    Weekdays count from Monday, 0; hours 0 to 23 on the town's clock. ValueError for any other.
    """
    if not (0 <= weekday <= 6 and 0 <= hour <= 23):
        raise ValueError(f"weekday {weekday}, hour {hour}: expected 0 to 6 and 0 to 23")
    kind = kind.removesuffix("_link")
    if kind in BIG:
        return _on_big_roads(weekday, hour)
    if kind in MIDDLING:
        return round((1 + _on_big_roads(weekday, hour)) / 2, 3)
    return SCHOOL.get(hour, 1.0) if weekday < SATURDAY else 1.0


def _on_big_roads(weekday: int, hour: int) -> float:
    if weekday >= SATURDAY:
        return SHOPPING if weekday == SATURDAY and hour in SHOPPING_HOURS else 1.0
    share = RUSH.get(hour, BETWEEN if hour in BETWEEN_HOURS else 1.0)
    return round(share * FRIDAY_AFTERNOON, 3) if weekday == FRIDAY and 14 <= hour <= 18 else share

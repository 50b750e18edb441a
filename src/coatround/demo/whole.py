"""The whole demo, van by van, so that a big town needs no more memory than one van's two years."""

import datetime as dt
from collections.abc import Iterator

from coatround.demo.firm_rows import firm_rows
from coatround.demo.history import ByRoad, van_history
from coatround.demo.rows import Rows

SEED = 1
DOGS = 120
DOGS_A_VAN = 125
MOST_DOGS_PLANNED = 400


def monday_of(today: dt.date) -> dt.date:
    """The Monday that the demo's dates hang on."""
    return today - dt.timedelta(days=today.weekday())


def vans_for(dogs: int) -> int:
    """How many vans so many dogs keep busy."""
    return max(1, round(dogs / DOGS_A_VAN))


def demo_rows(seed: int, today: dt.date, dogs: int = DOGS, by_road: ByRoad | None = None) -> Iterator[Rows]:
    """The firm's rows, then each van's: the same every time for the same seed, week and number of dogs.

    A town that is too big to be planned while someone waits gets its runs ahead from the calendar.
    """
    monday = monday_of(today)
    vans = vans_for(dogs)
    rows = Rows()
    firm = firm_rows(rows, seed, monday, vans)
    yield rows
    for van in range(vans):
        yield van_history(
            seed, monday, van, _share(dogs, van, vans), firm, runs_ahead=dogs > MOST_DOGS_PLANNED, by_road=by_road
        )


def _share(dogs: int, van: int, vans: int) -> int:
    return dogs * (van + 1) // vans - dogs * van // vans

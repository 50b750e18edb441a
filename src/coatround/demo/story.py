"""One van's story as it is being written: its rows so far, its chance, its clock, and what was told to whom."""

import datetime as dt
import uuid
from collections import defaultdict
from dataclasses import dataclass, field
from random import Random

from coatround.demo.days import Planned
from coatround.demo.firm_rows import FirmIds, VanIds, van_rows
from coatround.demo.grooms import Bench
from coatround.demo.rows import Ids, Rows, Wall


@dataclass
class VanStory:
    """One van with everything that happened in it, as it is being written."""

    number: int
    seed: int
    monday: dt.date
    firm: FirmIds
    rows: Rows = field(default_factory=Rows)

    def __post_init__(self) -> None:
        self.chance = Random(f"{self.seed}/van/{self.number}/history")
        self.ids, self.wall = Ids(self.chance), Wall()
        self.van: VanIds = van_rows(self.rows, self.ids, self.wall, self.seed, self.monday, self.number, self.firm)
        self.bench = Bench(
            self.rows, self.ids, self.wall, self.chance, self.firm, self.van.groomer, self.monday, tales={}
        )
        self.visit_ids: dict[int, uuid.UUID] = {}
        self.starts: dict[int, list[int]] = defaultdict(list)
        self.told: dict[int, tuple[int, int]] = {}
        self.stock_ml = dict.fromkeys(self.firm.products, 0)
        self.groomer_name = self.firm.groomer_names[self.number]


def visit_id(story: VanStory, planned: Planned) -> uuid.UUID:
    """A visit's id, of the instant it was agreed: about two weeks before."""
    key = id(planned)
    if key not in story.visit_ids:
        made = story.wall.instant(planned.date - dt.timedelta(days=14), 12 * 3600)
        story.visit_ids[key] = story.ids.at(made)
    return story.visit_ids[key]

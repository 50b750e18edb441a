"""The letters of the past two years, composed as the application composes them."""

import datetime as dt
import uuid
from typing import TYPE_CHECKING

from coatround.core.letter_facts import Cotton, CutPart, Found, Happened, LetterGroom, LetterVisit
from coatround.core.letters import letter
from coatround.demo.breeds import CUTS
from coatround.demo.grooms import Done
from coatround.demo.people import DemoHousehold

if TYPE_CHECKING:
    from coatround.demo.story import VanStory

FIRM = "Hollow Ford Mobile Grooming"
LINK_DAYS = 30
NOT_READ_DAYS = 4
NOT_SENT_DAYS = 9


def letter_row(
    story: "VanStory",
    visit: uuid.UUID,
    household: DemoHousehold,
    date: dt.date,
    done: list[Done],
    incidents: list[tuple[str, str, str, str]],
    next_date: dt.date | None,
    window: tuple[int, int] | None,
) -> None:
    """One letter: the latest are still to be read through or sent. Its body is made plain where it is written."""
    due = date + dt.timedelta(weeks=min(each.dog.weeks for each in done))
    told = LetterVisit(
        owners=tuple(person.name for person in household.people if person.may_decide and not person.second),
        date=_day(date),
        grooms=tuple(_groom(each) for each in done),
        happened=tuple(Happened(dog, kind, words, after, owner_told=True) for dog, kind, words, after in incidents),
        next_day=_day(next_date) if next_date else "",
        next_from=_wall(window[0]) if window else "",
        next_until=_wall(window[1]) if window else "",
        next_due="" if next_date else _day(due),
        groomer=story.groomer_name,
        firm=FIRM,
        phone=story.firm.phone,
    )
    made = story.wall.instant(date, 17 * 3600)
    read = story.wall.instant(date, 19 * 3600)
    days = (story.monday - date).days
    state = "draft" if days <= NOT_READ_DAYS else "reviewed" if days <= NOT_SENT_DAYS else "sent"
    story.rows.add(
        "letters.Letter",
        id=story.ids.at(made),
        made_at=made,
        household_id=household.id,
        visit=visit,
        date=date,
        state=state,
        body=letter(told, str),
        reviewed_at=None if state == "draft" else read,
        reviewed_by_id=None if state == "draft" else story.van.groomer,
        link_ends_at=None if state == "draft" else read + dt.timedelta(days=LINK_DAYS),
    )


def _groom(done: Done) -> LetterGroom:
    cut = CUTS[done.dog.breed.coat][done.dog.cut % len(CUTS[done.dog.breed.coat])] if done.completed else {}
    held = dict.fromkeys(product for product, _ in done.products)
    return LetterGroom(
        dog=done.dog.name,
        done=done.completed,
        why_not=done.why_not,
        steps=tuple(done.steps),
        products=tuple(held),
        cut=tuple(CutPart(part, str(how["how"]), str(how.get("mm", ""))) for part, how in cut.items()),
        found=tuple(Found(*each) for each in done.findings),
        cotton=Cotton(*done.cotton),
        weight=f"{done.weight / 1000:.1f} kg" if done.weight else "",
        lost_percent=done.lost_percent,
    )


def _day(date: dt.date) -> str:
    return f"{date:%A} {date.day} {date:%B}"


def _wall(seconds: int) -> str:
    return f"{seconds // 3600}:{seconds % 3600 // 60:02d}"

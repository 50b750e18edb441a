"""Two years of one van's work as rows: visits, runs, grooms, handings back, money, stock, letters, incidents."""

import datetime as dt
import uuid
from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import replace
from decimal import Decimal

from coatround.core.trade.tax import tax_in, tax_rule
from coatround.demo.days import Planned, lay_days
from coatround.demo.firm_rows import FirmIds, days_off
from coatround.demo.grooms import Done, groom, tale_of, turned_away
from coatround.demo.layout import BREAK_FROM, BREAK_SECONDS, BREAK_UNTIL, DayTime, Depot, StopTime, lay_day
from coatround.demo.letters import letter_row
from coatround.demo.people import DemoHousehold, households
from coatround.demo.people_rows import household_rows, price_on
from coatround.demo.rows import Rows, clock
from coatround.demo.run_rows import run_rows
from coatround.demo.story import VanStory, visit_id
from coatround.demo.town import Point

ByRoad = Callable[[Depot, Sequence[Point]], Depot]
"""Gives a depot the drives by road between it and the homes of its van."""
TAX = tax_rule("AU", Decimal(10))
BATHS_A_DAY = 9
OWING_WEEKS = 5
INCIDENT_WORDS = {
    "nick": ("Small nick at the edge of the ear flap.", "Pressed with clean gauze, stopped in three minutes."),
    "bite": (
        "Bit the groomer's left hand when the hind foot was held, skin broken.",
        "Stopped, wound washed, doctor seen.",
    ),
}


def van_history(
    seed: int,
    monday: dt.date,
    number: int,
    dogs: int,
    firm: FirmIds,
    *,
    runs_ahead: bool = False,
    by_road: ByRoad | None = None,
) -> Rows:
    """All rows of one van, its households and two years of work; `by_road` gives it drives by road."""
    story = VanStory(number, seed, monday, firm)
    found = households(seed, monday, number, dogs)
    if by_road is not None:
        points = [household.address.point for household in found]
        story.van = replace(story.van, depot=by_road(story.van.depot, points))
    for household in found:
        _name(story, household)
    off = days_off(monday, number)
    calendar = lay_days(found, monday, lambda date: _works(date, off), story.chance)
    ahead = [date for date in sorted(calendar.days) if date >= monday]
    days_ahead = {date: lay_day(date, calendar.days[date], story.van.depot, None) for date in ahead}
    for day in days_ahead.values():
        _tell(story, day)
    for date in sorted(calendar.days):
        if date < monday:
            _past_day(story, date, calendar.days[date])
    for date in ahead:
        for planned in calendar.days[date]:
            _future_visit(story, planned, all_of_them=runs_ahead)
    if runs_ahead:
        _runs_ahead(story, days_ahead)
    for household in found:
        household_rows(
            story.rows, story.ids, story.wall, household, story.starts[household.number], monday, firm, story.chance
        )
    return story.rows


def _works(date: dt.date, off: list[tuple[dt.date, dt.date, str]]) -> bool:
    return date.weekday() < 5 and not any(first <= date <= last for first, last, _ in off)


def _name(story: VanStory, household: DemoHousehold) -> None:
    """Gives a household and its dogs their ids."""
    made = story.wall.instant(household.joined - dt.timedelta(days=5), 18 * 3600)
    household.id, household.place_id = story.ids.at(made), story.ids.at(made)
    for dog in household.dogs:
        dog.id = story.ids.at(made)
        story.bench.tales[dog.id] = tale_of(dog, story.chance)


def _tell(story: VanStory, day: DayTime) -> None:
    """Keeps the window of each visit ahead, for those that were told one; none where no break would fit round it."""
    for stop in day.stops:
        over = stop.told_from < BREAK_FROM + BREAK_SECONDS and stop.end > BREAK_UNTIL - BREAK_SECONDS
        if stop.planned and not over:
            story.told[id(stop.planned)] = (stop.told_from, stop.told_until)


def _past_day(story: VanStory, date: dt.date, all_planned: list[Planned]) -> None:
    for planned in all_planned:
        if planned.called_off:
            _visit(story, planned, None, "CANCELLED", "DECLINED")
    day = lay_day(date, all_planned, story.van.depot, story.chance)
    if not day.stops:
        return
    _buy(story, date)
    for stop in day.stops:
        if stop.planned:
            story.starts[stop.planned.household.number].append(stop.start)
            _visit(story, stop.planned, (stop.told_from, stop.told_until), "CONFIRMED", "ACCEPTED")
            _happened(story, date, stop, stop.planned)
    run_rows(story, date, lay_day(date, all_planned, story.van.depot, None))


def _visit(story: VanStory, planned: Planned, told: tuple[int, int] | None, state: str, answer: str) -> None:
    made = story.wall.instant(planned.date - dt.timedelta(days=14), 12 * 3600)
    visit = visit_id(story, planned)
    story.rows.add(
        "visits.Visit",
        id=visit,
        made_at=made,
        household_id=planned.household.id,
        place_id=planned.household.place_id,
        date=planned.date,
        van_id=story.van.van,
        state=state,
        answer=answer,
        told_from=clock(told[0]) if told else None,
        told_until=clock(told[1]) if told else None,
        told_at=made if told else None,
        source="door",
        called_off_why=planned.called_off,
    )
    for order, dog in enumerate(planned.dogs):
        story.rows.add("visits.VisitDog", visit_id=visit, dog_id=dog.id, order=order)


def _future_visit(story: VanStory, planned: Planned, *, all_of_them: bool) -> None:
    """The next visit of a household that was told one: within four weeks, and only the first. Others if asked for."""
    household = planned.household
    in_weeks = planned.date < story.monday + dt.timedelta(weeks=4)
    window = story.told.get(id(planned))
    if household.told and window and in_weeks and story.starts[household.number] and planned.dogs:
        household.told = False
        answer = "ACCEPTED" if story.chance.random() < 0.8 else "NEEDS-ACTION"
        _visit(story, planned, window, "CONFIRMED", answer)
    elif all_of_them and in_weeks and planned.dogs:
        _visit(story, planned, None, "TENTATIVE", "NEEDS-ACTION")


def _runs_ahead(story: VanStory, days: dict[dt.date, DayTime]) -> None:
    """The runs of the four weeks to come as the calendar has them, for towns too big to be planned here."""
    for date, day in days.items():
        if day.stops and date < story.monday + dt.timedelta(weeks=4):
            run_rows(story, date, day)


def _happened(story: VanStory, date: dt.date, stop: StopTime, planned: Planned) -> None:
    """The grooms of one visit and what follows from them."""
    visit = visit_id(story, planned)
    if planned.turned_away:
        done = [turned_away(story.bench, visit, planned.dogs[0], date, stop.start + 30, planned.turned_away)]
    else:
        done = [groom(story.bench, visit, date, time) for time in stop.grooms]
    incidents = _incidents(story, visit, date, stop, done)
    for each in done:
        _stock(story, date, each)
    next_date, window = _next(story, planned)
    cents = _charges(story, visit, planned.household, date, done)
    if cents:
        _hand_back(story, visit, planned.household, date, stop.end, cents, next_date, window)
    letter_row(story, visit, planned.household, date, done, incidents, next_date, window)


def _next(story: VanStory, planned: Planned) -> tuple[dt.date | None, tuple[int, int] | None]:
    """The next date as it was agreed: the one that came, or, ahead, only what was told."""
    after = planned.after
    if after is None:
        return None, None
    if after.date < story.monday:
        return after.date, None
    in_weeks = after.date < story.monday + dt.timedelta(weeks=4)
    window = story.told.get(id(after))
    if planned.household.told and in_weeks and window:
        return after.date, window
    return None, None


def _charges(story: VanStory, visit: uuid.UUID, household: DemoHousehold, date: dt.date, done: list[Done]) -> int:
    total = 0
    for each in done:
        if not each.completed:
            continue
        cents = price_on(each.dog, date, story.monday)
        made = story.wall.instant(date, 17 * 3600)
        story.rows.add(
            "books.Charge",
            id=story.ids.at(made),
            made_at=made,
            household_id=household.id,
            dog_id=each.dog.id,
            visit=visit,
            groom=each.id,
            date=date,
            words=f"{each.dog.name}, the usual",
            cents=cents,
            tax_cents=tax_in([cents], TAX),
            who_id=story.van.groomer,
        )
        total += cents
    return total


def _hand_back(
    story: VanStory,
    visit: uuid.UUID,
    household: DemoHousehold,
    date: dt.date,
    seconds: int,
    cents: int,
    next_date: dt.date | None,
    window: tuple[int, int] | None,
) -> None:
    chance = story.chance
    at = story.wall.instant(date, seconds - 20)
    later = household.pays == "transfer" and chance.random() < 0.6
    paid = "not paid" if later else household.pays
    tip = chance.choice((500, 500, 1000)) if paid == "cash" and chance.random() < 0.2 else 0
    handing_back = story.rows.add(
        "visits.HandingBack",
        id=story.ids.at(at),
        at=at,
        who_id=story.van.groomer,
        visit=visit,
        household_id=household.id,
        price_cents=cents,
        tip_cents=tip,
        paid=paid,
        paid_cents=0 if later else cents,
        next_date=next_date,
        next_from=clock(window[0]) if window else None,
        next_until=clock(window[1]) if window else None,
        next_how="opening" if window else "usual",
    )
    paid_on = date + dt.timedelta(days=chance.randint(1, 12)) if later else date
    forgets = later and (story.monday - date).days < OWING_WEEKS * 7 and chance.random() < 0.25
    if paid_on < story.monday and not forgets:
        _payment(story, visit, None if later else handing_back, household, paid_on, cents, tip)


def _payment(
    story: VanStory,
    visit: uuid.UUID,
    handing_back: uuid.UUID | None,
    household: DemoHousehold,
    date: dt.date,
    cents: int,
    tip: int,
) -> None:
    made = story.wall.instant(date, 18 * 3600)
    story.rows.add(
        "books.Payment",
        id=story.ids.at(made),
        made_at=made,
        household_id=household.id,
        visit=visit,
        handing_back=handing_back,
        date=date,
        way=household.pays,
        cents=cents,
        tip_cents=tip,
        who_id=story.van.groomer,
    )


def _move(
    story: VanStory, product: str, date: dt.date, kind: str, ml: int, words: str, groom_id: uuid.UUID | None = None
) -> None:
    made = story.wall.instant(date, 17 * 3600 if groom_id else 7 * 3600)
    story.stock_ml[product] += ml
    story.rows.add(
        "shelf.Movement",
        id=story.ids.at(made),
        made_at=made,
        product_id=story.firm.products[product].id,
        date=date,
        kind=kind,
        ml=ml,
        groom=groom_id,
        words=words,
        who_id=story.van.groomer,
    )


def _stock(story: VanStory, date: dt.date, done: Done) -> None:
    used: dict[str, int] = defaultdict(int)
    for product, ml in done.products:
        used[product] += ml
    for product, ml in used.items():
        _move(story, product, date, "used", -ml, done.dog.name, done.id)


def _buy(story: VanStory, date: dt.date) -> None:
    """In the morning: a bottle of what runs short, a count on the first working day of a quarter's months."""
    for name, product in story.firm.products.items():
        left = story.stock_ml[name]
        few = BATHS_A_DAY * product.bath_ml if product.kind in ("shampoo", "conditioner") else product.bottle_ml // 2
        bottles = max(0, -(-(few - left) // product.bottle_ml))
        if bottles:
            _move(story, name, date, "bought", bottles * product.bottle_ml, f"bottles: {bottles}")
        elif date.day <= 2 and date.month % 3 == 1 and left > 200:
            _move(story, name, date, "counted", -story.chance.randint(0, 60), "counted in the van")


def _incidents(
    story: VanStory, visit: uuid.UUID, date: dt.date, stop: StopTime, done: list[Done]
) -> list[tuple[str, str, str, str]]:
    """What went wrong at a visit, as (dog, kind, words, what was done): rare, but for the one bite of the first van."""
    told = []
    weeks = (story.monday - date).days // 7
    for each in done:
        kind = ""
        if each.dog.story == "bite" and weeks < 30 and each.completed:
            each.dog.story, kind = "bitten", "bite"
        elif each.completed and "clip" in each.steps and story.chance.random() < 0.002:
            kind = "nick"
        if kind:
            words, what_was_done = INCIDENT_WORDS[kind]
            at = story.wall.instant(date, stop.end - 900)
            story.rows.add(
                "visits.Incident",
                id=story.ids.at(at),
                at=at,
                who_id=story.van.groomer,
                visit=visit,
                dog_id=each.dog.id,
                kind=kind,
                happened_at=at,
                words=words,
                what_was_done=what_was_done,
                owner_told=True,
            )
            told.append((each.dog.name, kind, words, what_was_done))
    return told

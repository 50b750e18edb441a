"""The firm, its groomers, vans, products and vets as rows."""

import datetime as dt
import uuid
from dataclasses import dataclass, replace
from random import Random

from coatround.demo import town
from coatround.demo.layout import BREAK_FROM, BREAK_SECONDS, BREAK_UNTIL, CLEAN_L, REFILL_SECONDS, Depot
from coatround.demo.names import FIRST_NAMES, surname
from coatround.demo.people import phone
from coatround.demo.rows import ZONE, Ids, Rows, Wall

VAN_NAMES = ["Otter", "Heron", "Kettle", "Tansy", "Bramble", "Minnow", "Teasel", "Lantern", "Quince", "Plover"]
GROOMER = "Wren Ashby"
BATH_ML = 12_000
NOT_YET = uuid.UUID(int=0)
GROOMER_PHONES = 9_000
"""The groomers' phones are counted from here, past those of the first vans' people."""


@dataclass(frozen=True, slots=True)
class DemoProduct:
    """A product with its label's ratio."""

    name: str
    kind: str
    product: int
    other: int
    rule: str
    contact_minutes: int
    bottle_ml: int
    not_for: str = ""
    id: uuid.UUID = NOT_YET

    @property
    def bath_ml(self) -> int:
        """What one bath takes of it by its label."""
        parts = self.other + (self.product if self.rule == "water" else 0)
        return round(BATH_ML * self.product / parts)


PRODUCTS = (
    DemoProduct("Plain wash", "shampoo", 1, 32, "water", 3, 5000),
    DemoProduct("Oat wash", "shampoo", 1, 16, "water", 5, 5000),
    DemoProduct("Bright wash", "shampoo", 1, 24, "total", 4, 2500, "red, broken or itchy skin"),
    DemoProduct("Puppy wash", "shampoo", 1, 20, "total", 2, 1000),
    DemoProduct("Soft rinse", "conditioner", 1, 40, "water", 2, 2500),
    DemoProduct("Ear wipe lotion", "ears", 1, 1, "total", 0, 500, "sore, smelly or running ears; a vet looks first"),
    DemoProduct("Tub and table cleaner", "disinfectant", 1, 100, "total", 10, 1000, "dogs; rinse off, air the van"),
)


@dataclass(frozen=True, slots=True)
class FirmIds:
    """What the other rows point at."""

    products: dict[str, DemoProduct]
    vets: tuple[uuid.UUID, ...]
    groomers: tuple[uuid.UUID, ...]
    groomer_names: tuple[str, ...]
    phone: str


@dataclass(frozen=True, slots=True)
class VanIds:
    """A van, who drives it, and its places."""

    van: uuid.UUID
    groomer: uuid.UUID
    home: uuid.UUID
    refill: uuid.UUID
    depot: Depot


def firm_rows(rows: Rows, seed: int, monday: dt.date, vans: int) -> FirmIds:
    """The firm with all its groomers, products and vets."""
    chance = Random(f"{seed}/firm")
    ids, began = Ids(chance), Wall().instant(monday - dt.timedelta(weeks=110), 9 * 3600)
    rows.add(
        "base.Firm",
        id=ids.at(began),
        made_at=began,
        name="Hollow Ford Mobile Grooming",
        country="AU",
        currency="AUD",
        currency_decimals=2,
        zone=ZONE,
        units="metric",
        tax_name="GST",
        tax_rate_percent="10",
        tax_registered=True,
        phone=phone(GROOMER_PHONES),
        email="hello@example.org",
        vet_phone=phone(GROOMER_PHONES + 1),
    )
    groomers = tuple(_groomer(rows, ids, began, number, chance) for number in range(vans))
    products = {each.name: _product(rows, ids, began, each) for each in PRODUCTS}
    vets = tuple(
        rows.add(
            "records.Vet",
            id=ids.at(began),
            made_at=began,
            name=name,
            phone=phone(GROOMER_PHONES + 2 + number),
            address=f"{number + 3} Mill Race, Hollow Ford",
        )
        for number, name in enumerate(("The vet by the weir", "Upper bank animal practice", "Tarrow night vet"))
    )
    names = tuple(row["name"] for row in rows.tables["base.Worker"])
    return FirmIds(products, vets, groomers, names, phone(GROOMER_PHONES))


def _groomer(rows: Rows, ids: Ids, began: dt.datetime, number: int, chance: Random) -> uuid.UUID:
    name = GROOMER if number == 0 else f"{chance.choice(FIRST_NAMES)} {surname(number * 11 + 5)}"
    made: uuid.UUID = rows.add(
        "base.Worker",
        id=ids.at(began),
        made_at=began,
        name=name,
        sign_in_name="wren" if number == 0 else f"groomer{number + 1}",
        password="!",  # noqa: S106 - no password can be this one
        phone=phone(GROOMER_PHONES + 10 + number),
        email=f"{name.split()[0].lower()}@example.org",
    )
    return made


def _product(rows: Rows, ids: Ids, began: dt.datetime, product: DemoProduct) -> DemoProduct:
    made = rows.add(
        "records.Product",
        id=ids.at(began),
        made_at=began,
        name=product.name,
        kind=product.kind,
        ratio_product=product.product,
        ratio_other=product.other,
        ratio_rule=product.rule,
        contact_minutes=product.contact_minutes,
        not_for=product.not_for,
        label="Invented label: shake, mix fresh for each dog, rinse well.",
        bottle_ml=product.bottle_ml,
    )
    return replace(product, id=made)


def van_rows(rows: Rows, ids: Ids, wall: Wall, seed: int, monday: dt.date, number: int, firm: FirmIds) -> VanIds:
    """One van with its home, the tap where it fills, its hours and its days off."""
    began = wall.instant(monday - dt.timedelta(weeks=110), 9 * 3600)
    middle = town.suburb(number * town.SUBURBS_A_VAN, seed)
    home, tap = town.depot_yard(middle), town.weir_tap(middle)
    home_id = _place(rows, ids, began, f"{number + 1} Depot Yard", middle, home, "home", refills=True)
    tap_id = _place(rows, ids, began, f"{number + 1} Weir Tap", middle, tap, "water and drain", refills=True)
    van = rows.add(
        "records.Van",
        id=ids.at(began),
        made_at=began,
        name=VAN_NAMES[number] if number < len(VAN_NAMES) else f"Van {number + 1}",
        home_id=home_id,
        groomer_id=firm.groomers[number],
        clean_l=CLEAN_L,
        grey_l=CLEAN_L,
        has_big_tub=True,
        bath_l=12,
    )
    for weekday in range(5):
        rows.add(
            "records.WorkingHours",
            id=ids.at(began),
            made_at=began,
            van_id=van,
            weekday=weekday,
            open=dt.time(8),
            close=dt.time(17, 30),
            break_minutes=BREAK_SECONDS // 60,
            break_from=dt.time(BREAK_FROM // 3600, BREAK_FROM % 3600 // 60),
            break_until=dt.time(BREAK_UNTIL // 3600),
        )
    for first, last, words in days_off(monday, number):
        rows.add("records.DayOff", id=ids.at(began), made_at=began, van_id=van, first=first, last=last, words=words)
    return VanIds(van, firm.groomers[number], home_id, tap_id, Depot(home, tap))


def _place(
    rows: Rows,
    ids: Ids,
    began: dt.datetime,
    line: str,
    suburb: town.Suburb,
    point: town.Point,
    name: str,
    *,
    refills: bool,
) -> uuid.UUID:
    made: uuid.UUID = rows.add(
        "records.Place",
        id=ids.at(began),
        made_at=began,
        household_id=None,
        name=name,
        line=line,
        suburb=suburb.name,
        postcode=suburb.postcode,
        lat=f"{point.lat:.6f}",
        lon=f"{point.lon:.6f}",
        tap="may use",
        refills=refills,
        refill_seconds=REFILL_SECONDS,
    )
    return made


def days_off(monday: dt.date, van: int) -> list[tuple[dt.date, dt.date, str]]:
    """A van's days off: the end of each year, a week each winter, and one day at the garage in the weeks to come."""
    turns = [dt.date(year, 12, 24) for year in range(monday.year - 3, monday.year + 1)]
    weeks = [monday - dt.timedelta(weeks=back - van % 3) for back in (22, 74)]
    garage = monday + dt.timedelta(days=10)
    return [
        *((turn, turn.replace(year=turn.year + 1, month=1, day=2), "closed over the new year") for turn in turns),
        *((week, week + dt.timedelta(days=4), "a week away") for week in weeks),
        (garage, garage, "van at the garage"),
    ]

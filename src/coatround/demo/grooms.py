"""What happened to one dog at one visit: the look at the door, steps, cotton, findings, measures."""

import datetime as dt
import math
import uuid
from dataclasses import dataclass, field
from random import Random

from coatround.demo.breeds import CUTS, SHED_GRAMS_A_DAY, STEP_SHARES
from coatround.demo.firm_rows import FirmIds
from coatround.demo.layout import GroomTime
from coatround.demo.people import DemoDog
from coatround.demo.people_rows import routine
from coatround.demo.rows import Ids, Rows, Wall

AT_THE_DOOR = 450
"""Seconds before the work that the dog is looked at: as soon as the van is there."""
FALLS_AT_HOME = 0.035
TAKEN = 0.8
"""The share of loose hair that falls at home a day, and the share of what is loose that a groom takes."""
HAIR_NOISE = 0.12
WEIGHT_NOISE = 0.008
LOSS_DAYS = 210
NOTES = (
    "Likes the radio low.",
    "Stands better facing the door.",
    "New lead, chewed the old one.",
    "Owner asked for ears a little longer next time.",
    "Rested once on the mat.",
)


@dataclass(slots=True)
class Tale:
    """What is carried from one groom of a dog to the next: when it was, how much loose hair was left."""

    last: dt.date | None = None
    loose_grams: float = 0.0
    condition: int = 5
    weighs: bool = True
    grams_told: bool = True
    weights: list[tuple[dt.date, int]] = field(default_factory=list)


@dataclass(slots=True)
class Done:
    """One groom as the books, the shelf and the letter need it."""

    id: uuid.UUID
    dog: DemoDog
    completed: bool
    steps: list[str]
    products: list[tuple[str, int]]
    findings: list[tuple[str, str, int, str]] = field(default_factory=list)
    weight: int = 0
    lost_percent: int = 0
    cotton: tuple[int, int, int] = (0, 0, 0)
    why_not: str = ""


@dataclass(slots=True)
class Bench:
    """Everything that writing a groom down needs."""

    rows: Rows
    ids: Ids
    wall: Wall
    chance: Random
    firm: FirmIds
    groomer: uuid.UUID
    monday: dt.date
    tales: dict[uuid.UUID, Tale]


def tale_of(dog: DemoDog, chance: Random) -> Tale:
    """How a dog starts out: condition, and whether its weight and hair are taken at all."""
    shed = SHED_GRAMS_A_DAY[dog.breed.coat] * dog.grams / 15_000
    grams_told = dog.breed.coat in ("double", "smooth", "mixed") and chance.random() < 0.6
    return Tale(None, shed * 30, chance.choice((4, 5, 5, 5, 6, 6)), chance.random() < 0.85, grams_told)


def turned_away(bench: Bench, visit: uuid.UUID, dog: DemoDog, date: dt.date, seconds: int, sign: str) -> Done:
    """A dog that was not fit that day."""
    reason = {
        "cough": "Coughing: not today. Comes back on a vet's word.",
        "vomit": "Sick in the night: not today.",
        "stitches": "Stitches still in: not today.",
    }[sign]
    _fit(bench, visit, dog, date, seconds, [sign], "not today", reason)
    said = bench.wall.instant(date, seconds + 300)
    groom = bench.rows.add(
        "visits.Groom",
        id=bench.ids.at(said),
        at=said,
        who_id=bench.groomer,
        visit=visit,
        dog_id=dog.id,
        date=date,
        state="CANCELLED",
        usual_done=False,
        why_not=reason,
    )
    return Done(groom, dog, False, [], [], why_not=reason)


def groom(bench: Bench, visit: uuid.UUID, date: dt.date, time: GroomTime) -> Done:
    """One dog washed, dried and finished."""
    dog, chance = time.dog, bench.chance
    tale = bench.tales[dog.id]
    matted = dog.breed.coat in ("curly", "silky") and chance.random() < 0.05
    _fit(bench, visit, dog, date, time.start - AT_THE_DOOR, ["mats"] if matted else [], "go", "")
    steps = routine(dog)
    if matted:
        steps.insert([step for step, _, _ in steps].index("brush-out") + 1, ("de-mat", "", "behind the ears"))
    cotton_in = 2 if any(step == "cotton in" for step, _, _ in steps) else 0
    fell = 1 if cotton_in and chance.random() < 0.02 else 0
    said = bench.wall.instant(date, time.start + time.seconds)
    done = Done(
        bench.ids.at(said),
        dog,
        True,
        [step for step, _, _ in steps],
        [(product, bench.firm.products[product].bath_ml) for _, product, _ in steps if product],
        cotton=(cotton_in, cotton_in - fell, fell),
    )
    bench.rows.add(
        "visits.Groom",
        id=done.id,
        at=said,
        who_id=bench.groomer,
        visit=visit,
        dog_id=dog.id,
        date=date,
        state="COMPLETED",
        usual_done=not matted,
        started_at=bench.wall.instant(date, time.start),
        ended_at=said,
        work_seconds=time.seconds,
        water_l=max(4, round(dog.litres * chance.uniform(0.85, 1.15))),
        cut=CUTS[dog.breed.coat][dog.cut % len(CUTS[dog.breed.coat])],
        stood=chance.choices(("calm", "uneasy", "tired", "fought"), (80, 14, 4, 2))[0],
        notes=chance.choice(NOTES) if chance.random() < 0.06 else "",
        cotton_in=cotton_in,
        cotton_taken_out=cotton_in - fell,
        cotton_fell_out=fell,
    )
    _steps(bench, done, steps, time.seconds)
    _measures(bench, done, date, tale)
    done.findings = _findings(dog, date, bench, matted)
    for part, kind, grade, words in done.findings:
        bench.rows.add("visits.Finding", groom_id=done.id, part=part, kind=kind, grade=grade, words=words)
    return done


def _fit(
    bench: Bench,
    visit: uuid.UUID,
    dog: DemoDog,
    date: dt.date,
    seconds: int,
    signs: list[str],
    answer: str,
    reason: str,
) -> None:
    at = bench.wall.instant(date, seconds)
    bench.rows.add(
        "visits.Fit",
        id=bench.ids.at(at),
        at=at,
        who_id=bench.groomer,
        visit=visit,
        dog_id=dog.id,
        signs=signs,
        answer=answer,
        reason=reason,
    )


def _steps(bench: Bench, done: Done, steps: list[tuple[str, str, str]], seconds: int) -> None:
    """The steps' seconds add up to the groom's."""
    shares = [STEP_SHARES[step] * bench.chance.uniform(0.8, 1.2) for step, _, _ in steps]
    whole, so_far, before = sum(shares), 0.0, 0
    for order, (step, product, words) in enumerate(steps):
        so_far += shares[order]
        now = round(seconds * so_far / whole)
        used = bench.firm.products[product] if product else None
        bench.rows.add(
            "visits.GroomStep",
            groom_id=done.id,
            order=order,
            step=step,
            product_id=used.id if used else None,
            product_ml=used.bath_ml if used else None,
            seconds=now - before,
            words=words,
        )
        before = now


def _measures(bench: Bench, done: Done, date: dt.date, tale: Tale) -> None:
    chance, dog = bench.chance, done.dog
    taken: dict[str, int] = {}
    hair = _hair(dog, date, tale, chance)
    if tale.weighs and (dog.story in ("loss", "gain") or chance.random() < 0.8):
        taken["weight"] = _weighed(dog, date, bench.monday, chance)
        done.weight = taken["weight"]
        done.lost_percent = _lost(tale, date, done.weight)
    if chance.random() < 0.35:
        taken["condition"] = min(9, max(1, tale.condition + _condition_drift(dog, date, bench.monday)))
    if chance.random() < 0.7 or dog.story == "ear":
        taken["left ear"] = _ear(dog, date, bench.monday, chance)
        taken["right ear"] = 1 if chance.random() < 0.03 else 0
    if chance.random() < 0.5 or dog.story == "thin coat":
        thin = dog.story == "thin coat" and (bench.monday - date).days < 150
        taken["skin"] = 2 if thin else (1 if "skin" in dog.cautions and chance.random() < 0.4 else 0)
    if tale.grams_told and hair:
        taken["hair"] = hair
    elif chance.random() < 0.3 and dog.breed.coat != "hairless":
        taken["hair grade"] = min(3, hair // 25)
    for kind, value in taken.items():
        bench.rows.add("visits.Measure", groom_id=done.id, dog_id=dog.id, date=date, kind=kind, value=value)


def _weighed(dog: DemoDog, date: dt.date, monday: dt.date, chance: Random) -> int:
    """The weight on scales that show 50 g."""
    return round(dog.grams * _drift(dog, date, monday) * math.exp(chance.gauss(0, WEIGHT_NOISE)) / 50) * 50


def _lost(tale: Tale, date: dt.date, grams: int) -> int:
    """How many percent a weight is under the most of the year before; keeps it for the next time."""
    most = max((before for when, before in tale.weights if (date - when).days <= 365), default=grams)
    tale.weights.append((date, grams))
    return max(0, (most - grams) * 100 // most)


def _hair(dog: DemoDog, date: dt.date, tale: Tale, chance: Random) -> int:
    """Grams combed out: loose hair builds up as it is shed, a share falls at home, a groom takes most of the rest."""
    shed = SHED_GRAMS_A_DAY[dog.breed.coat] * dog.grams / 15_000 * (1.6 if date.month in (9, 10, 11) else 1.0)
    days = (date - tale.last).days if tale.last else 45
    settled = shed / FALLS_AT_HOME
    loose = settled + (tale.loose_grams - settled) * math.exp(-FALLS_AT_HOME * days)
    tale.last, tale.loose_grams = date, loose * (1 - TAKEN)
    return round(loose * TAKEN * math.exp(chance.gauss(0, HAIR_NOISE)))


def _drift(dog: DemoDog, date: dt.date, monday: dt.date) -> float:
    """The weight of a dog with a story, as a share of what it was: one loses an eighth in seven months, one gains."""
    days = (monday - date).days
    if dog.story == "loss":
        return 1 - 0.13 * max(0.0, 1 - days / LOSS_DAYS)
    if dog.story == "gain":
        return 1 + 0.10 * max(0.0, 1 - days / 700)
    return 1.0


def _condition_drift(dog: DemoDog, date: dt.date, monday: dt.date) -> int:
    return {"loss": -1, "gain": 1}.get(dog.story, 0) if (monday - date).days < 100 else 0


def _ear(dog: DemoDog, date: dt.date, monday: dt.date, chance: Random) -> int:
    if dog.story == "ear":
        return min(2, max(0, round(2.4 - (monday - date).days / 80)))
    return 1 if chance.random() < (0.12 if "ears" in dog.cautions else 0.02) else 0


def _findings(dog: DemoDog, date: dt.date, bench: Bench, matted: bool) -> list[tuple[str, str, int, str]]:
    chance, days = bench.chance, (bench.monday - date).days
    found: list[tuple[str, str, int, str]] = []
    if matted:
        found.append(("neck", "mat", chance.choice((1, 2, 2)), "behind both ears"))
    if dog.story == "lump" and days < 300:
        found.append(
            (
                "right side",
                "lump",
                1 if days > 120 else 2,
                "soft, moves under the finger" if days > 120 else "bigger than last time",
            )
        )
    if dog.story == "ear" and days < 100:
        found.append(("left ear", "smell", 1 if days > 50 else 2, "shakes its head"))
    if dog.story == "thin coat" and days < 150:
        found.append(("back", "flaky", 2, ""))
    if chance.random() < 0.02:
        found.append((chance.choice(("belly", "back", "rear")), "flaky", 1, ""))
    if chance.random() < 0.012:
        found.append(("front feet", "nail", 1, "short again, no bleeding"))
    if date.month in (11, 12, 1) and chance.random() < 0.04:
        found.append(("front feet", "seed", 1, "between the toes, came out whole"))
    if chance.random() < 0.008:
        found.append(("neck", "tick", 1, "shown to the owner"))
    if chance.random() < 0.01 and (dog.breed.size in ("tiny", "small")):
        found.append(("mouth", "tooth", chance.choice((1, 2)), "brown at the back"))
    return found

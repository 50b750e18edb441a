"""The rows of a groom's page, with what stands in each field: the usual, what was recorded, or what was just typed."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from coatround.web.base.models import Firm
from coatround.web.records import words as record_words
from coatround.web.records.models import Product, Usual
from coatround.web.visits.models import Groom
from coatround.web.visits.phrases import GRADES

MORE_FINDINGS = 2
PLAIN_STEPS = record_words.STEPS
WITH_PRODUCT = ("first wash", "second wash", "condition", "rinse", "wipe", "hygiene", "brush-out", "finish")
GRAMS_A_POUND = 453.59237


def slug(word: str) -> str:
    return word.replace(" ", "-")


@dataclass(frozen=True, slots=True)
class Routine:
    """One step of the routine, by its place in it."""

    key: str
    step: str
    product: str
    words: str
    takes_product: bool


@dataclass(frozen=True, slots=True)
class StepRow:
    """A step's line: ticked when done, its product and millilitres where it takes one."""

    key: str
    step: str
    label: str
    usual_words: str
    done: bool
    takes_product: bool
    product: str
    ml: str
    words: str
    error: str = ""


@dataclass(frozen=True, slots=True)
class FindingRow:
    """A part of the body, and what was found there."""

    key: str
    part: str
    label: str
    kind: str
    grade: str
    words: str
    error: str = ""


@dataclass(frozen=True, slots=True)
class CutRow:
    part: str
    label: str
    how: str
    mm: str
    error: str = ""


@dataclass(frozen=True, slots=True)
class Field:
    """A plain field: number, choice or text."""

    name: str
    label: str
    value: str
    error: str = ""
    choices: tuple[tuple[str, Any], ...] = ()


def routine_of(usual: Usual | None) -> list[Routine]:
    """The steps of the usual, each with a key of its own."""
    return [
        Routine(
            str(number),
            step.step,
            str(step.product_id or ""),
            step.words,
            step.product_id is not None or step.step in WITH_PRODUCT,
        )
        for number, step in enumerate(usual.steps.all() if usual else [])
    ]


def usual_values(usual: Usual | None) -> dict[str, str]:
    """What stands in the fields when all was as usual."""
    values: dict[str, str] = {}
    for row in routine_of(usual):
        values |= {f"done-{row.key}": "yes", f"product-{row.key}": row.product}
    values |= _cut_values(usual.cut if usual else {})
    if usual and any(row.step == "cotton in" for row in routine_of(usual)):
        values |= {"cotton-asked": "yes", "cotton-in": "2", "cotton-taken_out": "2"}
    return values


def _cut_values(cut: Mapping[str, Any]) -> dict[str, str]:
    values = {}
    for part, said in cut.items():
        values[f"how-{part}"] = str(said.get("how", ""))
        values[f"mm-{part}"] = f"{said['mm']:g}" if isinstance(said.get("mm"), int | float) else ""
    return values


def recorded_values(groom: Groom, usual: Usual | None, firm: Firm, zone: Any) -> dict[str, str]:
    """What stands in the fields when a groom was recorded already and is to be corrected."""
    values = usual_values(usual) if groom.state == "COMPLETED" else {}
    values |= _step_values(groom, usual)
    values |= _cut_values(groom.cut)
    values |= _finding_values(groom)
    for measure in groom.measures.all():
        name = {"weight": "weight", "hair": "hair_grams"}.get(measure.kind, slug(measure.kind).replace("-", "_"))
        values[name] = str(measure.value)
    if "weight" in values:
        values["weight"] = _weight_text(int(values["weight"]), firm)
    if groom.cotton_in or "cotton-asked" in values:
        for name in ("in", "taken_out", "fell_out", "swallowed", "not_found"):
            values[f"cotton-{name}"] = str(getattr(groom, f"cotton_{name}") or "")
    for name, at in (("started", groom.started_at), ("ended", groom.ended_at)):
        values[name] = at.astimezone(zone).strftime("%H:%M") if at else ""
    values |= {"stood": groom.stood, "notes": groom.notes, "why_not": groom.why_not}
    return values | {"water_l": str(groom.water_l or "")}


def _weight_text(grams: int, firm: Firm) -> str:
    return f"{grams / GRAMS_A_POUND:.1f}" if firm.units == "us" else f"{grams / 1000:g}"


def _step_values(groom: Groom, usual: Usual | None) -> dict[str, str]:
    values: dict[str, str] = {}
    left = list(routine_of(usual))
    for step in groom.steps.all():
        row = next((row for row in left if row.step == step.step), None)
        if row is None:
            values[f"also-{slug(step.step)}"] = "yes"
            continue
        left.remove(row)
        values |= {f"done-{row.key}": "yes" if step.done else "", f"words-{row.key}": step.words}
        if step.done:
            values |= {f"product-{row.key}": str(step.product_id or ""), f"ml-{row.key}": str(step.product_ml or "")}
    return values


def _finding_values(groom: Groom) -> dict[str, str]:
    values: dict[str, str] = {}
    more = iter(range(MORE_FINDINGS))
    for found in groom.findings.all():
        key = slug(found.part)
        if f"kind-{key}" in values:
            number = next(more, None)
            if number is None:
                continue
            key = f"more-{number}"
            values[f"part-{key}"] = found.part
        values |= {f"kind-{key}": found.kind, f"grade-{key}": str(found.grade), f"found-{key}": found.words}
    return values


def sides() -> list[tuple[str, list[tuple[str, Any, Any]]]]:
    """The two pictures of the dog, each with its parts: key, whole name, and the name as it stands on that side."""
    short = {
        "ear": _("ear"),
        "eye": _("eye"),
        "side": _("side"),
        "front leg": _("front leg"),
        "hind leg": _("hind leg"),
    }
    shown = []
    for side, other in (("left", "right"), ("right", "left")):
        parts = [(part, words) for part, words in record_words.PARTS if not part.startswith(other)]
        shown.append(
            (side, [(slug(part), words, short.get(part.removeprefix(f"{side} "), words)) for part, words in parts])
        )
    return shown


@dataclass(frozen=True, slots=True)
class Rows:
    """Everything the template draws, ready with its values."""

    steps: list[StepRow]
    also: list[tuple[str, str, Any, bool]]
    findings: list[FindingRow]
    cut: list[CutRow]
    cotton: list[Field]
    grades: list[Field]
    found_kinds: list[tuple[str, Any]]
    found_grades: list[tuple[str, Any]]
    ways: list[tuple[str, Any]]
    products: list[tuple[str, str]]
    sides: list[tuple[str, list[tuple[str, Any, Any]]]]


def rows_of(
    values: Mapping[str, str], usual: Usual | None, products: Iterable[Product], errors: Mapping[str, str]
) -> Rows:
    """The rows of the page, from the values that stand in its fields."""

    def of(name: str) -> str:
        return values.get(name, "")

    steps = dict(record_words.STEPS)
    return Rows(
        steps=[
            StepRow(
                row.key,
                row.step,
                str(steps[row.step]),
                row.words,
                bool(of(f"done-{row.key}")),
                row.takes_product,
                of(f"product-{row.key}"),
                of(f"ml-{row.key}"),
                of(f"words-{row.key}"),
                errors.get(f"ml-{row.key}", ""),
            )
            for row in routine_of(usual)
        ],
        also=[(slug(step), step, words, bool(of(f"also-{slug(step)}"))) for step, words in PLAIN_STEPS],
        findings=[*_part_rows(of, errors), *_more_rows(of, errors)],
        cut=[
            CutRow(part, str(words), of(f"how-{part}"), of(f"mm-{part}"), errors.get(f"mm-{part}", ""))
            for part, words in record_words.CUT_PARTS
        ],
        cotton=[
            Field(f"cotton-{name}", str(words), of(f"cotton-{name}"), errors.get(f"cotton-{name}", ""))
            for name, words in (
                ("in", _("Put in")),
                ("taken_out", _("Taken out")),
                ("fell_out", _("Fell out and found")),
                ("swallowed", _("Swallowed")),
                ("not_found", _("Not found")),
            )
        ],
        grades=[
            Field(name, str(words), of(name), errors.get(name, ""), _graded(name))
            for name, words in (
                ("condition", _("Condition, 1 thin to 9 fat")),
                ("left_ear", _("Left ear")),
                ("right_ear", _("Right ear")),
                ("skin", _("Skin")),
                ("hair_grade", _("Loose hair")),
            )
        ],
        found_kinds=list(record_words.FINDINGS),
        found_grades=[(str(grade), words) for grade, words in GRADES],
        ways=list(record_words.CUT_WAYS),
        products=[(str(product.pk), product.name) for product in products],
        sides=sides(),
    )


def _graded(name: str) -> tuple[tuple[str, Any], ...]:
    if name == "condition":
        return tuple((str(number), str(number)) for number in range(1, 10))
    words = (_("0 fine"), _("1 slight"), _("2 plain"), _("3 bad"))
    if name == "hair_grade":
        words = (_("0 none"), _("1 little"), _("2 much"), _("3 very much"))
    return tuple((str(number), word) for number, word in enumerate(words))


def _part_rows(of: Any, errors: Mapping[str, str]) -> list[FindingRow]:
    return [
        FindingRow(
            slug(part),
            part,
            str(words),
            of(f"kind-{slug(part)}"),
            of(f"grade-{slug(part)}") or "1",
            of(f"found-{slug(part)}"),
            errors.get(f"kind-{slug(part)}", ""),
        )
        for part, words in record_words.PARTS
    ]


def _more_rows(of: Any, errors: Mapping[str, str]) -> list[FindingRow]:
    keys = [f"more-{number}" for number in range(MORE_FINDINGS)]
    return [
        FindingRow(
            key,
            of(f"part-{key}"),
            "",
            of(f"kind-{key}"),
            of(f"grade-{key}") or "1",
            of(f"found-{key}"),
            errors.get(f"kind-{key}", ""),
        )
        for key in keys
    ]

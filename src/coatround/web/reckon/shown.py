"""An answer as people read it: figures with their units, tables, and a picture where one says more."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from coatround.core.reckon.measures import System, to_people, unit_name
from coatround.web.base.picture import Drawn, Picture, picture
from coatround.web.watch.over_time import home_picture

WORDS: Mapping[str, tuple[Any, str]] = {
    "name": (gettext_lazy("product"), ""),
    "ml": (gettext_lazy("pour"), "ml"),
    "water_litres": (gettext_lazy("water"), "litres"),
    "hot_litres": (gettext_lazy("hot"), "litres"),
    "cold_litres": (gettext_lazy("cold"), "litres"),
    "kwh_from_cold": (gettext_lazy("heating all of it from cold"), "kWh"),
    "ppm": (gettext_lazy("strength"), "ppm"),
    "percent": (gettext_lazy("strength"), "percent"),
    "surface_m2": (gettext_lazy("body surface"), "m²"),
    "resting_kcal": (gettext_lazy("resting energy a day"), "kcal"),
    "dose_percent": (gettext_lazy("dose of the day"), "percent"),
    "twa_dba": (gettext_lazy("as if for 8 hours"), "dba"),
    "lex_8h_dba": (gettext_lazy("energy spread over 8 hours"), "dba"),
    "minutes_left": (gettext_lazy("left at the loudest, until 100 %"), "minutes"),
    "limit_kg": (gettext_lazy("recommended limit"), "kg"),
    "index": (gettext_lazy("load against the limit"), ""),
    "horizontal": (gettext_lazy("reach leaves"), ""),
    "vertical": (gettext_lazy("height leaves"), ""),
    "distance": (gettext_lazy("way leaves"), ""),
    "asymmetry": (gettext_lazy("turn leaves"), ""),
    "frequency": (gettext_lazy("often leaves"), ""),
    "coupling": (gettext_lazy("grip leaves"), ""),
    "heat_index_c": (gettext_lazy("heat index"), "c"),
    "hour": (gettext_lazy("hour"), ""),
    "temp_c": (gettext_lazy("air"), "c"),
    "closed": (gettext_lazy("closed"), ""),
    "rule": (gettext_lazy("rule"), ""),
    "interval_days": (gettext_lazy("days between"), ""),
    "home_g_a_day": (gettext_lazy("at home a day"), "g"),
    "low": (gettext_lazy("from"), ""),
    "high": (gettext_lazy("to"), ""),
    "shed_g_a_day": (gettext_lazy("comes loose a day"), "g"),
    "loose_share_a_day": (gettext_lazy("share that falls a day"), ""),
    "advice": (gettext_lazy("so"), ""),
    "words": (gettext_lazy("so"), ""),
    "change": (gettext_lazy("change"), ""),
    "mean": (gettext_lazy("mean"), ""),
    "sd": (gettext_lazy("give or take (standard deviation)"), ""),
    "between_sd": (gettext_lazy("spread between groups"), ""),
    "within_sd": (gettext_lazy("spread within a group"), ""),
    "tax_cents": (gettext_lazy("tax"), ""),
    "total_cents": (gettext_lazy("total"), ""),
    "cost_cents": (gettext_lazy("costs you, your time apart"), ""),
    "price_cents": (gettext_lazy("price before tax"), ""),
    "work_cents": (gettext_lazy("your time"), ""),
    "drive_cents": (gettext_lazy("driving"), ""),
    "product_cents": (gettext_lazy("products"), ""),
    "water_cents": (gettext_lazy("water"), ""),
    "wear_cents": (gettext_lazy("wear"), ""),
    "before": (gettext_lazy("before"), ""),
    "after": (gettext_lazy("since"), ""),
    "days": (gettext_lazy("days"), ""),
    "series": (gettext_lazy("weighted mean"), ""),
    "signals": (gettext_lazy("values outside"), ""),
    "limits": (gettext_lazy("limits"), ""),
    "multipliers": (gettext_lazy("what each part leaves of 23 kg"), ""),
    "parts": (gettext_lazy("made of"), ""),
    "estimates": (gettext_lazy("groups"), ""),
    "products": (gettext_lazy("products"), ""),
    "hours": (gettext_lazy("hours"), ""),
    "curve": (gettext_lazy("hair at home against days between grooms"), ""),
}


@dataclass(frozen=True, slots=True)
class Table:
    """A table of an answer: its heading, its columns, its rows as words."""

    heading: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Shown:
    """An answer: sentences, figures, tables, a picture, and its caution."""

    sentences: tuple[str, ...]
    figures: tuple[tuple[str, str], ...]
    tables: tuple[Table, ...]
    picture: Picture | None
    caution: str


def shown(name: str, asked: Mapping[str, Any], answer: Mapping[str, Any], system: System) -> Shown:
    """An answer in the firm's units."""
    sentences, figures, tables = [], [], []
    for key, said in answer.items():
        if key == "caution":
            continue
        if isinstance(said, str):
            sentences.append(said)
        elif isinstance(said, dict):
            inner = [(part, value) for part, value in said.items() if not isinstance(value, list)]
            if any(isinstance(value, dict) for _part, value in inner):
                tables.append(_table(key, [{"group": part, **value} for part, value in inner], system))
            elif set(said) == {"mean", "sd"}:
                figures.append((words(key), f"{figure(key, said['mean'], system)} ± {said['sd']:.2g}"))
            elif inner:
                tables.append(_pairs(key, inner, system))
        elif isinstance(said, list) and said and isinstance(said[0], dict):
            tables.append(_table(key, said, system))
        elif isinstance(said, list):
            figures.append((words(key), ", ".join(figure(key, one, system) for one in said) or _("none")))
        else:
            figures.append((words(key), figure(key, said, system)))
    drawn = PICTURES[name](asked, answer, system) if name in PICTURES else None
    return Shown(tuple(sentences), tuple(figures), tuple(tables), drawn, str(answer.get("caution", "")))


def words(key: str) -> str:
    """What the page calls a key of an answer."""
    return str(WORDS[key][0]) if key in WORDS else key


def figure(key: str, value: Any, system: System, *, with_unit: bool = True) -> str:
    """A value to three figures, whole numbers as they are; with its unit, unless that stands above it."""
    if value is None:
        return _("none")
    if isinstance(value, bool):
        return _("closed") if value else _("not closed")
    if isinstance(value, str):
        return value
    unit = WORDS[key][1] if key in WORDS else ""
    if key.endswith("_cents"):
        return f"{value}"
    number = to_people(value, unit, system)
    said = f"{number:.0f}" if abs(number) >= 100 or number == int(number) else f"{number:.3g}"
    return f"{said} {unit_name(unit, system)}" if unit and with_unit else said


def heading(key: str, system: System) -> str:
    """What a column is called, with its unit."""
    unit = WORDS[key][1] if key in WORDS else ""
    return f"{words(key)} ({unit_name(unit, system)})" if unit else words(key)


def _pairs(key: str, inner: Sequence[tuple[str, Any]], system: System) -> Table:
    rows = tuple((words(part), figure(part, value, system)) for part, value in inner)
    return Table(words(key), (_("part"), _("figure")), rows)


def _table(key: str, rows: Sequence[Mapping[str, Any]], system: System) -> Table:
    columns = tuple(rows[0])
    said = tuple(tuple(figure(column, row.get(column), system, with_unit=False) for column in columns) for row in rows)
    return Table(words(key), tuple(heading(column, system) for column in columns), said)


def _hours(asked: Mapping[str, Any], answer: Mapping[str, Any], system: System) -> Picture:
    hours = answer["hours"]
    air = [(hour["hour"], to_people(hour["temp_c"], "c", system)) for hour in hours]
    index = [(hour["hour"], to_people(hour["heat_index_c"], "c", system)) for hour in hours]
    closed = [point for point, hour in zip(air, hours, strict=True) if hour["closed"]]
    drawn = [Drawn("line", air), Drawn("other", index), Drawn("care", closed)]
    said = _("The air through the day; the heat index as a broken line; a ring around each hour that is closed.")
    return picture(drawn, _("Heat through the day"), said, x_words=[(0, "0:00"), (12, "12:00"), (23, "23:00")])


def _curve(asked: Mapping[str, Any], answer: Mapping[str, Any], system: System) -> Picture:
    return home_picture(
        [(at["interval_days"] / 7, at["home_g_a_day"], at["low"], at["high"]) for at in answer["curve"]]
    )


def _ewma(asked: Mapping[str, Any], answer: Mapping[str, Any], system: System) -> Picture:
    values, series, limits, signals = asked["values"], answer["series"], answer["limits"], answer["signals"]
    last = len(values)
    drawn = [
        Drawn("dots", list(enumerate(values, 1))),
        Drawn("line", list(enumerate(series, 1))),
        *(Drawn("limit", [(1, limit), (last, limit)]) for limit in limits),
        Drawn("care", [(place, series[place - 1]) for place in signals]),
    ]
    said = _("Values as dots, their weighted mean as a line, the limits as broken lines, a ring where it lies outside.")
    return picture(drawn, _("Values in order"), said, x_words=[(1, "1"), (last, str(last))])


def _cusum(asked: Mapping[str, Any], answer: Mapping[str, Any], system: System) -> Picture:
    last = len(answer["high"])
    high, low = list(enumerate(answer["high"], 1)), list(enumerate(answer["low"], 1))
    limit = answer["limits"][1]
    out = [(place, max(answer["high"][place - 1], answer["low"][place - 1])) for place in answer["signals"]]
    drawn = [Drawn("line", high), Drawn("other", low), Drawn("limit", [(1, limit), (last, limit)]), Drawn("care", out)]
    said = _("The sum above as a line, the sum below as a broken line, the limit, a ring where one is over it.")
    return picture(drawn, _("Sums"), said, x_words=[(1, "1"), (last, str(last))])


PICTURES = {"hot-hours": _hours, "coat": _curve, "ewma": _ewma, "cusum": _cusum}

"""Figures that are our own default, and what the firm sets instead."""

from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from coatround.core.reckon.cautions import HEAT, NOISE
from coatround.core.reckon.measures import System, from_people, to_people, unit_name
from coatround.core.trade import figures
from coatround.web.base.firm import firm_or_none, the_firm
from coatround.web.base.models import Worker
from coatround.web.reckon.form import number_of
from coatround.web.records.actions import keep


@dataclass
class Line:
    """One figure on the page: what was typed, our default in the firm's unit, and what is wrong with it."""

    figure: figures.Figure
    typed: str
    default: str
    unit: str
    error: str = ""

    @property
    def name(self) -> str:
        return self.figure.key.replace(" ", "-")


def page(request: HttpRequest) -> HttpResponse:
    """Shows every figure with its default; an empty field is our default again."""
    firm = the_firm()
    system: System = "us" if firm.units == "us" else "metric"
    groups = [
        (_("Heat"), figures.HEAT),
        (_("The day's curve"), figures.DAY),
        (_("Noise"), figures.NOISE),
        (_("Water"), figures.WATER),
    ]
    typed = request.POST if request.method == "POST" else None
    own: dict[str, float] = {}
    shown = []
    for heading, some in groups:
        lines = [_line(figure, firm.figures, typed, system, own) for figure in some]
        shown.append((heading, lines))
    wrong = any(line.error for _heading, lines in shown for line in lines)
    if typed is not None and not wrong:
        row = firm_or_none() or firm  # not the one that this request shares
        row.figures = own
        keep(row, request.user if isinstance(request.user, Worker) else None)
        messages.success(request, _("Written down. What is empty is our own default."))
        return redirect("reckon:figures")
    given = {"groups": shown, "wrong": wrong, "cautions": (HEAT, NOISE)}
    return render(request, "reckon/figures.html", given, status=422 if wrong else 200)


def _line(figure: figures.Figure, kept: dict[str, float], typed: object, system: System, own: dict[str, float]) -> Line:
    unit = figure.unit

    def said(value: float) -> str:
        return f"{to_people(value, unit, system):.4g}"

    line = Line(
        figure, said(kept[figure.key]) if figure.key in kept else "", said(figure.default), unit_name(unit, system)
    )
    if typed is None:
        return line
    line.typed = str(typed.get(line.name, "")).strip()[:20]  # type: ignore[attr-defined]
    if not line.typed:
        return line
    number = number_of(line.typed)
    value = number if isinstance(number, str) else from_people(number, unit, system)
    if isinstance(value, str) or not figure.low <= value <= figure.high:
        words = _("%(typed)s is not from %(low)s to %(high)s. Write a number between, or leave it empty.")
        line.error = words % {"typed": line.typed, "low": said(figure.low), "high": said(figure.high)}
    else:
        own[figure.key] = round(value, 6)
    return line

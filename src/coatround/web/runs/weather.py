"""A day's weather on its runs: the heat through the day, and the hours closed to dogs with a caution for heat."""

import datetime as dt
import uuid
from collections.abc import Iterable, Mapping, Sequence

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext_lazy as _

from coatround.core.reckon.cautions import HEAT
from coatround.core.trade.figures import Own, closed_from_c, figure
from coatround.core.trade.heat import hot_hours, temp_at
from coatround.core.units import HOUR
from coatround.web.base.firm import the_firm
from coatround.web.base.models import Worker
from coatround.web.records.actions import keep
from coatround.web.records.models import Caution, Dog, Weather
from coatround.web.records.seasons import HEAT_KINDS
from coatround.web.rounds.models import Run
from coatround.web.runs.sheet import HotHours

HALF = HOUR // 2


class WeatherForm(forms.Form):
    """Low, high and humidity of a day, in the firm's degrees."""

    low = forms.FloatField(label=_("Low"))
    high = forms.FloatField(label=_("High"))
    humidity = forms.IntegerField(label=_("Humidity, percent"), min_value=0, max_value=100, initial=50)

    def __init__(self, *args: object, fahrenheit: bool, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        self.fahrenheit = fahrenheit
        least, most = (-40, 140) if fahrenheit else (-40, 60)
        for name in ("low", "high"):
            self.fields[name].label = _("%(name)s, %(degrees)s") % {
                "name": self.fields[name].label,
                "degrees": "°F" if fahrenheit else "°C",
            }
            self.fields[name].widget.attrs["inputmode"] = "decimal"
        self.least, self.most = least, most

    def clean(self) -> dict[str, object]:
        typed = super().clean() or {}
        for name in ("low", "high"):
            value = typed.get(name)
            if value is not None and not self.least <= value <= self.most:
                words = _("%(value)s is no air temperature; write one from %(least)d to %(most)d.")
                self.add_error(name, words % {"value": f"{value:g}", "least": self.least, "most": self.most})
        low, high = typed.get("low"), typed.get("high")
        if low is not None and high is not None and low > high:
            self.add_error("high", _("This is below the low. Write the high of the day."))
        return typed

    def tenths(self, name: str) -> int:
        value: float = self.cleaned_data[name]
        return round(10 * ((value - 32) * 5 / 9 if self.fahrenheit else value))


def page(request: HttpRequest, pk: uuid.UUID) -> HttpResponse:
    """Writes down a run's weather; its sheet then shows the heat through the day."""
    run = get_object_or_404(Run, pk=pk)
    row = Weather.objects.filter(date=run.date).first()
    fahrenheit = the_firm().units == "us"
    initial: dict[str, float] = {"humidity": 50}
    if row is not None:
        initial |= {
            "low": degrees(row.low_tenths_c / 10, fahrenheit=fahrenheit),
            "high": degrees(row.high_tenths_c / 10, fahrenheit=fahrenheit),
            "humidity": row.humidity_percent,
        }
    form = WeatherForm(request.POST if request.method == "POST" else None, initial=initial, fahrenheit=fahrenheit)
    if request.method == "POST" and form.is_valid():
        row = row or Weather(date=run.date)
        row.low_tenths_c, row.high_tenths_c = form.tenths("low"), form.tenths("high")
        row.humidity_percent = form.cleaned_data["humidity"]
        keep(row, request.user if isinstance(request.user, Worker) else None)
        return redirect("runs:sheet", run.pk)
    status = 422 if form.is_bound else 200
    return render(request, "runs/weather.html", {"run": run, "form": form, "caution": HEAT}, status=status)


def degrees(celsius: float, *, fahrenheit: bool) -> float:
    """A temperature in the firm's degrees, to a tenth."""
    return round(celsius * 9 / 5 + 32 if fahrenheit else celsius, 1)


def heat_of(
    weather: Weather | None, leave: int, back: int, own: Own, *, fahrenheit: bool
) -> tuple[tuple[int, float], ...]:
    """(seconds, degrees) along a run by half hours; nothing where no weather is written down."""
    if weather is None:
        return ()
    low, high = weather.low_tenths_c / 10, weather.high_tenths_c / 10
    times = [leave, *range((leave // HALF + 1) * HALF, back, HALF), back]
    curve = curve_of(own)
    return tuple((time, degrees(temp_at(time / HOUR, low, high, **curve), fahrenheit=fahrenheit)) for time in times)


def curve_of(own: Own) -> dict[str, float]:
    """When a day is coolest and warmest, as this firm has it."""
    return {"coolest": figure(own, "coolest hour"), "warmest": figure(own, "warmest hour")}


def closed_by(
    weather: Weather, dogs: Sequence[Dog], cautions: Mapping[uuid.UUID, Sequence[Caution]], own: Own
) -> HotHours | None:
    """From the first closed hour to the end of the last, by the strictest caution, with the dogs it is for."""
    kinds = {dog.name: strictest((one.kind for one in cautions.get(dog.pk, ())), own) for dog in dogs}
    names = tuple(name for name, kind in kinds.items() if kind)
    if not names:
        return None
    kind = strictest((kind for kind in kinds.values() if kind), own) or "none"
    low, high = weather.low_tenths_c / 10, weather.high_tenths_c / 10
    hours = hot_hours(low, high, weather.humidity_percent, kind, closed_from_c(own, kind), **curve_of(own))
    closed = [one.hour for one in hours if one.closed]
    return HotHours(closed[0] * HOUR, (closed[-1] + 1) * HOUR, names) if closed else None


def strictest(kinds: Iterable[str], own: Own) -> str | None:
    """The caution for heat from which hours are closed soonest; None where there is none."""
    found = [kind for kind in kinds if kind in HEAT_KINDS]
    return min(found, key=lambda kind: closed_from_c(own, kind)) if found else None


def weather_on(date: dt.date) -> Weather | None:
    return Weather.objects.filter(date=date).first()

"""A day's weather on its run sheet: the heat line, the hours closed to a dog with a caution, and what is refused."""

import pytest
from django.test import Client
from django.urls import reverse

from coatround.core.trade.heat import CLOSED_FROM_C, hot_hours
from coatround.web.base.models import Firm, Worker
from coatround.web.records.models import Caution, Weather
from coatround.web.rounds.models import Run
from coatround.web.runs.queries import run_sheet
from coatround.web.runs.weather import closed_by
from tests.web.run_of_five import TUESDAY, make_run

pytestmark = pytest.mark.django_db


@pytest.fixture
def run(worker: Worker, firm: Firm, monkeypatch: pytest.MonkeyPatch) -> Run:
    monkeypatch.setenv("COATROUND_TODAY", TUESDAY.isoformat())
    return make_run(worker).run


def test_a_written_day_shows_on_its_sheet(signed_in: Client, run: Run) -> None:
    address = reverse("runs:weather", args=[run.pk])
    assert "not called safe" in signed_in.get(address).content.decode()
    assert signed_in.post(address, {"low": "17", "high": "34,5", "humidity": "45"}).status_code in (302, 422)
    signed_in.post(address, {"low": "17", "high": "34.5", "humidity": "45"})
    row = Weather.objects.get()
    assert (row.date, row.low_tenths_c, row.high_tenths_c, row.humidity_percent) == (run.date, 170, 345, 45)
    sheet = run_sheet(run.pk, None)
    assert max(degrees for _at, degrees in sheet.heat) > 33
    assert "The line above is the air" in signed_in.get(reverse("runs:sheet", args=[run.pk])).content.decode()


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"low": "20", "high": "12", "humidity": "50"}, "below the low"),
        ({"low": "20", "high": "900", "humidity": "50"}, "900 is no air temperature"),
        ({"low": "warm", "high": "30", "humidity": "50"}, "warm"),
        ({"low": "20", "high": "30", "humidity": "101"}, "101"),
    ],
)
def test_no_weather_is_refused_and_stands(signed_in: Client, run: Run, typed: dict[str, str], words: str) -> None:
    answer = signed_in.post(reverse("runs:weather", args=[run.pk]), typed)
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not Weather.objects.exists()


def test_fahrenheit_is_kept_as_celsius(signed_in: Client, run: Run) -> None:
    """63 F is 17.2 C, 94 F is 34.4 C."""
    Firm.objects.update(units="us")
    signed_in.post(reverse("runs:weather", args=[run.pk]), {"low": "63", "high": "94", "humidity": "45"})
    row = Weather.objects.get()
    assert (row.low_tenths_c, row.high_tenths_c) == (172, 344)
    sheet = run_sheet(run.pk, None)
    assert sheet.degrees == "°F"
    assert max(degrees for _at, degrees in sheet.heat) > 90


def test_hours_close_by_the_strictest_caution(run: Run) -> None:
    """A dog with an airway caution closes from 22 C, one with age from 25; both are named."""
    visit = run.stops.filter(kind="visit").order_by("order")[0].visit
    assert visit is not None
    dog = visit.visit_dogs.all()[0].dog
    weather = Weather(date=run.date, low_tenths_c=170, high_tenths_c=330, humidity_percent=45)
    airway = {dog.pk: [Caution(dog=dog, kind="airway", words="cool dryer only")]}
    found = closed_by(weather, [dog], airway, {})
    assert found is not None
    closed = [hour.hour for hour in hot_hours(17, 33, 45, "airway") if hour.closed]
    assert (found.from_, found.until, found.dogs) == (closed[0] * 3600, (closed[-1] + 1) * 3600, (dog.name,))
    assert closed_by(weather, [dog], {}, {}) is None
    mild = Weather(date=run.date, low_tenths_c=80, high_tenths_c=150, humidity_percent=45)
    assert closed_by(mild, [dog], airway, {}) is None
    assert CLOSED_FROM_C["airway"] < CLOSED_FROM_C["age"]
    assert closed_by(mild, [dog], airway, {"closed airway": 12.0}) is not None  # the firm's own figure


def test_the_sheet_says_the_noise_it_expects(signed_in: Client, run: Run) -> None:
    sheet = run_sheet(run.pk, None)
    assert sheet.dose_percent > 0
    assert [percent for _at, percent in sheet.through_rows] == sorted(percent for _at, percent in sheet.through_rows)
    page = signed_in.get(reverse("runs:sheet", args=[run.pk])).content.decode()
    assert f"About {sheet.dose_percent} % of a day" in page


def test_the_sheet_and_its_weather_defer(signed_in: Client, run: Run) -> None:
    """Noise to local law, heat to the vet; the van's own temperature is read before each dog."""
    sheet = signed_in.get(reverse("runs:sheet", args=[run.pk])).content.decode()
    for words in ("local work-safety law governs", "read the van&#x27;s temperature", "Quick release"):
        assert words in sheet or words.replace("&#x27;", "'") in sheet, words
    weather = signed_in.get(reverse("runs:weather", args=[run.pk])).content.decode()
    assert "for its vet to say" in weather

"""Reckon: pages that answer as the command does, in the firm's units, and never without their caution."""

import datetime as dt
from urllib.parse import urlencode

import pytest
from django.test import Client
from django.urls import reverse

from coatround.core.reckon import RECKONERS
from coatround.web.base.models import Firm, Worker
from coatround.web.records.models import Caution
from coatround.web.shelf.models import Cleaned
from tests.web.done import DAY, Quinces, quinces

pytestmark = pytest.mark.django_db
LIFT = {
    "horizontal_cm": "35",
    "vertical_cm": "40",
    "distance_cm": "50",
    "angle_deg": "0",
    "per_minute": "0.2",
    "hours": "1",
    "grip": "poor",
    "load_kg": "18",
}


@pytest.fixture
def at_home(worker: Worker, firm: Firm, monkeypatch: pytest.MonkeyPatch) -> Quinces:
    monkeypatch.setenv("COATROUND_TODAY", DAY.isoformat())
    return quinces(worker)


def page_of(client: Client, name: str, typed: dict[str, str] | None = None) -> str:
    address = reverse("reckon:reckoner", args=[name])
    return client.get(f"{address}?{urlencode(typed)}" if typed else address).content.decode()


@pytest.mark.parametrize("name", sorted(RECKONERS))
def test_every_page_shows_an_example_rule_source_and_caution(signed_in: Client, at_home: Quinces, name: str) -> None:
    page = page_of(signed_in, name)
    assert "An example" in page
    for words in (RECKONERS[name].formula, RECKONERS[name].source, RECKONERS[name].caution):
        for word in words.split()[:6]:
            assert word.replace("'", "&#x27;").replace("<", "&lt;") in page, word
    assert page.index("Mind") < page.index("An example") if RECKONERS[name].caution else "Mind" not in page


def test_the_list_leads_to_all(signed_in: Client, at_home: Quinces) -> None:
    page = signed_in.get(reverse("reckon:page")).content.decode()
    for name in RECKONERS:
        assert reverse("reckon:reckoner", args=[name]) in page
    assert signed_in.get(reverse("reckon:reckoner", args=["tail"])).status_code == 404


def test_a_mix_is_what_the_command_says(signed_in: Client, at_home: Quinces) -> None:
    typed = {
        "bath_litres": "12",
        "products-0-name": "Oat wash",
        "products-0-ratio-product": "1",
        "products-0-ratio-other": "32",
        "products-0-ratio-rule": "total",
    }
    assert "375" in page_of(signed_in, "mix", typed)
    assert "364" in page_of(signed_in, "mix", typed | {"products-0-ratio-rule": "water"})


def test_what_is_wrong_stands_beside_its_field_and_nothing_is_lost(signed_in: Client, at_home: Quinces) -> None:
    typed = {"bath_litres": "a dozen", "products-0-name": "Oat wash", "products-0-ratio-product": "1"}
    answer = signed_in.get(f"{reverse('reckon:reckoner', args=['mix'])}?{urlencode(typed)}")
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Bath is &#x27;a dozen&#x27;" in page
    for value in typed.values():
        assert value in page
    typed |= {"bath_litres": "12", "products-0-ratio-other": "many"}
    page = page_of(signed_in, "mix", typed)
    assert "many" in page
    assert 'id="wrong-products-0-ratio"' in page


@pytest.mark.parametrize("junk", ["", "x", "1:32", "-5", "9" * 400, "1e9", "٣", "<b>", "\x00", "nan"])
@pytest.mark.parametrize("name", sorted(RECKONERS))
def test_no_typing_breaks_a_page(signed_in: Client, at_home: Quinces, name: str, junk: str) -> None:
    fields = {value.name: junk for value in RECKONERS[name].values}
    for value in RECKONERS[name].values:
        for part in value.of:
            fields |= {f"{value.name}-0-{part.name}": junk, f"{value.name}-0-{part.name}-product": junk}
    answer = signed_in.get(f"{reverse('reckon:reckoner', args=[name])}?{urlencode(fields)}")
    assert answer.status_code in (200, 422)
    assert b"<b>" not in answer.content


def test_us_measures_give_the_same_answer(signed_in: Client, at_home: Quinces) -> None:
    """The same lift in inches and pounds: 12.0 kg is 26.5 lb, and the index does not change."""
    metric = page_of(signed_in, "lift", LIFT)
    Firm.objects.update(units="us")
    in_us = {name: f"{float(LIFT[name]) / 2.54:.9f}" for name in ("horizontal_cm", "vertical_cm", "distance_cm")}
    us = page_of(signed_in, "lift", LIFT | in_us | {"load_kg": f"{18 / 0.45359237:.9f}"})
    assert "12 kg" in metric
    assert "26.5 lb" in us
    for page in (metric, us):
        assert "1.49" in page
    assert "(in)" in us


def test_a_comma_is_a_point(signed_in: Client, at_home: Quinces) -> None:
    """0.101 * 12.5^(2/3) is 0.544."""
    for typed in ("12,5", "12.5"):
        assert "0.544 m²" in page_of(signed_in, "body-size", {"kg": typed})


def test_between_dogs_one_tap_is_written_down(signed_in: Client, at_home: Quinces) -> None:
    address = reverse("reckon:between-dogs")
    assert "Never bleach with vinegar" in signed_in.get(address).content.decode()
    signed_in.post(address, {"what": "tub"})
    row = Cleaned.objects.get()
    assert (row.what, row.who, row.date) == ("tub", at_home.worker, DAY)
    assert "Nothing yet" not in signed_in.get(address).content.decode()
    page = signed_in.post(address, {"what": "the moon"}, follow=True).content.decode()
    assert "nothing of this list" in page
    assert Cleaned.objects.count() == 1


def test_a_catching_dog_today_makes_it_stricter(signed_in: Client, at_home: Quinces) -> None:
    at_home.visit()
    address = reverse("reckon:between-dogs")
    before = signed_in.get(address).content.decode()
    assert before.index("after a catching dog") > before.index("Towels")
    Caution.objects.create(dog=at_home.dogs["Pip"], kind="catching", words="on a vet's word only")
    after = signed_in.get(address).content.decode()
    assert "Pip" in after
    assert after.index("after a catching dog") < after.index("Towels")


def test_own_day_counts_what_was_recorded(signed_in: Client, at_home: Quinces) -> None:
    address = reverse("reckon:own-day")
    assert "No groom of yours" in signed_in.get(address).content.decode()
    steps = [{"step": "first wash"}, {"step": "dryer", "seconds": 1800}]
    at_home.groom(at_home.visit(), steps=steps, work_seconds=4200)
    page = signed_in.get(f"{address}?rule=niosh").content.decode()
    assert "30 min of dryer, 70 min on dogs" in page
    assert "2 lifts" in page
    assert "local work-safety law governs" in page
    assert signed_in.get(f"{address}?rule=loud").status_code == 200


def test_minutes_says_when_there_are_too_few(signed_in: Client, at_home: Quinces) -> None:
    assert "Too few timed grooms yet: 0." in signed_in.get(reverse("reckon:minutes")).content.decode()


def test_minutes_are_learnt_and_used_for_due_visits(signed_in: Client, at_home: Quinces, worker: Worker) -> None:
    """Thirty-one like dogs, three times an hour and a half: a new one is expected at about that, not at our table's."""
    from coatround.web.due.minutes import learnt_now, timed_grooms
    from coatround.web.due.visits import core_dogs

    for number in range(31):
        home = quinces(worker)
        for weeks in (18, 12, 6):
            home.groom(home.visit(DAY - dt.timedelta(weeks=weeks)), work_seconds=5400 + 60 * (number % 7))
    learnt = learnt_now(DAY)
    assert learnt is not None
    assert len(timed_grooms(DAY)) == 93
    new = core_dogs([at_home.dogs["Pip"]], DAY)[0]
    assert new.work_seconds == pytest.approx(5580, rel=0.05)
    assert new.work_sd_seconds is not None
    assert 0 < new.work_sd_seconds < 0.3 * new.work_seconds
    page = signed_in.get(reverse("reckon:minutes")).content.decode()
    assert "Foretold" in page


CAUTIOUS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("reckon:own-day", ("law", "doctor")),
    ("reckon:between-dogs", ("label", "law", "vet")),
    ("watch:page", ("vet",)),
    ("phone:stop", ("vet",)),
    ("phone:labels", ("label",)),
)


@pytest.mark.parametrize(("name", "whom"), CAUTIOUS)
def test_every_page_that_could_hurt_defers(
    signed_in: Client, at_home: Quinces, name: str, whom: tuple[str, ...]
) -> None:
    page = signed_in.get(reverse(name)).content.decode().lower()
    for word in whom:
        assert word in page, word


def test_a_dog_over_time_defers_to_the_vet(signed_in: Client, at_home: Quinces) -> None:
    page = signed_in.get(reverse("watch:dog", args=[at_home.dogs["Pip"].pk])).content.decode()
    assert "the vet&#x27;s to say" in page
    assert "never name an allergy" in page


def test_figures_of_ones_own_are_kept_and_used(signed_in: Client, at_home: Quinces) -> None:
    """A measured dryer of 90.5 dB(A); what is out of range is marked and all that was typed stands."""
    from coatround.core.trade.figures import FIGURES
    from coatround.web.due.visits import core_dogs

    address = reverse("reckon:figures")
    page = signed_in.get(address).content.decode()
    assert page.count("Our default:") == len(FIGURES)
    wrong = signed_in.post(address, {"dryer": "900", "wash-curly": "40"})
    assert wrong.status_code == 422
    assert "900 is not from 50 to 130" in wrong.content.decode()
    assert 'value="40"' in wrong.content.decode()
    assert Firm.objects.get().figures == {}
    before = core_dogs([at_home.dogs["Pip"]], DAY)[0].water_l
    coat = at_home.dogs["Pip"].coat
    assert signed_in.post(address, {"dryer": "90,5", f"wash-{coat}": "60"}).status_code == 302
    assert Firm.objects.get().figures == {"dryer": 90.5, f"wash {coat}": 60}
    assert core_dogs([at_home.dogs["Pip"]], DAY)[0].water_l > before
    steps = [{"step": "first wash"}, {"step": "dryer", "seconds": 1800}]
    at_home.groom(at_home.visit(), steps=steps, work_seconds=4200)
    assert "Minutes of dryer at 90.5 dB(A)" in signed_in.get(reverse("reckon:own-day")).content.decode()
    signed_in.post(address, {})
    assert Firm.objects.get().figures == {}


def test_heat_figures_in_fahrenheit(signed_in: Client, at_home: Quinces) -> None:
    """22 C is 71.6 F; 68 F is kept as 20 C."""
    Firm.objects.update(units="us")
    page = signed_in.get(reverse("reckon:figures")).content.decode()
    assert "Our default: 71.6." in page
    signed_in.post(reverse("reckon:figures"), {"closed-airway": "68"})
    assert Firm.objects.get().figures == {"closed airway": pytest.approx(20)}

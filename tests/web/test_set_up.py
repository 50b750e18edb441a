"""Setting up: three questions on the first run, and the page to change them later."""

import datetime as dt
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from coatround.web.base.models import Firm, Worker
from coatround.web.records.countries import countries, country_of_browser, follows_from, zones_of
from coatround.web.records.models import DayOff, Product, Van
from tests.web.people_of_the_ford import otter, the_quills

pytestmark = pytest.mark.django_db

WEEKDAY = {"open": "08:00", "close": "17:00", "break_minutes": "30", "break_from": "", "break_until": ""}


def typed_van(*weekdays: int, **more: str) -> dict[str, str]:
    typed = {
        "name": "Otter",
        "clean_l": "150",
        "grey_l": "140",
        "bath_l": "12",
        "line": "1 Mill Lane",
        "suburb": "",
        "pin": "",
    }
    for day in range(7):
        typed |= {f"day-{day}-{name}": value for name, value in WEEKDAY.items()}
        if day in weekdays:
            typed[f"day-{day}-works"] = "on"
    return {**typed, **more}


@pytest.fixture
def first(client: Client, worker: Worker) -> Client:
    """Wren is signed in, and nothing is set up."""
    client.force_login(worker)
    return client


def test_it_works(first: Client) -> None:
    """Name and country, what follows, the van, then bringing people in: in this order and no more."""
    assert first.get("/")["Location"] == reverse("set-up")
    first.get(reverse("set-up"))
    shown = first.post(reverse("set-up"), {"name": "Wren's Wash", "country": "NZ"})
    assert Firm.objects.count() == 0
    assert 'value="GST"' in shown.content.decode()
    assert '<option value="Pacific/Auckland" selected>' in shown.content.decode()
    typed = {
        "name": "Wren's Wash", "country": "NZ", "filled_for": "NZ", "currency": "NZD", "tax_name": "GST",
        "tax_rate_percent": "15", "tax_registered": "on", "units": "metric", "zone": "Pacific/Auckland",
    }  # fmt: skip
    assert first.post(reverse("set-up"), typed).status_code == 302
    firm = Firm.objects.get()
    assert (firm.currency, firm.currency_decimals, firm.zone) == ("NZD", 2, "Pacific/Auckland")
    assert (firm.tax_rate_percent, firm.tax_registered) == (Decimal(15), True)

    assert "Setting up, 2 of 3" in first.get(reverse("set-up")).content.decode()
    assert first.post(reverse("set-up"), typed_van(0, 2)).status_code == 302
    van = Van.objects.get()
    assert list(van.hours.values_list("weekday", "open", "close")) == [
        (0, dt.time(8), dt.time(17)),
        (2, dt.time(8), dt.time(17)),
    ]
    assert van.groomer is not None
    assert van.home.line == "1 Mill Lane"

    page = first.get(reverse("set-up")).content.decode()
    assert "Setting up, 3 of 3" in page
    assert reverse("bringing:page") in page
    assert reverse("household-new") in page
    the_quills()
    assert "Change the firm" in first.get(reverse("set-up")).content.decode()


def test_the_browsers_country_is_filled_in(first: Client) -> None:
    page = first.get(reverse("set-up"), headers={"accept-language": "en-GB,en;q=0.8"}).content.decode()
    assert '<option value="GB" selected>' in page
    assert '<option value="Europe/London" selected>' in page


def test_another_country_fills_in_anew_and_keeps_the_name(first: Client) -> None:
    """What was filled in for one country is not saved for another that was not seen."""
    typed = {"name": "Wren's Wash", "country": "JP", "filled_for": "AU", "currency": "AUD", "units": "metric"}
    page = first.post(reverse("set-up"), typed).content.decode()
    assert Firm.objects.count() == 0
    assert 'value="Wren&#x27;s Wash"' in page
    assert '<option value="JPY" selected>' in page
    assert '<option value="Asia/Tokyo" selected>' in page


def test_a_missing_name_keeps_what_was_changed(first: Client) -> None:
    typed = {
        "name": "", "country": "AU", "filled_for": "AU", "currency": "AUD", "tax_name": "none here",
        "tax_rate_percent": "0", "units": "metric", "zone": "Australia/Perth",
    }  # fmt: skip
    answer = first.post(reverse("set-up"), typed)
    assert answer.status_code == 422
    assert 'value="none here"' in answer.content.decode()
    assert '<option value="Australia/Perth" selected>' in answer.content.decode()


def test_a_van_that_is_back_before_it_leaves_is_refused(first: Client, firm: Firm) -> None:
    wrong = typed_van(0, **{"day-0-close": "07:00", "line": "", "pin": "somewhere"})
    page = first.post(reverse("set-up"), wrong)
    words = page.content.decode()
    assert page.status_code == 422
    assert "back before it leaves" in words
    assert "is not a point" in words
    assert 'value="somewhere"' in words
    assert not Van.objects.exists()


@pytest.mark.parametrize("country", [code for code, _name in countries()])
def test_every_country_has_something_sound(country: str) -> None:
    """A currency of three letters, a zone of the zone database, a rate."""
    import zoneinfo

    follows = follows_from(country)
    assert len(follows.currency) == 3
    zoneinfo.ZoneInfo(follows.zone)
    assert Decimal(follows.tax_rate_percent) >= 0


def test_what_countries_say() -> None:
    """Rates of GST and VAT as the six countries' laws have them in 2026; Chile's peso from CLDR."""
    assert follows_from("AU").tax_rate_percent == "10"
    assert follows_from("GB").zone == "Europe/London"
    assert follows_from("US").units == "us"
    assert (follows_from("CL").currency, follows_from("DE").zone) == ("CLP", "Europe/Berlin")
    assert zones_of("AU")[0] == "Australia/Sydney"
    assert country_of_browser("fr-CA,fr;q=0.9,en;q=0.8") == "CA"
    assert country_of_browser("") == ""


def test_the_firm_is_changed_and_its_number_checked(signed_in: Client, firm: Firm) -> None:
    """51 824 753 556 is the example of the Australian Business Register; its last digit changed is refused."""
    otter()
    typed = {
        "name": "Hollow Ford", "country": "AU", "currency": "AUD", "tax_name": "GST", "tax_rate_percent": "10",
        "tax_registered": "on", "tax_number": "51824753557", "units": "metric", "zone": "Australia/Sydney",
        "phone": "02 5550 1234", "email": "", "vet_phone": "", "setting_up": "9", "packing_up": "7",
        "cents_per_drive_hour": "42.00", "cents_per_km": "0.35", "cents_per_overtime_hour": "90",
        "hot": ["2", "1"], "hot_from": "12:00", "hot_until": "11:00", "blow": ["4"], "blow_percent": "30",
    }  # fmt: skip
    wrong = signed_in.post(reverse("set-up-firm"), typed)
    assert "is not a whole ABN" in wrong.content.decode()
    assert 'value="02 5550 1234"' in wrong.content.decode()
    assert "11:00 is not after 12:00" in wrong.content.decode()
    right = {**typed, "tax_number": "51 824 753 556", "hot_until": "16:00"}
    assert signed_in.post(reverse("set-up-firm"), right).status_code == 302
    firm.refresh_from_db()
    assert (firm.hot_months, firm.hot_from, firm.hot_until) == ([1, 2], dt.time(12), dt.time(16))
    assert (firm.blow_months, firm.blow_percent) == ([4], 30)
    assert (firm.phone, firm.setting_up_seconds, firm.cents_per_km) == ("+61255501234", 540, 35)


def test_the_week_is_changed_and_put_back(signed_in: Client) -> None:
    """A weekday that is no longer ticked goes, and comes back by undoing."""
    van = otter()
    the_quills()
    more = {
        "groomer": "",
        "battery_wh": "",
        "paid_minutes": "510",
        "max_overtime_minutes": "45",
        "pin": "-33.71, 150.31",
    }
    assert signed_in.post(reverse("van", args=[van.pk]), typed_van(1, **more)).status_code == 302
    assert list(van.hours.values_list("weekday", flat=True)) == [1]
    signed_in.post(reverse("undo"))
    assert list(van.hours.values_list("weekday", flat=True)) == [0]


def test_days_off_are_entered_and_taken_back(signed_in: Client) -> None:
    otter()
    typed = {"first": "2031-05-01", "last": "", "van": "", "words": "the fair"}
    signed_in.post(reverse("day-off-new"), typed)
    off = DayOff.objects.get()
    assert off.last == dt.date(2031, 5, 1)
    wrong = signed_in.post(reverse("day-off-new"), {**typed, "last": "2031-04-01"})
    assert "before the first day" in wrong.content.decode()
    signed_in.post(reverse("day-off-drop", args=[off.pk]))
    assert not DayOff.objects.exists()
    signed_in.post(reverse("undo"))
    assert DayOff.objects.get().words == "the fair"


def test_a_products_ratio_is_two_numbers_and_a_rule(signed_in: Client) -> None:
    otter()
    the_quills()
    typed = {
        "name": "Plain oat wash", "kind": "shampoo", "ratio_product": "1", "ratio_other": "16", "ratio_rule": "total",
        "contact_minutes": "5", "not_for": "puppies under 8 weeks", "bottle_ml": "1000", "label": "",
    }  # fmt: skip
    assert signed_in.post(reverse("product-new"), typed).status_code == 302
    product = Product.objects.get()
    assert (product.ratio_product, product.ratio_other, product.ratio_rule) == (1, 16, "total")
    assert "1 in 16 in all" in signed_in.get(reverse("set-up")).content.decode()
    wrong = signed_in.post(reverse("product-new"), {**typed, "ratio_product": "20"})
    assert "fewer than the parts of product" in wrong.content.decode()


def test_someone_is_added_and_signs_in_by_link(signed_in: Client, worker: Worker) -> None:
    otter()
    typed = {"name": "Teal Marsh", "sign_in_name": "teal", "phone": "", "email": "", "is_groomer": "on"}
    signed_in.post(reverse("groomer-new"), typed)
    teal = Worker.objects.get(sign_in_name="teal")
    page = signed_in.post(reverse("groomer-link", args=[teal.pk])).content.decode()
    link = page.split('id="link" readonly value="')[1].split('"')[0].removeprefix("http://testserver")
    assert Client().post(link).status_code == 302
    assert "signs in as" in signed_in.post(reverse("groomer-new"), {**typed, "sign_in_name": "WREN"}).content.decode()
    signed_in.post(reverse("close", args=["groomer", teal.pk]), {"why": "moved away", "on": "2026-03-02"})
    teal.refresh_from_db()
    assert not teal.is_active
    signed_in.post(reverse("close", args=["groomer", worker.pk]), {"why": "a slip", "on": "2026-03-02"})
    worker.refresh_from_db()
    assert worker.is_open


def test_a_password_is_changed_and_stands_in_no_log(signed_in: Client, worker: Worker) -> None:
    from coatround.web.base.models import Change

    typed = {"new_password1": "ferns by the weir", "new_password2": "ferns by the weir"}
    assert signed_in.post(reverse("password"), typed).status_code == 302
    worker.refresh_from_db()
    assert worker.check_password("ferns by the weir")
    assert signed_in.get(reverse("people")).status_code == 200
    assert not Change.objects.exists()


def test_the_first_worker_is_called_as_the_firm_is(client: Client) -> None:
    """The one whom the start command made without a name; nobody signs out "you"."""
    first = Worker.objects.create(name="you", sign_in_name="you")
    client.force_login(first)
    typed = {
        "name": "Wren's Wash", "country": "NZ", "filled_for": "NZ", "currency": "NZD", "tax_name": "GST",
        "tax_rate_percent": "15", "units": "metric", "zone": "Pacific/Auckland",
    }  # fmt: skip
    client.post(reverse("set-up"), typed)
    first.refresh_from_db()
    assert (first.name, first.sign_in_name) == ("Wren's Wash", "you")

"""Rows, cards and diaries as households, by examples that can be checked by hand."""

import datetime as dt

import pytest

from coatround.intake import reconcile
from coatround.intake.cells import Interval, grams, interval, microchip, minor_units
from coatround.intake.dates import clock, settle_dates
from coatround.intake.errors import BadCell
from coatround.intake.found import Appointment, same_address
from coatround.intake.past import history
from coatround.intake.phones import phones
from tests.intake.corpus import TODAY, known, read_bytes


def test_it_works() -> None:
    outcome = reconcile(read_bytes(b"Name,Phone,Dog,Every\nAda Finch,0412 345 601,Mop & Rex,6 weeks\n"))
    household = outcome.households[0].household
    assert household.phones == ("+61412345601",)
    assert [(dog.name, dog.usual.interval) for dog in household.dogs] == [("Mop", Interval(6)), ("Rex", Interval(6))]


@pytest.mark.parametrize(
    ("cells", "settled"),
    [
        (["25/12/2025", "3/4/2026"], "day-first"),
        (["12/25/2025", "3/4/2026"], "month-first"),
        (["3/4/2026", "5/6/2026"], "unsettled"),
        (["25/12/2025", "12/25/2025"], "unsettled"),
        (["2026-03-04", "7/7/2026", "4 March 2026", dt.date(2026, 3, 4)], "not-needed"),
    ],
)
def test_the_file_itself_settles_its_dates_or_a_person_is_asked(cells: list[str], settled: str) -> None:
    assert settle_dates(cells) == settled


@pytest.mark.parametrize(
    ("said", "weeks"),
    [("6", 6), ("6w", 6), ("six weeks", 6), ("monthly", 4), ("every 2 months", 9), ("42 days", 6), ("6-weekly", 6)],
)
def test_intervals(said: str, weeks: int) -> None:
    found = interval("interval", said)
    assert isinstance(found, Interval)
    assert found.weeks == weeks


def test_a_span_of_weeks_is_its_middle_with_days_to_either_side() -> None:
    assert interval("interval", "every 6-8 weeks") == Interval(7, 7, 7)


@pytest.mark.parametrize(
    ("said", "exponent", "minor"),
    [("$85", 2, 8500), ("45,50", 2, 4550), ("1.234,50", 2, 123450), ("¥8,500", 0, 8500), ("12.345", 3, 12345)],
)
def test_prices_by_the_decimals_of_the_currency(said: str, exponent: int, minor: int) -> None:
    assert minor_units("price", said, exponent) == minor


@pytest.mark.parametrize("said", ["85.555", "1,234", "free", "45/55", "=2*40"])
def test_a_price_that_may_mean_two_things_is_not_guessed(said: str) -> None:
    assert isinstance(minor_units("price", said, 2), BadCell)


def test_weights() -> None:
    assert grams("weight", "26 lb 4 oz", "kg") == 11907  # 26 x 453.59237 + 4 x 28.349523125
    assert grams("weight", "12,5", "kg") == 12500
    assert isinstance(grams("weight", "5 to 6 kg", "kg"), BadCell)


def test_clocks() -> None:
    assert clock("time", "9.30am") == dt.time(9, 30)
    assert clock("time", "12 am") == dt.time(0)
    assert isinstance(clock("time", "9"), BadCell)


def test_a_microchip_that_a_spreadsheet_rounded_says_so() -> None:
    assert microchip("microchip", "956 000 012 345 678") == "956000012345678"
    bad = microchip("microchip", "9.56E+14")
    assert isinstance(bad, BadCell)
    assert "rounded" in bad.reason


def test_phones_by_country() -> None:
    assert phones("0412 345 601 / 02 5550 1203", "AU")[0] == ("+61412345601", "+61255501203")
    assert phones(412345601, "AU")[0] == ("+61412345601",)
    assert phones("(202) 555-0143", "US")[0] == ("+12025550143",)
    found, bad = phones("5550 1203", "AU")
    assert not found
    assert "area or country code" in bad[0].reason


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("3 Mill St", "3 Mill Street, Hollow Ford 2999", True),
        ("Unit 2, 40 Weir Street", "2/40 Weir St, Hollow Ford", True),
        ("40 Weir Street", "2/40 Weir Street", False),
        ("3 Mill Street, Hollow Ford", "3 Mill Street, Stony Pass", False),
        ("3 Mill Street", "13 Mill Street", False),
    ],
)
def test_addresses(one: str, other: str, same: bool) -> None:
    assert same_address(one, other) is same


def test_a_diary_gives_the_median_gap_and_the_usual_hour() -> None:
    days = [dt.date(2026, 1, 5), dt.date(2026, 2, 16), dt.date(2026, 3, 30), dt.date(2026, 6, 22), dt.date(2026, 12, 7)]
    past = history([Appointment(day, dt.time(9, 30), 90) for day in days], TODAY)
    assert (past.gap_days, past.gaps, past.interval) == (42, 3, Interval(6))
    assert (past.last_groom, past.weekday, past.hour) == (dt.date(2026, 6, 22), 0, dt.time(9, 30))
    assert [one.date for one in past.told] == [dt.date(2026, 12, 7)]


def test_an_appointment_is_joined_by_dog_and_surname() -> None:
    people = reconcile(read_bytes(b"Name,Phone,Dog,Address\nAda Finch,0412 345 601,Mop,3 Mill Lane\n"))
    event = b"BEGIN:VEVENT\nDTSTART:20261201T093000\nSUMMARY:Groom Mop (Finch)\nEND:VEVENT\n"
    diary = b"BEGIN:VCALENDAR\n" + event + b"END:VCALENDAR\n"
    outcome = reconcile(read_bytes(diary, "diary.ics"), known(people))
    assert (outcome.made, outcome.joined) == (0, 1)
    assert outcome.households[0].household.told[0].start == dt.time(9, 30)


def test_a_code_never_reaches_the_notes() -> None:
    card = b"BEGIN:VCARD\nFN:Ada Finch\nNOTE:Gate code: 4471\\nDog: Mop\nEND:VCARD\n"
    table = b"Name,Gate,Gate code\nBo Vale,green gate,4471\nCy Dell,code 4471,\n"
    for data in (card, table):
        for one in reconcile(read_bytes(data)).households:
            assert one.household.place is not None
            assert "4471" in " ".join(one.household.place.keys)
            assert "4471" not in " ".join(one.household.notes) + one.household.place.gate


def test_what_contradicts_is_kept_in_the_notes_once() -> None:
    first = reconcile(read_bytes(b"Name,Phone,Dog,Breed\nAda,0412 345 601,Mop,Pug\n"))
    other = read_bytes(b"Name,Phone,Dog,Breed\nAda,0412 345 601,Mop,Poodle\n")
    second = reconcile(other, known(first))
    assert second.households[0].household.dogs[0].breed == "Pug"
    assert second.households[0].household.notes == ("Mop: breed 'Poodle' was given; 'Pug' was kept",)
    assert reconcile(other, known(second)).changes == 0


def test_columns_can_be_set_by_hand() -> None:
    data = b"Alpha,Beta,Phone\nAda Finch,Mop,0412 345 601\n"
    household = reconcile(read_bytes(data, columns={0: "dog", 1: "household"})).households[0].household
    assert (household.name, household.dogs[0].name) == ("Mop", "Ada Finch")


def test_a_cell_of_thousands_of_digits_does_not_hold_up_the_guess() -> None:
    """The columns of such a file were once guessed for many minutes; the row still comes in."""
    long_cell = "9" * 100_000
    outcome = reconcile(read_bytes(f"Name,Phone,Minutes\nAda Finch,0412 345 601,{long_cell}\n".encode()))
    assert (outcome.rows, outcome.made) == (1, 1)


@pytest.mark.parametrize("part", ["INTERVAL", "BYMONTH", "BYMONTHDAY", "COUNT", "BYDAY"])
def test_a_rule_with_thousands_of_digits_is_refused_in_words(part: str) -> None:
    rule = f"RRULE:FREQ=MONTHLY;{part}={'9' * 5000}"
    event = f"BEGIN:VEVENT\r\nDTSTART:20260101T100000\r\n{rule}\r\nSUMMARY:Ada\r\nEND:VEVENT\r\n"
    outcome = reconcile(read_bytes(f"BEGIN:VCALENDAR\r\n{event}END:VCALENDAR\r\n".encode(), "a.ics"))
    assert (outcome.rows, len(outcome.refused)) == (1, 1)
    assert "RRULE" in outcome.refused[0].reason or "rule" in outcome.refused[0].reason

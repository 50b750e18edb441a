"""Whatever a file holds: no exception but Unreadable, nothing dropped without a reason, counts that add up."""

import csv
import io
import json

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coatround.intake import KINDS, Kind, Reading, Unreadable, reconcile, refused_file
from coatround.intake.cells import marked_text, neutralised, one_line
from coatround.intake.contentlines import logical_lines, parse_line
from coatround.intake.table import read_csv
from coatround.intake.text import decode
from tests.intake.corpus import known, plain_household, read_bytes

SOME = settings(max_examples=50, deadline=None, suppress_health_check=[HealthCheck.too_slow])
HEADINGS = ["Name", "Phone", "Email", "Address", "Suburb", "Dog", "Breed", "Every", "Price", "Born", "Notes", "Colour"]
NAMES = st.sampled_from(["Ada Finch", "Bo Vale", "ada finch", "", "O'Dell, Cy", "=Dee"])
CELLS = {
    "Name": NAMES,
    "Phone": st.sampled_from(["0412 345 601", "+61 412 345 602", "12", "", "0412345601 / 0412 345 603", "ring mum"]),
    "Email": st.sampled_from(["ada@finch.example", "bo@vale.example", "", "at home", "A@B.example;c@d.example"]),
    "Address": st.sampled_from(["3 Mill Lane", "3 Mill Ln, Hollow Ford", "", "Unit 2/3 Mill Lane", "The Old Forge"]),
    "Suburb": st.sampled_from(["Hollow Ford", "Stony Pass", ""]),
    "Dog": st.sampled_from(["Mop", "Mop & Biscuit", "", "mop", "-Dash", "Rex, Fig"]),
    "Breed": st.sampled_from(["Pug", "Whippet & Pug", "", "Poodle"]),
    "Every": st.sampled_from(["6 weeks", "monthly", "", "now and then", "45 days", "6-8 weeks"]),
    "Price": st.sampled_from(["$85", "", "gratis", "85.5", "1,234"]),
    "Born": st.sampled_from(["2019", "", "May 2020", "28/2/2021", "30 Feb 2020"]),
    "Notes": st.text(alphabet="ab \n\"'=+,;é", max_size=12),
    "Colour": st.text(max_size=6),
}
ROWS = st.lists(st.tuples(*(CELLS[heading] for heading in HEADINGS)), min_size=1, max_size=9)


def written(rows: list[tuple[str, ...]], delimiter: str = ",") -> bytes:
    text = io.StringIO()
    csv.writer(text, delimiter=delimiter).writerows([tuple(HEADINGS), *rows])
    return text.getvalue().encode("utf-8")


def adds_up(reading: Reading) -> None:
    """Twice the same file: the same rows are refused (a reason may name a household by a name a later row gave it)."""
    first = reconcile(reading)
    assert first.rows == first.made + first.joined + len(first.refused) == len(reading.rows)
    assert all(one.reason for one in first.refused)
    second = reconcile(reading, known(first))
    assert (second.made, second.changes) == (0, 0)
    assert [one.row for one in second.refused] == [one.row for one in first.refused]
    assert second.joined == first.made + first.joined


@SOME
@given(ROWS)
def test_counts_add_up_and_a_second_reading_changes_nothing(rows: list[tuple[str, ...]]) -> None:
    reading = read_bytes(written(rows), dates="day-first")
    assert len(reading.rows) == sum(any(one_line(cell.replace("\0", "")) for cell in row) for row in rows)
    adds_up(reading)


@SOME
@given(ROWS)
def test_a_row_is_kept_and_what_is_not_read_stands_in_the_notes(rows: list[tuple[str, ...]]) -> None:
    for one in read_bytes(written(rows), dates="day-first").rows:
        if one.household is None:
            continue
        said = json.dumps(plain_household(one.household), ensure_ascii=False)
        notes = "\n".join(one.household.notes)
        name, phone, email, _, _, dog, _, every, price, born, free, colour = map(one_line, one.cells)
        assert name in json.loads(json.dumps(one.household.name)) or name in notes
        assert not phone or one.household.phones or phone in notes
        assert not email or one.household.emails or email in notes
        assert all(part in said for part in (dog.replace("&", ",").replace(",", " ").split()))
        usual = one.household.dogs[0].usual if one.household.dogs else None
        assert not every or (usual and usual.interval) or every in notes
        assert not price or (usual and usual.price) or price in notes
        assert not born or born in notes or (one.household.dogs and one.household.dogs[0].born)
        assert colour.casefold() in QUIET or colour in notes
        lines = marked_text(str(one.cells[10])).splitlines() if free not in QUIET else []
        assert all(one_line(line) in notes for line in lines)


QUIET = {"", "-", "n/a", "na", "none", "nil", "?", "unknown", "tba", "tbc"}


@SOME
@given(st.binary(max_size=300), st.sampled_from(KINDS))
def test_any_bytes_are_read_or_refused_in_words(data: bytes, kind: Kind) -> None:
    try:
        reading = read_bytes(data, kind=kind, dates="day-first")
    except Unreadable:
        return
    adds_up(reading)


@SOME
@given(st.text(max_size=200), st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-32"]))
def test_text_in_any_encoding_is_read_or_refused_in_words(text: str, encoding: str) -> None:
    try:
        reading = read_bytes(text.encode(encoding), kind="csv", dates="month-first")
    except Unreadable:
        return
    adds_up(reading)


@SOME
@given(ROWS, st.sampled_from([",", ";", "\t"]))
def test_refused_rows_hold_what_they_held(rows: list[tuple[str, ...]], delimiter: str) -> None:
    reading = read_bytes(written(rows, delimiter), dates="day-first")
    outcome = reconcile(reading, left_out=frozenset(row.row for row in reading.rows))
    assert len(outcome.refused) == len(reading.rows)
    if reading.rows:
        back = read_bytes(refused_file(reading, outcome).data, dates="day-first")
        shown = [[one_line(cell) for cell in row.cells[: len(HEADINGS)]] for row in back.rows]
        assert shown == [[one_line(cell) for cell in row.cells] for row in reading.rows]


@SOME
@given(st.text(max_size=30))
def test_a_neutralised_cell_runs_nowhere_and_comes_back_whole(text: str) -> None:
    assert neutralised(text)[:1] not in ("=", "+", "-", "@", "\t", "\r")
    assert marked_text(neutralised(text)) == text


@SOME
@given(st.lists(st.text(alphabet="aé€😀;:,\\ ", min_size=1, max_size=120), max_size=4))
def test_a_fold_at_any_octet_heals(values: list[str]) -> None:
    lines = [f"NOTE:{value}x" for value in values]
    folded = b""
    for line in lines:
        octets = line.encode()
        folded += b"\r\n ".join(octets[at : at + 74] for at in range(0, len(octets), 74)) + b"\r\n"
    assert list(logical_lines(folded))[:-1] == lines if lines else True


CARD_LINES = st.sampled_from(
    [
        "FN:Ada Finch", "FN:", "N:Vale;Bo;;;", "TEL:0412 345 601", "TEL;VALUE=uri:tel:+61-412-345-602;ext=3", "TEL:12",
        "EMAIL:ada@finch.example", "ADR:;;3 Mill Lane;Hollow Ford;NSW;2999;", "ADR:;;;;;;", "GEO:geo:-33.7,150.3",
        "GEO:here", "NOTE:Dog: Mop\\nEvery: 6 weeks", "NOTE;ENCODING=QUOTED-PRINTABLE:soft=", "BDAY:--0415",
        "BEGIN:VCARD", "END:VCARD", "no colon", "X-ODD;A=\"b:c\":d", ";:", "AGENT:", " folded", "KIND:group", "",
    ]
)  # fmt: skip


@SOME
@given(st.lists(CARD_LINES, max_size=20).filter(lambda lines: lines[:1] != [" folded"]))
def test_any_card_lines_are_read_or_refused(lines: list[str]) -> None:
    adds_up(read_bytes("\r\n".join(["BEGIN:VCARD", *lines, "END:VCARD", ""]).encode(), "cards.vcf", kind="vcard"))


EVENT_LINES = st.sampled_from(
    [
        "UID:a", "UID:b", "SUMMARY:Mop (Finch)", "SUMMARY:Rex", "STATUS:CANCELLED",
        "LOCATION:3 Mill Lane\\, Hollow Ford",
        "DTSTART:20260105T093000", "DTSTART;VALUE=DATE:20261201", "DTSTART:20260105T233000Z", "DTSTART:20261399",
        "DTSTART;TZID=Australia/Sydney:20261004T023000", "DTSTART;TZID=Nowhere:20261204T023000",
        "DTEND:20260105T110000",
        "DURATION:PT1H", "DURATION:long", "RRULE:FREQ=WEEKLY;INTERVAL=6", "RRULE:FREQ=WEEKLY;INTERVAL=0", "RRULE:",
        "RRULE:FREQ=MONTHLY;BYDAY=5MO;COUNT=9", "RRULE:FREQ=DAILY;UNTIL=never", "RRULE:FREQ=YEARLY;BYMONTHDAY=99",
        "EXDATE:20260216T093000", "RDATE:20260601T093000,20260602", "RECURRENCE-ID:20260216T093000",
        "DESCRIPTION:ring 0412 345 601", "BEGIN:VALARM", "END:VALARM", "BEGIN:VEVENT", "END:VEVENT", "no colon", "",
        "ATTENDEE:mailto:ada@finch.example",
    ]
)  # fmt: skip


@SOME
@given(st.lists(EVENT_LINES, max_size=24))
def test_any_event_lines_are_read_or_refused(lines: list[str]) -> None:
    whole = ["BEGIN:VCALENDAR", "BEGIN:VEVENT", *lines, "END:VEVENT", "END:VCALENDAR", ""]
    adds_up(read_bytes("\r\n".join(whole).encode(), "diary.ics", kind="ical"))


@SOME
@given(st.text(max_size=60))
def test_any_content_line_is_parsed_or_named_broken(line: str) -> None:
    one = parse_line(line)
    assert one is None or one.name == one.name.upper()


@SOME
@given(st.text(max_size=200).filter(lambda text: "\0" not in text))
def test_utf8_is_read_as_it_was_written(text: str) -> None:
    try:
        assert decode(b"\xef\xbb\xbf" + text.encode()).text == text
    except Unreadable:
        assert any(character < " " for character in text)


@SOME
@given(st.lists(st.lists(st.text(alphabet='a",;\n ', max_size=5), min_size=2, max_size=4), min_size=1, max_size=6))
def test_no_line_of_a_table_is_lost(rows: list[list[str]]) -> None:
    text = "\n".join(",".join(row) for row in rows)
    cells = "".join(str(cell) for row in read_csv(text.encode()).rows for cell in row.cells)
    assert cells.count("a") == text.count("a")


def test_a_hundred_thousand_rows_are_read() -> None:
    line = "Ada Finch {0},0412 {0:06d},{0} Mill Lane,Mop\n"
    data = "Name,Phone,Address,Dog\n" + "".join(line.format(at) for at in range(100_000))
    outcome = reconcile(read_bytes(data.encode()))
    assert (outcome.rows, outcome.made, outcome.refused) == (100_000, 100_000, ())


@pytest.mark.parametrize("name", ["a.csv", "b.xlsx", "c.vcf"])
def test_too_large_a_file_is_refused_in_words(name: str) -> None:
    with pytest.raises(Unreadable, match="32 MB is the most"):
        read_bytes(b"x" * 32_000_001, name)

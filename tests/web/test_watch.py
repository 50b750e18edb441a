"""The watch: a dog against its own past, with what the vet is asked; it names no illness and hides no lost weight."""

import datetime as dt
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from coatround.web.base.models import Firm, Worker
from coatround.web.base.picture import Drawn, picture
from coatround.web.letters import actions as letter_actions
from coatround.web.records.models import Household
from coatround.web.watch import queries
from tests.web.done import DAY, Quinces, quinces

pytestmark = pytest.mark.django_db
WEEK = dt.timedelta(weeks=1)


@pytest.fixture
def at_home(worker: Worker, firm: Firm, monkeypatch: pytest.MonkeyPatch) -> Quinces:
    monkeypatch.setenv("COATROUND_TODAY", DAY.isoformat())
    return quinces(worker)


def grooms(at_home: Quinces, *each: dict[str, Any]) -> None:
    """Grooms six weeks apart, the last of them today."""
    for number, values in enumerate(reversed(each)):
        at_home.groom(at_home.visit(DAY - 6 * number * WEEK), **values)


def kinds(today: dt.date = DAY) -> list[str]:
    return [change.kind for change in queries.changed(today)]


def test_it_works(signed_in: Client, at_home: Quinces) -> None:
    """Red on the right ear twice, the second time worse; a letter tells of it."""
    grooms(at_home, {"findings": [("right ear", "red", 1)]}, {"findings": [("right ear", "red", 2)]})
    letter = letter_actions.refresh(at_home.household.visits.get(date=DAY).pk)
    page = signed_in.get(reverse("watch:page")).content.decode()
    assert "A red place on the right ear: grade 1, then 2" in page
    assert "See a vet sooner if Pip shakes the head" in page
    assert letter is not None
    assert reverse("letters:letter", args=[letter.pk]) in page
    assert reverse("watch:dog", args=[at_home.dogs["Pip"].pk]) in page


@pytest.mark.parametrize(
    ("before", "now", "kind"),
    [
        ([("back", "lump", 1)], [("back", "lump", 1)], ["again"]),
        ([("back", "lump", 2)], [("back", "lump", 1)], ["again"]),
        ([("back", "red", 1)], [("back", "sore", 2)], ["rising"]),  # the same part, another finding, worse
        ([("back", "lump", 1)], [("belly", "lump", 1)], []),
        ([], [("back", "lump", 1)], []),
        ([], [("back", "lump", 2)], ["new"]),
        ([("back", "lump", 1)], [("back", "lump", 0)], []),
        ([("back", "lump", 0)], [("back", "lump", 1)], []),
        ([("back", "lump", 1)], [], []),
    ],
)
def test_findings_against_the_groom_before(
    before: list[Any], now: list[Any], kind: list[str], at_home: Quinces
) -> None:
    grooms(at_home, {"findings": before}, {"findings": now})
    assert kinds() == kind


def test_not_consecutive_is_not_again(at_home: Quinces) -> None:
    lump = {"findings": [("back", "lump", 1)]}
    grooms(at_home, lump, {}, lump)
    assert kinds() == []


def test_the_very_first_groom_has_no_past(at_home: Quinces) -> None:
    grooms(at_home, {"findings": [("back", "lump", 3)]})
    assert kinds() == []


def test_only_what_stands_counts(at_home: Quinces) -> None:
    """A corrected groom and one that was not done are no past."""
    lump = {"findings": [("back", "lump", 1)]}
    grooms(at_home, {**lump, "corrected": True}, {**lump, "state": "CANCELLED"}, lump)
    assert kinds() == []


@pytest.mark.parametrize(
    ("weights", "shows"),
    [
        ((10_000, 9_000), True),  # a tenth
        ((10_000, 9_001), False),
        ((10_000, 9_600, 9_200, 8_900), True),  # slowly
        ((9_000, 10_000), False),
        ((10_000,), False),
    ],
)
def test_a_tenth_of_the_weight_lost_always_shows(
    weights: tuple[int, ...], shows: bool, signed_in: Client, at_home: Quinces
) -> None:
    """The stop-and-refer list: a sudden change of weight over 10 %."""
    grooms(at_home, *({"measures": {"weight": grams}} for grams in weights))
    assert (kinds() == ["weight"]) is shows
    page = signed_in.get(reverse("watch:page")).content.decode()
    assert ("See a vet if you did not mean Pip to lose weight." in page) is shows


def test_a_weight_of_years_ago_is_not_compared(at_home: Quinces) -> None:
    at_home.groom(at_home.visit(DAY - 60 * WEEK), measures={"weight": 12_000})
    at_home.groom(at_home.visit(), measures={"weight": 9_000})
    assert kinds() == []


def test_an_ear_or_skin_grade_that_rose(signed_in: Client, at_home: Quinces) -> None:
    grooms(at_home, {"measures": {"left ear": 0, "skin": 2}}, {"measures": {"left ear": 1, "skin": 2}})
    assert [(change.kind, change.part) for change in queries.changed(DAY)] == [("graded", "left ear")]
    assert "The left ear: grade 0, then 1" in signed_in.get(reverse("watch:page")).content.decode()


def test_a_dog_not_seen_lately_or_gone_is_left_out(at_home: Quinces) -> None:
    grooms(at_home, {"measures": {"weight": 10_000}}, {"measures": {"weight": 8_000}})
    assert kinds(DAY + 7 * WEEK) == ["weight"]
    assert kinds(DAY + 9 * WEEK) == []
    pip = at_home.dogs["Pip"]
    pip.closed_on = DAY
    pip.save()
    assert kinds() == []


def test_what_can_wait_least_comes_first(at_home: Quinces) -> None:
    two = quinces_again(at_home)
    grooms(at_home, {"findings": [("back", "lump", 1)]}, {"findings": [("back", "lump", 1)]})
    grooms(two, {"measures": {"weight": 10_000}}, {"measures": {"weight": 8_000}})
    dogs = [dog for dog, _changes in queries.by_dog(queries.changed(DAY))]
    assert dogs == [two.dogs["Pip"].pk, at_home.dogs["Pip"].pk]


def quinces_again(at_home: Quinces) -> Quinces:
    return quinces(at_home.worker)


def test_a_dog_over_time(signed_in: Client, at_home: Quinces) -> None:
    grooms(
        at_home,
        {"measures": {"weight": 10_000, "condition": 5}, "findings": [("tail", "mat", 1)]},
        {"measures": {"weight": 9_500, "hair": 40}},
    )
    page = signed_in.get(reverse("watch:dog", args=[at_home.dogs["Pip"].pk])).content.decode()
    for words in ("Pip over time", "9.5 kg", "10.0 kg", "40 g", "Condition", "A mat in the coat on the tail, slight."):
        assert words in page, words
    assert "Next due Tuesday 14 April" in page
    assert page.count("<svg") == page.count("<table") == 4  # three measures, and hair at home


def test_a_dog_with_no_past_says_so(signed_in: Client, at_home: Quinces) -> None:
    page = signed_in.get(reverse("watch:dog", args=[at_home.dogs["Pip"].pk])).content.decode()
    assert "Nothing was measured yet" in page
    assert "Nothing unusual was ever found" in page


def test_the_empty_watch_says_what_to_do(signed_in: Client, at_home: Quinces) -> None:
    page = signed_in.get(reverse("watch:page")).content.decode()
    assert "No dog differs" in page
    assert reverse("people") in page


def test_few_queries_however_many_dogs(signed_in: Client, at_home: Quinces, django_assert_max_num_queries: Any) -> None:
    lump = {"findings": [("back", "lump", 2)]}
    for _number in range(12):
        grooms(quinces_again(at_home), lump, lump)
    assert Household.objects.count() == 13
    with django_assert_max_num_queries(20):
        signed_in.get(reverse("watch:page"))


def test_a_picture_lies_between_its_ends() -> None:
    days = [(DAY + n * WEEK).toordinal() for n in range(3)]
    ends = [(days[0], "first"), (days[2], "last")]
    drawn = picture([Drawn("line", list(zip(days, (10, 20, 15), strict=True)))], "", "", x_words=ends)
    assert [y for _x, y in drawn.lines[0].points] == [166, 14, 90]
    assert [x for x, _y in drawn.lines[0].points] == [76, 196, 316]
    assert [mark.words for mark in drawn.down] == ["10", "20"]


def test_a_dogs_own_limits_show_a_drift(signed_in: Client, at_home: Quinces) -> None:
    """Five grooms about 10 kg, then a slow fall that is no tenth yet: outside its own limits, and the vet is named."""
    weights = (10_000, 10_050, 9_950, 10_000, 10_000, 9_800, 9_600, 9_400, 9_300)
    grooms(at_home, *({"measures": {"weight": grams}} for grams in weights))
    page = signed_in.get(reverse("watch:dog", args=[at_home.dogs["Pip"].pk])).content.decode()
    assert "It has drifted below this dog&#x27;s own limits." in page
    assert "see a vet if it goes on" in page


def test_foods_lie_under_and_it_is_too_early(signed_in: Client, at_home: Quinces) -> None:
    grooms(at_home, {"measures": {"skin": 2}}, {"measures": {"skin": 2}})
    pip = at_home.dogs["Pip"].pk
    add = reverse("food-new", args=[pip])
    assert signed_in.get(add).status_code == 200
    wrong = signed_in.post(add, {"words": "Lamb and rice", "since": "2026-03-02", "until": "2026-01-01"})
    assert wrong.status_code == 422
    assert b"Lamb and rice" in wrong.content
    first, second = DAY - 20 * WEEK, DAY - 3 * WEEK
    signed_in.post(add, {"words": "Lamb and rice", "since": first.isoformat(), "until": ""})
    signed_in.post(add, {"words": "Fish and oats", "since": second.isoformat(), "until": ""})
    page = signed_in.get(reverse("watch:dog", args=[pip])).content.decode()
    assert "Fish and oats" in page
    assert "Too early to tell" in page
    assert "allerg" not in page.replace("never name an allergy", "")


def test_hair_at_home_from_weighed_grooms(signed_in: Client, at_home: Quinces) -> None:
    grooms(at_home, {"measures": {"hair": 40}}, {}, {"measures": {"hair": 55}})
    page = signed_in.get(reverse("watch:dog", args=[at_home.dogs["Pip"].pk])).content.decode()
    assert "Hair at home" in page
    assert "from 1 weighed groom" in page

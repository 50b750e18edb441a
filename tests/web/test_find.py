"""Finding anything by a few letters of any name, dog, street or phone."""

import pytest
from django.test import Client
from django.urls import reverse

from coatround.web.records.models import Dog, Household, Place
from coatround.web.records.queries import found, households
from tests.web.people_of_the_ford import the_quills

pytestmark = pytest.mark.django_db


@pytest.fixture
def town(db: None) -> None:
    """Quill at Tannery Row with Biscuit; Sorrel at Cooper's Rise with Biscuit and Tannin."""
    the_quills()
    sorrel = the_quills("Sorrel", "+61293744000", "3 Cooper's Rise")
    Dog.objects.create(household=sorrel, name="Tannin")


def names(typed: str) -> list[str]:
    return [household.name for household in found(households(), typed)]


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        ("quill", ["Quill"]),
        ("uil", ["Quill"]),
        ("odo sor", ["Sorrel"]),
        ("bisc", ["Quill", "Sorrel"]),
        ("tann", ["Sorrel", "Quill"]),  # a dog's name that begins so stands before a street
        ("cooper", ["Sorrel"]),
        ("weir", ["Quill", "Sorrel"]),
        ("2999", ["Quill", "Sorrel"]),
        ("0412 345", ["Quill"]),
        ("(02) 9374", ["Sorrel"]),
        ("+61 412", ["Quill"]),
        ("345678", ["Quill"]),
        ("odo@sorrel", ["Sorrel"]),
        ("biscuit tannery", ["Quill"]),
        ("nobody", []),
        ("100% _", []),
        ("'", ["Sorrel"]),
    ],
)
def test_a_few_letters_of_anything(town: None, typed: str, expected: list[str]) -> None:
    assert names(typed) == expected


def test_it_works(signed_in: Client, town: None) -> None:
    """The whole page without a script; only the list while someone types."""
    whole = signed_in.get(reverse("people"), {"find": "tannery"}).content.decode()
    part = signed_in.get(reverse("people"), {"find": "tannery"}, headers={"hx-request": "true"}).content.decode()
    assert "<h1>" in whole
    assert "<h1>" not in part
    for page in (whole, part):
        assert "1 household found" in page
        assert "8 Tannery Row" in page
        assert "Sorrel" not in page


def test_lists_of_what_is_missing(signed_in: Client, town: None) -> None:
    Household.objects.create(name="Pip, 4 Ash", to_be_named=True)
    Place.objects.filter(line__startswith="8").update(lat=None, lon=None)
    assert "Pip, 4 Ash" in signed_in.get(reverse("people"), {"show": "unnamed"}).content.decode()
    unpinned = signed_in.get(reverse("people"), {"show": "unpinned"}).content.decode()
    assert "8 Tannery Row" in unpinned
    assert "Cooper" not in unpinned


def test_the_list_has_pages_and_few_queries(signed_in: Client, django_assert_max_num_queries: object) -> None:
    for number in range(60):
        the_quills(f"Quill{number:02d}", f"+614120000{number:02d}")
    with django_assert_max_num_queries(12):  # type: ignore[operator]
        page = signed_in.get(reverse("people"), {"find": "quill", "page": "3"}).content.decode()
    assert "Page 3 of 3" in page
    assert "Quill50" in page
    assert "Quill49" not in page


def test_an_empty_list_says_what_to_do(signed_in: Client) -> None:
    page = signed_in.get(reverse("people")).content.decode()
    assert reverse("bringing:page") in page
    assert reverse("household-new") in page

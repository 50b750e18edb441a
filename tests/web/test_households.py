"""Households, people, places and their keys: entered, changed, closed, opened again, undone."""

import pytest
from django.test import Client
from django.urls import reverse

from coatround.web.base.models import Change, Firm
from coatround.web.records.microchip import microchip_number
from coatround.web.records.models import Dog, Household, Person, Place, PlaceKey, Vet
from coatround.web.records.phones import phone_number, phone_words
from tests.web.people_of_the_ford import the_quills

pytestmark = pytest.mark.django_db

NEW = {
    "household": "Sorrel", "person": "Ilse Sorrel", "phone": "0412 345 678", "email": "", "line": "3 Cooper's Rise",
    "suburb": "Weir Flat", "postcode": "", "pin": "-33.70001, 150.30002", "dog": "Quill", "coat": "wire",
    "size": "small",
}  # fmt: skip


def test_it_works(signed_in: Client) -> None:
    """One page enters household, person, place and dog as one act, which one press undoes."""
    answer = signed_in.post(reverse("household-new"), NEW)
    household = Household.objects.get()
    assert answer["Location"] == reverse("household", args=[household.pk])
    page = signed_in.get(answer["Location"]).content.decode()
    for words in ("Ilse Sorrel", "0412 345 678", "3 Cooper&#x27;s Rise", "Quill", "tel:+61412345678", "geo:-33.700010"):
        assert words in page
    signed_in.post(reverse("undo"))
    assert (Household.objects.count(), Person.objects.count(), Place.objects.count(), Dog.objects.count()) == (
        0,
        0,
        0,
        0,
    )


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("phone", "12345", "is not a whole phone number"),
        ("phone", "ask Odo", "is not a whole phone number"),
        ("email", "odo@", "valid email"),
        ("pin", "95, 150", "is not a point"),
        ("household", "", "required"),
        ("line", "", "no address"),
    ],
)
def test_a_failed_form_keeps_every_field(signed_in: Client, field: str, typed: str, words: str) -> None:
    answer = signed_in.post(reverse("household-new"), {**NEW, field: typed})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert words in page
    for name, value in {**NEW, field: typed}.items():
        if name not in ("coat", "size") and value:
            assert f'value="{value.replace(chr(39), "&#x27;")}"' in page, name
    assert '<option value="wire" selected>' in page
    assert not Household.objects.exists()


def test_a_phone_that_someone_has_is_asked_about_once(signed_in: Client) -> None:
    the_quills()
    answer = signed_in.post(reverse("household-new"), NEW)
    assert "of the household Quill has this phone or email already" in answer.content.decode()
    assert Household.objects.count() == 1
    signed_in.post(reverse("household-new"), {**NEW, "another": "on"})
    assert Household.objects.count() == 2


def test_phones_are_read_as_they_are_dialled() -> None:
    """Numbers and countries as in the published examples of the library's own tests (docs/sources.md)."""
    assert phone_number("0412 345 678", "AU") == "+61412345678"
    assert phone_number("(02) 9374 4000", "AU") == "+61293744000"
    assert phone_number("020 7946 0018", "GB") == "+442079460018"
    assert phone_number("(201) 555-0123", "US") == "+12015550123"
    assert phone_number("+64 21 123 4567", "AU") == "+64211234567"
    assert phone_words("+61412345678", "AU") == "0412 345 678"
    assert phone_words("+64211234567", "AU").startswith("+64 ")
    with pytest.raises(ValueError, match="Write it as you would dial it"):
        phone_number("0412 345 678 after six", "AU")


def test_a_person_is_changed_and_undone(signed_in: Client) -> None:
    household = the_quills()
    person = household.people.get()
    typed = {"name": "Odo Quill", "phone": "02 9374 4000", "email": "", "second_contact": "on", "notes": "after six"}
    assert signed_in.post(reverse("person", args=[person.pk]), typed).status_code == 302
    person.refresh_from_db()
    assert (person.phone, person.may_decide, person.second_contact) == ("+61293744000", False, True)
    assert "may not decide" in signed_in.get(reverse("household", args=[household.pk])).content.decode()
    signed_in.post(reverse("undo"))
    person.refresh_from_db()
    assert (person.phone, person.may_decide) == ("+61412345678", True)


def test_nothing_changed_leaves_no_trace(signed_in: Client) -> None:
    household = the_quills()
    typed = {"name": household.name, "how_found": "", "notes": ""}
    signed_in.post(reverse("household-change", args=[household.pk]), typed)
    assert not Change.objects.exists()


def test_a_household_is_closed_found_and_opened_again(signed_in: Client) -> None:
    household = the_quills()
    wrong = signed_in.post(reverse("close", args=["household", household.pk]), {"why": "", "on": "2026-03-02"})
    assert wrong.status_code == 422
    signed_in.post(reverse("close", args=["household", household.pk]), {"why": "moved away", "on": "2026-03-02"})
    household.refresh_from_db()
    assert (household.closed_why, Household.objects.count()) == ("moved away", 1)
    assert "Odo" not in signed_in.get(reverse("people")).content.decode()
    assert "1 closed household fits too" in signed_in.get(reverse("people"), {"find": "quill"}).content.decode()
    found = signed_in.get(reverse("people"), {"find": "quill", "show": "closed"}).content.decode()
    assert reverse("household", args=[household.pk]) in found
    assert "moved away" in signed_in.get(reverse("household", args=[household.pk])).content.decode()
    signed_in.post(reverse("open-again", args=["household", household.pk]))
    household.refresh_from_db()
    assert household.is_open


def test_closing_is_undone(signed_in: Client) -> None:
    person = the_quills().people.get()
    signed_in.post(reverse("close", args=["person", person.pk]), {"why": "a slip", "on": "2026-03-02"})
    signed_in.post(reverse("undo"))
    person.refresh_from_db()
    assert (person.is_open, person.closed_why) == (True, "")


def test_a_key_is_kept_and_never_shown(signed_in: Client) -> None:
    """Promise nine: no page but that day's run shows it; not the log, not the form once saved."""
    household = the_quills()
    place = household.places.get()
    keys = reverse("place-keys", args=[place.pk])
    signed_in.post(keys, {"words": "gate 4417#"})
    signed_in.post(keys, {"words": "gate 9083#", "replaces": str(PlaceKey.objects.get().pk)})
    assert list(PlaceKey.objects.order_by("made_at").values_list("words", "closed_why")) == [
        ("gate 4417#", "replaced"),
        ("gate 9083#", ""),
    ]
    key = PlaceKey.objects.get(closed_on__isnull=True)
    addresses = [
        keys,
        reverse("place", args=[place.pk]),
        reverse("household", args=[household.pk]),
        reverse("changes"),
        reverse("close", args=["key", key.pk]),
        reverse("people"),
    ]
    for address in addresses:
        page = signed_in.get(address).content.decode()
        assert "4417" not in page, address
        assert "9083" not in page, address
    assert "1 key or code" in signed_in.get(reverse("household", args=[household.pk])).content.decode()
    signed_in.post(reverse("undo"))
    assert PlaceKey.objects.get().words == "gate 4417#"
    assert PlaceKey.objects.get().is_open


def test_a_household_made_from_an_appointment_is_named(signed_in: Client) -> None:
    household = Household.objects.create(name="Biscuit, 8 Tannery Row", to_be_named=True)
    assert "To be named" in signed_in.get(reverse("household", args=[household.pk])).content.decode()
    typed = {"name": "Quill", "how_found": "", "notes": ""}
    signed_in.post(reverse("household-change", args=[household.pk]), typed)
    household.refresh_from_db()
    assert not household.to_be_named


def test_a_place_of_a_van_is_not_closed(signed_in: Client) -> None:
    from tests.web.people_of_the_ford import otter

    home = otter().home
    signed_in.post(reverse("close", args=["place", home.pk]), {"why": "a slip", "on": "2026-03-02"})
    home.refresh_from_db()
    assert home.is_open


def test_vets_are_listed(signed_in: Client, firm: Firm) -> None:
    signed_in.post(reverse("vet-new"), {"name": "Weir Vets", "phone": "02 9374 4000", "address": "2 Weir Road"})
    vet = Vet.objects.get()
    assert "(02) 9374 4000" in signed_in.get(reverse("vets")).content.decode()
    signed_in.post(reverse("close", args=["vet", vet.pk]), {"why": "shut", "on": "2026-03-02"})
    assert "closed on" in signed_in.get(reverse("vets")).content.decode()


def test_another_kind_of_row_is_not_closed_here(signed_in: Client) -> None:
    household = the_quills()
    assert signed_in.get(reverse("close", args=["firm", household.pk])).status_code == 404


def test_a_stranger_sees_none_of_it(client: Client, firm: Firm) -> None:
    household = the_quills()
    for name in ("household", "household-change", "consents", "erase"):
        answer = client.get(reverse(name, args=[household.pk]))
        assert answer["Location"].startswith(reverse("sign-in"))


@pytest.mark.parametrize(
    ("typed", "number"),
    [("900 123 000 000 045", "900123000000045"), ("276-0987 6543 2101 2", ""), ("036098765432101", "036098765432101")],
)
def test_microchips_as_iso_11784_shapes_them(typed: str, number: str) -> None:
    """Fifteen digits; a country (036 is Australia, ISO 3166) or a maker first; the animal's number in 38 bits."""
    if number:
        assert microchip_number(typed) == number
    else:
        with pytest.raises(ValueError, match=r"digits|more than"):
            microchip_number(typed)


@pytest.mark.parametrize(
    "typed", ["999000000000001", "000123456789012", "90012300000004", "276999999999999", "90012300000004X"]
)
def test_what_is_no_microchip(typed: str) -> None:
    with pytest.raises(ValueError, match="from the scanner"):
        microchip_number(typed)

"""Handing over, looking, changing a column, accepting, and the refused rows back."""

from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from coatround.web.records.models import Dog, Household
from tests.intake.corpus import FILES


def hand_over(client: Client, data: bytes, name: str = "list.csv") -> str:
    answer = client.post(reverse("bringing:page"), {"file": SimpleUploadedFile(name, data)})
    assert answer.status_code == 302, answer.content.decode()
    return str(answer["Location"])


def fields_of(client: Client, address: str) -> dict[str, str]:
    """What a browser would send back of the preview untouched."""
    form = client.get(address).context["form"]
    return {name: str(form[name].value() or "") for name in form.fields}


def test_it_works(signed_in: Client) -> None:
    address = hand_over(signed_in, b"Name,Phone,Dog\nAda Finch,0412 345 601,Mop\n,,Stray\n")
    page = signed_in.get(address).content.decode()
    assert "1 made, 0 joined, 1 refused" in page
    assert not Household.objects.exists()
    answer = signed_in.post(address, fields_of(signed_in, address) | {"accept": ""}, follow=True)
    assert "1 made, 0 joined, 1 refused" in answer.content.decode()
    assert Household.objects.get().name == "Ada Finch"
    back = signed_in.get(address + "refused/")
    assert b"Stray" in back.content
    assert 'filename="refused.csv"' in back["Content-Disposition"]


def test_a_column_is_changed_and_looked_at_again(signed_in: Client) -> None:
    address = hand_over(signed_in, b"Name,Phone,Colour\nAda Finch,0412 345 601,Mop\n")
    changed = fields_of(signed_in, address) | {"column_2": "dog"}
    answer = signed_in.post(address, changed | {"accept": ""}, follow=True)
    assert "Look once more" in answer.content.decode()
    assert not Household.objects.exists()
    signed_in.post(address, fields_of(signed_in, address) | {"accept": ""})
    assert Dog.objects.get().name == "Mop"


def test_open_dates_are_asked_and_never_guessed(signed_in: Client) -> None:
    address = hand_over(signed_in, b"Name,Phone,Dog,Last groom\nAda,0412 345 601,Mop,3/4/2026\n")
    assert "can be read two ways" in signed_in.get(address).content.decode()
    answer = signed_in.post(address, fields_of(signed_in, address) | {"accept": "", "dates": ""})
    assert answer.status_code == 422
    assert not Household.objects.exists()
    signed_in.post(address, fields_of(signed_in, address) | {"look": "", "dates": "month-first"})
    signed_in.post(address, fields_of(signed_in, address) | {"accept": "", "dates": "month-first"})
    assert str(Dog.objects.get().last_groomed_before) == "2026-03-04"


def test_a_row_is_left_out_when_asked(signed_in: Client) -> None:
    address = hand_over(signed_in, b"Name,Phone\nAda,0412 345 601\nBo,0412 345 602\n")
    answer = signed_in.post(address, fields_of(signed_in, address) | {"leave": ["3"], "accept": ""}, follow=True)
    assert "left out, as you asked" in answer.content.decode()
    assert Household.objects.get().name == "Ada"


def test_a_file_that_cannot_be_read_is_refused_in_words(signed_in: Client) -> None:
    for name, data, words in (("a.csv", b"", "is empty"), ("b.xlsx", b"PK broken", "broken")):
        answer = signed_in.post(reverse("bringing:page"), {"file": SimpleUploadedFile(name, data)})
        assert answer.status_code == 422
        assert words in answer.content.decode()


def test_no_code_is_shown_in_a_preview(signed_in: Client) -> None:
    address = hand_over(signed_in, b"Name,Phone,Gate code\nAda,0412 345 601,4471#\n")
    page = signed_in.get(address).content.decode()
    assert "4471" not in page
    assert "a key or code" in page


def test_a_file_can_be_left(signed_in: Client, home: Path) -> None:
    address = hand_over(signed_in, b"Name,Phone\nAda,0412 345 601\n")
    assert "list.csv" in signed_in.get(reverse("bringing:page")).content.decode()
    signed_in.post(address + "leave/")
    assert not list((home / "bringing").iterdir())
    assert signed_in.get(address).status_code == 404


def test_the_file_goes_once_it_is_accepted(signed_in: Client, home: Path) -> None:
    address = hand_over(signed_in, b"Name,Phone\nAda,0412 345 601\n")
    signed_in.post(address, fields_of(signed_in, address) | {"accept": ""})
    assert not [file for file in (home / "bringing").rglob("*") if file.is_file() and b"0412" in file.read_bytes()]


def test_nobody_else_sees_it(client: Client, firm: object) -> None:
    assert client.get(reverse("bringing:page")).status_code == 302


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_every_awkward_file_has_a_page(signed_in: Client, path: Path) -> None:
    answer = signed_in.post(
        reverse("bringing:page"), {"file": SimpleUploadedFile(path.name, path.read_bytes())}, follow=True
    )
    assert answer.status_code in (200, 422)


def test_a_row_left_out_by_an_endless_number_is_no_row(signed_in: Client) -> None:
    address = hand_over(signed_in, b"Name,Phone\nAda Finch,0412 345 601\n")
    answer = signed_in.post(address, fields_of(signed_in, address) | {"leave": "9" * 5000, "accept": ""}, follow=True)
    assert answer.status_code == 200
    assert Household.objects.get().name == "Ada Finch"


@pytest.mark.parametrize("address", ["/visits/?page=", "/due/?weeks="])
def test_an_endless_number_in_an_address_is_answered(signed_in: Client, address: str) -> None:
    assert signed_in.get(address + "9" * 5000).status_code == 200

"""Every address of the application, asked by someone who is not signed in."""

import uuid
from collections.abc import Iterator

import pytest
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from coatround.web.base.models import Firm

pytestmark = pytest.mark.django_db

SAMPLES = {"uuid": str(uuid.UUID("01938f6e-0000-7000-8000-000000000000")), "int": "1", "slug": "dog", "str": "x"}
LETTERS = {"letters:open", "letters:open-pdf"}
OPEN_TO_ALL = {"sign-in", "sign-in-link", "health", "manifest", "service-worker", "phone:no-signal"} | LETTERS


def named(resolver: URLResolver, space: str = "") -> Iterator[tuple[str, URLPattern]]:
    for entry in resolver.url_patterns:
        if isinstance(entry, URLResolver):
            yield from named(entry, f"{entry.namespace}:" if entry.namespace else space)
        elif entry.name:
            yield f"{space}{entry.name}", entry


ADDRESSES = dict(named(get_resolver()))


def address_of(name: str) -> str:
    converters = ADDRESSES[name].pattern.converters
    kinds = {key: type(each).__name__.removesuffix("Converter").lower() for key, each in converters.items()}
    return reverse(name, kwargs={key: SAMPLES[{"string": "str"}.get(kind, kind)] for key, kind in kinds.items()})


def test_there_is_something_to_walk() -> None:
    assert len(ADDRESSES) > 80
    assert set(ADDRESSES) >= OPEN_TO_ALL


@pytest.mark.parametrize("name", sorted(set(ADDRESSES) - OPEN_TO_ALL))
def test_a_stranger_is_led_to_the_sign_in(client: Client, firm: Firm, name: str) -> None:
    """Reading and writing alike; the phone's own addresses refuse in their own form."""
    for answer in (client.get(address_of(name)), client.post(address_of(name), {"a": "b"})):
        if name == "phone:to-hold" and answer.status_code == 405:
            continue
        if answer.status_code == 302:
            assert answer["Location"].startswith(reverse("sign-in"))
        else:
            assert answer.status_code in (401, 405), f"{name} answers {answer.status_code}"
            assert answer.json()["error"]["code"] in ("not-signed-in", "post-only")


@pytest.mark.parametrize("name", ["letters:open", "letters:open-pdf"])
def test_a_guessed_letter_link_shows_nothing(client: Client, firm: Firm, name: str) -> None:
    assert client.get(address_of(name), follow=True).status_code == 404

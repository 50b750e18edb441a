"""Signing in: by link once, by password, and no page without it."""

import pytest
from django.test import Client
from django.urls import reverse

from coatround.web.base.models import Worker
from coatround.web.base.signing_in import new_sign_in_link

pytestmark = pytest.mark.django_db


def test_it_works(client: Client, worker: Worker) -> None:
    """The link shows a button, the button signs in, and the link is spent."""
    address = reverse("sign-in-link", args=[new_sign_in_link(worker)])
    assert client.get(address).status_code == 200
    assert client.post(address).status_code == 302
    assert client.session["_auth_user_id"] == str(worker.pk)
    assert Client().post(address).status_code == 403


def test_a_link_that_is_over_is_refused_in_words(client: Client, worker: Worker) -> None:
    answer = client.post(reverse("sign-in-link", args=[new_sign_in_link(worker, hours=-1)]))
    assert answer.status_code == 403
    assert "no longer works" in answer.content.decode()


def test_signs_in_by_password_and_keeps_to_our_own_pages(client: Client, worker: Worker) -> None:
    typed = {"username": "wren", "password": "a long enough password", "next": "https://elsewhere.example/"}
    answer = client.post(reverse("sign-in"), typed)
    assert (answer.status_code, answer["Location"]) == (302, "/")


def test_a_stranger_sees_no_page(client: Client) -> None:
    answer = client.get(reverse("people"))
    assert answer.status_code == 302
    assert answer["Location"].startswith(reverse("sign-in"))


def test_no_inline_script_is_allowed(client: Client) -> None:
    policy = client.get(reverse("sign-in"))["Content-Security-Policy"]
    assert "'unsafe-inline'" not in policy
    assert "nonce-" in policy

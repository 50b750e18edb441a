"""No page is a dead end when there is nothing in it yet."""

import re

import pytest
from django.test import Client
from django.urls import reverse

from coatround.web.base.context import NAVIGATION

pytestmark = pytest.mark.django_db
PAGES = ["desk", *(name for name, _words in NAVIGATION)]


@pytest.mark.parametrize("name", PAGES)
def test_an_empty_page_answers_and_leads_on(signed_in: Client, name: str) -> None:
    """With a firm and nothing else, every page of the navigation leads to something that can be done next."""
    answer = signed_in.get(reverse(name), follow=True)
    assert answer.status_code == 200
    main = re.search(r"<main.*?</main>", answer.content.decode(), re.S)
    assert main is not None
    assert re.search(r'<a [^>]*href="/|<form[^>]*method="post"', main.group()), main.group()


def test_before_the_firm_is_set_up_every_page_leads_there(client: Client, worker: object) -> None:
    client.force_login(worker)  # type: ignore[arg-type]
    for name in PAGES:
        answer = client.get(reverse(name), follow=True)
        assert answer.status_code == 200
        assert "Your name and country" in answer.content.decode()

"""Who is signed in where, and a lost phone that is signed out from the desk."""

from django.test import Client
from django.urls import reverse

from coatround.web.base.models import Firm, Worker


def test_a_lost_phone_is_signed_out(firm: Firm, worker: Worker) -> None:
    """Two sign-ins of one groomer: one is ended from the other, and only that one."""
    desk, phone = Client(), Client(headers={"User-Agent": "Mozilla/5.0 (Linux; Android 15)"})
    for browser in (desk, phone):
        said = {"username": "wren", "password": "a long enough password"}
        assert browser.post(reverse("sign-in"), said).status_code == 302
    page = desk.get(reverse("devices"))
    assert "Android" in page.content.decode()
    (lost,) = [one for one in page.context["signed_in"] if not one.is_this]
    assert desk.post(reverse("end-sign-in"), {"name": lost.name}, follow=True).status_code == 200
    assert phone.get(reverse("phone:to-hold")).status_code == 401
    assert desk.get(reverse("phone:to-hold")).status_code == 200
    again = desk.post(reverse("end-sign-in"), {"name": lost.name}, follow=True)
    assert "over already" in again.content.decode()

"""What every test may use: a firm that is set up, a worker who is signed in, a home folder of its own."""

from pathlib import Path
from typing import Any

import pytest
from django.test import Client

from coatround import home as home_module
from coatround.web.base.models import Firm, Worker


@pytest.fixture(autouse=True)
def home(tmp_path: Path, settings: Any) -> Path:
    """A home folder that goes with the test."""
    folder = tmp_path / "home"
    home_module.prepare(folder)
    settings.HOME = folder
    return folder


@pytest.fixture
def firm(db: None) -> Firm:
    """Hollow Ford Mobile Grooming, in the invented town; Australian money and tax."""
    return Firm.objects.create(
        name="Hollow Ford Mobile Grooming",
        country="AU",
        currency="AUD",
        zone="Australia/Sydney",
        tax_name="GST",
        tax_rate_percent="10",
        tax_registered=True,
    )


@pytest.fixture
def worker(db: None) -> Worker:
    worker = Worker(name="Wren Ashby", sign_in_name="wren")
    worker.set_password("a long enough password")
    worker.save()
    return worker


@pytest.fixture
def signed_in(client: Client, worker: Worker, firm: Firm) -> Client:
    """A browser in which Wren is signed in and the firm is set up."""
    client.force_login(worker)
    return client

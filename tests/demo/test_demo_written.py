"""The invented town in the database: every row is one that the application itself would take."""

import datetime as dt

import pytest
from django.apps import apps
from django.db import connection, models

from coatround.demo.rows import Rows
from coatround.demo.whole import demo_rows
from coatround.demo.writing import write_demo, write_rows
from coatround.web.letters.body import digest
from coatround.web.letters.models import Letter
from coatround.web.records.models import Consent, Dog

pytestmark = pytest.mark.django_db
TODAY = dt.date(2026, 11, 25)


@pytest.fixture
def written(db: None) -> None:
    write_demo(1, TODAY, 12, lambda words: None)


def test_it_works(written: None) -> None:
    """As many rows as were generated, and no key that leads nowhere."""
    made = Rows()
    for rows in demo_rows(1, TODAY, 12):
        made.add_all(rows)
    for table, columns in made.tables.items():
        assert apps.get_model(table)._default_manager.count() == len(columns), table
    connection.check_constraints()


def test_every_row_is_valid(written: None) -> None:
    """Each table's first 60 rows pass the checks that a form would make."""
    for model in apps.get_models():
        if model._meta.app_label not in ("contenttypes", "auth", "sessions"):
            for row in model._default_manager.all()[:60]:
                _clean(row)


def _clean(row: models.Model) -> None:
    empty_but_fine = [
        field.name for field in row._meta.fields if not getattr(row, field.attname) and field.has_default()
    ]
    nothing = [field.name for field in row._meta.fields if getattr(row, field.attname) is None and field.null]
    row.full_clean(exclude=[*empty_but_fine, *nothing, "password"], validate_unique=False)


def test_letters_and_consents_are_worded_as_the_application_words_them(written: None) -> None:
    for letter in Letter.objects.all():
        assert letter.written == digest(letter.body)
        assert letter.body["greeting"].startswith("Dear ")
    assert all(len(consent.words) > 80 for consent in Consent.objects.all())


def test_a_column_that_is_none_is_refused(db: None) -> None:
    """A model that loses a column is noticed here, not by a demo with a hole."""
    rows = Rows()
    rows.add("records.Dog", name="Moth", wings=2)
    with pytest.raises(LookupError, match="wings"):
        write_rows(rows)
    assert not Dog.objects.exists()

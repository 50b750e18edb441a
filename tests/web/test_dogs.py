"""Dogs and their cautions."""

import datetime as dt
import uuid

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coatround.web.base.models import Firm, Worker
from coatround.web.records.models import Caution, Dog, Vet
from coatround.web.visits.models import Incident
from tests.web.people_of_the_ford import caution, groomed, settled, the_quills, visit_on

pytestmark = pytest.mark.django_db

TYPED = {
    "name": "Fig", "breed": "", "coat": "silky", "size": "tiny", "weight": "4,2 kg", "sex": "spayed",
    "born": "2020-05-01",
    "microchip": "900 123 000 000 045", "vaccination_known": "seen", "vaccinated_until": "2027-01-31", "vet": "",
    "new_vet": "Weir Vets", "new_vet_phone": "02 9374 4000", "last_groomed_before": "", "notes": "afraid of the dryer",
}  # fmt: skip


def test_it_works(signed_in: Client) -> None:
    """A dog is entered with a vet that is not in the list, as one act."""
    household = the_quills()
    answer = signed_in.post(reverse("dog-new", args=[household.pk]), TYPED)
    fig = Dog.objects.get(name="Fig")
    assert answer["Location"] == reverse("dog", args=[fig.pk])
    assert (fig.weight_grams, fig.microchip, fig.vet) == (4200, "900123000000045", Vet.objects.get())
    page = signed_in.get(answer["Location"]).content.decode()
    for words in ("900 123 000 000 045", "4.2 kg", "Weir Vets", "seen, until 31 January 2027", "afraid of the dryer"):
        assert words in page
    signed_in.post(reverse("undo"))
    assert (Dog.objects.filter(name="Fig").exists(), Vet.objects.exists()) == (False, False)


def test_pounds_are_kept_as_grams(signed_in: Client, firm: Firm) -> None:
    """10 lb are 4535.9237 g (NIST Handbook 44)."""
    firm.units = "us"
    firm.save()
    household = the_quills()
    signed_in.post(reverse("dog-new", args=[household.pk]), {**TYPED, "weight": "10"})
    fig = Dog.objects.get(name="Fig")
    assert fig.weight_grams == 4536
    assert 'name="weight" value="10"' in signed_in.get(reverse("dog-change", args=[fig.pk])).content.decode()


@pytest.mark.parametrize(
    ("field", "typed", "words"),
    [
        ("microchip", "12345", "5 digits; it has 15"),
        ("weight", "400", "no weight of a dog"),
        ("weight", "heavy", "number"),
        ("born", "2199-01-01", "still to come"),
        ("vaccination_known", "unknown", "whether you have seen the paper"),
        ("new_vet", "", "no name of that vet"),
    ],
)
def test_a_failed_form_keeps_every_field(signed_in: Client, field: str, typed: str, words: str) -> None:
    household = the_quills()
    answer = signed_in.post(reverse("dog-new", args=[household.pk]), {**TYPED, field: typed})
    page = answer.content.decode()
    assert answer.status_code == 422
    assert words in page
    for name in ("name", "weight", "born", "microchip", "vaccinated_until", "new_vet", "new_vet_phone"):
        value = {**TYPED, field: typed}[name]
        assert not value or f'value="{value}"' in page, name
    assert "afraid of the dryer" in page
    assert not Dog.objects.filter(name="Fig").exists()


def test_cautions_stand_first_and_a_bite_before_all(signed_in: Client, worker: Worker) -> None:
    """In words, above everything else on the page."""
    dog = the_quills().dogs.get()
    caution(dog, "airway", "Cool dryer only.")
    caution(dog, "bite", "Towel under the chin.")
    Incident.objects.create(
        id=uuid.uuid4(),
        at=timezone.now(),
        who=worker,
        dog=dog,
        kind="bite",
        happened_at=timezone.now(),
        words="Caught a thumb.",
    )
    page = signed_in.get(reverse("dog", args=[dog.pk])).content.decode()
    order = [page.index(words) for words in ("Caught a thumb.", "Towel under", "Cool dryer", "The usual", "About")]
    assert order == sorted(order)
    assert "Caught a thumb." in signed_in.get(reverse("household", args=[dog.household_id])).content.decode()
    assert "Caught a thumb." in signed_in.get(reverse("incidents"), {"dog": str(dog.pk)}).content.decode()
    assert "Caught a thumb." not in signed_in.get(reverse("incidents"), {"kind": "nick"}).content.decode()


def test_a_caution_is_added_ended_and_closed(signed_in: Client) -> None:
    dog = the_quills().dogs.get()
    typed = {"kind": "skin", "words": "Lukewarm only.", "since": "2026-02-01", "until": ""}
    signed_in.post(reverse("caution-new", args=[dog.pk]), typed)
    skin = Caution.objects.get()
    wrong = signed_in.post(reverse("caution", args=[skin.pk]), {**typed, "until": "2026-01-01"})
    assert "before it began" in wrong.content.decode()
    signed_in.post(reverse("caution", args=[skin.pk]), {**typed, "until": "2026-02-10"})
    assert "Cautions that no longer hold" in signed_in.get(reverse("dog", args=[dog.pk])).content.decode()
    signed_in.post(reverse("close", args=["caution", skin.pk]), {"why": "healed, said the vet", "on": "2026-02-09"})
    assert "healed, said the vet" in signed_in.get(reverse("dog", args=[dog.pk])).content.decode()


def test_the_page_tells_the_usual_and_the_last_grooms(signed_in: Client, worker: Worker) -> None:
    household = the_quills()
    dog = household.dogs.get()
    settled(dog)
    groomed(dog, visit_on(household, dt.date(2026, 1, 12), "CONFIRMED"), worker)
    page = signed_in.get(reverse("dog", args=[dog.pk])).content.decode()
    for words in ("Every 6 weeks", "check-over", "$85.00", "Mon 12 Jan 2026", "The usual, done."):
        assert words in page


def test_few_queries(signed_in: Client, worker: Worker, django_assert_max_num_queries: object) -> None:
    """A household of four dogs costs no more than one of one."""
    household = the_quills()
    for name in ("Mop", "Fig", "Pip"):
        settled(Dog.objects.create(household=household, name=name))
    for day in (5, 12, 19):
        groomed(household.dogs.first() or Dog(), visit_on(household, dt.date(2026, 1, day)), worker)
    with django_assert_max_num_queries(30):  # type: ignore[operator]
        signed_in.get(reverse("household", args=[household.pk]))
    with django_assert_max_num_queries(30):  # type: ignore[operator]
        signed_in.get(reverse("dog", args=[household.dogs.all()[0].pk]))

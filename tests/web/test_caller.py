"""Someone calls: ten openings, one taken; looked up in the database and undone."""

import pytest
from django.test import Client
from django.urls import reverse

from coatround.web.base.changes import undo_last
from coatround.web.base.models import Firm, Worker
from coatround.web.records.models import Household
from coatround.web.rounds import actions
from coatround.web.rounds.caller import Wanted, look
from coatround.web.rounds.models import Run, Stop
from coatround.web.rounds.propose import plan_now
from coatround.web.rounds.queries import standing_version
from coatround.web.visits.models import Visit
from tests.web.small_town import TODAY, a_dog, a_household, a_town, day
from tests.web.test_undo_round import everything

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def today(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COATROUND_TODAY", TODAY.isoformat())


@pytest.fixture
def caller(worker: Worker, firm: Firm) -> Household:
    """Six dogs stand on runs; a seventh household calls, three hundredths of a degree east."""
    a_town(worker)
    proposal = plan_now(day(1), day(14), who=worker, iterations=150)
    actions.accept(proposal, worker, base_version=proposal.base_version)
    household = a_household("Denby", east=3)
    a_dog(household, "Dot")
    return household


def wanted(household: Household, **values: object) -> Wanted:
    return Wanted(household, tuple(household.dogs.all()), day(1), **values)  # type: ignore[arg-type]


def test_the_cheapest_is_on_the_way_to_someone(caller: Household) -> None:
    """Beside a household that is driven to anyway: cheaper than any day that has no run."""
    found = look(wanted(caller)).found
    assert len(found) == 10
    assert [one.units for one in found] == sorted(one.units for one in found)
    days_out = set(Run.objects.values_list("date", flat=True))
    assert found[0].date in days_out


def test_only_when_they_are_free(caller: Household) -> None:
    found = look(wanted(caller, weekdays=(2,), hours=(13 * 3600, 16 * 3600))).found
    assert found
    assert {one.date.weekday() for one in found} == {2}
    assert all(13 * 3600 <= one.start <= 15 * 3600 for one in found)


def test_an_opening_is_taken_and_undone(caller: Household, worker: Worker, signed_in: Client) -> None:
    before = everything()
    page = signed_in.get(reverse("round:caller-openings", args=[caller.pk]))
    openings = page.context["openings"]
    assert "Pencil them in" in page.content.decode()
    gap = openings[0].gap
    asked = {
        "dogs": [str(dog.pk) for dog in caller.dogs.all()],
        "first": day(0).isoformat(),
        "run": gap.run,
        "at": gap.at,
        "base_version": standing_version(),
    }
    answer = signed_in.post(reverse("round:caller-taken", args=[caller.pk]), asked)
    visit = Visit.objects.get(household=caller)
    assert answer.headers["Location"] == reverse("round:visit", args=[visit.pk])
    stop = Stop.objects.get(visit=visit)
    assert (visit.date, visit.state, stop.run.date) == (gap.date, "TENTATIVE", gap.date)
    assert [link.dog.name for link in visit.visit_dogs.all()] == ["Dot"]
    undo_last(worker)
    assert everything() == before


@pytest.mark.parametrize(
    "wrong", [{"at": "x"}, {"run": "nowhere"}, {"base_version": "99"}, {"dogs": "x"}, {"first": ""}]
)
def test_what_is_gone_or_nonsense_changes_nothing(wrong: dict[str, str], caller: Household, signed_in: Client) -> None:
    before = everything()
    gap = look(wanted(caller)).found[0]
    asked = {
        "dogs": [str(dog.pk) for dog in caller.dogs.all()],
        "first": day(0).isoformat(),
        "run": gap.run,
        "at": gap.at,
        "base_version": standing_version(),
    }
    answer = signed_in.post(reverse("round:caller-taken", args=[caller.pk]), asked | wrong, follow=True)
    assert answer.status_code in (200, 422)
    assert everything() == before


def test_a_household_is_found_by_a_few_letters(caller: Household, signed_in: Client) -> None:
    page = signed_in.get(reverse("round:caller"), {"who": "den"}).content.decode()
    assert reverse("round:caller-openings", args=[caller.pk]) in page
    assert "Nobody of that name" in signed_in.get(reverse("round:caller"), {"who": "zzz"}).content.decode()


def test_without_a_pin_it_says_so(worker: Worker, caller: Household, signed_in: Client) -> None:
    nowhere = a_household("Birch", pinned=False)
    a_dog(nowhere, "Fig")
    page = signed_in.get(reverse("round:caller-openings", args=[nowhere.pk])).content.decode()
    assert "no address with a pin" in page


def test_who_is_due_fits_the_gap_of_a_called_off_visit(worker: Worker, firm: Firm, signed_in: Client) -> None:
    """Mop is called off after the plan; Dot, due that day and on no run, fits; the link leads to her openings."""
    a_town(worker)
    proposal = plan_now(day(1), day(14), who=worker, iterations=150)
    actions.accept(proposal, worker, base_version=proposal.base_version)
    visit = Visit.objects.order_by("date", "pk").first()
    assert visit
    dot = a_dog(a_household("Denby", east=2), "Dot", done=((visit.date - TODAY).days - 42,), worker=worker)
    actions.call_off(visit, worker, "away that week")
    page = signed_in.get(reverse("round:gap", args=[visit.pk])).content.decode()
    assert "Dot" in page
    assert reverse("round:caller-openings", args=[dot.household_id]) in page
    stands = Visit.objects.exclude(state="CANCELLED").first()
    assert stands
    answer = signed_in.get(reverse("round:gap", args=[stands.pk]), follow=True).content.decode()
    assert "There is no gap" in answer

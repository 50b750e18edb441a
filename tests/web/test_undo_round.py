"""What was done to the round is undone as one: accepting, calling off; not after work was recorded on it."""

from typing import Any

import pytest
from django.utils import timezone

from coatround.ids import uuid7
from coatround.web.base.changes import CannotUndo, undo_last
from coatround.web.base.models import Firm, Worker
from coatround.web.records.models import Dog
from coatround.web.rounds import actions
from coatround.web.rounds.models import Proposal, Run, Standing, Stop
from coatround.web.rounds.propose import plan_now
from coatround.web.visits.models import Record, Visit, VisitDog
from tests.web.small_town import TODAY, a_town, day

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def today(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COATROUND_TODAY", TODAY.isoformat())


@pytest.fixture
def town(worker: Worker, firm: Firm) -> list[Dog]:
    return a_town(worker)


def accepted(worker: Worker, seed: int = 1) -> Proposal:
    proposal = plan_now(day(1), day(14), who=worker, iterations=100, seed=seed)
    actions.accept(proposal, worker, base_version=proposal.base_version)
    return proposal


def everything() -> dict[str, list[Any]]:
    """All that an act on the round may change, as plain rows."""
    stops = Stop.objects.order_by("run", "order").values_list(
        "run", "order", "kind", "visit", "start_seconds", "end_seconds", "drive_metres", "by_road", "water_l"
    )
    return {
        "runs": list(Run.objects.order_by("pk").values()),
        "stops": list(stops),
        "visits": list(Visit.objects.order_by("pk").values()),
        "dogs": list(VisitDog.objects.order_by("visit", "order").values_list("visit", "dog", "order")),
    }


def test_accepting_the_first_plan_is_undone(town: list[Dog], worker: Worker) -> None:
    proposal = accepted(worker)
    assert Stop.objects.exists()
    undo_last(worker)
    assert everything() == {"runs": [], "stops": [], "visits": [], "dogs": []}
    proposal.refresh_from_db()
    assert proposal.state == "ready"
    actions.accept(proposal, worker, base_version=proposal.base_version)
    assert Visit.objects.count() == len(town)


def test_accepting_another_plan_gives_the_one_before_back(town: list[Dog], worker: Worker) -> None:
    accepted(worker)
    before = everything()
    Visit.objects.order_by("pk").first()
    dog = town[0]
    dog.usuals.update(interval_weeks=9)
    again = accepted(worker, seed=2)
    assert everything() != before
    undo_last(worker)
    assert everything() == before
    again.refresh_from_db()
    assert again.base_version == Standing.objects.get().version == 3


def test_calling_off_is_undone_with_its_run(town: list[Dog], worker: Worker) -> None:
    accepted(worker)
    before = everything()
    for visit in Visit.objects.order_by("pk"):
        actions.call_off(visit, worker, "away that week")
    assert not Run.objects.exists()
    for _ in town:
        undo_last(worker)
    assert everything() == before


def test_nothing_is_undone_once_work_was_recorded(town: list[Dog], worker: Worker) -> None:
    accepted(worker)
    before = everything()
    visit = Visit.objects.order_by("pk").first()
    assert visit
    now = timezone.now()
    Record.objects.create(id=uuid7(), kind="fit", body={}, said_at=now, received_at=now, who=worker, visit=visit.pk)
    with pytest.raises(CannotUndo, match="Work was recorded"):
        undo_last(worker)
    assert everything() == before

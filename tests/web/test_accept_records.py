"""Taking in plain records: once, whole, and what is refused keeps nothing."""

import contextlib
import re
import threading
import uuid
from pathlib import Path
from typing import Any

import pytest
from django.db import connection

from coatround.core import visit_words as core_words
from coatround.ids import uuid7
from coatround.web.base import writing
from coatround.web.base.models import Change, Firm, Worker
from coatround.web.records import words as record_words
from coatround.web.records.models import Caution, Dog, Household
from coatround.web.visits import words
from coatround.web.visits.actions import Answer, accept
from coatround.web.visits.models import Finding, Fit, Groom, GroomStep, HandingBack, Incident, Measure, Record
from tests.web.visit_day import NOON, VisitDay, visit_day

pytestmark = pytest.mark.django_db


@pytest.fixture
def day(firm: Firm) -> VisitDay:
    return visit_day()


def say(raw: Any, who: Worker, then: Any = None) -> Answer:
    return accept(raw, who, "test phone", now=NOON, then=then)


def counts() -> tuple[int, ...]:
    kinds = (Record, Fit, Groom, GroomStep, Finding, Measure, HandingBack, Incident)
    return tuple(kind._default_manager.count() for kind in kinds)


def test_it_works(day: VisitDay, worker: Worker) -> None:
    """The usual, done: the routine, its product by the label's ratio and the cut are filled in."""
    followed: list[Any] = []
    raw = day.groom(started_at="2026-03-03T11:00:00+11:00", ended_at="2026-03-03T11:58:00+11:00")
    assert say(raw, worker, followed.append).status == "accepted"
    groom = Groom.objects.get()
    assert followed == [groom]
    assert [step.step for step in groom.steps.all()] == [
        "check-over", "nails", "cotton in", "first wash", "cotton out", "dryer", "finish",
    ]  # fmt: skip
    assert groom.steps.get(step="first wash").product_ml == 750  # 12 litres, 1 part in 16
    assert groom.cut == {"body": {"how": "blade", "mm": 10}, "head": {"how": "scissored"}}
    assert (groom.work_seconds, groom.date, groom.cotton_in, groom.who) == (3480, day.visit.date, 2, worker)


def test_the_record_is_kept_as_it_was_sent(day: VisitDay, worker: Worker) -> None:
    raw = day.groom()
    say(raw, worker)
    kept = Record.objects.get()
    assert kept.body == raw["body"]
    assert (kept.device, kept.received_at) == ("test phone", NOON)


@pytest.mark.parametrize("kind", ["fit", "groom", "handing-back", "incident"])
def test_the_same_record_twice_changes_nothing(kind: str, day: VisitDay, worker: Worker) -> None:
    followed: list[Any] = []
    raw = {
        "fit": day.record("fit", answer="go"),
        "groom": day.groom(findings=[{"part": "tail", "kind": "mat", "grade": 1}]),
        "handing-back": day.handing_back(),
        "incident": day.record("incident", kind="nick", happened_at="2026-03-03T11:30:00+11:00", words="Left ear."),
    }[kind]
    assert say(raw, worker, followed.append).status == "accepted"
    before = counts()
    assert say(raw, worker, followed.append) == Answer(raw["id"], "already there")
    assert counts() == before
    assert len(followed) == 1


def test_the_same_id_with_another_body_is_refused(day: VisitDay, worker: Worker) -> None:
    raw = day.groom()
    say(raw, worker)
    answer = say({**raw, "body": {**raw["body"], "notes": "Another."}}, worker)
    assert (answer.status, answer.code) == ("refused", "same-id-other-record")
    assert Groom.objects.get().notes == ""


def test_what_follows_fails_and_nothing_is_kept(day: VisitDay, worker: Worker) -> None:
    def breaks(fact: Any) -> None:
        raise RuntimeError("the shelf fell down")

    raw = day.groom()
    answer = say(raw, worker, breaks)
    assert (answer.status, answer.code) == ("refused", "not-now")
    assert counts() == (0,) * 8
    assert say(raw, worker).status == "accepted"


def test_only_what_differed_is_said(day: VisitDay, worker: Worker) -> None:
    """Nails left out, another cut on the head, a step that is not in the routine: the rest is as usual."""
    steps = [{"step": "nails", "done": False, "words": "Quick, tired."}, {"step": "strip"}]
    say(day.groom(steps=steps, cut={"head": {"how": "comb", "mm": 13}}), worker)
    groom = Groom.objects.get()
    done = {step.step: step.done for step in groom.steps.all()}
    assert list(done) == ["check-over", "nails", "cotton in", "first wash", "cotton out", "dryer", "finish", "strip"]
    assert [name for name, was_done in done.items() if not was_done] == ["nails"]
    assert groom.cut["head"] == {"how": "comb", "mm": 13}
    assert groom.cut["body"] == {"how": "blade", "mm": 10}


def test_findings_and_measures_are_kept_as_said(day: VisitDay, worker: Worker) -> None:
    findings = [{"part": "left ear", "kind": "red", "grade": 2, "words": "Since Sunday."}]
    say(day.groom(findings=findings, measures={"weight_grams": 8400, "left_ear": 2}), worker)
    assert list(Finding.objects.values_list("part", "kind", "grade", "words")) == [
        ("left ear", "red", 2, "Since Sunday.")
    ]
    assert set(Measure.objects.values_list("kind", "value")) == {("weight", 8400), ("left ear", 2)}


def test_cotton_is_counted_out_of_the_ears(day: VisitDay, worker: Worker) -> None:
    """With cotton in the routine its count can't be left out; without the step it can."""
    answer = say(day.groom(cotton=None), worker)
    assert answer.code == "cotton-not-counted"
    assert say(day.groom(cotton={"in": 2, "taken_out": 1}), worker).code == "cotton-does-not-add-up"
    assert say(day.groom(cotton=None, steps=[{"step": "cotton in", "done": False}]), worker).status == "accepted"


def test_a_groom_not_done_has_no_routine(day: VisitDay, worker: Worker) -> None:
    assert say(day.groom(state="CANCELLED", why_not="Cough.", cotton=None), worker).status == "accepted"
    groom = Groom.objects.get()
    assert (groom.steps.count(), groom.usual_done, groom.cut) == (0, False, {})


def test_a_correction_stands_in_place_of_the_old_row(day: VisitDay, worker: Worker) -> None:
    first, second = uuid7(), uuid7()
    say(day.groom(first), worker)
    assert (
        say({**day.groom(second, notes="Mats behind the ears."), "corrects": str(first)}, worker).status == "accepted"
    )
    assert Groom.objects.get(pk=first).corrected
    new = Groom.objects.get(pk=second)
    assert (new.corrected, new.corrects, new.notes) == (False, first, "Mats behind the ears.")
    again = say({**day.groom(), "corrects": str(first)}, worker)
    assert again.code == "already-corrected"


def test_a_correction_is_of_the_same_visit_and_dog(day: VisitDay, worker: Worker) -> None:
    first = uuid7()
    say(day.groom(first), worker)
    other_dog = {**day.groom(dog=str(day.mop.pk)), "corrects": str(first)}
    assert say(other_dog, worker).code == "corrects-something-else"
    assert say({**day.handing_back(), "corrects": str(first)}, worker).code == "unknown-record"
    assert not Groom.objects.get(pk=first).corrected


def test_what_is_not_known_is_refused(day: VisitDay, worker: Worker) -> None:
    stranger = Dog.objects.create(household=Household.objects.create(name="Weir Road"), name="Pilot")
    nobody = str(uuid7())
    assert say({**day.groom(), "visit": nobody}, worker).code == "unknown-visit"
    assert say(day.groom(dog=nobody), worker).code == "unknown-dog"
    assert say(day.groom(dog=str(stranger.pk)), worker).code == "dog-of-another-household"
    assert say(day.groom(steps=[{"step": "strip", "product": nobody}]), worker).code == "unknown-product"
    assert say(day.record("caution-seen", cautions=[nobody]), worker).code == "unknown-caution"
    assert say(day.handing_back(next={"how": "usual", "date": "2026-03-03"}), worker).code == "next-before-visit"
    assert counts() == (0,) * 8


def test_a_visit_called_off_keeps_old_and_new(day: VisitDay, worker: Worker) -> None:
    assert say(day.record("visit-change", state="CANCELLED", why="Nobody home."), worker).status == "accepted"
    day.visit.refresh_from_db()
    assert (day.visit.state, day.visit.called_off_why) == ("CANCELLED", "Nobody home.")
    change = Change.objects.get(table="visits.Visit")
    assert (change.old or {})["state"] == "CONFIRMED"


def test_a_window_told_is_kept(day: VisitDay, worker: Worker) -> None:
    say(day.record("visit-change", told_from="12:30", told_until="13:15", answer="ACCEPTED"), worker)
    day.visit.refresh_from_db()
    assert day.visit.is_told
    assert (day.visit.told_from.hour, day.visit.answer) == (12, "ACCEPTED")  # type: ignore[union-attr]


def test_a_caution_seen_is_a_record_alone(day: VisitDay, worker: Worker) -> None:
    caution = Caution.objects.create(dog=day.biscuit, kind="bite", words="Back feet last.")
    assert say(day.record("caution-seen", cautions=[str(caution.pk)]), worker).status == "accepted"
    assert Record.objects.get().kind == "caution-seen"


@pytest.mark.parametrize("raw", [None, [], "x", 7, {}, {"id": 5}, {"id": str(uuid.uuid4())}])
def test_no_junk_makes_it_fall_over(raw: Any, worker: Worker) -> None:
    answer = say(raw, worker)
    assert answer.status == "refused"
    assert answer.code != "not-now"


@pytest.mark.django_db(transaction=True)
def test_the_same_record_raced_is_kept_once(firm: Firm, worker: Worker, monkeypatch: pytest.MonkeyPatch) -> None:
    """Eight at once: one is accepted, seven find it there already, one groom stands.

    On PostgreSQL without this process's own lock, as eight processes would be.
    """
    if connection.vendor == "postgresql":
        monkeypatch.setattr(writing, "_LOCK", contextlib.nullcontext())
    day = visit_day()
    raw, said, gate = day.groom(), [], threading.Barrier(8)

    def send() -> None:
        gate.wait()
        said.append(say(raw, worker).status)
        connection.close()

    threads = [threading.Thread(target=send) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(said) == ["accepted"] + ["already there"] * 7
    assert (Record.objects.count(), Groom.objects.count()) == (1, 1)


def test_core_and_web_use_the_same_words() -> None:
    pairs = [
        (core_words.FIT_SIGNS, words.FIT_SIGNS),
        (core_words.FIT_ANSWERS, words.FIT_ANSWERS),
        (core_words.STOOD, words.STOOD),
        (core_words.PAID, words.PAID),
        (core_words.NEXT_HOW, words.NEXT_HOW),
        (core_words.INCIDENTS, words.INCIDENTS),
        (core_words.VISIT_STATES, words.VISIT_STATES),
        (core_words.ANSWERS, words.ANSWERS),
        (core_words.GROOM_STATES, words.GROOM_STATES[1:]),
        (core_words.STEPS, record_words.STEPS),
        (core_words.PARTS, record_words.PARTS),
        (core_words.FINDINGS, record_words.FINDINGS),
        (core_words.CUT_PARTS, record_words.CUT_PARTS),
        (core_words.CUT_WAYS, record_words.CUT_WAYS),
    ]
    for core, web in pairs:
        assert list(core) == [stored for stored, _ in web]


def test_every_code_of_refusal_is_in_the_docs() -> None:
    """A program that sends records can look each code up."""
    root = Path(__file__).parents[2]
    sources = [*(root / "src/coatround/core").glob("*.py"), *(root / "src/coatround/web/visits").glob("*.py")]
    sources += (root / "src/coatround/web/phone").glob("*.py")
    told = r'(?:Refused|wrong|Refusal|error)\(\s*(?:\d{3}, )?"([a-z-]+)"'
    codes = {code for source in sources for code in re.findall(told, source.read_text())}
    assert len(codes) > 50
    docs = (root / "docs/visit.md").read_text()
    assert {code for code in codes if f"`{code}`" not in docs} == set()

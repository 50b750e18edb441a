"""Recording a visit by its pages: one tap for the ordinary, words for the rest, and nothing typed is lost."""

import datetime as dt
import io
import re
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from coatround.web.base.models import Firm
from coatround.web.records.models import Caution, Usual
from coatround.web.visits.models import Finding, Fit, Groom, HandingBack, Incident, Measure, Photo, Record, Visit
from tests.web.visit_day import DATE, VisitDay, visit_day

pytestmark = pytest.mark.django_db
FIELD = re.compile(r"<(?:input|select|textarea|button)\b[^>]*>", re.I)


@pytest.fixture
def day(firm: Firm, monkeypatch: pytest.MonkeyPatch) -> VisitDay:
    monkeypatch.setenv("COATROUND_TODAY", DATE.isoformat())
    return visit_day()


def fields_of(page: str) -> dict[str, Any]:
    """What a browser would send of a page's largest form if its button were tapped at once."""
    form = max(re.findall(r"<form\b.*?</form>", page, re.S), key=len)
    sent: dict[str, Any] = {}
    for select in re.finditer(r'<select[^>]*\bname="([^"]+)"[^>]*>(.*?)</select>', form, re.S):
        chosen = re.search(r'<option value="([^"]*)" selected', select[2])
        sent[select[1]] = chosen[1] if chosen else ""
    for area in re.finditer(r'<textarea[^>]*\bname="([^"]+)"[^>]*>(.*?)</textarea>', form, re.S):
        sent[area[1]] = area[2].strip()
    for tag in re.finditer(r"<input\b[^>]*>", form):
        name, value = (re.search(rf'\b{key}="([^"]*)"', tag[0]) for key in ("name", "value"))
        if name is None or 'type="file"' in tag[0]:
            continue
        if re.search(r'type="(checkbox|radio)"', tag[0]) and not re.search(r"\bchecked\b", tag[0]):
            continue
        sent[name[1]] = value[1] if value else ""
    return sent


def open_page(client: Client, name: str, *ids: Any) -> tuple[str, dict[str, Any]]:
    address = reverse(f"phone:{name}", args=ids)
    answer = client.get(address)
    assert answer.status_code == 200
    return address, fields_of(answer.content.decode())


def door(client: Client, day: VisitDay, **changed: Any) -> Any:
    address, sent = open_page(client, "door", day.visit.pk)
    return client.post(address, {**sent, **changed})


def test_an_ordinary_visit_takes_four_taps(signed_in: Client, day: VisitDay) -> None:
    """At the door; save; the usual, done (for each dog); paid cash. Nothing else is touched."""
    day.visit.visit_dogs.filter(dog=day.mop).delete()
    taps = 1  # from the run sheet to the door
    address, sent = open_page(signed_in, "door", day.visit.pk)
    answer = signed_in.post(address, sent)
    taps += 1
    assert answer["Location"] == reverse("phone:groom", args=[day.visit.pk, day.biscuit.pk])
    answer = signed_in.post(
        answer["Location"], {**fields_of(signed_in.get(answer["Location"]).content.decode()), "did": "done"}
    )
    taps += 1
    assert answer["Location"] == reverse("phone:handing-back", args=[day.visit.pk])
    sent = fields_of(signed_in.get(answer["Location"]).content.decode())
    assert sent["next"] == "usual|2026-04-14"
    assert sent["price"] == "85.00"
    answer = signed_in.post(answer["Location"], {**sent, "paid": "cash"})
    taps += 1
    assert answer.status_code == 302
    assert taps == 4
    groom, back = Groom.objects.get(), HandingBack.objects.get()
    assert (groom.usual_done, groom.cotton_in, groom.cotton_taken_out, groom.steps.count()) == (True, 2, 2, 7)
    assert (back.price_cents, back.paid, back.paid_cents, back.next_date) == (8500, "cash", 8500, dt.date(2026, 4, 14))
    assert Fit.objects.get().answer == "go"


def test_the_groom_page_says_the_bath_and_its_caution(signed_in: Client, day: VisitDay) -> None:
    """The mix in millilitres with its minutes; a tepid bath of 12 litres from 60 and 15 degrees takes 5.6 hot."""
    page = signed_in.get(reverse("phone:groom", args=[day.visit.pk, day.biscuit.pk])).content.decode()
    assert " ml</strong>" in page
    assert "5.6 L hot, the rest cold" in page
    assert "feel it with your wrist before the dog" in page


@pytest.mark.parametrize("name", ["visit", "door", "handing-back", "incident", "called-off"])
def test_every_page_needs_signing_in(name: str, client: Client, day: VisitDay) -> None:
    answer = client.get(reverse(f"phone:{name}", args=[day.visit.pk]))
    assert answer.status_code == 302
    assert answer["Location"].startswith(reverse("sign-in"))


def test_a_double_tap_records_once(signed_in: Client, day: VisitDay) -> None:
    for name, ids, tapped in (
        ("groom", [day.visit.pk, day.biscuit.pk], {"did": "done"}),
        ("handing-back", [day.visit.pk], {"paid": "card"}),
        ("incident", [day.visit.pk], {"kind": "nick", "words": "Left ear."}),
    ):
        address, sent = open_page(signed_in, name, *ids)
        assert [signed_in.post(address, {**sent, **tapped}).status_code for _ in range(2)] == [302, 302]
    assert (Groom.objects.count(), HandingBack.objects.count(), Incident.objects.count()) == (1, 1, 1)


def test_signs_are_answered_before_they_are_saved(signed_in: Client, day: VisitDay) -> None:
    """A cough: the answer with its reason is shown first; saved, the dog is put down as not done."""
    key = day.biscuit.pk
    address, sent = open_page(signed_in, "door", day.visit.pk)
    ticked = {**sent, f"signs-{key}": "cough"}
    answer = signed_in.post(address, ticked)
    assert answer.status_code == 200
    assert "not today" in answer.content.decode()
    assert "vet" in answer.content.decode()
    assert not Fit.objects.exists()
    answer = signed_in.post(address, fields_of(answer.content.decode()))
    assert answer["Location"] == reverse("phone:groom", args=[day.visit.pk, day.mop.pk])
    assert Fit.objects.get(dog=day.biscuit).answer == "not today"
    assert Groom.objects.get(dog=day.biscuit).state == "CANCELLED"


def test_milder_needs_a_reason_and_keeps_it(signed_in: Client, day: VisitDay) -> None:
    key = day.biscuit.pk
    milder = {f"signs-{key}": "stitches", f"shown-{key}": "not today", f"answer-{key}": "shorter"}
    answer = door(signed_in, day, **milder)
    assert answer.status_code == 200
    assert "Write why" in answer.content.decode()
    answer = door(signed_in, day, **milder, **{f"reason-{key}": "Vet rung, agrees to a dry trim."})
    assert answer.status_code == 302
    fit = Fit.objects.get(dog=day.biscuit)
    assert (fit.answer, fit.reason) == ("shorter", "Vet rung, agrees to a dry trim.")


def test_a_new_caution_is_read_once(signed_in: Client, day: VisitDay) -> None:
    """First time with the dog: the tick is asked, kept as a record, and not asked again at this visit."""
    Caution.objects.create(dog=day.biscuit, kind="bite", words="Back feet. Feet last.")
    answer = door(signed_in, day)
    assert answer.status_code == 200
    assert "Read what stands above" in answer.content.decode()
    assert door(signed_in, day, **{f"read-{day.biscuit.pk}": "yes"}).status_code == 302
    assert Record.objects.filter(kind="caution-seen").count() == 1
    page = signed_in.get(reverse("phone:groom", args=[day.visit.pk, day.biscuit.pk])).content.decode()
    assert "Feet last." in page
    assert "I have read" not in page


def test_what_differed_is_recorded_by_step(signed_in: Client, day: VisitDay) -> None:
    address, sent = open_page(signed_in, "groom", day.visit.pk, day.biscuit.pk)
    del sent["done-1"]
    typed = {
        **sent,
        "words-1": "Quick, tired.",
        "also-strip": "yes",
        "kind-left-ear": "red",
        "grade-left-ear": "2",
        "how-head": "comb",
        "mm-head": "13",
        "weight": "8,4",
        "condition": "5",
        "stood": "uneasy",
        "notes": "Shy of the dryer.",
        "cotton-taken_out": "1",
        "cotton-fell_out": "1",
    }
    assert signed_in.post(address, typed).status_code == 302
    groom = Groom.objects.get()
    assert [step.step for step in groom.steps.filter(done=False)] == ["nails"]
    assert groom.steps.filter(step="strip").exists()
    assert groom.cut == {"body": {"how": "blade", "mm": 10}, "head": {"how": "comb", "mm": 13}}
    assert list(Finding.objects.values_list("part", "kind", "grade")) == [("left ear", "red", 2)]
    assert set(Measure.objects.values_list("kind", "value")) == {("weight", 8400), ("condition", 5)}
    assert (groom.stood, groom.notes, groom.cotton_fell_out) == ("uneasy", "Shy of the dryer.", 1)
    body = Record.objects.get().body
    assert [step["step"] for step in body["steps"]] == ["nails", "strip"]
    assert list(body["cut"]) == ["head"]


def test_nothing_typed_is_lost_on_an_error(signed_in: Client, day: VisitDay) -> None:
    """A weight that is no number, cotton that does not add up: the page comes back with every field as it was."""
    address, sent = open_page(signed_in, "groom", day.visit.pk, day.biscuit.pk)
    typed = {**sent, "notes": "Shy of the <dryer>.", "kind-tail": "mat", "found-tail": "Felted", "mm-body": "12.5"}
    for wrong, words in (({"weight": "8kilo"}, "is not a number"), ({"cotton-taken_out": "1"}, "1 accounted for")):
        answer = signed_in.post(address, {**typed, **wrong})
        assert answer.status_code == 200
        page = answer.content.decode()
        assert words in page
        again = fields_of(page)
        expected = {**typed, **wrong, "notes": "Shy of the &lt;dryer&gt;."}
        assert {name: value for name, value in again.items() if value} == {
            name: value for name, value in expected.items() if value
        } | {"csrfmiddlewaretoken": again["csrfmiddlewaretoken"], "photo_id": again["photo_id"]}
    assert not Groom.objects.exists()


def test_wrong_millilitres_are_marked_where_they_stand(signed_in: Client, day: VisitDay) -> None:
    """The step's own lines were closed over the wrong number, and nothing said which it was."""
    address, sent = open_page(signed_in, "groom", day.visit.pk, day.biscuit.pk)
    wash = next(name.removeprefix("product-") for name, value in sent.items() if name.startswith("product-") and value)
    page = signed_in.post(address, {**sent, f"ml-{wash}": "a cup"}).content.decode()
    before, after = page.split(f'name="ml-{wash}"')
    assert '<details class="more" open>' in before[before.rindex("<details") :]
    assert "“a cup” is not a whole number" in after[: after.index("</details>")]


@pytest.mark.parametrize("name", ["groom", "incident"])
def test_a_photo_is_kept_when_the_rest_is_not_right_yet(name: str, signed_in: Client, day: VisitDay) -> None:
    """A browser does not hand a chosen file back: it was lost with the first wrong field, and its words with it."""
    dogs = [day.biscuit.pk] if name == "groom" else []
    address, sent = open_page(signed_in, name, day.visit.pk, *dogs)
    wrong = {**sent, "weight": "8kilo", "happened_at": "soon", "photo_words": "His back"}
    assert fields_of(signed_in.post(address, wrong).content.decode())["photo_words"] == "His back"
    picture = io.BytesIO()
    Image.new("RGB", (40, 30), "tan").save(picture, "PNG")
    photo = SimpleUploadedFile("a.png", picture.getvalue())
    page = signed_in.post(address, {**wrong, "photo": photo}).content.decode()
    assert "The photo is kept." in page
    assert Photo.objects.get().words == "His back"
    again = fields_of(page)
    assert again["photo_words"] == ""
    assert again["photo_id"] != sent["photo_id"]


def test_opening_it_again_corrects_it(signed_in: Client, day: VisitDay) -> None:
    address, sent = open_page(signed_in, "groom", day.visit.pk, day.biscuit.pk)
    signed_in.post(address, {**sent, "notes": "First."})
    address, sent = open_page(signed_in, "groom", day.visit.pk, day.biscuit.pk)
    assert sent["notes"] == "First."
    signed_in.post(address, {**sent, "notes": "Second."})
    assert list(Groom.objects.order_by("id").values_list("notes", "corrected")) == [
        ("First.", True),
        ("Second.", False),
    ]
    assert Groom.objects.get(corrected=False).steps.count() == 7


def test_a_page_gone_back_to_is_a_correction_not_a_second_groom(signed_in: Client, day: VisitDay) -> None:
    address, sent = open_page(signed_in, "groom", day.visit.pk, day.biscuit.pk)
    signed_in.post(address, sent)
    answer = signed_in.post(address, {**sent, "notes": "Also this."})
    assert "Save again to correct it" in answer.content.decode()
    assert signed_in.post(address, fields_of(answer.content.decode())).status_code == 302
    assert Groom.objects.get(corrected=False).notes == "Also this."


def test_two_phones_on_one_dog_are_told(signed_in: Client, day: VisitDay) -> None:
    address, first = open_page(signed_in, "groom", day.visit.pk, day.biscuit.pk)
    _, second = open_page(signed_in, "groom", day.visit.pk, day.biscuit.pk)
    signed_in.post(address, first)
    answer = signed_in.post(address, second)
    assert "recorded this dog already" in answer.content.decode()
    assert Groom.objects.count() == 1


def test_swallowed_cotton_rings(signed_in: Client, day: VisitDay) -> None:
    address, sent = open_page(signed_in, "groom", day.visit.pk, day.biscuit.pk)
    answer = signed_in.post(address, {**sent, "cotton-taken_out": "1", "cotton-swallowed": "1"}, follow=True)
    assert "a vet now" in answer.content.decode()
    assert Groom.objects.get().cotton_swallowed == 1


def test_times_come_by_themselves_on_the_day(signed_in: Client, day: VisitDay, monkeypatch: pytest.MonkeyPatch) -> None:
    """Begun at the door at ten, done fifty minutes later."""
    at_ten = dt.datetime(2026, 3, 2, 23, 0, tzinfo=dt.UTC)
    monkeypatch.setattr(timezone, "now", lambda: at_ten)
    door(signed_in, day)
    address, sent = open_page(signed_in, "groom", day.visit.pk, day.biscuit.pk)
    assert sent["started"] == "10:00"
    monkeypatch.setattr(timezone, "now", lambda: at_ten + dt.timedelta(minutes=50))
    signed_in.post(address, sent)
    groom = Groom.objects.get()
    assert (groom.started_at, groom.work_seconds) == (at_ten, 3000)


def test_a_tip_stands_apart_and_part_paid_is_kept(signed_in: Client, day: VisitDay) -> None:
    Usual.objects.filter(dog=day.biscuit).update(price_cents=9000)
    address, sent = open_page(signed_in, "groom", day.visit.pk, day.biscuit.pk)
    signed_in.post(address, sent)
    address, sent = open_page(signed_in, "handing-back", day.visit.pk)
    typed = {**sent, "price": "80", "tip": "5.50", "paid_amount": "50", "paid": "transfer", "next": "ask"}
    signed_in.post(address, typed)
    back = HandingBack.objects.get()
    assert (back.price_cents, back.tip_cents, back.paid_cents, back.next_how) == (8000, 550, 5000, "ask")


def test_another_date_with_a_window_is_told(signed_in: Client, day: VisitDay) -> None:
    address, sent = open_page(signed_in, "handing-back", day.visit.pk)
    other = {"next": "other", "other_date": "2026-04-20", "other_from": "09:00", "other_until": "09:45"}
    assert signed_in.post(address, {**sent, **other, "price": "0", "paid": "not paid"}).status_code == 302
    nxt = Visit.objects.get(date=dt.date(2026, 4, 20))
    assert nxt.is_told


def test_a_wrong_amount_keeps_what_was_typed(signed_in: Client, day: VisitDay) -> None:
    address, sent = open_page(signed_in, "handing-back", day.visit.pk)
    answer = signed_in.post(address, {**sent, "price": "lots", "notes": "Pays on Friday.", "paid": "cash"})
    page = fields_of(answer.content.decode())
    assert (page["price"], page["notes"]) == ("lots", "Pays on Friday.")
    assert not HandingBack.objects.exists()


@pytest.mark.parametrize("name", ["tip", "paid_amount"])
def test_money_typed_and_not_paid_tapped_is_asked_about(name: str, signed_in: Client, day: VisitDay) -> None:
    """A tip was dropped without a word when “not paid” was tapped."""
    address, sent = open_page(signed_in, "handing-back", day.visit.pk)
    page = signed_in.post(address, {**sent, "price": "85", name: "5", "paid": "not paid"}).content.decode()
    assert "“Not paid” goes with no money" in page
    assert fields_of(page)[name] == "5"
    assert not HandingBack.objects.exists()


def test_a_chosen_opening_stays_chosen_on_an_error(signed_in: Client, day: VisitDay) -> None:
    address, sent = open_page(signed_in, "handing-back", day.visit.pk)
    opening = {"next": "opening|2026-04-10|11:15|12:00", "paid": "cash"}
    page = signed_in.post(address, {**sent, **opening, "price": "lots"}).content.decode()
    assert "Friday 10 April, 11:15 to 12:00" in page
    again = fields_of(page)
    assert again["next"] == opening["next"]
    assert signed_in.post(address, {**again, "price": "85", "paid": "cash"}).status_code == 302
    assert Visit.objects.get(date=dt.date(2026, 4, 10)).is_told


@pytest.mark.parametrize("junk", ["opening|x|y|z", "usual|", "|||||", "opening|2026-04-10|12:00|11:00", "\x00"])
def test_a_next_date_that_was_tampered_with_is_refused_in_words(junk: str, signed_in: Client, day: VisitDay) -> None:
    address, sent = open_page(signed_in, "handing-back", day.visit.pk)
    answer = signed_in.post(address, {**sent, "next": junk, "price": "85", "paid": "cash"})
    assert answer.status_code == 200
    assert 'class="error"' in answer.content.decode()
    assert not HandingBack.objects.exists()


def test_openings_are_looked_for_apart(signed_in: Client, day: VisitDay) -> None:
    """A place without a pin has none, and says what to do; without scripts the page itself holds them."""
    for page in (
        signed_in.get(reverse("phone:openings", args=[day.visit.pk])),
        signed_in.get(reverse("phone:handing-back", args=[day.visit.pk]), {"openings": "yes"}),
    ):
        assert "No opening was found" in page.content.decode()


def test_nobody_home_calls_the_visit_off(signed_in: Client, day: VisitDay) -> None:
    address, sent = open_page(signed_in, "called-off", day.visit.pk)
    assert signed_in.post(address, sent).status_code == 200
    signed_in.post(address, {**sent, "why": "Nobody home."})
    day.visit.refresh_from_db()
    assert (day.visit.state, day.visit.called_off_why) == ("CANCELLED", "Nobody home.")


def test_the_desk_reads_all_of_it(signed_in: Client, day: VisitDay, django_assert_max_num_queries: Any) -> None:
    address, sent = open_page(signed_in, "groom", day.visit.pk, day.biscuit.pk)
    signed_in.post(address, {**sent, "kind-left-ear": "red", "grade-left-ear": "2", "words-0": "Quiet."})
    with django_assert_max_num_queries(30):
        page = signed_in.get(reverse("visits:visit", args=[day.visit.pk])).content.decode()
    for words in ("Left ear: redness, plain.", "2 in, 2 taken out", "Oatmeal, 750 ml", "body 10 mm blade"):
        assert words in page
    listed = signed_in.get(reverse("visits:page")).content.decode()
    assert "done, not handed back" in listed
    assert "Nothing" not in signed_in.get(reverse("visits:page"), {"find": "nobody"}).content.decode()


@pytest.mark.parametrize("name", ["visit", "door", "handing-back", "incident"])
def test_pages_stay_under_thirty_queries(
    name: str, signed_in: Client, day: VisitDay, django_assert_max_num_queries: Any
) -> None:
    Caution.objects.create(dog=day.biscuit, kind="bite", words="Feet last.")
    with django_assert_max_num_queries(30):
        assert signed_in.get(reverse(f"phone:{name}", args=[day.visit.pk])).status_code == 200

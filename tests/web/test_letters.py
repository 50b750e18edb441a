"""Letters: written from the records, read through, given by link, PDF or text; a wrong link is refused in words."""

import datetime as dt
import io

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader

from coatround.web.base.models import Firm, Worker
from coatround.web.letters import actions, links
from coatround.web.letters import pdf as pdf_module
from coatround.web.letters.body import as_text, numbered, with_words, words_at
from coatround.web.letters.models import Letter
from coatround.web.records.models import PlaceKey
from tests.web.done import DAY, Quinces, quinces

pytestmark = pytest.mark.django_db


@pytest.fixture
def home_of_pip(worker: Worker, firm: Firm) -> Quinces:
    return quinces(worker)


@pytest.fixture
def letter(home_of_pip: Quinces) -> Letter:
    visit = home_of_pip.visit()
    home_of_pip.groom(visit, findings=[("right ear", "red", 1)])
    row = actions.refresh(visit.pk)
    assert row is not None
    return row


def act(client: Client, letter: Letter, name: str) -> None:
    assert client.post(reverse("letters:act", args=[letter.pk, name])).status_code == 302
    letter.refresh_from_db()


def test_it_works(signed_in: Client, letter: Letter) -> None:
    """Read through by a person, then open to the owner by its link, and no page before."""
    assert letter.state == "draft"
    assert Client().get(links.address(letter)).status_code == 410
    assert "Quince" in signed_in.get(reverse("letters:list")).content.decode()
    act(signed_in, letter, "read")
    assert (letter.state, letter.reviewed_by) == ("reviewed", Worker.objects.get())
    page = signed_in.get(reverse("letters:letter", args=[letter.pk])).content.decode()
    assert links.address(letter) in page
    owner = Client().get(links.address(letter))
    assert owner.status_code == 200
    for words in ("Dear Mary Quince,", "A red place on the right ear, slight.", "See a vet if Pip", "Kind regards"):
        assert words in owner.content.decode()


def test_the_usual_done_tells_the_routine(letter: Letter) -> None:
    done = next(part for part in letter.body["parts"] if part["heading"] == "What was done")
    assert done["paragraphs"] == ["Looked over from nose to tail, washed and blown dry. Used in the bath: Oat wash."]


def test_next_date_due_from_the_interval(letter: Letter) -> None:
    """Six weeks after 3 March 2026 is 14 April."""
    text = as_text(letter.body)
    assert "The next groom is due about Tuesday 14 April." in text


def test_a_draft_follows_the_records(home_of_pip: Quinces, letter: Letter) -> None:
    home_of_pip.incident(home_of_pip.visit())  # another visit's is not told here
    home_of_pip.incident(home_of_pip.household.visits.get(pk=letter.visit), owner_told=True)
    actions.refresh(letter.visit)
    letter.refresh_from_db()
    assert as_text(letter.body).count("Pip was nicked.") == 1
    assert "Left front pad." in as_text(letter.body)
    assert not letter.out_of_date


@pytest.mark.parametrize("how", ["read", "changed"])
def test_words_that_a_person_stands_by_are_kept_and_marked_out_of_date(
    how: str, signed_in: Client, worker: Worker, home_of_pip: Quinces, letter: Letter
) -> None:
    if how == "read":
        actions.mark_read(letter, worker, timezone.now())
    else:
        actions.change_words(letter, 0, "Hello Mary,", worker)
    kept = as_text(Letter.objects.get().body)
    actions.refresh(letter.visit)
    assert not Letter.objects.get().out_of_date
    home_of_pip.incident(home_of_pip.household.visits.get(pk=letter.visit))
    actions.refresh(letter.visit)
    row = Letter.objects.get()
    assert (as_text(row.body), row.out_of_date) == (kept, True)
    page = signed_in.get(reverse("letters:letter", args=[row.pk])).content.decode()
    assert "Out of date" in page
    assert "Ring them before they read it" in page
    act(signed_in, row, "anew")
    assert not row.out_of_date
    assert "nicked" in as_text(row.body)


def test_paragraphs_are_changed_taken_out_and_added(signed_in: Client, letter: Letter) -> None:
    number = numbered(letter.body)["parts"][0]["paragraphs"][0]["number"]
    address = reverse("letters:words", args=[letter.pk, number])
    assert words_at(letter.body, number) in signed_in.get(address).content.decode()  # type: ignore[operator]
    assert signed_in.post(address, {"words": "It was good to see Pip."}).status_code == 302
    signed_in.post(reverse("letters:more", args=[letter.pk]), {"more": "The gate sticks."})
    letter.refresh_from_db()
    text = as_text(letter.body)
    assert "It was good to see Pip." in text
    assert text.index("The gate sticks.") < text.index("Kind regards")
    signed_in.post(address, {"words": ""})
    letter.refresh_from_db()
    assert "It was good to see Pip." not in as_text(letter.body)


def test_too_many_words_lose_nothing(signed_in: Client, letter: Letter) -> None:
    typed = "word " * 500
    answer = signed_in.post(reverse("letters:words", args=[letter.pk, 0]), {"words": typed})
    assert answer.status_code == 200
    assert typed.strip() in answer.content.decode()


def test_a_letter_read_through_is_not_changed_by_the_way(signed_in: Client, worker: Worker, letter: Letter) -> None:
    actions.mark_read(letter, worker, timezone.now())
    assert signed_in.post(reverse("letters:words", args=[letter.pk, 0]), {"words": "x"}).status_code == 404
    assert signed_in.post(reverse("letters:more", args=[letter.pk]), {"more": "x"}).status_code == 404
    assert Letter.objects.get().body == letter.body


def test_a_link_ends_by_itself(worker: Worker, letter: Letter) -> None:
    actions.mark_read(letter, worker, timezone.now() - dt.timedelta(days=30, minutes=1))
    answer = Client().get(links.address(letter))
    assert answer.status_code == 410
    assert "can no longer be opened" in answer.content.decode()
    assert "Quince" not in answer.content.decode()


def test_a_link_ends_when_it_is_ended_and_a_new_one_opens(signed_in: Client, letter: Letter) -> None:
    act(signed_in, letter, "read")
    first = links.address(letter)
    act(signed_in, letter, "end-link")
    assert Client().get(first).status_code == 410
    assert Client().get(links.address(letter)).status_code == 410
    act(signed_in, letter, "new-link")
    assert Client().get(links.address(letter)).status_code == 200
    assert Client().get(first).status_code == 410


def test_changing_it_again_ends_the_link(signed_in: Client, letter: Letter) -> None:
    act(signed_in, letter, "read")
    first = links.address(letter)
    act(signed_in, letter, "sent")
    act(signed_in, letter, "again")
    assert letter.state == "draft"
    assert Client().get(first).status_code == 410
    act(signed_in, letter, "read")
    assert Client().get(first).status_code == 410


def test_a_tampered_or_guessed_link_opens_nothing(worker: Worker, letter: Letter) -> None:
    actions.mark_read(letter, worker, timezone.now())
    good = links.signed(letter)
    other = f"{good[:31]}{'0' if good[31] != '0' else '1'}{good[32:]}"
    for words in (other, good[:-1], "x", f"{letter.pk.hex}.1", f"{letter.pk.hex}.2{good[good.rindex('.') :]}"):
        answer = Client().get(reverse("letters:open", args=[words]))
        assert answer.status_code == 404, words
        assert "no letter at this address" in answer.content.decode()


def test_a_link_opens_one_letter_and_nothing_else(worker: Worker, home_of_pip: Quinces, letter: Letter) -> None:
    """No key or code, no address, no other page, no other household."""
    PlaceKey.objects.create(place=home_of_pip.place, words="gate 4711")
    actions.mark_read(letter, worker, timezone.now())
    stranger = Client()
    said = stranger.get(links.address(letter)).content.decode()
    for words in ("4711", "8 Tannery Row", "+61255500110", reverse("letters:letter", args=[letter.pk])):
        assert words not in said
    assert stranger.get(reverse("letters:letter", args=[letter.pk])).status_code == 302
    assert stranger.get(reverse("letters:pdf", args=[letter.pk])).status_code == 302
    assert "no-store" in stranger.get(links.address(letter))["Cache-Control"]


def test_the_owner_may_keep_it_as_pdf(worker: Worker, letter: Letter) -> None:
    actions.mark_read(letter, worker, timezone.now())
    answer = Client().get(reverse("letters:open-pdf", args=[links.signed(letter)]))
    assert answer["Content-Type"] == "application/pdf"
    assert Client().get(reverse("letters:open-pdf", args=["x"])).status_code == 302


def pdf_words(file: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(file)).pages).split())


def test_the_pdf_holds_every_word_with_its_accents(firm: Firm, letter: Letter) -> None:
    letter.body = with_words(letter.body, 0, "Dear Zoë Łukasz Müller-Ångström,")
    said = pdf_words(pdf_module.letter_pdf(letter, firm))
    for words in as_text(letter.body).split():
        assert words in said


def test_the_pdf_without_the_font_falls_back_to_plain_letters(
    firm: Firm, letter: Letter, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(pdf_module, "font_folder", lambda: None)
    letter.body = with_words(letter.body, 0, "Dear Zoë “Čapek”,")
    assert 'Dear Zoë "Capek",' in pdf_words(pdf_module.letter_pdf(letter, firm))


def test_the_same_words_make_the_same_pdf(firm: Firm, letter: Letter) -> None:
    assert pdf_module.letter_pdf(letter, firm) == pdf_module.letter_pdf(letter, firm)


def test_the_list_pages_and_finds(signed_in: Client, home_of_pip: Quinces, letter: Letter) -> None:
    for days in range(1, 31):
        visit = home_of_pip.visit(DAY + dt.timedelta(days=days))
        home_of_pip.groom(visit)
        actions.refresh(visit.pk)
    page = signed_in.get(reverse("letters:list"))
    assert "Page 1 of 2" in page.content.decode()
    assert "31 letters wait" in page.content.decode()
    assert "Quince" in signed_in.get(reverse("letters:list"), {"find": "quin"}).content.decode()
    assert "No such letter" in signed_in.get(reverse("letters:list"), {"find": "zzz"}).content.decode()


def test_the_empty_list_says_what_to_do(signed_in: Client) -> None:
    said = signed_in.get(reverse("letters:list")).content.decode()
    assert "a groom is recorded" in said
    assert reverse("runs:today") in said


def test_the_letter_page_asks_few_queries(
    signed_in: Client, letter: Letter, django_assert_max_num_queries: object
) -> None:
    with django_assert_max_num_queries(30):  # type: ignore[operator]
        signed_in.get(reverse("letters:letter", args=[letter.pk]))

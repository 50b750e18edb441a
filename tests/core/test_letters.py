"""What a letter says: done, found, what to watch for, next time; and what it never says."""

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatround.core import watch_for
from coatround.core.letter_facts import Cotton, CutPart, Found, Happened, LetterGroom, LetterText, LetterVisit
from coatround.core.letters import AFTER, HAPPENED, STEP_DONE, letter


def plain(words: str) -> str:
    return words


def said(text: LetterText, heading: str) -> str:
    return "\n".join(words for part in text.parts if part.heading == heading for words in part.paragraphs)


def whole(text: LetterText) -> str:
    parts = [f"{part.heading}\n" + "\n".join(part.paragraphs) for part in text.parts]
    return "\n".join([text.greeting, *parts, *text.closing])


def visit(*grooms: LetterGroom, **more: object) -> LetterVisit:
    given = {"owners": ("Mary Quince",), "date": "Tuesday 3 March", "groomer": "Wren Ashby", "firm": "Hollow Ford"}
    return LetterVisit(grooms=grooms, **{**given, **more})  # type: ignore[arg-type]


PIP = LetterGroom(
    "Pip",
    steps=("check-over", "nails", "cotton in", "first wash", "second wash", "rinse", "cotton out", "dryer", "clip"),
    products=("Oat wash",),
    cut=(CutPart("body", "blade", "10"), CutPart("head", "scissored"), CutPart("ears", "left alone")),
    cotton=Cotton(2, 2),
)


def test_it_works() -> None:
    text = letter(visit(PIP, next_day="Tuesday 14 April", next_from="9:00", next_until="10:30"), plain)
    assert text.greeting == "Dear Mary Quince,"
    assert said(text, "What was done") == (
        "Looked over from nose to tail, nails trimmed, washed twice, blown dry and clipped."
        " The cut: body 10 mm, head scissored, ears left alone. Used in the bath: Oat wash."
    )
    assert said(text, "What was found") == "Nothing unusual was seen."
    assert said(text, "Next time") == "We come again on Tuesday 14 April, and arrive between 9:00 and 10:30."
    assert text.closing[-3:] == ("Kind regards", "Wren Ashby", "Hollow Ford")
    assert not any(part.urgent for part in text.parts)


def test_a_finding_is_told_in_plain_words_with_what_to_watch_for() -> None:
    text = letter(visit(LetterGroom("Pip", found=(Found("right ear", "red", 1, "along the edge"),))), plain)
    assert said(text, "What was found") == "A red place on the right ear, slight. Along the edge."
    watch = said(text, "What to watch for")
    assert watch.startswith("A red place on the right ear: please keep an eye on it. See a vet if Pip shakes the head")
    assert "at once if the head tilts" in watch


@pytest.mark.parametrize(
    ("grade", "asked"),
    [(1, "keep an eye on it. See a vet if"), (2, "in the next few days. See a vet sooner if"), (3, "ring a vet today")],
)
def test_the_grade_changes_how_soon(grade: int, asked: str) -> None:
    """Our own default."""
    assert asked in watch_for.vet_words("back", "red", grade, "Pip", plain)


@pytest.mark.parametrize(
    ("part", "kind", "grade", "how_soon"),
    [
        ("left ear", "smell", 2, watch_for.TODAY),  # a painful, smelly ear is on the stop-and-refer list
        ("left eye", "sore", 2, watch_for.TODAY),  # so is an eye that is hurt
        ("right ear", "seed", 1, watch_for.TODAY),
        ("tail", "mat", 2, watch_for.KEEP_AN_EYE),
        ("belly", "mat", 3, watch_for.TODAY),  # a deep mat with broken skin
        ("back", "lump", 1, watch_for.KEEP_AN_EYE),
        ("back", "lump", 2, watch_for.IN_DAYS),
    ],
)
def test_how_soon_by_part_and_kind(part: str, kind: str, grade: int, how_soon: int) -> None:
    """The stop-and-refer list of docs/sources.md; the rest is our own default."""
    assert watch_for.urgency(part, kind, grade) == how_soon


def test_a_finding_that_is_gone_is_told_and_needs_no_vet() -> None:
    text = letter(visit(LetterGroom("Pip", found=(Found("right ear", "red", 0),))), plain)
    assert said(text, "What was found").startswith("A red place on the right ear: looked for again, and not there")
    assert "See a vet" not in whole(text)


@pytest.mark.parametrize(
    "cotton",
    [Cotton(2, 1, 0, 0, 1), Cotton(2, 1, 0, 1, 0), Cotton(2, 1, 0, 0, 0)],
    ids=["not found", "swallowed", "not counted"],
)
def test_lost_cotton_means_a_vet_now_before_anything_else(cotton: Cotton) -> None:
    text = letter(visit(LetterGroom("Pip", cotton=cotton, vet="Weir Vets, 02 5550 0100")), plain)
    assert text.parts[0].urgent
    assert "Please ring a vet now" in text.parts[0].paragraphs[0]
    assert "Weir Vets" in text.parts[0].paragraphs[0]
    assert "Nothing unusual" not in whole(text)


def test_cotton_that_fell_out_and_was_found_is_no_alarm() -> None:
    assert not letter(visit(LetterGroom("Pip", cotton=Cotton(2, 1, 1))), plain).parts[0].urgent


def test_after_a_bath_and_only_then_the_weeks_caution_stands() -> None:
    """Cain & Mauldin 2015: sore skin along the back, fever and back pain one to seven days after a bath."""
    bathed = said(letter(visit(LetterGroom("Pip", steps=("first wash",))), plain), "What to watch for")
    assert bathed.startswith("In the week after a bath: see a vet the same day if")
    for sign in ("feverish", "back", "weeps"):
        assert sign in bathed
    assert not said(letter(visit(LetterGroom("Pip", steps=("nails",))), plain), "What to watch for")
    assert not said(letter(visit(LetterGroom("Pip", done=False, steps=("first wash",))), plain), "What to watch for")


def test_a_dog_that_was_not_groomed() -> None:
    text = letter(visit(LetterGroom("Fig", done=False, why_not="coughing", vet_first=True)), plain)
    assert said(text, "What was done") == (
        "Not groomed this time. Why: coughing. Please see a vet first; we come again on the vet's word."
    )
    assert not said(text, "What was found")


def test_with_two_dogs_every_sentence_names_its_dog() -> None:
    text = letter(visit(PIP, LetterGroom("Quill", found=(Found("back", "lump", 1),))), plain)
    assert said(text, "What was found") == "Pip: Nothing unusual was seen.\nQuill: A lump on the back, slight."
    assert "with Pip and Quill." in whole(text)


def test_lost_weight_always_shows() -> None:
    text = letter(visit(LetterGroom("Pip", weight="9.0 kg", lost_percent=10)), plain)
    assert "Weight: 9.0 kg, 10 % less than before." in said(text, "What was found")
    assert "See a vet if you did not mean Pip to lose weight." in said(text, "What to watch for")
    assert "Nothing unusual" not in whole(text)
    light = letter(visit(LetterGroom("Pip", weight="9.5 kg", lost_percent=5)), plain)
    assert said(light, "What was found") == "Nothing unusual was seen.\nWeight: 9.5 kg."


def test_an_incident_is_told_with_what_was_done_and_what_to_watch_for() -> None:
    nick = Happened("Pip", "nick", "left front pad", "pressed with gauze, it stopped")
    text = letter(visit(LetterGroom("Pip"), happened=(nick,)), plain)
    assert said(text, "What happened") == (
        "Pip was nicked. Left front pad. What was done: pressed with gauze, it stopped."
        " We would like to talk with you about it: please ring us."
    )
    assert "See a vet if the nick opens" in said(text, "What to watch for")
    assert "Nothing unusual" not in whole(text)
    told = letter(visit(LetterGroom("Pip"), happened=(Happened("Pip", "nick", owner_told=True),)), plain)
    assert said(told, "What happened") == "Pip was nicked."


def test_the_next_date_agreed_due_or_none() -> None:
    assert said(letter(visit(PIP, next_day="Tuesday 14 April"), plain), "Next time").endswith("tell you the hour.")
    assert "due about Friday 17 April" in said(letter(visit(PIP, next_due="Friday 17 April"), plain), "Next time")
    assert "No next date" in said(letter(visit(PIP), plain), "Next time")


def test_every_sentence_goes_through_the_translation() -> None:
    """With a translation that shouts, the only words left as they were are what people wrote and the names."""

    def shout(words: str) -> str:
        return re.sub(r"%\(\w+\)[sd]|[^%]+", lambda part: part[0] if part[0][0] == "%" else part[0].upper(), words)

    found = (Found("right ear", "red", 2), Found("back", "mat", 0))
    groom = LetterGroom(
        "0", steps=("first wash", "clip"), left_out=("nails",), found=found, weight="9", lost_percent=11
    )
    everything = visit(
        groom,
        LetterGroom("1", done=False, why_not="2", vet_first=True, cotton=Cotton(2, 1)),
        happened=tuple(Happened("0", kind) for kind in HAPPENED),
        owners=("3", "4"),
        date="5",
        next_day="6",
        groomer="7",
        firm="8",
        phone="9",
    )
    assert not re.findall(r"[a-z]+", whole(letter(everything, shout)))


ILLNESSES = "otitis mange ringworm allergy allergic dermatitis cancer tumour infection infected mites arthritis yeast"


@settings(max_examples=80)
@given(
    st.sampled_from(sorted(watch_for.ON_PART)),
    st.sampled_from(sorted(watch_for.SEEN)),
    st.integers(1, 3),
)
def test_no_finding_is_named_an_illness_and_each_defers_to_the_vet(part: str, kind: str, grade: int) -> None:
    words = watch_for.seen_words(part, kind, grade, plain) + watch_for.vet_words(part, kind, grade, "Pip", plain)
    assert "See a vet" in words
    assert "%" not in words
    assert not set(ILLNESSES.split()) & set(re.findall(r"\w+", words.lower()))
    assert watch_for.urgency(part, kind, grade) <= watch_for.urgency(part, kind, min(grade + 1, 3))


def test_every_word_of_the_records_has_its_sentence() -> None:
    """The closed lists that records are written in, and the tables here, hold the same words."""
    from coatround.web.records import words as record_words
    from coatround.web.visits import words as visit_words

    assert {key for key, _ in record_words.PARTS} == set(watch_for.ON_PART)
    assert {key for key, _ in record_words.FINDINGS} == set(watch_for.SEEN) == set(watch_for.SIGNS)
    assert {key for key, _ in visit_words.INCIDENTS} == set(HAPPENED) == set(AFTER)
    untold = {"cotton in", "rinse", "cotton out", "finish"}
    assert {key for key, _ in record_words.STEPS} - untold == set(STEP_DONE)

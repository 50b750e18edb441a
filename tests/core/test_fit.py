"""Fit today: the strictest answer wins, every sign has a rule, and going milder is told apart."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatround.core.fit import COMMON_PRACTICE, OWN_DEFAULT, fit_today, is_milder, strictness
from coatround.core.visit_words import FIT_ANSWERS, FIT_SIGNS

SIGNS = st.lists(st.sampled_from(FIT_SIGNS), max_size=6)


def test_it_works() -> None:
    """Nothing seen is go; fleas go, last in the run; a cough beside them is not today."""
    assert fit_today([]).answer == "go"
    assert fit_today(["fleas"]).answer == "go"
    assert "last of the run" in fit_today(["fleas"]).reason
    both = fit_today(["fleas", "cough"])
    assert (both.answer, both.rules[0].sign, both.rules[1].sign) == ("not today", "cough", "fleas")


@pytest.mark.parametrize(
    ("sign", "answer"),
    [
        ("breathing", "vet"),
        ("listless", "vet"),
        ("cough", "not today"),
        ("vomit", "not today"),
        ("catching", "not today"),
        ("stitches", "not today"),
        ("lame", "shorter"),
        ("spot-on", "shorter"),
        ("vaccine", "shorter"),
        ("whelping", "shorter"),
        ("medicine", "go"),
        ("fleas", "go"),
    ],
)
def test_each_sign_has_its_answer(sign: str, answer: str) -> None:
    """Common practice, or our own default where the rule says so."""
    found = fit_today([sign])
    assert found.answer == answer
    assert found.rules[0].mark in (COMMON_PRACTICE, OWN_DEFAULT)


@pytest.mark.parametrize("sign", ["cough", "vomit", "catching"])
def test_what_may_be_catching_comes_back_on_a_vets_word(sign: str) -> None:
    assert "Comes back on a vet's word." in fit_today([sign]).reason


def test_mats_go_only_with_consent() -> None:
    assert fit_today(["mats"]).answer == "shorter"
    assert fit_today(["mats"], matted_off_agreed=True).answer == "go"


def test_the_label_rules_a_spot_on() -> None:
    assert "no bath today" in fit_today(["spot-on"]).reason
    assert "label" in fit_today(["spot-on"]).reason


def test_stricter_is_free_and_milder_is_not() -> None:
    assert is_milder("go", "not today")
    assert not is_milder("vet", "not today")
    assert not is_milder("shorter", "shorter")


@settings(max_examples=60, deadline=None)
@given(SIGNS, st.booleans())
def test_the_strictest_sign_rules(signs: list[str], agreed: bool) -> None:
    alone = [strictness(fit_today([sign], matted_off_agreed=agreed).answer) for sign in signs]
    found = fit_today(signs, matted_off_agreed=agreed)
    assert found.answer == FIT_ANSWERS[max(alone, default=0)]
    assert {rule.sign for rule in found.rules} == set(signs)


@settings(max_examples=60, deadline=None)
@given(SIGNS, st.sampled_from(FIT_SIGNS))
def test_one_more_sign_never_makes_it_milder(signs: list[str], more: str) -> None:
    assert not is_milder(fit_today([*signs, more]).answer, fit_today(signs).answer)


def test_no_rule_names_an_illness_or_a_dose() -> None:
    for sign in FIT_SIGNS:
        said = fit_today([sign]).reason.lower()
        assert not any(word in said for word in ("infection", "allergy", "arthritis", " mg", "tablet", "disease"))

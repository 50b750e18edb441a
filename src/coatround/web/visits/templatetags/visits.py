"""Filters that show cuts, findings, cotton and signs in words."""

from collections.abc import Iterable, Mapping
from typing import Any

from django import template
from django.utils.text import capfirst

from coatround.web.visits import phrases
from coatround.web.visits.models import Finding, Groom
from coatround.web.visits.words import FIT_SIGNS

register = template.Library()


@register.filter
def cut(said: Mapping[str, Any] | None) -> str:
    return phrases.cut_words(said)


@register.filter
def finding(row: Finding) -> str:
    return phrases.finding_words(row.part, row.kind, row.grade, row.words)


@register.filter
def cotton(groom: Groom) -> str:
    return phrases.cotton_words(groom)


@register.filter
def sign_words(signs: Iterable[str]) -> str:
    """Signs at the door as a sentence; nothing when there were none."""
    shown = dict(FIT_SIGNS)
    said = ", ".join(str(shown.get(sign, sign)) for sign in signs)
    return f"{capfirst(said)}." if said else ""

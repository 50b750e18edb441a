"""Cuts, findings and cotton as a groomer would say them."""

from collections.abc import Mapping
from typing import Any

from django.utils.functional import Promise
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from coatround.web.records import words as record_words

GRADES: list[tuple[int, str | Promise]] = [
    (0, gettext_lazy("there, no trouble")),
    (1, gettext_lazy("slight")),
    (2, gettext_lazy("plain")),
    (3, gettext_lazy("bad")),
]
CUT_PARTS = dict(record_words.CUT_PARTS)
CUT_WAYS = dict(record_words.CUT_WAYS)
PARTS = dict(record_words.PARTS)
FINDINGS = dict(record_words.FINDINGS)
STEPS = dict(record_words.STEPS)


def cut_words(cut: Mapping[str, Any] | None) -> str:
    """A cut on one line: "body 10 mm blade, head scissored, ears left alone"."""
    known = [(part, cut[part]) for part in CUT_PARTS if cut and isinstance(cut.get(part), dict)]
    return ", ".join(one_cut(part, said) for part, said in known)


def one_cut(part: str, said: Mapping[str, Any]) -> str:
    millimetres = said.get("mm")
    length = f" {millimetres:g} mm" if isinstance(millimetres, int | float) else ""
    return f"{CUT_PARTS[part]}{length} {CUT_WAYS.get(said.get('how', ''), '')}".rstrip()


def finding_words(part: str, kind: str, grade: int, words: str = "") -> str:
    """A finding in plain words: "Left ear: redness, slight. Since Sunday"."""
    said = f"{PARTS.get(part, part)}: {FINDINGS.get(kind, kind)}, {dict(GRADES)[grade]}."
    return capfirst(f"{said} {words}".strip())


def cotton_words(groom: Any) -> str:
    """Where each piece of cotton ended; nothing when none was put in."""
    if not groom.cotton_in:
        return ""
    ends = [
        (groom.cotton_taken_out, _("%(count)d taken out")),
        (groom.cotton_fell_out, _("%(count)d fell out and found")),
        (groom.cotton_swallowed, _("%(count)d swallowed")),
        (groom.cotton_not_found, _("%(count)d not found")),
    ]
    told = [words % {"count": count} for count, words in ends if count]
    return _("%(count)d in") % {"count": groom.cotton_in} + ", " + ", ".join(told)

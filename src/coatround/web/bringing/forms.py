"""What the pages for bringing people in ask: the file, what each column holds, how dates are read."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from coatround.intake import MOST_BYTES, Reading
from coatround.intake.cells import one_line
from coatround.intake.columns import FIELDS
from coatround.web.base.forms import Page

DATES = [
    ("day-first", gettext_lazy("the day first: 3/4 is 3 April")),
    ("month-first", gettext_lazy("the month first: 3/4 is March 4")),
]


class HandOver(Page):
    """The file itself."""

    file = forms.FileField(
        label=gettext_lazy("Your file"),
        help_text=gettext_lazy("A table (CSV, TSV or XLSX), contacts (vCard, .vcf) or a calendar (iCalendar, .ics)."),
        allow_empty_file=True,
    )

    def clean_file(self) -> UploadedFile[bytes]:
        file: UploadedFile[bytes] = self.cleaned_data["file"]
        if (file.size or 0) > MOST_BYTES:
            raise forms.ValidationError(
                _("%(name)s has %(size).1f MB; %(most)d MB is the most. Leave out pictures, or part it in two.")
                % {"name": file.name, "size": (file.size or 0) / 10**6, "most": MOST_BYTES // 10**6}
            )
        return file


class Choices(Page):
    """What each column holds and how dates are read, begun from what was guessed."""

    def __init__(self, *args: Any, reading: Reading, dates: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if reading.unsettled or dates:
            self.fields["dates"] = forms.ChoiceField(
                label=_("How are the dates in this file written?"),
                choices=DATES,
                widget=forms.RadioSelect,
                required=bool(reading.unsettled),
                initial=dates or None,
                help_text=", ".join(reading.unsettled),
            )
        if reading.columns is not None:
            words = [("", _("nothing else: keep it in the notes")), *((key, _(word)) for key, word in FIELDS.items())]
            for at, held in enumerate(reading.columns.fields):
                self.fields[f"column_{at}"] = forms.ChoiceField(
                    label=reading.columns.heading(at),
                    choices=words,
                    required=False,
                    initial=held,
                    help_text=_samples(reading, at, held),
                )

    def columns(self) -> dict[int, str]:
        """Column, from 0, to what it was said to hold."""
        named = {name: value for name, value in self.cleaned_data.items() if name.startswith("column_")}
        return {int(name.removeprefix("column_")): value for name, value in named.items()}


def _samples(reading: Reading, at: int, held: str) -> str:
    """The first few cells of a column; a key or code is never shown."""
    if held == "key":
        return _("keys and codes are not shown here")
    cells = (one_line(row.cells[at])[:30] for row in reading.rows[:40] if at < len(row.cells))
    return ", ".join(list(dict.fromkeys(cell for cell in cells if cell))[:3])

"""What intake says when something cannot be read, in words for the person who brought the file."""

from __future__ import annotations

from dataclasses import dataclass


class Unreadable(Exception):
    """The whole file cannot be read; the message says what is wrong, what was expected and what to do."""


class DatesUnsettled(Unreadable):
    """The file's own dates do not say whether the day or the month comes first, so a person has to."""

    def __init__(self, examples: tuple[str, ...]) -> None:
        self.examples = examples
        shown = ", ".join(repr(example) for example in examples[:3])
        super().__init__(
            f"The dates {shown} can be read day first or month first, and nothing in the file settles it. "
            "Say which: day-first or month-first."
        )


@dataclass(frozen=True)
class BadCell:
    """One cell that could not be read as what its column holds: the row is kept, the cell goes to the notes."""

    field: str
    value: str
    reason: str

    def words(self) -> str:
        """The line that is kept in the notes."""
        return f"{self.field} '{self.value}' was not read: {self.reason}"

"""What the checker says when something in a plan breaks."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that breaks: a code for programs, the run or visit it is about, and words for people."""

    code: str
    where: str
    words: str
    visit: str = ""

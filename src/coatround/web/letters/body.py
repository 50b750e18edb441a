"""A letter's body as it is kept: plain data, each paragraph changed by its number, and the same as text to paste."""

import copy
import hashlib
import json
from collections.abc import Iterator
from typing import Any

from coatround.core.letter_facts import LetterText

Body = dict[str, Any]


def body_of(text: LetterText) -> Body:
    """The body of a letter as it was composed."""
    parts = [
        {"heading": part.heading, "urgent": part.urgent, "paragraphs": list(part.paragraphs)} for part in text.parts
    ]
    return {"greeting": text.greeting, "parts": parts, "closing": list(text.closing)}


def digest(body: Body) -> str:
    """The same for the same words, so that a letter can tell when the records say something else."""
    return hashlib.sha256(json.dumps(body, sort_keys=True, ensure_ascii=False).encode()).hexdigest()


def numbered(body: Body) -> Body:
    """The body with each paragraph as {"number", "words"}, for a page on which each can be changed."""
    count = iter(range(10_000))

    def number(words: str) -> dict[str, Any]:
        return {"number": next(count), "words": words}

    return {
        "greeting": number(body["greeting"]),
        "parts": [{**part, "paragraphs": [number(words) for words in part["paragraphs"]]} for part in body["parts"]],
        "closing": [number(words) for words in body["closing"]],
    }


def with_words(body: Body, number: int, words: str) -> Body:
    """The body with one paragraph said otherwise, or taken out when nothing is left; raises KeyError for no such."""
    new = copy.deepcopy(body)
    lists = _lists(new)
    place = number - 1
    if number == 0:
        new["greeting"] = words or body["greeting"]
        return new
    for paragraphs in lists:
        if 0 <= place < len(paragraphs):
            paragraphs[place : place + 1] = [words] if words else []
            new["parts"] = [part for part in new["parts"] if part["paragraphs"]]
            return new
        place -= len(paragraphs)
    raise KeyError(number)


def with_more(body: Body, words: str) -> Body:
    """The body with a paragraph of its own at the end, before the closing."""
    new = copy.deepcopy(body)
    last = new["parts"][-1] if new["parts"] else None
    if last is not None and last.get("added"):
        last["paragraphs"].append(words)
    else:
        new["parts"].append({"heading": "", "urgent": False, "added": True, "paragraphs": [words]})
    return new


def words_at(body: Body, number: int) -> str | None:
    """One paragraph's words."""
    every = [body["greeting"], *(words for paragraphs in _lists(body) for words in paragraphs)]
    return every[number] if 0 <= number < len(every) else None


def _lists(body: Body) -> list[list[str]]:
    return [*(part["paragraphs"] for part in body["parts"]), body["closing"]]


def as_text(body: Body, head: str = "") -> str:
    """The letter as plain text, to paste into a message."""
    return "\n".join(_lines(body, head)).strip() + "\n"


def _lines(body: Body, head: str) -> Iterator[str]:
    if head:
        yield from (head, "")
    yield from (body["greeting"], "")
    for part in body["parts"]:
        if part["heading"]:
            yield part["heading"].upper() if part.get("urgent") else part["heading"]
        yield from part["paragraphs"]
        yield ""
    yield from body["closing"]

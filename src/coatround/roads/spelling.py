"""Words that are written nearly alike: one letter wrong, left out, too many, or two changed about."""

import sqlite3
from collections.abc import Iterable, Iterator

SHORTEST = 3
"""Shorter words are not guessed at: too many others lie one letter away."""
LONGEST = 24
MOST_GUESSES = 12
RAREST_PARTS = 4
MOST_WITH_PART = 3_000

TABLES = """
CREATE TABLE shapes (shape TEXT NOT NULL, word TEXT NOT NULL, PRIMARY KEY (shape, word)) WITHOUT ROWID;
CREATE VIRTUAL TABLE word_parts USING fts5(word, tokenize = 'trigram', detail = none);
CREATE VIRTUAL TABLE parts USING fts5vocab(word_parts, row);
"""


def shapes(word: str) -> set[str]:
    """The word and what is left of it when any one letter is taken out."""
    return {word} | {word[:at] + word[at + 1 :] for at in range(len(word))}


def add_words(db: sqlite3.Connection, words: Iterable[str]) -> None:
    """Keeps words to be guessed; those with digits are not."""
    kept = [word for word in words if SHORTEST <= len(word) <= LONGEST and word.isalpha()]
    pairs = ((shape, word) for word in kept for shape in shapes(word))
    db.executemany("INSERT OR IGNORE INTO shapes VALUES (?, ?)", pairs)
    db.executemany("INSERT INTO word_parts VALUES (?)", ((word,) for word in kept))


def guesses(db: sqlite3.Connection, word: str, *, begun: bool) -> dict[str, int]:
    """Known words that may have been meant, with the letters by which they differ, the nearest first.

    One letter is allowed; where no word is that near, or the word is only begun, more in longer ones.
    """
    if not SHORTEST - 1 <= len(word) <= LONGEST or not word.isalpha():
        return {}
    found = {other: letters for other in _of_shape(db, word) if 0 < (letters := distance(word, other)) < 2}
    if len(word) > 5 and not found:
        most = max(1, len(word) // 4)
        likely = {other: distance(word, other, begun=begun) for other in _with_parts(db, word)}
        found = {other: max(1, letters) for other, letters in likely.items() if letters <= most}
    return dict(sorted(found.items(), key=lambda pair: (pair[1], pair[0][:1] != word[:1], pair[0]))[:MOST_GUESSES])


def _of_shape(db: sqlite3.Connection, word: str) -> Iterator[str]:
    asked = sorted(shapes(word))
    marks = ",".join("?" * len(asked))
    rows = db.execute(f"SELECT DISTINCT word FROM shapes WHERE shape IN ({marks})", asked)  # noqa: S608  marks only
    return (found for (found,) in rows)


def _with_parts(db: sqlite3.Connection, word: str) -> Iterator[str]:
    """Words that share the rarest three-letter parts."""
    parts = sorted({word[at : at + 3] for at in range(len(word) - 2)})
    marks = ",".join("?" * len(parts))
    known = db.execute(
        f"SELECT term FROM parts WHERE term IN ({marks}) AND doc <= ? ORDER BY doc LIMIT ?",  # noqa: S608  marks only
        [*parts, MOST_WITH_PART, RAREST_PARTS],
    )
    asked = " OR ".join(f'"{part}"' for (part,) in known)
    sql = "SELECT word FROM word_parts WHERE word_parts MATCH ? ORDER BY rank LIMIT 40"
    return (found for (found,) in db.execute(sql, (asked,))) if asked else iter(())


def distance(one: str, other: str, *, begun: bool = False) -> int:
    """Letters to change, add, take out, or pairs to change about, until one word is the other (or begins it)."""
    before: list[int] = []
    row = list(range(len(other) + 1))
    for down, letter in enumerate(one):
        last, before, row = before, row, [down + 1]
        for across, beside in enumerate(other):
            best = min(before[across] + (letter != beside), before[across + 1] + 1, row[across] + 1)
            if down and across and letter == other[across - 1] and one[down - 1] == beside:
                best = min(best, last[across - 1] + 1)
            row.append(best)
    return min(row) if begun else row[-1]

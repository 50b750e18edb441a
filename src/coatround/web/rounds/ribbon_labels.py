"""Where the names on a ribbon go: inside their block, else on a pole above it, shortened or left out."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

TEXT_PX = 15
LINE_PX = 19
PAD_PX = 4
GAP_PX = 6
SHORTEST = 4  # letters of a name that is cut
MOST_PX = (10_000, 130, 100, 80, 64, 50)  # widths tried for raised names until none has to be left out

# Widths in hundredths of the text size, bold, of a wide common typeface: a narrower one leaves a little more air.
_NARROW, _HALF, _WIDE, _CAPITAL, _OTHER = 37, 49, 104, 85, 72


@dataclass(frozen=True, slots=True)
class Text:
    """Words at a point of the drawing; `y` is the line they stand on."""

    x: float
    y: float
    words: str
    kind: str
    anchor: str = "start"

    @property
    def span(self) -> tuple[float, float]:
        """Left and right edge, as wide as the words can be."""
        width = text_width(self.words)
        left = {"start": self.x, "middle": self.x - width / 2, "end": self.x - width}[self.anchor]
        return left, left + width


@dataclass(frozen=True, slots=True)
class Tag:
    """A name that looks for its place: the block's edges and height, and the names from longest to shortest."""

    left: float
    right: float
    height: float
    choices: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Flag:
    """A placed name: `level` None is inside its block, else a line above the blocks, 0 the lowest, on a pole."""

    tag: int
    words: str
    left: float
    right: float
    level: int | None = None
    pole: float = 0


@lru_cache(maxsize=4096)
def text_width(words: str) -> float:
    """Pixels that words take at most."""
    return sum(_letter_width(letter) for letter in words) * TEXT_PX / 100


def _letter_width(letter: str) -> int:
    if letter in "ijlI|.,'! ":
        return _NARROW + 8 * (letter == " ")
    if letter in "ftr()-:;":
        return _HALF
    if letter in "mwMW@%…" or ord(letter) > 0x24F:
        return _WIDE + 6 * (letter == "W")
    return _CAPITAL if letter.isupper() else _OTHER


def shortened(names: Sequence[str], joined: str) -> tuple[str, ...]:
    """A block's names from the whole to a few letters: "Quill and Fig", "Quill, Fig", "Quill +1", "Qui…"."""
    if not names:
        return ()
    more = f" +{len(names) - 1}" if len(names) > 1 else ""
    whole = [joined, ", ".join(names), names[0] + more]
    cut = [names[0][:length] + "…" + more for length in range(len(names[0]) - 2, SHORTEST - 2, -1)]
    return tuple(dict.fromkeys([*whole, *cut]))


def place_flags(tags: Sequence[Tag], width: float, levels: int) -> tuple[Flag, ...]:
    """The placing that leaves out the fewest names; of those, the one that shortens least."""
    tries = [_placed(tags, width, levels, most) for most in MOST_PX]
    return max(tries, key=len) if tags else ()


def _placed(tags: Sequence[Tag], width: float, levels: int, most: float) -> tuple[Flag, ...]:
    """From right to left, so that a pole, which stands at its name's left end, seldom meets a later name."""
    placed: list[Flag] = []
    for index in reversed(range(len(tags))):
        flag = _first_fitting(index, tags[index], placed, width, levels, most)
        if flag is not None:
            placed.append(flag)
    return tuple(reversed(placed))


def _first_fitting(index: int, tag: Tag, placed: list[Flag], width: float, levels: int, most: float) -> Flag | None:
    for words in tag.choices:
        wide = text_width(words)
        if tag.right - tag.left >= wide + 2 * PAD_PX and tag.height >= LINE_PX + PAD_PX:
            return Flag(index, words, tag.left + PAD_PX, tag.left + PAD_PX + wide)
        for flag in _flags(index, tag, words, levels) if wide <= most else ():
            if flag.left >= 0 and flag.right <= width and all(_are_clear(flag, other) for other in placed):
                return flag
    return None


def _flags(index: int, tag: Tag, words: str, levels: int) -> Iterator[Flag]:
    """A name flies to the right of its block's left edge, or to the left of its right edge."""
    wide = text_width(words)
    for level in range(levels):
        yield Flag(index, words, tag.left + PAD_PX, tag.left + PAD_PX + wide, level, tag.left)
    for level in range(levels):
        yield Flag(index, words, tag.right - PAD_PX - wide, tag.right - PAD_PX, level, tag.right)


def _are_clear(flag: Flag, other: Flag) -> bool:
    if flag.level is None or other.level is None:
        return True
    if flag.level == other.level:
        apart = GAP_PX + PAD_PX
        return flag.right + apart <= other.left or other.right + apart <= flag.left
    high, low = (flag, other) if flag.level > other.level else (other, flag)
    return not low.left - 1 <= high.pole <= low.right + 1


def without_overlaps(texts: Sequence[Text], width: float) -> tuple[Text, ...]:
    """Of words on one line, first come first kept: what would touch another or leave the drawing is left out."""
    kept: list[Text] = []
    for text in texts:
        left, right = text.span
        clear = all(right + GAP_PX <= other.span[0] or other.span[1] + GAP_PX <= left for other in kept)
        if clear and left >= 0 and right <= width:
            kept.append(text)
    return tuple(kept)

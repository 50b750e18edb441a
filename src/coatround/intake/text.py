"""Bytes to text: UTF-8, UTF-16 and Windows-1252, with or without a byte order mark."""

from __future__ import annotations

import codecs
from dataclasses import dataclass

from coatround.intake.errors import Unreadable

_SAMPLE_BYTES = 65_536
_MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32-le"),
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)


@dataclass(frozen=True)
class Decoded:
    """Text and the name of the encoding it was read in."""

    text: str
    encoding: str


def decode(data: bytes) -> Decoded:
    """Read bytes as text; raises Unreadable where they are not text in a known encoding."""
    for mark, encoding in _MARKS:
        if data.startswith(mark):
            return _checked(data[len(mark) :], encoding)
    unmarked = unmarked_utf16(data)
    return _checked(data, unmarked or "utf-8")


def decode_line(data: bytes) -> str:
    """Read bytes that are part of a text as UTF-8, strays as Windows-1252; never fails."""
    return _utf8_or_1252(data).text.replace("\0", "")


def unmarked_utf16(data: bytes) -> str | None:
    """The UTF-16 byte order of text without a mark, from which half of each pair holds the zero bytes."""
    sample = data[: _SAMPLE_BYTES - _SAMPLE_BYTES % 2]
    first, second = sample[0::2].count(0), sample[1::2].count(0)
    pairs = max(1, len(sample) // 2)
    if second > first * 4 and second / pairs > 0.05:
        return "utf-16-le"
    if first > second * 4 and first / pairs > 0.05:
        return "utf-16-be"
    return None


def windows_1252(byte: int) -> str:
    """One byte as Windows-1252, with the five bytes that it leaves undefined shown as U+FFFD."""
    return bytes([byte]).decode("cp1252", errors="replace")


def _checked(data: bytes, encoding: str) -> Decoded:
    if encoding == "utf-8":
        decoded = _utf8_or_1252(data)
    else:
        decoded = Decoded(data.decode(encoding, errors="replace"), encoding.upper())
    if _looks_binary(decoded.text):
        raise Unreadable(
            "The file holds bytes that are not text. Expected a CSV, XLSX, vCard or iCalendar file: "
            "open it in the program it came from and save it as one of those."
        )
    return Decoded(decoded.text.replace("\0", ""), decoded.encoding)


def _utf8_or_1252(data: bytes) -> Decoded:
    text = data.decode("utf-8", errors="surrogateescape")
    strange = [c for c in set(text) if "\udc80" <= c <= "\udcff"]
    if not strange:
        return Decoded(text, "UTF-8")
    strays = sum(text.count(c) for c in strange)
    beyond_ascii = sum(1 for c in text if c > "\x7f")
    mended = text.translate({ord(c): windows_1252(ord(c) - 0xDC00) for c in strange})
    mixed = beyond_ascii - strays > strays
    return Decoded(mended, "UTF-8, with stray Windows-1252 bytes" if mixed else "Windows-1252")


def _looks_binary(text: str) -> bool:
    sample = text[:_SAMPLE_BYTES]
    odd = sum(1 for c in sample if c < " " and c not in "\t\r\n\x0b\x0c\x1c\x1d\x1e\x1f")
    return odd > 2 and odd > len(sample) * 0.02

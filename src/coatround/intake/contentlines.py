"""Content lines as vCard (RFC 6350, RFC 2426) and iCalendar (RFC 5545) share them: folding, parameters, escapes."""

from __future__ import annotations

import binascii
import quopri
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from coatround.intake.text import decode, decode_line, unmarked_utf16

_UTF16_MARKS = (b"\xff\xfe", b"\xfe\xff")
_FOLD = re.compile(rb"(?:\r\n|\n|\r)[ \t]")
_LINE_END = re.compile(rb"\r\n|\n|\r")
_CARET = {"^n": "\n", "^N": "\n", "^^": "^", "^'": '"'}
_ESCAPE = re.compile(r"\\(.)", re.DOTALL)


@dataclass(frozen=True)
class Property:
    """One content line: its name in capitals, its parameters with names in capitals, its raw value."""

    name: str
    params: Mapping[str, str]
    value: str

    @property
    def text(self) -> str:
        """The value with its escapes taken out."""
        return unescape(self.value)


def logical_lines(data: bytes) -> tuple[str, ...]:
    """Lines unfolded before they are decoded, so that a fold inside a multibyte character heals."""
    if data.startswith(_UTF16_MARKS) or unmarked_utf16(data):
        data = decode(data).text.encode("utf-8")
    elif data:
        decode(data[:4096])
    data = data.removeprefix(b"\xef\xbb\xbf")
    raw = _LINE_END.split(_FOLD.sub(b"", data))
    return tuple(decode_line(line) for line in _joined_quoted_printable(raw))


def _joined_quoted_printable(lines: list[bytes]) -> Iterator[bytes]:
    """Join the soft line breaks that vCard 2.1 uses instead of folds."""
    held = b""
    for line in lines:
        if held and re.match(rb"(?i)(begin|end):", line):
            yield held
            held = b""
        whole = held + line
        head = whole.partition(b":")[0].upper()
        if whole.endswith(b"=") and b"QUOTED-PRINTABLE" in head:
            held = whole[:-1]
            continue
        held = b""
        yield whole
    if held:
        yield held


def parse_line(line: str) -> Property | None:
    """One logical line as a property, or None where it has no name and colon."""
    parts = _split_outside_quotes(line, ":", 1)
    if len(parts) != 2:
        return None
    head = _split_outside_quotes(parts[0], ";")
    name = head[0].rpartition(".")[2].strip().upper()
    if not re.fullmatch(r"[A-Z0-9-]+", name):
        return None
    params: dict[str, str] = {}
    for piece in head[1:]:
        key, equals, value = piece.partition("=")
        key, value = (key, value) if equals else ("TYPE", key)
        value = _uncaret(value.strip().replace('"', ""))
        known = params.get(key.strip().upper())
        params[key.strip().upper()] = f"{known},{value}" if known else value
    return Property(name, params, _unquoted_printable(parts[1], params))


def _unquoted_printable(value: str, params: Mapping[str, str]) -> str:
    coded = params.get("ENCODING", "") + "," + params.get("TYPE", "")
    if "QUOTED-PRINTABLE" not in coded.upper():
        return value
    try:
        plain = quopri.decodestring(value.encode("utf-8"))
    except (binascii.Error, ValueError):
        return value
    return decode_line(plain).replace("\r\n", "\n").replace("\n", "\\n")


def _uncaret(value: str) -> str:
    """Parameter escapes of RFC 6868."""
    return re.sub(r"\^[nN^']", lambda found: _CARET[found.group()], value)


def _split_outside_quotes(text: str, mark: str, most: int = -1) -> list[str]:
    if '"' not in text:
        return text.split(mark, most)
    parts, start, quoted = [], 0, False
    for at, c in enumerate(text):
        if c == '"':
            quoted = not quoted
        elif c == mark and not quoted and most != 0:
            parts.append(text[start:at])
            start, most = at + 1, most - 1
    if quoted and not parts:
        return text.split(mark, most if most else 1)
    return [*parts, text[start:]]


def unescape(value: str) -> str:
    """Take out the escapes of a text value."""
    return _ESCAPE.sub(lambda found: "\n" if found.group(1) in "nN" else found.group(1), value)


def split_escaped(value: str, mark: str) -> tuple[str, ...]:
    """Split a raw value at an unescaped mark; the parts are still escaped."""
    if "\\" not in value:
        return tuple(value.split(mark))
    parts, held, at = [], "", 0
    while at < len(value):
        if value[at] == "\\":
            held += value[at : at + 2]
            at += 2
        elif value[at] == mark:
            parts.append(held)
            held, at = "", at + 1
        else:
            held += value[at]
            at += 1
    return (*parts, held)

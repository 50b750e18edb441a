"""Which build this is: a short name that changes whenever a page, a script or a style of ours does."""

import hashlib
from pathlib import Path

LETTERS = 12
KINDS = (".py", ".html", ".js", ".css", ".svg")


def build_of(folder: Path) -> str:
    """The first letters of a hash over the names and contents of our files in a folder; the same on every machine."""
    digest = hashlib.sha256()
    for path in sorted(folder.rglob("*")):
        if path.suffix in KINDS and path.is_file():
            digest.update(path.relative_to(folder).as_posix().encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()[:LETTERS]


BUILD = build_of(Path(__file__).parent)

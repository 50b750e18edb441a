"""`coatround reckon NAME`: one of the trade's reckonings, JSON in and JSON out."""

import argparse
import json
import sys
from collections.abc import Sequence

from coatround.core.checking import Refused
from coatround.core.reckon import RECKONERS

MOST_BYTES = 4_000_000


def parser() -> argparse.ArgumentParser:
    width = max(map(len, RECKONERS))
    names = "\n".join(f"  {name:<{width}}  {one.words}" for name, one in RECKONERS.items())
    told = argparse.ArgumentParser(
        prog="coatround reckon",
        description="Reckons one of the trade's questions: values as JSON in, the answer as JSON out.",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        epilog=f"NAME is one of:\n{names}\n\nExample:\n  coatround reckon body-size '{{\"kg\": 12}}'\n"
        "It ends with 0 when all went well, 2 when what was given is wrong; the key that is wrong is named.",
    )
    told.add_argument("name", metavar="NAME", help="what to reckon")
    told.add_argument("json", metavar="JSON", nargs="?", default="-", help="the values; left out or -: read from stdin")
    told.add_argument("--explain", action="store_true", help="with the formula, the values, the source, the caution")
    told.add_argument("--example", action="store_true", help="print values that can be tried, and reckon nothing")
    return told


def reckon_main(argv: Sequence[str]) -> int:
    """Prints the answer as JSON; returns the exit status."""
    asked = parser().parse_intermixed_args(argv)
    reckoner = RECKONERS.get(asked.name)
    if reckoner is None:
        return _said(f"there is nothing called {asked.name!r} to reckon. There are: {', '.join(RECKONERS)}.")
    if asked.example:
        print(json.dumps(reckoner.example))
        return 0
    if asked.json == "-" and sys.stdin.isatty():
        return _said(f"give its values as JSON, like: coatround reckon {asked.name} '{json.dumps(reckoner.example)}'")
    try:
        words = sys.stdin.buffer.read(MOST_BYTES + 1) if asked.json == "-" else asked.json.encode(errors="replace")
        if len(words) > MOST_BYTES:
            return _said(f"more than {MOST_BYTES} bytes of JSON. Give fewer values.")
        values = json.loads(words)
    except (ValueError, RecursionError) as error:
        return _said(f"what was given is not JSON: {error}. Expected {json.dumps(reckoner.example)}.")
    try:
        print(json.dumps(reckoner.explained(values) if asked.explain else reckoner.answer(values), indent=1))
    except Refused as refused:
        return _said(f"{asked.name}: {refused.refusal.words}")
    return 0


def _said(words: str) -> int:
    print(f"coatround reckon: {words}", file=sys.stderr)
    return 2

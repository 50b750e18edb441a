"""What a list says about handling or health, as cautions of the kinds that the records know."""

from __future__ import annotations

import re

from coatround.intake.errors import BadCell
from coatround.intake.found import Caution

_KINDS: dict[str, str] = {
    "bite": r"bit(e|es|er|ing|ten|ey)|nip(s|py|ping)?|snap(s|py|ping)?|growl\w*|aggress\w*|muzzle\w*|nervous|anxious|"
    r"fear\w*|scared|react\w*|lunges?|guards?|grumpy|fights?",
    "ears": r"ears?|otitis|deaf|hearing",
    "eyes": r"eyes?|blind|cataracts?|glaucoma|sight",
    "airway": r"airways?|brachy\w*|breath\w*|asthma\w*|collapsing trachea|trachea|snor\w*|boas|cough\w*",
    "throat": r"throat|choke|collar|neck",
    "heat": r"heat|overheats?|hot",
    "skin": r"skin|allerg\w*|itch\w*|hot ?spots?|rash\w*|warts?|lumps?|cysts?|eczema|dermatitis|mange|yeast",
    "heart": r"heart|murmur|cardiac|seizures?|epilep\w*|fits|collapses?",
    "joints": r"joints?|hips?|arthrit\w*|knees?|luxat\w*|back|spine|disc|ivdd|lame|limps?|cruciate|elbows?",
    "age": r"age|aged|old|elderly|senior|frail|incontinen\w*",
    "escape": r"escap\w*|runs? off|bolts?|runner|jumps?",
    "catching": r"fleas?|ticks?|ringworm|parvo\w*|kennel cough|catching|contagious|worms?",
    "product": r"shampoos?|perfumes?|fragrance|oatmeal|product|sensitive to",
    "medicine": r"medicine|medicat\w*|tablets?|pills?|insulin|diabet\w*|steroids?|drops",
    "whelping": r"whelp\w*|pregnan\w*|in season|on heat|lactat\w*|nursing|puppies",
}
_PATTERNS = {kind: re.compile(rf"\b(?:{pattern})\b", re.IGNORECASE) for kind, pattern in _KINDS.items()}
_DENIED = re.compile(r"(?i)\s*(no|not|none|never|nil|good|great|fine|ok|easy|calm)\b")
LONGEST_CAUTION = 240


def cautions(text: str) -> tuple[tuple[Caution, ...], tuple[BadCell, ...]]:
    """Each line as a caution of the first kind that one of its words names; a line that names none is handed back."""
    found, bad = [], []
    for line in (part.strip() for part in re.split(r"[;\n]", text) if part.strip()):
        kind = next((kind for kind, pattern in _PATTERNS.items() if pattern.search(line)), "")
        if not kind or _DENIED.match(line):
            bad.append(BadCell("cautions", line, "names none of the cautions; if it is one, enter it with the dog."))
        elif len(line) > LONGEST_CAUTION:
            found.append(Caution(kind, line[: LONGEST_CAUTION - 1].rstrip() + "…"))
            bad.append(BadCell("cautions", line, f"is longer than {LONGEST_CAUTION} characters; its start was kept."))
        else:
            found.append(Caution(kind, line))
    return tuple(dict.fromkeys(found)), tuple(bad)

"""The closed lists of words that visit records are written in. States are RFC 5545's."""

FIT_SIGNS = (
    "cough",
    "vomit",
    "catching",
    "breathing",
    "listless",
    "lame",
    "stitches",
    "medicine",
    "spot-on",
    "vaccine",
    "whelping",
    "fleas",
    "mats",
)
FIT_ANSWERS = ("go", "shorter", "not today", "vet")  # mildest first
GROOM_STATES = ("IN-PROCESS", "COMPLETED", "CANCELLED")
STOOD = ("calm", "uneasy", "fought", "tired")
PAID = ("cash", "transfer", "card", "not paid")
NEXT_HOW = ("usual", "opening", "none", "ask")
INCIDENTS = ("nick", "burn", "bite", "fall", "escape", "collapse", "other")
VISIT_STATES = ("TENTATIVE", "CONFIRMED", "CANCELLED")
ANSWERS = ("NEEDS-ACTION", "ACCEPTED", "DECLINED", "TENTATIVE")
STEPS = (
    "check-over",
    "nails",
    "cotton in",
    "brush-out",
    "de-mat",
    "pre-clip",
    "first wash",
    "second wash",
    "condition",
    "rinse",
    "cotton out",
    "towel",
    "dryer",
    "hand rub",
    "clip",
    "scissor",
    "strip",
    "feet",
    "hygiene",
    "wipe",
    "finish",
)
PARTS = (
    "head",
    "muzzle",
    "left ear",
    "right ear",
    "left eye",
    "right eye",
    "mouth",
    "neck",
    "chest",
    "back",
    "belly",
    "left side",
    "right side",
    "left front leg",
    "right front leg",
    "left hind leg",
    "right hind leg",
    "front feet",
    "hind feet",
    "rear",
    "tail",
)
FINDINGS = (
    "lump",
    "sore",
    "red",
    "smell",
    "discharge",
    "mat",
    "flea",
    "tick",
    "scab",
    "flaky",
    "bald",
    "pain",
    "nail",
    "tooth",
    "seed",
    "other",
)
CUT_PARTS = ("body", "head", "muzzle", "ears", "legs", "feet", "belly", "rear", "tail")
CUT_WAYS = ("blade", "comb", "scissored", "stripped", "left alone")

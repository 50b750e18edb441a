"""Kinds of dogs as a groomer reckons with them. Minutes, prices and intervals are invented for the demo."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Breed:
    """A breed or cross: coat, size, usual weight and minutes of work, price, usual weeks between grooms."""

    words: str
    coat: str
    size: str
    grams: int
    minutes: int
    dollars: int
    weeks: tuple[int, ...]
    flat_face: bool = False


BREEDS = (
    Breed("miniature poodle", "curly", "small", 7200, 72, 92, (4, 5, 6)),
    Breed("standard poodle", "curly", "large", 25500, 108, 145, (4, 5, 6)),
    Breed("woolly cross", "curly", "medium", 14500, 88, 115, (4, 5, 6, 6)),
    Breed("big woolly cross", "curly", "large", 27500, 104, 140, (5, 6, 6)),
    Breed("bichon frise", "curly", "small", 6200, 70, 90, (4, 5)),
    Breed("water dog", "curly", "medium", 19000, 92, 118, (6, 7)),
    Breed("golden retriever", "double", "large", 31000, 78, 112, (6, 7, 8)),
    Breed("old sheepdog cross", "double", "large", 30500, 98, 135, (5, 6)),
    Breed("border collie", "double", "medium", 18500, 66, 98, (6, 8)),
    Breed("corgi", "double", "medium", 12800, 56, 85, (6, 7, 8)),
    Breed("spitz", "double", "small", 6800, 60, 86, (5, 6)),
    Breed("mountain dog", "double", "giant", 43000, 110, 165, (6, 7)),
    Breed("miniature schnauzer", "wire", "small", 7600, 68, 92, (5, 6)),
    Breed("standard schnauzer", "wire", "medium", 16500, 78, 105, (5, 6, 7)),
    Breed("old terrier", "wire", "small", 8200, 62, 88, (6, 7)),
    Breed("airedale", "wire", "large", 24500, 94, 128, (6, 7)),
    Breed("wire-haired dachshund", "wire", "small", 8800, 54, 80, (6, 8)),
    Breed("maltese cross", "silky", "tiny", 4600, 62, 82, (4, 5, 6)),
    Breed("shih tzu", "silky", "small", 6600, 68, 88, (4, 5, 6), True),
    Breed("lhasa apso", "silky", "small", 7000, 70, 90, (5, 6)),
    Breed("yorkshire terrier", "silky", "tiny", 3300, 56, 80, (4, 5)),
    Breed("cocker spaniel", "silky", "medium", 13500, 74, 98, (5, 6)),
    Breed("cavalier", "silky", "small", 8400, 58, 84, (5, 6), True),
    Breed("labrador", "smooth", "large", 30000, 50, 88, (7, 8)),
    Breed("staffy cross", "smooth", "medium", 17500, 42, 76, (7, 8)),
    Breed("pug", "smooth", "small", 8300, 40, 74, (6, 8), True),
    Breed("french bulldog", "smooth", "medium", 12500, 42, 76, (6, 8), True),
    Breed("greyhound", "smooth", "large", 29500, 44, 80, (8,)),
    Breed("whippet cross", "smooth", "medium", 13000, 40, 74, (8,)),
    Breed("hairless terrier", "hairless", "tiny", 4300, 38, 70, (4, 5)),
    Breed("street dog", "mixed", "medium", 15500, 58, 86, (6, 7)),
    Breed("kelpie cross", "mixed", "medium", 16800, 52, 82, (6, 7, 8)),
)
WEIGHTS = (7, 5, 12, 6, 6, 2, 6, 2, 4, 3, 3, 2, 6, 3, 4, 2, 3, 8, 7, 3, 4, 6, 6, 4, 2, 2, 2, 1, 1, 1, 3, 3)

ROUTINES: dict[str, tuple[str, ...]] = {
    "curly": (
        "check-over", "nails", "cotton in", "brush-out", "pre-clip", "first wash", "second wash", "condition", "rinse",
        "cotton out", "towel", "dryer", "clip", "scissor", "feet", "hygiene", "finish",
    ),
    "double": (
        "check-over", "nails", "cotton in", "brush-out", "first wash", "second wash", "rinse", "cotton out", "towel",
        "dryer", "scissor", "feet", "hygiene", "finish",
    ),
    "wire": (
        "check-over", "nails", "cotton in", "brush-out", "strip", "first wash", "rinse", "cotton out", "towel", "dryer",
        "clip", "feet", "hygiene", "finish",
    ),
    "silky": (
        "check-over", "nails", "cotton in", "brush-out", "first wash", "condition", "rinse", "cotton out", "towel",
        "dryer", "clip", "scissor", "feet", "hygiene", "finish",
    ),
    "smooth": ("check-over", "nails", "cotton in", "first wash", "rinse", "cotton out", "towel", "hand rub", "finish"),
    "hairless": ("check-over", "nails", "cotton in", "first wash", "rinse", "cotton out", "towel", "wipe", "finish"),
    "mixed": (
        "check-over", "nails", "cotton in", "brush-out", "first wash", "rinse", "cotton out", "towel", "dryer", "feet",
        "finish",
    ),
}  # fmt: skip

STEP_SHARES = {
    "check-over": 4, "nails": 7, "cotton in": 1, "brush-out": 14, "pre-clip": 9, "first wash": 10, "second wash": 8,
    "condition": 5, "rinse": 7, "cotton out": 1, "towel": 6, "dryer": 22, "hand rub": 8, "clip": 18, "scissor": 15,
    "strip": 24, "feet": 6, "hygiene": 4, "wipe": 4, "finish": 6, "de-mat": 12,
}  # fmt: skip

Cut = dict[str, dict[str, str | int]]

CUTS: dict[str, tuple[Cut, ...]] = {
    "curly": (
        {
            "body": {"how": "comb", "mm": 13},
            "legs": {"how": "comb", "mm": 19},
            "head": {"how": "scissored"},
            "ears": {"how": "scissored"},
            "feet": {"how": "scissored"},
            "tail": {"how": "left alone"},
        },
        {
            "body": {"how": "blade", "mm": 9},
            "legs": {"how": "comb", "mm": 13},
            "head": {"how": "comb", "mm": 16},
            "muzzle": {"how": "scissored"},
            "belly": {"how": "blade", "mm": 3},
        },
    ),
    "double": (
        {"body": {"how": "left alone"}, "feet": {"how": "scissored"}, "rear": {"how": "scissored"}},
        {"body": {"how": "left alone"}, "legs": {"how": "scissored"}, "tail": {"how": "scissored"}},
    ),
    "wire": (
        {
            "body": {"how": "stripped"},
            "legs": {"how": "scissored"},
            "head": {"how": "blade", "mm": 5},
            "muzzle": {"how": "scissored"},
        },
        {"body": {"how": "blade", "mm": 6}, "legs": {"how": "comb", "mm": 16}, "muzzle": {"how": "scissored"}},
    ),
    "silky": (
        {
            "body": {"how": "comb", "mm": 10},
            "head": {"how": "scissored"},
            "ears": {"how": "left alone"},
            "feet": {"how": "scissored"},
            "tail": {"how": "left alone"},
        },
        {"body": {"how": "left alone"}, "feet": {"how": "scissored"}, "rear": {"how": "scissored"}},
    ),
    "smooth": ({},),
    "hairless": ({},),
    "mixed": ({"feet": {"how": "scissored"}, "rear": {"how": "scissored"}},),
}
SHED_GRAMS_A_DAY = {
    "smooth": 1.1,
    "double": 2.6,
    "wire": 0.7,
    "curly": 0.5,
    "silky": 0.6,
    "hairless": 0.0,
    "mixed": 1.2,
}

"""The closed lists of words that records are written in, as (stored, shown)."""

from django.utils.translation import gettext_lazy as _

COATS = [
    ("smooth", _("smooth")),
    ("double", _("double")),
    ("wire", _("wire")),
    ("curly", _("curly")),
    ("silky", _("silky")),
    ("hairless", _("hairless")),
    ("mixed", _("mixed")),
]
SIZES = [
    ("tiny", _("tiny, to 5 kg")),
    ("small", _("small, to 10 kg")),
    ("medium", _("medium, to 20 kg")),
    ("large", _("large, to 35 kg")),
    ("giant", _("giant, over 35 kg")),
]
SEXES = [("female", _("female")), ("male", _("male")), ("spayed", _("spayed")), ("neutered", _("neutered"))]
KNOWN = [("seen", _("seen")), ("told", _("told")), ("unknown", _("not known")), ("none", _("not vaccinated"))]
SUPPLY = [
    ("unknown", _("not known")),
    ("none", _("none")),
    ("asked", _("there, not to be used")),
    ("may use", _("may be used")),
]
CAUTIONS = [
    ("ears", _("ears")),
    ("eyes", _("eyes")),
    ("airway", _("airway")),
    ("throat", _("throat")),
    ("heat", _("heat")),
    ("skin", _("skin")),
    ("heart", _("heart")),
    ("joints", _("joints")),
    ("age", _("age")),
    ("bite", _("bite")),
    ("escape", _("escape")),
    ("catching", _("catching")),
    ("product", _("product")),
    ("medicine", _("medicine")),
    ("whelping", _("whelping")),
]
PRODUCTS = [
    ("shampoo", _("shampoo")),
    ("conditioner", _("conditioner")),
    ("ears", _("ear cleaner")),
    ("disinfectant", _("disinfectant")),
    ("other", _("other")),
]
RATIO_RULES = [("water", _("parts of water added")), ("total", _("parts in all"))]
STEPS = [
    ("check-over", _("check-over")),
    ("nails", _("nails")),
    ("cotton in", _("cotton in")),
    ("brush-out", _("brush-out")),
    ("de-mat", _("de-mat")),
    ("pre-clip", _("pre-clip")),
    ("first wash", _("first wash")),
    ("second wash", _("second wash")),
    ("condition", _("condition")),
    ("rinse", _("rinse")),
    ("cotton out", _("cotton out")),
    ("towel", _("towel")),
    ("dryer", _("dryer")),
    ("hand rub", _("hand rub")),
    ("clip", _("clip")),
    ("scissor", _("scissor")),
    ("strip", _("strip")),
    ("feet", _("feet")),
    ("hygiene", _("hygiene")),
    ("wipe", _("wipe")),
    ("finish", _("finish")),
]
CUT_WAYS = [
    ("blade", _("blade")),
    ("comb", _("comb")),
    ("scissored", _("scissored")),
    ("stripped", _("stripped")),
    ("left alone", _("left alone")),
]
PARTS = [
    ("head", _("head")),
    ("muzzle", _("muzzle")),
    ("left ear", _("left ear")),
    ("right ear", _("right ear")),
    ("left eye", _("left eye")),
    ("right eye", _("right eye")),
    ("mouth", _("mouth")),
    ("neck", _("neck")),
    ("chest", _("chest")),
    ("back", _("back")),
    ("belly", _("belly")),
    ("left side", _("left side")),
    ("right side", _("right side")),
    ("left front leg", _("left front leg")),
    ("right front leg", _("right front leg")),
    ("left hind leg", _("left hind leg")),
    ("right hind leg", _("right hind leg")),
    ("front feet", _("front feet")),
    ("hind feet", _("hind feet")),
    ("rear", _("rear")),
    ("tail", _("tail")),
]
CUT_PARTS = [
    ("body", _("body")),
    ("head", _("head")),
    ("muzzle", _("muzzle")),
    ("ears", _("ears")),
    ("legs", _("legs")),
    ("feet", _("feet")),
    ("belly", _("belly")),
    ("rear", _("rear")),
    ("tail", _("tail")),
]
FINDINGS = [
    ("lump", _("lump")),
    ("sore", _("sore place")),
    ("red", _("redness")),
    ("smell", _("smell")),
    ("discharge", _("discharge")),
    ("mat", _("mat")),
    ("flea", _("fleas or their dirt")),
    ("tick", _("tick")),
    ("scab", _("scab")),
    ("flaky", _("flaky skin")),
    ("bald", _("bald patch")),
    ("pain", _("sore to touch")),
    ("nail", _("broken or ingrown nail")),
    ("tooth", _("tooth or gum")),
    ("seed", _("grass seed")),
    ("other", _("something else")),
]
CONSENTS = [
    ("matted off", _("matted coat off short")),
    ("stop half", _("an old dog stopped half done")),
    ("double clip", _("a double coat clipped")),
    ("vet", _("vet, up to an amount")),
    ("muzzle", _("muzzle")),
    ("treats", _("treats")),
    ("photos kept", _("photos kept")),
    ("photos shown", _("photos shown to others")),
    ("nobody home", _("coming in when nobody is home")),
]
KEY_LOOKS = [("looked", _("looked at")), ("given", _("given to a phone for the day"))]

"""The closed lists of words that visits are written in. States are RFC 5545's."""

from django.utils.translation import gettext_lazy as _

VISIT_STATES = [("TENTATIVE", _("pencilled in")), ("CONFIRMED", _("told")), ("CANCELLED", _("called off"))]
ANSWERS = [
    ("NEEDS-ACTION", _("no answer")),
    ("ACCEPTED", _("said yes")),
    ("DECLINED", _("said no")),
    ("TENTATIVE", _("asked for another time")),
]
GROOM_STATES = [
    ("NEEDS-ACTION", _("to do")),
    ("IN-PROCESS", _("on the table")),
    ("COMPLETED", _("done")),
    ("CANCELLED", _("not done")),
]
VISIT_SOURCES = [
    ("plan", _("planned")),
    ("list", _("brought in")),
    ("door", _("agreed at the door")),
    ("hand", _("entered by hand")),
]
FIT_SIGNS = [
    ("cough", _("cough")),
    ("vomit", _("vomit or diarrhoea")),
    ("catching", _("looks catching, or said to be")),
    ("breathing", _("breathing hard at rest")),
    ("listless", _("listless or off food")),
    ("lame", _("lame")),
    ("stitches", _("stitches")),
    ("medicine", _("new medicine")),
    ("spot-on", _("spot-on just used")),
    ("vaccine", _("vaccine just had")),
    ("whelping", _("whelping or in season")),
    ("fleas", _("fleas or ticks")),
    ("mats", _("mats")),
]
FIT_ANSWERS = [("go", _("go")), ("shorter", _("shorter")), ("not today", _("not today")), ("vet", _("vet"))]
STOOD = [("calm", _("calm")), ("uneasy", _("uneasy")), ("fought", _("fought")), ("tired", _("tired"))]
MEASURES = [
    ("weight", _("weight, grams")),
    ("condition", _("condition, 1 to 9")),
    ("left ear", _("left ear, 0 to 3")),
    ("right ear", _("right ear, 0 to 3")),
    ("skin", _("skin, 0 to 3")),
    ("hair", _("loose hair, grams")),
    ("hair grade", _("loose hair, 0 to 3")),
]
PAID = [("cash", _("cash")), ("transfer", _("transfer")), ("card", _("card")), ("not paid", _("not paid"))]
NEXT_HOW = [
    ("usual", _("the usual")),
    ("opening", _("an opening")),
    ("none", _("no next date")),
    ("ask", _("they will ring")),
]
INCIDENTS = [
    ("nick", _("nick")),
    ("burn", _("burn")),
    ("bite", _("bite")),
    ("fall", _("fall")),
    ("escape", _("escape")),
    ("collapse", _("collapse")),
    ("other", _("something else")),
]

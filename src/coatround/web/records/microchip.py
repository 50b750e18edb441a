"""A microchip's number: fifteen digits, shaped as ISO 11784 has it."""

import re

from django.utils.translation import gettext as _

DIGITS = 15
LARGEST_ANIMAL_NUMBER = 2**38 - 1  # ISO 11784: the animal's own number is 38 bits wide
FIRST_MAKER = 900  # ISO 11784/11785: 900 to 998 are makers, below are countries (ISO 3166 numeric), 999 is for tests
TEST_CODE = 999


def microchip_number(typed: str) -> str:
    """The fifteen digits without spaces; raises ValueError with what is wrong and what to do."""
    number = re.sub(r"[\s.\-]", "", typed)
    if not number:
        return ""
    if not re.fullmatch(r"[0-9]+", number):
        raise ValueError(
            _(
                "“%(typed)s” is not a microchip number: it is %(count)d digits and nothing else. Read it"
                " again from the scanner."
            )
            % {"typed": typed, "count": DIGITS}
        )
    if len(number) != DIGITS:
        raise ValueError(
            _(
                "This microchip number has %(has)d digits; it has %(count)d. Read it again from the"
                " scanner, or leave it empty."
            )
            % {"has": len(number), "count": DIGITS}
        )
    code, animal = int(number[:3]), int(number[3:])
    if code == 0 or code == TEST_CODE:
        raise ValueError(
            _(
                "A microchip number begins with a country or a maker; %(code)s is neither. Read it again"
                " from the scanner."
            )
            % {"code": number[:3]}
        )
    if animal > LARGEST_ANIMAL_NUMBER:
        raise ValueError(
            _("The last twelve digits are more than a microchip can hold (%(most)d). Read it again from the scanner.")
            % {"most": LARGEST_ANIMAL_NUMBER}
        )
    return number


def microchip_words(number: str) -> str:
    """The number as it is read aloud: 900 123 000 000 045."""
    return " ".join(number[at : at + 3] for at in range(0, len(number), 3))

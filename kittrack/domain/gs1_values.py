"""Single values of GS1 labels, the check digit and the date of six digits, and the pairs that GS1 rules on.

Source: GS1 General Specifications 7.9 (check digit), 3.4 and 7.12 (dates); GS1 Syntax Dictionary (pairs).
"""

import calendar
import re
from datetime import date
from typing import Final

# GS1 Syntax Dictionary, "ex" and "req", for the identifiers that the stores use and their
# partners. A label may spread what belongs together over several bar codes.
EXCLUDES: Final = {
    "01": ("02", "255", "37"),
    "21": ("235",),
    "255": ("02", "415", "8006", "8020", "8026"),
    "8006": ("01", "37"),
    "8026": ("02", "8006"),
}
_ITEM: Final = ("01", "02", "8006", "8026")
REQUIRES: Final[dict[str, tuple[tuple[str, ...], ...]]] = {
    "02": (("37",),),
    "10": (_ITEM,),
    "11": (_ITEM,),
    "13": (_ITEM,),
    "15": (_ITEM,),
    "16": (_ITEM,),
    "17": ((*_ITEM, "255"),),
    "20": (_ITEM,),
    "21": (("01", "8006"),),
    "22": (("01",),),
    "235": (("01",),),
    "240": (_ITEM,),
    "241": (_ITEM,),
    "242": (_ITEM,),
    "243": (("01",),),
    "250": (("01", "8006"), ("21",)),
    "30": (("01", "02"),),
    "37": (("00",), ("02", "8026")),
    "7003": (("01", "02"),),
    "8011": (("8010",),),
    "8026": (("37",),),
}


def check_digit(digits: str) -> str:
    """The GS1 check digit of a number without it: weights 3, 1, 3... from the right.

    Source: GS1 General Specifications 7.9; 629104150021 has 3.
    """
    total = sum(int(digit) * (3 if at % 2 == 0 else 1) for at, digit in enumerate(reversed(digits)))
    return str(-total % 10)


def has_check_digit(number: str) -> bool:
    """Whether the last digit of a number is the check digit of the others."""
    return (
        number.isascii() and number.isdigit() and len(number) > 1 and check_digit(number[:-1]) == number[-1]
    )


def read_day(value: str, *, today: date) -> date | None:
    """A GS1 date YYMMDD as a day, None if there is no such day.

    Day 00 is the last of the month; a year lies 49 years back to 50 years ahead of this one.

    Source: GS1 General Specifications 3.4 and 7.12.
    """
    if re.fullmatch(r"[0-9]{6}", value) is None:
        return None
    short, month, day = int(value[:2]), int(value[2:4]), int(value[4:])
    ahead = short - today.year % 100
    century = today.year - today.year % 100
    if ahead >= 51:
        century -= 100
    elif ahead <= -50:
        century += 100
    try:
        return date(century + short, month, day or calendar.monthrange(century + short, month)[1])
    except ValueError:  # calendar.IllegalMonthError is one
        return None

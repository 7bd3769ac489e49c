"""Reading a screw's designation as it stands on a bag, a label or a parts list.

Source: design C8; the order of a designation as in ISO 8991 (from memory), and as suppliers print it.
"""

import re
from decimal import Decimal
from typing import Final

from kittrack.domain.fasteners import MOST_LENGTH_UM, STANDARDS, Screw, millimetres
from kittrack.domain.spin import ThreadHand
from kittrack.domain.text import clean_label
from kittrack.domain.threads import COARSE, PROPERTY_CLASSES, UM_PER_MM, PropertyClass, Thread
from kittrack.errors import BadInput, Problem

_OLD_NAMES: Final = {"ISO 7380": "ISO 7380-1"}  # the number before the standard was split in two
_MOST_TEXT: Final = 80
_SHOWN: Final = 40
_NUMBER: Final = r"([0-9]{1,3}(?:[.,][0-9]{1,3})?)"
_TIMES: Final = r" ?[x×*] ?"
_SIZE: Final = re.compile(
    rf"(?<![a-z0-9])m{_NUMBER}(?:[ -]?(lh|rh)(?![a-z]))?(?:{_TIMES}{_NUMBER})??{_TIMES}{_NUMBER}(?: ?mm)?"
    r"(?![a-z0-9.,]| ?[x×*])",
    re.IGNORECASE,
)
_STANDARD: Final = re.compile(r"(?<![a-z0-9])(iso|din) ?([0-9]{3,5}(?:-[0-9])?)(?![0-9.])", re.IGNORECASE)
_CLASS: Final = re.compile(r"(?<![a-z0-9.])(a[0-9]-?[0-9]{2}|[0-9]{1,2}\.[0-9])(?![a-z0-9.])", re.IGNORECASE)
_ORDER: Final = "write it like M3 x 8 ISO 4762 A2-70"


def read_screw(text: str, *, field: str = "") -> Screw:
    """Read a designation such as "M3 x 8 ISO 4762 A2-70" or "ISO 4762 - M3 x 0.5 x 8 - 10.9".

    Size, standard and property class may stand in any order; a decimal comma is a decimal point. A
    left-hand thread is written M5-LH.

    Args:
        text: one designation.
        field: the form's name for it, if any; it stands in front of a refusal.

    Raises:
        BadInput: every part that is missing, unknown, or left over, each in a sentence.
    """
    rest = " ".join(text.split(" "))[: _MOST_TEXT + 1].strip()
    if len(rest) > _MOST_TEXT:
        shown = clean_label(rest, max_length=_SHOWN)
        raise BadInput(f"{shown} is too long for a screw; {_ORDER}.", field=field)
    faults: list[str] = []
    standard, rest = _read_standard(rest, faults)
    size, rest = _read_size(rest, faults)
    strength, rest = _read_class(rest, faults)
    if left := rest.strip(" -–,"):
        faults.append(f"{clean_label(left, max_length=_SHOWN)} is not understood; {_ORDER}.")
    if faults or size is None or strength is None:
        raise BadInput(Problem(fault, field) for fault in faults)
    thread, length_um, hand = size
    return Screw(thread, length_um, standard, strength, hand)


def _read_standard(rest: str, faults: list[str]) -> tuple[str, str]:
    """The standard that a designation names, and the text without it."""
    found = _STANDARD.search(rest)
    if found is None:
        faults.append(f"The screw names no standard, so its head and key are unknown; {_ORDER}.")
        return "", rest
    name = f"{found[1].upper()} {found[2]}"
    name = _OLD_NAMES.get(name, name)
    if name not in STANDARDS:
        faults.append(f"{name} is no screw standard here; use one of {', '.join(STANDARDS)}.")
    return name, _without(rest, found)


def _read_size(rest: str, faults: list[str]) -> tuple[tuple[Thread, int, ThreadHand] | None, str]:
    """Thread, length in um and hand that a designation names, and the text without them."""
    found = _SIZE.search(rest)
    if found is None:
        faults.append(f"The screw names no thread and length; {_ORDER}.")
        return None, rest
    name = f"M{_plain(found[1])}"
    left = _without(rest, found)
    thread = COARSE.get(name)
    length_um = _um(found[4])
    if thread is None:
        faults.append(f"{name} is no coarse thread here; use one of {', '.join(COARSE)}.")
        return None, left
    if found[3] is not None and _um(found[3]) != thread.pitch_um:
        faults.append(
            f"{name} x {_plain(found[3])} is not the coarse thread (pitch {millimetres(thread.pitch_um)} mm), and no "
            "other is kept here; look at the paper again."
        )
    if not 0 < length_um <= MOST_LENGTH_UM:
        faults.append(f"A length of {_plain(found[4])} mm is none of a screw; look at the paper again.")
        return None, left
    hand = ThreadHand.LEFT if (found[2] or "").upper() == "LH" else ThreadHand.RIGHT
    return (thread, length_um, hand), left


def _read_class(rest: str, faults: list[str]) -> tuple[PropertyClass | None, str]:
    """The property class that a designation names, and the text without it."""
    found = _CLASS.search(rest)
    if found is None:
        faults.append(f"The screw names no property class, so its strength is unknown; {_ORDER}.")
        return None, rest
    name = found[1].upper()
    if name[0] == "A" and "-" not in name:
        name = f"{name[:2]}-{name[2:]}"
    if name not in PROPERTY_CLASSES:
        faults.append(f"{name} is no property class here; use one of {', '.join(PROPERTY_CLASSES)}.")
        return None, _without(rest, found)
    return PROPERTY_CLASSES[name], _without(rest, found)


def _without(text: str, found: re.Match[str]) -> str:
    return f"{text[: found.start()]} {text[found.end() :]}".strip()


def _plain(number: str) -> str:
    """A decimal number as it is shown: a point, no zeros at the end."""
    return f"{Decimal(number.replace(',', '.')).normalize():f}"


def _um(number_mm: str) -> int:
    return int(Decimal(number_mm.replace(",", ".")) * UM_PER_MM)

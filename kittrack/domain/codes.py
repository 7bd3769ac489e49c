"""The store's own numbers: a kind letter, digits, a hyphen and a check character, such as K000042-A.

The check character is ISO/IEC 7064 MOD 37-36 over the letter and the digits. It finds every single wrong
character, but not every swap of two neighbours. So a number that has a valid twin by such a swap is
never given out, and neither is one whose check character is easily read as a digit. A code that fails
is refused and never repaired.

Source: design C14; ISO/IEC 7064; trade practice of look-alike letters (0 O Q, 1 I, 2 Z, 5 S, 8 B).
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from kittrack.domain import bounds
from kittrack.domain.text import clean_label, is_unseen
from kittrack.errors import BadInput

ALPHABET: Final = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
_MODULUS: Final = len(ALPHABET)  # 36, of the pair 37, 36 in the standard's name
LOOK_ALIKES: Final = frozenset("BIOQSZ")  # read as 8 1 0 0 5 2
MIN_DIGITS: Final = 6  # design section 2: fits a label and a million numbers of each kind
MAX_DIGITS: Final = 15  # longer than any store; keeps a number inside a 64-bit integer
_SHAPE: Final = re.compile(rf"([A-Z])([0-9]{{{MIN_DIGITS},{MAX_DIGITS}}})-?([0-9A-Z])")
_SHOWN: Final = 40  # characters of a refused scan that a sentence repeats


class Kind(StrEnum):
    """What a number of ours stands for. No kind letter is one of `LOOK_ALIKES`."""

    AIRFRAME = "A"
    COUNT = "C"
    DELIVERY = "D"
    ORDER = "E"
    DRILL = "F"
    SHIFT_HANDOVER = "G"
    HOLD = "H"
    JOB = "J"
    KIT = "K"
    LOT = "L"
    NOTICE = "M"
    SHELF_PLACE = "N"
    PERSON = "P"
    ROTOR_SET = "R"
    TAG = "T"
    PIECE = "U"
    VOUCHER = "V"
    TOOL = "W"
    POSITION = "X"
    RECEIPT_LINE = "Y"

    @property
    def in_words(self) -> str:
        """The kind as a person says it."""
        return _WORDS[self]

    @property
    def with_article(self) -> str:
        """The kind with "a" or "an" in front."""
        return f"an {self.in_words}" if self.in_words[0] in "aeiou" else f"a {self.in_words}"


_WORDS: Final = {
    Kind.AIRFRAME: "airframe",
    Kind.COUNT: "count",
    Kind.DELIVERY: "delivery",
    Kind.ORDER: "order",
    Kind.DRILL: "recall drill",
    Kind.SHIFT_HANDOVER: "shift hand-over",
    Kind.HOLD: "hold",
    Kind.JOB: "job",
    Kind.KIT: "kit",
    Kind.LOT: "lot",
    Kind.NOTICE: "recall notice",
    Kind.SHELF_PLACE: "bin, bench, cage or van",
    Kind.PERSON: "person",
    Kind.ROTOR_SET: "rotor set",
    Kind.TAG: "removed-part tag",
    Kind.PIECE: "piece",
    Kind.VOUCHER: "voucher",
    Kind.TOOL: "tool",
    Kind.POSITION: "position",
    Kind.RECEIPT_LINE: "receipt line",
}
_KIND_LETTERS: Final = frozenset(kind.value for kind in Kind)


@dataclass(frozen=True, order=True)
class Code:
    """A number of ours that was read and holds: its kind, its number and its one canonical text."""

    kind: Kind
    number: int
    text: str

    def __str__(self) -> str:
        """The canonical text, as labels print it."""
        return self.text


def check_character(body: str) -> str:
    """The check character of a text of digits and capital letters.

    Source: ISO/IEC 7064, hybrid system MOD 37-36; A12425GABC1234002 has M.
    """
    product = _MODULUS
    for char in body:
        total = (product + ALPHABET.index(char)) % _MODULUS or _MODULUS
        product = total * 2 % (_MODULUS + 1)
    return ALPHABET[(1 - product) % _MODULUS]


def _twin_at(body: str, check: str) -> int | None:
    """Where swapping a character with its unlike right neighbour first gives another code that holds."""
    whole = body + check
    for at in range(1, len(whole) - 1):
        left, right = whole[at], whole[at + 1]
        if left == right or not (left + right).isdigit():
            continue  # a letter among the digits is refused by its shape
        swapped = whole[:at] + right + left + whole[at + 2 :]
        if check_character(swapped[:-1]) == swapped[-1]:
            return at
    return None


def _never_given_out(body: str, check: str) -> bool:
    return check in LOOK_ALIKES or _twin_at(body, check) is not None


def _body(kind: Kind, number: int) -> str:
    return f"{kind.value}{number:0{MIN_DIGITS}d}"


def next_number(kind: Kind, *, after: int) -> int:
    """The next number of a kind that may be given out.

    Args:
        kind: what the number is for.
        after: the last number given out, 0 when there is none.

    Returns:
        The least larger number whose code can't be misread: about five of six may be given out.

    Raises:
        BadInput: there is no such number to start from.
    """
    number = bounds.whole(after, name="last number given out", low=0, high=10**MAX_DIGITS) + 1
    while _never_given_out(body := _body(kind, number), check := check_character(body)):
        at = _twin_at(body, check)
        # The digits behind a swap do not matter to it: every number that begins alike has a twin too.
        step = 10 ** max(0, len(body) - at - 2) if at is not None else 1
        number = (number // step + 1) * step
    return number


def make_code(kind: Kind, number: int) -> str:
    """The text of a number that may be given out.

    Args:
        kind: what the number is for.
        number: from `next_number`.

    Returns:
        The canonical text, such as "K000042-A".

    Raises:
        BadInput: the number is one that is never given out, below 1 or too long.
    """
    bounds.whole(number, name=f"number of {kind.with_article}", low=1, high=10**MAX_DIGITS - 1)
    body = _body(kind, number)
    check = check_character(body)
    if _never_given_out(body, check):
        raise BadInput(f"{body}-{check} is easily misread and is never given out; take the next number.")
    return f"{body}-{check}"


def looks_like_code(text: str) -> bool:
    """Whether a text has the shape of a number of ours, be its check character right or wrong."""
    shape = _SHAPE.fullmatch(text.strip().upper()) if text.isascii() else None
    return shape is not None and shape[1] in _KIND_LETTERS


def read_code(text: str, *, expect: Kind | None = None) -> Code:
    """Read a number of ours as typed or scanned.

    Args:
        text: in capitals or not, with or without its hyphen and blanks around it.
        expect: the only kind that is of use here, if any.

    Returns:
        The code, its text canonical.

    Raises:
        BadInput: it is no number of ours, its check character is wrong, or it is of another kind.
            Nothing is repaired.
    """
    wanted = expect.with_article if expect else "one of the store's own labels"
    code = _read(text, wanted=wanted)
    if expect is not None and code.kind is not expect:
        raise BadInput(f"{code} is {code.kind.with_article}; scan {wanted}.")
    return code


def _read(text: str, *, wanted: str) -> Code:
    trimmed = text.strip(" \t\r\n")
    shown = clean_label(trimmed, max_length=_SHOWN)
    if not trimmed:
        raise BadInput(f"Nothing was read; scan {wanted}.")
    if any(map(is_unseen, trimmed)):
        raise BadInput(f"{shown} holds control characters; scan {wanted} again, or type it.")
    shape = _SHAPE.fullmatch(trimmed.upper()) if trimmed.isascii() else None
    if shape is None or shape[1] not in _KIND_LETTERS:
        raise BadInput(_why_no_code(trimmed, shown=shown, wanted=wanted))
    letter, digits, check = shape.groups()
    body = letter + digits
    if len(digits) > MIN_DIGITS and digits.startswith("0"):
        raise BadInput(f"{shown} has too many digits; scan {wanted} again.")
    if check_character(body) != check:
        raise BadInput(f"The check character of {shown} is wrong; scan it again, or type it from the label.")
    if int(digits) == 0 or _never_given_out(body, check):
        raise BadInput(f"{shown} was never given out as a number; look at the label again and scan {wanted}.")
    return Code(Kind(letter), int(digits), f"{body}-{check}")


def _why_no_code(trimmed: str, *, shown: str, wanted: str) -> str:
    """The sentence for a text that has not the shape of a number of ours."""
    parts = trimmed.upper().replace("-", "")
    begun = bool(parts) and trimmed.isascii() and parts[0] in _KIND_LETTERS and parts[1:].isalnum()
    if begun and any(map(str.isdigit, parts[1:3])):
        if any(char in LOOK_ALIKES | {"L"} for char in parts[1:-1]):
            return f"{shown} has a letter among its digits; scan it again, or type 0 and 1 for O and I."
        if len(parts) < MIN_DIGITS + 2:
            return f"{shown} is too short: one of ours has {MIN_DIGITS} digits and a check character; scan it again."
        return f"{shown} is too long or has something in between; scan {wanted} once, by itself."
    return f"{shown} is not a number of this store; scan {wanted}."


@dataclass(frozen=True)
class NearMiss:
    """A known serial or lot that the text given may have been meant for, and why. Never accepted unasked."""

    candidate: str
    why: str


# 0 O Q D, 1 I L, 2 Z, 5 S, 8 B: read for one another on worn marks (common practice, no source).
_FOLD: Final = str.maketrans("OQDILZSB", "00011258", " -_./\t")
_EXPONENT: Final = re.compile(r"([0-9]{1,9})E([0-9]{1,2})")  # what spreadsheets take for a number


def near_misses(text: str, *, candidates: Iterable[str]) -> tuple[NearMiss, ...]:
    """Known serials or lots that differ from a text only as slips of eye and hand make them differ.

    A single other digit is no slip here: serials run in sequence, and each would be near the next.

    Args:
        text: a serial or lot that is not known as it stands.
        candidates: those that are known.

    Returns:
        The near ones with the reason, in the order of the candidates; a candidate equal to the text is
        left out. They are suggestions: a person looks at the part and decides.

    Source: trade practice; a shaft was lost for two days over two swapped characters of its serial.
    """
    return tuple(
        NearMiss(candidate, why)
        for candidate in dict.fromkeys(candidates)
        if candidate != text and (why := _why_near(text, candidate))
    )


def _why_near(text: str, candidate: str) -> str:
    """The slip that turns one text into the other, or nothing."""
    ours, theirs = text.upper(), candidate.upper()
    if "".join(ours.split()) == "".join(theirs.split()):
        return "differs only in capitals or blanks"
    if _is_swap(ours, theirs):
        return "has two neighbouring characters swapped"
    folded, other = ours.translate(_FOLD), theirs.translate(_FOLD)
    if folded == other:
        return "differs only in signs or in characters easily mistaken, such as 0 and O or 1 and I"
    if folded and other and folded.lstrip("0") == other.lstrip("0"):
        return "differs only in zeros at its start"
    if _is_spreadsheet_number(ours, theirs) or _is_spreadsheet_number(theirs, ours):
        return "is what a spreadsheet makes of it"
    return ""


def _is_swap(one: str, other: str) -> bool:
    """Whether swapping two neighbours of one text gives the other."""
    if len(one) != len(other):
        return False
    unlike = [at for at, (left, right) in enumerate(zip(one, other, strict=True)) if left != right]
    if len(unlike) != 2 or unlike[1] != unlike[0] + 1:
        return False
    at = unlike[0]
    return one[at] == other[at + 1] and one[at + 1] == other[at]


def _is_spreadsheet_number(plain: str, text: str) -> bool:
    """Whether a spreadsheet would show `text` (1E5) as the number `plain` (100000)."""
    number = _EXPONENT.fullmatch(text)
    return number is not None and plain == str(int(number[1]) * 10 ** int(number[2]))

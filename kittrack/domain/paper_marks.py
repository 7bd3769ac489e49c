"""The mark of a paper that has no number of its own: at which event of the chain it stands, and how that event's hash begins.

Such as EV002027-9F3A21BC-K: EV, the number of the event, the first eight characters of its hash, and a check character
over all of them. Two letters in front, so that it is never taken for a number of ours; no letter is left for a kind of its own.

Source: design 2 (the head of the chain is kept outside the store, on paper too), C14; ISO/IEC 7064.
"""

import re
from dataclasses import dataclass
from typing import Final

from kittrack.domain import bounds
from kittrack.domain.codes import MAX_DIGITS, MIN_DIGITS, check_character
from kittrack.domain.text import clean_label
from kittrack.errors import BadInput

HASH_SHOWN: Final = 8  # characters of the hash: one in four thousand million is alike by chance
_FRONT: Final = "EV"
_SHAPE: Final = re.compile(
    rf"{_FRONT}([0-9]{{{MIN_DIGITS},{MAX_DIGITS}}})-?([0-9A-F]{{{HASH_SHOWN}}})-?([0-9A-Z])"
)
_SHOWN: Final = 40  # characters of a refused scan that a sentence repeats


@dataclass(frozen=True)
class PaperMark:
    """The mark of a paper: an event, the beginning of its hash in small letters, and its one canonical text."""

    event: int
    hash_begins: str
    text: str


def make_paper_mark(event: int, *, digest: str) -> PaperMark:
    """The mark of a paper that is printed while an event is the last one.

    Args:
        event: the number of the event.
        digest: its hash in hexadecimal.

    Raises:
        BadInput: there is no such number, or it is no hash.
    """
    bounds.whole(event, name="number of an event", low=0, high=10**MAX_DIGITS - 1)
    if re.fullmatch(r"[0-9a-f]{8,128}", digest) is None:
        raise BadInput("The hash of an event is hexadecimal and has at least eight characters.")
    begins = digest[:HASH_SHOWN]
    body = f"{_FRONT}{event:0{MIN_DIGITS}d}{begins.upper()}"
    number = body[:-HASH_SHOWN]
    return PaperMark(event, begins, f"{number}-{begins.upper()}-{check_character(body)}")


def looks_like_paper_mark(text: str) -> bool:
    """Whether a text has the shape of a paper's mark, be its check character right or wrong."""
    return text.isascii() and _SHAPE.fullmatch(text.strip().upper()) is not None


def read_paper_mark(text: str) -> PaperMark:
    """Read the mark of a paper as typed or scanned. Nothing is repaired.

    Args:
        text: in capitals or not, with or without its hyphens and blanks around it.

    Raises:
        BadInput: it is none, or its check character is wrong.
    """
    shown = clean_label(text.strip(), max_length=_SHOWN)
    shape = _SHAPE.fullmatch(text.strip(" \t\r\n").upper()) if text.isascii() else None
    if shape is None:
        raise BadInput(f"{shown} is not the mark of a paper; scan it at the top of the paper.")
    digits, begins, check = shape.groups()
    if len(digits) > MIN_DIGITS and digits.startswith("0"):
        raise BadInput(f"{shown} has too many digits; scan it again at the top of the paper.")
    if check_character(f"{_FRONT}{digits}{begins}") != check:
        raise BadInput(f"The check character of {shown} is wrong; scan it again, or type it from the paper.")
    return make_paper_mark(int(digits), digest=begins.lower())

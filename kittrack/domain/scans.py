"""What a scan is: a label of this store, a supplier's label by one of four standards, or plain text.

Nothing is repaired and nothing in doubt is kept. A text with the shape of a number of this store is one or
is refused; it is never taken for something else.

Source: design C14 and section 7; AIM symbology identifiers by ISO/IEC 15424.
"""

import re
from dataclasses import replace
from datetime import date
from typing import Final

from kittrack.domain.codes import looks_like_code, read_code
from kittrack.domain.gs1 import (
    GS,
    is_bracketed,
    is_element_string,
    is_link,
    read_bracketed,
    read_elements,
    read_link,
)
from kittrack.domain.gs1_values import has_check_digit
from kittrack.domain.identifiers import (
    ENVELOPE,
    EOT,
    RS,
    ask_identifier,
    is_identifiers,
    is_text_elements,
    read_envelope,
    read_identifiers,
    read_text_elements,
)
from kittrack.domain.keyboards import layout_mismatch
from kittrack.domain.moves import read_move
from kittrack.domain.scan_result import Choice, Draft, Fields, Question, Scan, Standard
from kittrack.domain.self_test import judge_self_test
from kittrack.domain.text import check_text, clean_label
from kittrack.errors import BadInput, Problem

__all__ = ["GS_STAND_INS", "Choice", "Fields", "Question", "Scan", "Standard", "read_scan"]

# How scanners and programs in between send the separator GS (public reports); none is a GS1 character
# except those of "<GS>" and "<FNC1>", which no label writes in that order.
GS_STAND_INS: Final = ("<GS>", "{GS}", "<FNC1>", "{FNC1}", "␝", "|", "~", "\xf1", "\xe8")
_OTHER_STAND_INS: Final = {"<RS>": RS, "{RS}": RS, "␞": RS, "<EOT>": EOT, "{EOT}": EOT, "␄": EOT}
_AIM: Final = re.compile(r"\]([A-Za-z])([0-9A-Za-z])(?=.)", re.DOTALL)
_GS1_SYMBOLS: Final = frozenset({"C1", "e0", "d2", "Q3", "J1"})
_GTIN_SYMBOLS: Final = frozenset({"E0", "E4", "I1"})
_LONGEST: Final = 7089  # digits in the largest QR code, ISO/IEC 18004
_SEVERAL: Final = re.compile(r"([A-Z][0-9]{6,15}-?[0-9A-Z]){2,}", re.IGNORECASE)
_FRAME: Final = " \t\r\n\x02\x03"  # blanks, line ends, and the frame (STX, ETX) that some scanners add
_GTIN_DIGITS: Final = re.compile(r"[0-9]{8}|[0-9]{12,14}")


def read_scan(text: str, *, today: date, gs_stand_ins: tuple[str, ...] = GS_STAND_INS) -> Scan:
    """Read what a scanner sent, or what a person typed from a label.

    Args:
        text: what arrived, with or without an AIM prefix such as ]C1 and with or without a terminator.
        today: the local day; it decides the century of a year of two digits.
        gs_stand_ins: what this store's scanners send for the separator GS where they do not send it.

    Returns:
        The scan. It never raises: whatever is wrong stands in its problems, whatever is in doubt in its
        questions.
    """
    draft = Draft(today)
    body = text.strip(_FRAME)
    if not body or len(body) > _LONGEST:
        what = "Nothing was read" if not body else "More was read than any bar code holds"
        draft.fault(f"{what}; scan the label again.")
        return draft.finish(raw=text, text="")
    aim = _AIM.match(body)
    symbol = aim[1] + aim[2] if aim else ""
    body = body[aim.end() :] if aim else body
    if looks_like_code(body):
        return _read_ours(draft, raw=text, body=body)
    separated = _with_separators(body, stand_ins=gs_stand_ins)
    move = read_move(body)
    if move is not None:
        draft.standard = Standard.BENCH
        return replace(draft.finish(raw=text, text=body), move=move)
    judged = judge_self_test(body, known_stand_ins=gs_stand_ins, is_end_known=False)
    if judged is not None:
        draft.notes += judged.notes
        draft.problems += [Problem(fault.message) for fault in judged.faults]
    elif not _read_standard(draft, separated, symbol=symbol):
        _read_plain(draft, body, symbol=symbol)
    return draft.finish(raw=text, text=body)


def _read_ours(draft: Draft, *, raw: str, body: str) -> Scan:
    draft.standard = Standard.OURS
    try:
        return draft.finish(raw=raw, text=body, code=read_code(body))
    except BadInput as fault:
        draft.problems += fault.problems
        return draft.finish(raw=raw, text=body)


def _with_separators(body: str, *, stand_ins: tuple[str, ...]) -> str:
    """The text with real separators; stand-ins count only where no real one came."""
    if GS in body:
        return body
    for stand_in in stand_ins:
        body = body.replace(stand_in, GS)
    for stand_in, real in _OTHER_STAND_INS.items():
        body = body.replace(stand_in, real)
    return body


def _read_standard(draft: Draft, text: str, *, symbol: str) -> bool:
    """Read a supplier's label by the standard that it can only be of; False if it is of none."""
    if text.startswith(ENVELOPE):
        read_envelope(draft, text)
    elif is_link(text):
        read_link(draft, text)
    elif is_bracketed(text):
        read_bracketed(draft, text)
    elif symbol in _GS1_SYMBOLS or (not symbol and is_element_string(text)):
        read_elements(draft, text)
    elif is_text_elements(text):
        read_text_elements(draft, text)
    elif is_identifiers(text):
        read_identifiers(draft, text)
    elif symbol in _GTIN_SYMBOLS and _GTIN_DIGITS.fullmatch(text):
        _read_gtin(draft, text)
    else:
        return False
    return True


def _read_gtin(draft: Draft, digits: str) -> None:
    draft.standard = Standard.GTIN
    if has_check_digit(digits):
        draft.put("gtin", digits.zfill(14), words="the GTIN")
    else:
        draft.fault(f"The check digit of the trade item number {digits} is wrong; scan it again.", "gtin")


def _read_plain(draft: Draft, body: str, *, symbol: str) -> None:
    """Say what a text is not, and ask what it may be."""
    shown = clean_label(body, max_length=40)
    layout = layout_mismatch(body)
    if layout is not None:
        draft.fault(
            f"The scanner types as on a US keyboard, but this computer is set to {layout}; set both alike, then scan."
        )
    elif _SEVERAL.fullmatch(body):
        draft.fault(f"{shown} is more than one scan run together; scan one label at a time.")
    elif problems := check_text(body, field="scan"):
        draft.problems += problems
    elif not symbol and _GTIN_DIGITS.fullmatch(body) and len(body) > 8 and has_check_digit(body):
        draft.questions.append(
            Question(
                f"{shown} may be a trade item number (GTIN); look at the label and choose.",
                (Choice(f"GTIN {body}", (("gtin", body.zfill(14)),)), Choice(f"{shown} as it stands", ())),
            )
        )
    else:
        ask_identifier(draft, body)

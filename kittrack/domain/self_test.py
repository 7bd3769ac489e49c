"""What a scan of the self-test label tells of a scanner and the computer that it types into.

The label holds capitals and small letters, signs that each keyboard layout moves, the separator GS and an end mark. So
whatever is done to a scan on its way shows here before it damages the code of a part.

Source: public reports of scanners in keyboard mode (dropped or replaced separators, layouts, Alt codes, caps lock,
prefixes, suffixes, lost characters); design C14.
"""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cache
from typing import Final

from kittrack.domain.keyboards import SELF_TEST, SELF_TEST_END, SELF_TEST_HEAD, Layout, as_typed_on
from kittrack.domain.scanner_settings import ScannerSettings, check_settings
from kittrack.domain.text import clean_label

_GS: Final = "\x1d"
_AIM: Final = re.compile(r"\][A-Za-z][0-9A-Za-z]")
_LINE_ENDS: Final = "\r\n\t"
_FRAME: Final = {"\x02": "\x03"}  # STX in front, ETX behind
# Alt with figures of the keypad: a terminal passes them as figures, as Esc and a figure, or as Esc O and p to y.
_KEYPAD: Final = re.compile("\x1bO([p-y])|\x1b([0-9])")
_GS_AS_ALT: Final = frozenset({"29", "029", "0029"})
_SHOWN: Final = 30
_LEAST_PART: Final = 5  # characters of the label from which a broken scan of it is told from another scan


class Trouble(StrEnum):
    """What can be wrong, by a word that a program can look for."""

    LAYOUT = "keyboard layout"
    CAPS_LOCK = "caps lock"
    CAPITALS = "all capitals"
    SMALL = "all small letters"
    GS_DROPPED = "separator dropped"
    GS_REPLACED = "separator replaced"
    PREFIX = "prefix"
    SUFFIX = "suffix"
    NO_END = "no end mark"
    ALT_CODES = "alt codes"
    CUT = "characters lost"
    TOGETHER = "scans run together"
    OTHER = "another scan"


@dataclass(frozen=True)
class Fault:
    """One thing that is wrong and what to do about it, in one sentence."""

    trouble: Trouble
    message: str


@dataclass(frozen=True)
class SelfTest:
    """What a scan of the label tells. `settings` are those with which this scanner can be used as it is."""

    faults: tuple[Fault, ...]
    notes: tuple[str, ...]
    settings: ScannerSettings

    @property
    def is_good(self) -> bool:
        """Whether nothing is wrong."""
        return not self.faults

    @property
    def troubles(self) -> frozenset[Trouble]:
        """The troubles found."""
        return frozenset(fault.trouble for fault in self.faults)


@dataclass(frozen=True)
class _Seen:
    """The label as it arrived: what came in front, for GS and behind, on which layout and in which case."""

    before: str
    gs: str
    after: str
    layout: Layout | None
    case: Trouble | None
    times: int


def judge_self_test(
    text: str, *, known_stand_ins: Iterable[str], is_end_known: bool = True
) -> SelfTest | None:
    """Judge a scan that holds the whole label, however it was changed on its way.

    Args:
        text: what arrived, with its end.
        known_stand_ins: what is taken for GS already.
        is_end_known: whether the end of the scan arrived too; the command line and a pasted text lose it.

    Returns:
        The judgement; None when the label is not in the scan.
    """
    seen = _find(text)
    if seen is None:
        return _alt_codes(text)
    faults: list[Fault] = []
    notes: list[str] = []
    settings = ScannerSettings()
    if seen.times > 1:
        faults.append(
            Fault(
                Trouble.TOGETHER, "Several scans arrived as one; set the scanner to end each scan with Enter."
            )
        )
    faults += _of_letters(seen)
    settings = _of_gs(seen, settings, faults, notes, frozenset(known_stand_ins))
    settings = _of_frame(seen, settings, faults, notes, is_end_known=is_end_known and seen.times == 1)
    if not faults:
        notes.append("The scanner and this computer agree; nothing needs to be set.")
    return SelfTest(tuple(faults), tuple(notes), settings)


def judge_anything(text: str, *, known_stand_ins: Iterable[str], is_end_known: bool = True) -> SelfTest:
    """Judge what arrived when the label was to be scanned, be it the label or not."""
    judged = judge_self_test(text, known_stand_ins=known_stand_ins, is_end_known=is_end_known)
    if judged is not None:
        return judged
    body = text.strip(_LINE_ENDS)
    if len(body) >= _LEAST_PART and any(_is_part(body, whole) for whole in (SELF_TEST, *_on_layouts())):
        message = (
            f"Only {len(body)} of {len(SELF_TEST)} characters arrived; set a longer pause between characters in the "
            "scanner, then scan this again."
        )
        return _only(Trouble.CUT, message)
    shown = clean_label(body, max_length=_SHOWN) or "nothing"
    return _only(Trouble.OTHER, f"What arrived ({shown}) is not the self-test label; scan it from its sheet.")


def _only(trouble: Trouble, message: str) -> SelfTest:
    return SelfTest((Fault(trouble, message),), (), ScannerSettings())


# ---- finding the label -----------------------------------------------------------------------------


def _on_layouts() -> Iterator[str]:
    return (as_typed_on(SELF_TEST, layout=layout) for layout in Layout)


@cache
def _readings() -> tuple[tuple[str, str, Layout | None, Trouble | None], ...]:
    """Head and end of the label as each layout and case would change them; the unchanged ones first."""
    cases = (
        (None, str),
        (Trouble.CAPS_LOCK, str.swapcase),
        (Trouble.CAPITALS, str.upper),
        (Trouble.SMALL, str.lower),
    )
    found = []
    for layout in (None, *Layout):
        head, end = (
            as_typed_on(part, layout=layout) if layout else part for part in (SELF_TEST_HEAD, SELF_TEST_END)
        )
        found += [(change(head), change(end), layout, case) for case, change in cases]
    return tuple(found)


def _find(text: str) -> _Seen | None:
    for head, end, layout, case in _readings():
        begin = text.find(head)
        if begin < 0:
            continue
        stop = text.find(end, begin + len(head))
        if stop < 0:
            continue
        gs, after = text[begin + len(head) : stop], text[stop + len(end) :]
        return _Seen(text[:begin], gs, after, layout, case, text.count(head))
    return None


def _is_part(body: str, whole: str) -> bool:
    """Whether a text is the label with characters left out."""
    rest = iter(whole)
    return all(char in rest for char in body)


# ---- judging it ------------------------------------------------------------------------------------


def _of_letters(seen: _Seen) -> Iterator[Fault]:
    if seen.layout is not None:
        yield Fault(
            Trouble.LAYOUT,
            f"The scanner types as on a US keyboard, but this computer is set to {seen.layout}; set both alike, then scan.",
        )
    if seen.case is Trouble.CAPS_LOCK:
        yield Fault(seen.case, "Caps lock is on, so capitals and small letters change places; switch it off.")
    elif seen.case is not None:
        yield Fault(
            seen.case,
            f"The scanner turns letters into {seen.case.value}, which changes serials; switch its case conversion off.",
        )


def _of_gs(
    seen: _Seen, settings: ScannerSettings, faults: list[Fault], notes: list[str], known: frozenset[str]
) -> ScannerSettings:
    if seen.gs == _GS:
        return settings
    if not seen.gs:
        message = (
            "The scanner drops the separator GS; set it to send control characters, then scan this again."
        )
        faults.append(Fault(Trouble.GS_DROPPED, message))
        return settings
    shown = clean_label(seen.gs, max_length=_SHOWN)
    if seen.gs in known:
        notes.append(f"The scanner sends {shown} for the separator GS, which is taken for it.")
        return settings
    if _figures(seen.gs) in _GS_AS_ALT:
        message = "The scanner sends the separator GS as an Alt code; set it to send control characters, then scan this again."
        faults.append(Fault(Trouble.ALT_CODES, message))
        return settings
    able = replace(settings, gs_stand_ins=(seen.gs,))
    way_out = "" if check_settings(able) else f", or add {shown} to the stand-ins of this terminal"
    message = f"The scanner sends {shown} for the separator GS; set it to send GS{way_out}."
    faults.append(Fault(Trouble.GS_REPLACED, message))
    return able if way_out else settings


def _of_frame(
    seen: _Seen, settings: ScannerSettings, faults: list[Fault], notes: list[str], *, is_end_known: bool
) -> ScannerSettings:
    before, after = seen.before, seen.after.rstrip(_LINE_ENDS)
    aim = _AIM.search(before)
    if aim is not None:
        notes.append(
            f"The scanner puts the AIM identifier {aim[0]} in front, which is understood and taken off."
        )
        before = before[: aim.start()] + before[aim.end() :]
    if before in _FRAME and after == _FRAME[before]:
        notes.append("The scanner sends STX in front and ETX behind, which are taken off.")
        before = after = ""
    if before:
        shown = clean_label(before, max_length=_SHOWN)
        message = f"The scanner puts {shown} in front of each scan; switch that off, or keep it as the prefix of this terminal."
        faults.append(Fault(Trouble.PREFIX, message))
    if after and seen.times == 1:
        shown = clean_label(after, max_length=_SHOWN)
        message = f"The scanner puts {shown} behind each scan; switch that off, or keep it as the suffix of this terminal."
        faults.append(Fault(Trouble.SUFFIX, message))
    if is_end_known and not seen.after.endswith(tuple(_LINE_ENDS)):
        message = "The scanner sends no end mark, so that scans can run together; set it to end each scan with Enter."
        faults.append(Fault(Trouble.NO_END, message))
    return replace(settings, prefix=before, suffix=after if seen.times == 1 else "")


# ---- Alt codes -------------------------------------------------------------------------------------


def _figures(text: str) -> str:
    """What a terminal makes of the keypad, as figures again."""

    def figure(found: re.Match[str]) -> str:
        return found[2] or str(ord(found[1]) - ord("p"))

    return _KEYPAD.sub(figure, text)


def _alt_codes(text: str) -> SelfTest | None:
    """Whether the label came as the numbers of its characters, with or without leading zeros."""
    figures = _figures(text.strip(_LINE_ENDS))
    written = {"".join(f"{ord(char):0{width}d}" for char in SELF_TEST) for width in (1, 3, 4)}
    if figures not in written:
        return None
    return _only(
        Trouble.ALT_CODES,
        "The scanner types the numbers of characters with the Alt key; switch its Alt mode off, then scan this again.",
    )

"""Text that came from outside: how it is shown on one line, written to a spreadsheet, and checked.

What a scanner, a file or the database hands over is data: on a terminal it could move the cursor, hide
letters or turn the reading direction, and in a spreadsheet it could run as a formula.
"""

import re
import unicodedata
from collections.abc import Sequence
from typing import Final

from kittrack.errors import Problem

# Names of the control characters as ISO/IEC 6429 (ECMA-48) and Unicode's code charts print them.
_C0_NAMES: Final = (
    "NUL SOH STX ETX EOT ENQ ACK BEL BS TAB LF VT FF CR SO SI "
    "DLE DC1 DC2 DC3 DC4 NAK SYN ETB CAN EM SUB ESC FS GS RS US"
)
_NAMED: Final = {
    **{chr(code): name for code, name in enumerate(_C0_NAMES.split())},
    "\x7f": "DEL",
    "\x85": "NEL",
    "\x9b": "CSI",
    "\u00ad": "SHY",
    "\u061c": "ALM",
    "\u200b": "ZWSP",
    "\u200c": "ZWNJ",
    "\u200d": "ZWJ",
    "\u200e": "LRM",
    "\u200f": "RLM",
    "\u2028": "LSEP",
    "\u2029": "PSEP",
    "\u202a": "LRE",
    "\u202b": "RLE",
    "\u202c": "PDF",
    "\u202d": "LRO",
    "\u202e": "RLO",
    "\u2060": "WJ",
    "\u2066": "LRI",
    "\u2067": "RLI",
    "\u2068": "FSI",
    "\u2069": "PDI",
    "\ufeff": "BOM",
}
# Controls, format marks (bidirectional ones among them), surrogates, private use, unassigned, separators.
_UNSEEN_CATEGORIES: Final = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})
# Letters and marks that print nothing although their category says otherwise (Unicode's
# Default_Ignorable_Code_Point and the blank braille cell).
_UNSEEN_LETTERS: Final = re.compile(
    "[\u034f\u115f\u1160\u17b4\u17b5\u180b-\u180f\u2800\u3164\ufe00-\ufe0f\uffa0]"
)
_LINE_ENDS_AND_BLANKS: Final = re.compile(r"[ \t\n\v\f\r\x85\u2028\u2029]+")
# What starts a formula in a spreadsheet, full-width forms included (OWASP, "CSV Injection").
_FORMULA_START: Final = re.compile(r"[ \t\r\n\u00a0]*[=+\-@\uff1d\uff0b\uff0d\uff20]|[\t\r\n]")


_MADE_A_NUMBER: Final = re.compile(r"[0-9]+(?:[.,][0-9]+)?E\+[0-9]+", re.IGNORECASE)
_MONTHS: Final = "Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec"
_MADE_A_DATE: Final = re.compile(rf"[0-9]{{1,2}}-(?:{_MONTHS})|(?:{_MONTHS})-[0-9]{{2}}", re.IGNORECASE)
_FORMULA_FAULT: Final = re.compile(r"#(?:NAME\?|REF!|VALUE!|N/A|DIV/0!|NUM!|NULL!|#+)")


def is_made_by_spreadsheet(text: str) -> bool:
    """Whether a text reads as what a spreadsheet puts in the place of a code: 1.91431E+18, 01-Mar, Mar-26, #NAME?.

    A code may read so too; whoever asks has to leave a way to say so.
    """
    return any(one.fullmatch(text) for one in (_MADE_A_NUMBER, _MADE_A_DATE, _FORMULA_FAULT))


def either(words: Sequence[str]) -> str:
    """Several words as one choice: "a", "a or b", "a, b or c"."""
    *first, last = words or ("",)
    return f"{', '.join(first)} or {last}" if first else last


def is_unseen(char: str) -> bool:
    """Whether a character prints nothing of its own, or steers what is printed around it."""
    return unicodedata.category(char) in _UNSEEN_CATEGORIES or _UNSEEN_LETTERS.match(char) is not None


def _stand_in(char: str) -> str:
    """A character as a person can see it, such as <ESC> or <U+202F>."""
    return f"<{_NAMED.get(char) or f'U+{ord(char):04X}'}>" if is_unseen(char) else char


def clean_label(text: str, *, max_length: int | None = None) -> str:
    """Untrusted text as it may stand on one line of a terminal, everything unseen made visible.

    Args:
        text: any text.
        max_length: the most characters to show; the rest is replaced by "...".

    Returns:
        The text with every control, bidirectional and zero-width character replaced by its name or
        number in angle brackets.
    """
    shown = text if max_length is None else text[: max_length + 1]
    if not (shown.isascii() and shown.isprintable()):  # what most texts are can be seen as it stands
        shown = "".join(map(_stand_in, shown))
    if max_length is None or len(shown) <= max_length:
        return shown
    return shown[: max(0, max_length - 3)] + "..."


def single_line(text: str, *, max_length: int | None = None) -> str:
    """A note of several lines as one line: runs of blanks and line ends become one space each.

    Args:
        text: any text.
        max_length: as for `clean_label`.

    Returns:
        One line, without blanks at its ends, fit for a terminal.
    """
    return clean_label(_LINE_ENDS_AND_BLANKS.sub(" ", text).strip(" "), max_length=max_length)


def csv_cell(text: str) -> str:
    """Text as a cell of a CSV file that no spreadsheet takes for a formula.

    A leading apostrophe marks the cell as text, as spreadsheets themselves do. Quoting stays the
    business of the csv module; numbers are written as numbers and do not pass through here.

    Source: OWASP, "CSV Injection".
    """
    return f"'{text}" if _FORMULA_START.match(text) else text


# What a spreadsheet reads as a number or a date and writes back as something else: leading zeros, more digits than it
# keeps, powers of ten, halves of dates. Seen in public bug reports: 00123 to 123, 1E5 to 100000, MAR-1 to a date.
_CHANGED_BY_SHEETS: Final = re.compile(
    r"\s*(?:[+-]?0\d+(?:[.,]\d+)?|[+-]?\d{16,}|[+-]?\d+(?:[.,]\d+)?[eE][+-]?\d+|\d{1,2}[-/.]\d{1,2}(?:[-/.]\d{1,4})?"
    r"|(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*[-/. ]?\d{1,4}"
    r"|\d{1,2}[-/. ]?(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*(?:[-/. ]?\d{1,4})?|true|false)\s*",
    re.IGNORECASE,
)
_PLAIN_NUMBER: Final = re.compile(r"-?(?:0|[1-9]\d{0,14})(?:\.\d+)?")


def sheet_cell(text: str) -> str:
    """Text as a cell of a CSV file that is made to be opened in a spreadsheet: nothing runs, nothing loses a zero.

    As `csv_cell`, and what a spreadsheet would take for another number or a date is marked as text too. Plain
    numbers stay numbers.
    """
    if _PLAIN_NUMBER.fullmatch(text):
        return text
    return f"'{text}" if _CHANGED_BY_SHEETS.fullmatch(text) else csv_cell(text)


def check_text(text: str, *, field: str, max_length: int = 200) -> tuple[Problem, ...]:
    """What is wrong with a short text that a person gave (a name, a lot, a serial, a reason).

    Args:
        text: what was typed, scanned or loaded.
        field: what it is, in words, as the sentence names it.
        max_length: the most characters kept.

    Returns:
        Every fault found; empty when the text can be kept as it is.
    """
    if not text.strip():
        return (Problem(f"The {field} is empty; type it.", field),)
    found = []
    if len(text) > max_length:
        found.append(f"The {field} has {len(text)} characters; shorten it to {max_length}.")
    unseen = list(dict.fromkeys(char for char in text if is_unseen(char)))
    if unseen:
        shown = " ".join(map(_stand_in, unseen[:5]))
        found.append(f"The {field} holds characters that can't be seen ({shown}); type it without them.")
    if text != text.strip():
        found.append(f"The {field} begins or ends with a blank; type it without.")
    if not unicodedata.is_normalized("NFC", text):
        found.append(
            f"The {field} has letters made of several parts (not Unicode NFC); type it on a keyboard."
        )
    return tuple(Problem(message, field) for message in found)


def counted(count: int, noun: str) -> str:
    """So many of something, in words."""
    return f"{count} {noun}{'' if count == 1 else 's'}"

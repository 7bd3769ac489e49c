"""The few symbols that the screens use, each with its ASCII stand-in, and text made safe to show.

A symbol only ever stands beside a word. KITTRACK_ASCII=1, or a locale that can't carry the symbols, turns
the stand-ins on. Source: design 7 ("Look"); trade practice: serial consoles are ASCII.
"""

import locale
import os
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from kittrack.domain.text import clean_label

_ARROWS: Final = {"CW": "CW >", "CCW": "CCW <"}


@dataclass(frozen=True)
class Symbols:
    """One set of symbols, and the rule of what may be shown with it."""

    is_ascii: bool
    line: str
    nose: str
    hub: str
    here: str
    step: str
    bar: str

    def show(self, text: str) -> str:
        """Text from outside as it may stand on this terminal: nothing unseen, no letter it can't carry."""
        seen = clean_label(text)
        return seen.encode("ascii", "backslashreplace").decode("ascii") if self.is_ascii else seen


UNICODE: Final = Symbols(is_ascii=False, line="─", nose="▲", hub="·", here="▶", step=">", bar="│")
ASCII: Final = Symbols(is_ascii=True, line="-", nose="^", hub="+", here="*", step=">", bar="|")


def symbols_for(environ: Mapping[str, str], *, encoding: str, is_coerced: bool = False) -> Symbols:
    """The symbols for a terminal.

    Args:
        environ: the environment; KITTRACK_ASCII set to anything but 0 asks for ASCII, and so does a locale C.
        encoding: the encoding of the locale.
        is_coerced: whether Python made UTF-8 of the locale C by itself: then LC_CTYPE is Python's, not the person's.
    """
    asked = environ.get("KITTRACK_ASCII", "") not in ("", "0")
    own = "" if is_coerced else environ.get("LC_CTYPE", "")
    is_plain = (environ.get("LC_ALL") or own or environ.get("LANG", "")) in ("C", "POSIX")
    return ASCII if asked or is_plain or encoding.lower().replace("-", "") != "utf8" else UNICODE


def symbols_here() -> Symbols:
    """The symbols for the terminal that this program runs in."""
    encoding = locale.getpreferredencoding(do_setlocale=False)
    return symbols_for(os.environ, encoding=encoding, is_coerced=bool(sys.flags.utf8_mode))


def sense_mark(sense: str | None) -> str:
    """A sense as word and arrow, such as "CW >"; the arrow is ASCII on every terminal."""
    return _ARROWS.get(sense or "", "no sense")

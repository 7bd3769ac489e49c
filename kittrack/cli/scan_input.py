"""Scans as they arrive at this terminal, byte by byte and before any key can act on them.

A scanner types a label within a blink. On a terminal the keys are read raw until there is silence, so that separators,
Esc and line ends arrive as sent; from a pipe each line is a scan.
"""

import re
import sys
from typing import Final

from kittrack.errors import BadInput

SILENCE_S: Final = 0.4
"""Silence that ends a scan; the slowest scanners type a character in 0.1 s (common practice, no source)."""

_ENDS: Final = re.compile(r"[\r\n\t]+")
_STOP: Final = frozenset({"", "\r", "\n", "\t", "\r\n", "\x04", "\x03", "\x1b"})
_MOST: Final = 100_000  # bytes; far more than the largest symbol holds, many times over


def one_scan() -> str:
    """One scan with everything around it; from a pipe, all that comes."""
    if not sys.stdin.isatty():
        return _decoded(sys.stdin.buffer.read(_MOST))
    return read_burst(sys.stdin.fileno())


def several_scans() -> tuple[str, ...]:
    """Scans until Enter, Esc or end of input comes alone; each without its line end.

    Raises:
        BadInput: there was none.
    """
    if sys.stdin.isatty():
        found = []
        while (burst := read_burst(sys.stdin.fileno())) not in _STOP:
            found += split_scans(burst)
    else:
        found = split_scans(_decoded(sys.stdin.buffer.read(_MOST)))
    if not found:
        raise BadInput("Nothing was scanned; scan each code of the box, then press Enter.")
    return tuple(found)


def split_scans(text: str) -> list[str]:
    """The scans of a text, one to a line; a Tab ends one too."""
    return [part for part in _ENDS.split(text) if part]


def read_burst(descriptor: int, *, silence_s: float = SILENCE_S) -> str:
    """What a terminal sends from its first key until there is silence, each key as it is.

    Args:
        descriptor: of the terminal.
        silence_s: how long nothing must come.

    Raises:
        KeyboardInterrupt: Ctrl-C came alone.
    """
    import os
    import select
    import termios
    import tty

    before = termios.tcgetattr(descriptor)
    tty.setraw(descriptor, termios.TCSADRAIN)
    try:
        got = os.read(descriptor, 1024)
        while len(got) < _MOST and select.select([descriptor], [], [], silence_s)[0]:
            more = os.read(descriptor, 1024)
            if not more:
                break
            got += more
    finally:
        termios.tcsetattr(descriptor, termios.TCSADRAIN, before)
    if got == b"\x03":
        raise KeyboardInterrupt
    return _decoded(got)


def _decoded(raw: bytes) -> str:
    return raw.decode("utf-8", "replace")

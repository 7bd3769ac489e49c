"""Telling a bar code scanner from a person at the same keyboard, before any key can do harm.

A scanner types a whole label within a blink and ends it with Enter, a line feed, Tab or nothing. Left to the
widgets, scans that follow each other merge, separators (GS, RS, EOT) vanish, and a character that is a key
binding acts. So the app holds keys back until it is clear who types: keys that follow each other within
`GAP` seconds are one scan, a lone key is passed on a moment later.

Limits: a scanner slower than one character in `GAP` is taken for a person; fewer than `LEAST` characters are
typing unless the line was at rest before them.
Source: design 7 (the scan line); measured on this terminal library with bytes of scanners.
"""

import time
from collections.abc import Sequence
from typing import Any, Final

from textual import events
from textual.app import App
from textual.message import Message

GAP: Final = 0.045
"""Seconds between two characters of one scan at the most; a scanner needs 1 to 20 ms."""

LEAST: Final = 6
"""Characters of a scan that a person's fast fingers are not mistaken for."""

LEAST_AT_REST: Final = 2
"""The same where nothing was typed just before, so that nothing can be torn apart."""

REST: Final = 0.3
"""Seconds without a key after which the line is at rest."""

_PATIENCE: Final = GAP * 1.3  # seconds of silence after which what is held is a scan or typing

_CONTROLS: Final = {  # by the key's name: some terminals send no character, or another one, with it
    "ctrl+right_square_bracket": "\x1d",
    "ctrl+circumflex_accent": "\x1e",
    "ctrl+backslash": "\x1c",
    "ctrl+underscore": "\x1f",
    "ctrl+d": "\x04",
    "ctrl+b": "\x02",
}
_ONLY_INSIDE: Final = {"ctrl+c": "\x03"}  # the end of a scanner's frame; alone it is a person's key
_ENDS: Final = frozenset({"enter", "tab", "ctrl+j"})
_LINE_ENDS: Final = "\r\n\t"


class Scan(Message):
    """A whole scan, with its separators, without its end. `pasted` where it came from the clipboard."""

    def __init__(self, text: str, *, pasted: bool = False) -> None:
        super().__init__()
        self.text = text
        self.pasted = pasted


def character_of(key: events.Key, *, inside: bool) -> str | None:
    """The character that a key stands for in a scan, or None where it can't be of one."""
    control = _CONTROLS.get(key.key) or (_ONLY_INSIDE.get(key.key) if inside else None)
    if control:
        return control
    return key.character if key.is_printable and key.character else None


def split_scans(text: str) -> list[str]:
    """The scans of a pasted text: each line is one, separators within it are kept."""
    for end in _LINE_ENDS[1:]:
        text = text.replace(end, _LINE_ENDS[0])
    return [part for part in text.split(_LINE_ENDS[0]) if part]


class ScannerApp(App[int]):
    """An app that hands whole scans over as `Scan` messages and everything else on as ever."""

    def __init__(self, **settings: Any) -> None:
        super().__init__(**settings)
        self._held: list[events.Key] = []
        self._at_rest = True
        self._last_key = 0.0
        self._ended = 0.0
        self._taken = 0.0

    @property
    def takes_pastes(self) -> bool:
        """Whether a pasted text is a scan here; a form's field keeps plain ones."""
        return True

    @property
    def holds_keys(self) -> bool:
        """Whether keys are held back, since it is not clear yet who types."""
        return bool(self._held)

    async def on_event(self, event: events.Event) -> None:
        """Hold keys back until it is clear whether a scanner or a person sent them."""
        if isinstance(event, events.Key) and not event.is_forwarded:
            if await self._hold(event):
                return
        elif isinstance(event, events.Paste) and not event.is_forwarded and self._take_paste(event):
            return
        await super().on_event(event)

    async def _hold(self, key: events.Key) -> bool:
        """Whether a key was kept back or used up; what was held is passed on first where it was a person's."""
        if self._held and key.time - self._held[-1].time > GAP:
            await self._settle()
        if key.key in _ENDS:
            return await self._end(key)
        character = character_of(key, inside=bool(self._held))
        if character is None or not (self._held or character.isprintable() or key.key in _CONTROLS):
            await self._settle()
            return False
        if not self._held:
            self._at_rest = key.time - self._last_key > REST
            self.set_timer(_PATIENCE, self._expire)
        self._held.append(key)
        self._last_key = key.time
        self._taken = time.monotonic()
        return True

    async def _end(self, key: events.Key) -> bool:
        if not self._held:
            trails = key.time - self._ended <= GAP  # the second half of CR LF, or of Enter Tab
            self._ended = key.time if trails else 0.0
            return trails
        if len(self._held) >= (LEAST_AT_REST if self._at_rest else LEAST):
            self._ended = self._last_key = key.time
            self._hand_over()
            return True
        await self._pass_on()
        return False

    async def _expire(self) -> None:
        """Settle what is held once no key came for long enough; one timer waits for all keys of a scan.

        What counts is when a key was taken here: the keys of a busy screen wait longer than they lie apart.
        """
        left = self._taken + _PATIENCE - time.monotonic()
        if self._held and left > _PATIENCE / 10:
            self.set_timer(left, self._expire)
        elif self._held:
            await self._settle()

    async def _settle(self) -> None:
        """Silence, or another key: a scan without an end is handed over, typing is passed on."""
        characters = {character_of(key, inside=True) for key in self._held}
        if len(self._held) >= LEAST and len(characters) > 1:  # one character again and again is a held key
            self._hand_over()
        else:
            await self._pass_on()

    def _hand_over(self) -> None:
        text = _text_of(self._held)
        self._held = []
        self.post_message(Scan(text))

    async def _pass_on(self) -> None:
        held, self._held = self._held, []
        for key in held:
            await super().on_event(key)

    def _take_paste(self, event: events.Paste) -> bool:
        has_controls = any(c in event.text for c in "\x1c\x1d\x1e\x1f\x04")
        ended = event.text.endswith(("\r", "\n"))
        if not (self.takes_pastes or has_controls or ended):
            return False
        for text in split_scans(event.text):
            self.post_message(Scan(text, pasted=True))
        return True


def _text_of(keys: Sequence[events.Key]) -> str:
    return "".join(character_of(key, inside=True) or "" for key in keys)

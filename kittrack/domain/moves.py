"""The few moves that gloved hands make by scanning a bench sheet instead of pressing a key.

None of them overrides anything: each does what one key does that is always at hand. Their texts hold only letters that
stand at the same place on US, British, German and French keyboards, so that they arrive whole whatever a scanner is set
to, and none has the shape of a number of the store.

Source: design 7 (keys); R20 (no override); keyboard layouts as in `keyboards`.
"""

from enum import StrEnum


class Move(StrEnum):
    """A move by the text of its bar code."""

    NEXT_STATION = "KITNEXT"
    GO_AHEAD = "KITPROCEED"
    START_AGAIN = "KITRESET"
    SECOND_PERSON = "KITSECOND"

    @property
    def called(self) -> str:
        """The move as its sheet names it."""
        return _WORDS[self][0]

    @property
    def meaning(self) -> str:
        """What it does, in one sentence."""
        return _WORDS[self][1]


_WORDS = {
    Move.NEXT_STATION: ("NEXT STATION", "Goes on to the next station, as its function key does."),
    Move.GO_AHEAD: ("GO AHEAD", "Does what the verdict line says is ready, as F9 does; it never does more."),
    Move.START_AGAIN: ("START AGAIN", "Empties the station and starts again, as Esc does; nothing is recorded."),
    Move.SECOND_PERSON: (
        "SECOND PERSON",
        "Says that the next badge is the second person's; the badge itself confirms.",
    ),
}  # fmt: skip


def read_move(text: str) -> Move | None:
    """The move that a scan is, in capitals or not, or None."""
    try:
        return Move(text.strip().upper())
    except ValueError:
        return None

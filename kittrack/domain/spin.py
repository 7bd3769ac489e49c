"""Spin sense: which way a rotor turns, always as seen from above.

Source: design R3, section 3 (words). A thread hand is another thing (`ThreadHand`) and is never
derived from a sense.
"""

from enum import StrEnum


class Sense(StrEnum):
    """The direction in which a rotor turns, seen from above."""

    CW = "CW"
    CCW = "CCW"

    @property
    def other(self) -> "Sense":
        """The mirror image."""
        return Sense.CCW if self is Sense.CW else Sense.CW

    @property
    def in_words(self) -> str:
        """The sense as a person reads it aloud."""
        return "clockwise" if self is Sense.CW else "counter-clockwise"


class ThreadHand(StrEnum):
    """The hand of a thread. Two build guides pair hands and senses in opposite ways, so none is derived."""

    RIGHT = "RH"
    LEFT = "LH"


class Level(StrEnum):
    """Where on its arm a rotor sits."""

    SINGLE = "single"
    UPPER = "upper"
    LOWER = "lower"


class Drive(StrEnum):
    """Whether a rotor pulls (tractor, ahead of its motor in thrust direction) or pushes."""

    TRACTOR = "tractor"
    PUSHER = "pusher"

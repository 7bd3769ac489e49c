"""Screws with a hexagon socket: key sizes, standard lengths, and whether a length suits what it clamps.

Source: design C8; ISO 4762 (socket head), ISO 7380-1 (button head), ISO 10642 (countersunk head); the
tables were compared with those of the PyPI package bd-warehouse 0.4.0 and published supplier tables.
"""

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from typing import Final

from kittrack.domain import bounds
from kittrack.domain.rules import Rule
from kittrack.domain.spin import ThreadHand
from kittrack.domain.text import clean_label
from kittrack.domain.threads import (
    UM_PER_MM,
    PropertyClass,
    Thread,
    coarse_thread,
    property_class,
)
from kittrack.errors import BadInput, Problem, Refusal

MOST_LENGTH_UM: Final = 300_000  # the end of the length list of ISO 4762
_SHOWN: Final = 40


class Head(StrEnum):
    """The form of a screw's head; it decides the key."""

    SOCKET = "socket head"
    BUTTON = "button head"
    COUNTERSUNK = "countersunk head"


# DIN numbers are the withdrawn forerunners (common practice; heads may differ in detail, keys do not).
STANDARDS: Final[dict[str, Head]] = {
    "ISO 4762": Head.SOCKET,
    "DIN 912": Head.SOCKET,
    "ISO 7380-1": Head.BUTTON,
    "ISO 10642": Head.COUNTERSUNK,
    "DIN 7991": Head.COUNTERSUNK,
}

# Key across flats in um. Socket heads: two published tables of ISO 4762 agree. Button and countersunk
# heads take one size smaller (published table of ISO 7380; bd-warehouse 0.4.0 for ISO 10642).
_KEYS_UM: Final[dict[Head, dict[str, int]]] = {
    Head.SOCKET: {
        "M1.6": 1500,
        "M2": 1500,
        "M2.5": 2000,
        "M3": 2500,
        "M4": 3000,
        "M5": 4000,
        "M6": 5000,
        "M8": 6000,
    },
    Head.BUTTON: {"M3": 2000, "M4": 2500, "M5": 3000, "M6": 4000, "M8": 5000},
    Head.COUNTERSUNK: {"M3": 2000, "M4": 2500, "M5": 3000, "M6": 4000, "M8": 5000},
}

# Length lists of the standards up to 80 mm, and for each thread the shortest and longest of them.
# Source: bd-warehouse 0.4.0, nominal_screw_lengths.csv and the head tables.
_LENGTHS_MM: Final[dict[Head, str]] = {
    Head.SOCKET: "2.5 3 4 5 6 8 10 12 16 20 25 30 35 40 45 50 55 60 65 70 80",
    Head.BUTTON: "6 8 10 12 16 20 25 30 35 40 45 50 55 60 65 70 80",
    Head.COUNTERSUNK: "8 10 12 16 20 25 30 35 40 50 60 70 80",
}
_LENGTH_RANGES_UM: Final[dict[Head, dict[str, tuple[int, int]]]] = {
    Head.SOCKET: {
        "M1.6": (2500, 16_000),
        "M2": (3000, 20_000),
        "M2.5": (4000, 25_000),
        "M3": (5000, 30_000),
        "M4": (6000, 40_000),
        "M5": (8000, 50_000),
        "M6": (8000, 60_000),
        "M8": (10_000, 80_000),
    },
    Head.BUTTON: {
        "M3": (6000, 30_000),
        "M4": (6000, 40_000),
        "M5": (8000, 50_000),
        "M6": (10_000, 60_000),
        "M8": (12_000, 80_000),
    },
    Head.COUNTERSUNK: {
        "M3": (8000, 30_000),
        "M4": (8000, 40_000),
        "M5": (8000, 50_000),
        "M6": (8000, 60_000),
        "M8": (10_000, 80_000),
    },
}


@dataclass(frozen=True)
class Screw:
    """A screw as its designation says it."""

    thread: Thread
    length_um: int
    standard: str
    strength: PropertyClass
    hand: ThreadHand = ThreadHand.RIGHT

    def __post_init__(self) -> None:
        bounds.whole(
            self.length_um, name=f"length of the {self.thread.name} screw in um", low=1, high=MOST_LENGTH_UM
        )
        if self.standard not in STANDARDS:
            shown = clean_label(self.standard, max_length=_SHOWN)
            raise BadInput(
                f"{shown or 'Nothing'} is no screw standard here; use one of {', '.join(STANDARDS)}."
            )

    @property
    def head(self) -> Head:
        """The form of its head."""
        return STANDARDS[self.standard]

    @property
    def key_um(self) -> int:
        """The hexagon key that fits, across flats.

        Raises:
            BadInput: the standard has no such head.
        """
        return key_um(self.head, thread=self.thread)

    def __str__(self) -> str:
        """The designation, as `designations.read_screw` reads it."""
        hand = "" if self.hand is ThreadHand.RIGHT else f"-{self.hand}"
        return (
            f"{self.thread.name}{hand} x {millimetres(self.length_um)} {self.standard} {self.strength.name}"
        )


def key_um(head: Head, *, thread: Thread) -> int:
    """The hexagon key, across flats, of a head and thread.

    Raises:
        BadInput: the standard has no such head, so that no key is known.
    """
    found = _KEYS_UM[head].get(thread.name)
    if found is None:
        raise BadInput(
            f"The tables have no {head} for {thread.name}, so no key is known; measure the socket and "
            "state the key by hand."
        )
    return found


def standard_lengths_um(head: Head, *, thread: Thread) -> tuple[int, ...]:
    """The lengths in which a standard makes a thread, shortest first; empty where it makes none."""
    shortest, longest = _LENGTH_RANGES_UM[head].get(thread.name, (0, -1))
    return tuple(um for um in map(_um, _LENGTHS_MM[head].split()) if shortest <= um <= longest)


def check_length(screw: Screw) -> tuple[Problem, ...]:
    """What speaks against ordering a screw of this length: a warning, since other lengths do exist."""
    known = standard_lengths_um(screw.head, thread=screw.thread)
    if screw.length_um in known:
        return ()
    nearest = sorted(sorted(known, key=lambda um: abs(um - screw.length_um))[:2])
    made = (
        f"the nearest are {' and '.join(map(millimetres, nearest))} mm"
        if nearest
        else "it makes none of this thread"
    )
    return (
        Problem(
            f"{screw} is not a standard length of {screw.standard} ({made}); "
            "look at the parts list before ordering it.",
            "length",
        ),
    )


def check_clamp_stack(
    screw: Screw,
    *,
    stack_um: int,
    engagement_min_um: int,
    engagement_max_um: int,
    subject: str,
) -> tuple[Refusal, ...]:
    """Why a screw does not suit what it clamps: too short for the thread, or so long that it touches.

    Nominal length counts from under the head; that of a countersunk screw counts from the top of its
    head, so measure its stack from the surface with which the head is flush.

    Args:
        screw: what was picked.
        stack_um: everything between head and thread: hub, arm, washers.
        engagement_min_um: the least length that must be in the thread.
        engagement_max_um: the most that fits before the screw touches a winding or the ground of the hole.
        subject: the fixing as a person names it.

    Raises:
        BadInput: a figure that can't be one, or a least engagement above the most.

    Source: design R7; published reports of motors burnt out by screws 1 mm too long.
    """
    bounds.whole(stack_um, name=f"clamp stack of {subject} in um", low=0, high=MOST_LENGTH_UM)
    bounds.whole(engagement_min_um, name=f"least engagement of {subject} in um", low=1, high=MOST_LENGTH_UM)
    bounds.whole(
        engagement_max_um,
        name=f"most engagement of {subject} in um",
        low=engagement_min_um,
        high=MOST_LENGTH_UM,
    )
    engaged_um = screw.length_um - stack_um
    span = f"{millimetres(stack_um + engagement_min_um)} to {millimetres(stack_um + engagement_max_um)} mm"
    if engaged_um < engagement_min_um:
        fault = (
            f"too short for {subject}: {millimetres(max(0, engaged_um))} mm of thread hold where "
            f"{millimetres(engagement_min_um)} mm are needed"
        )
    elif engaged_um > engagement_max_um:
        fault = (
            f"too long for {subject}: {millimetres(engaged_um)} mm reach in where {millimetres(engagement_max_um)} mm fit, "
            "so it would touch the winding or the ground of the hole"
        )
    else:
        return ()
    return (Refusal(Rule.EFFECTIVITY, str(screw), f"{screw} is {fault}; take a screw of {span}."),)


def screw_of(*, thread: str, length_um: int, standard: str, strength: str) -> Screw:
    """A screw from the fields of a part.

    Raises:
        BadInput: an unknown thread, standard or class, or a length that is none.
    """
    return Screw(coarse_thread(thread), length_um, standard, property_class(strength))


def _um(number_mm: str) -> int:
    return int(Decimal(number_mm) * UM_PER_MM)


def millimetres(length_um: int) -> str:
    """A length as a plain decimal number of millimetres.

    Raises:
        BadInput: a length that can't be one.
    """
    length = bounds.whole(length_um, name="length in um", low=0, high=10 * bounds.MOST_RADIUS_UM)
    return f"{Decimal(length).scaleb(-3).normalize():f}"

"""What the fixed words mean that a field takes, told beside them where they are chosen."""

from collections.abc import Sequence
from typing import Final

_WORDS: Final[dict[str, dict[str, str]]] = {
    "condition": {
        "on hold": "it waits for a look, a paper or a decision; nobody issues it",
        "serviceable": "it was inspected and may be issued",
        "unserviceable": "it may not be used as it is; it waits for scrapping or for the supplier",
        "unsalvageable": "it can never be used again",
        "expired": "its last good day is over",
        "dry": "no oil, no threadlocker",
        "lubricated": "oiled or greased, as the source of the torque says",
        "threadlocker": "wetted with threadlocker",
    },
    "decision": {
        "resume": "normal inspection again, after it was stopped",
        "allow reduced": "smaller samples from here on, while the history stays good",
        "no reduced": "no smaller samples, whatever the history says",
    },
    "found": {
        "stranger": "a rotor that is no set of ours",
        "nothing": "the position is bare",
    },
    "head": {
        "socket head": "a cylinder with a hexagon socket",
        "button head": "a low round head with a hexagon socket",
        "countersunk head": "a cone that lies flush",
    },
    "how": {
        "use up": "what is in stock may still be issued",
        "safety": "none of it is issued any more; kits that hold it are stopped",
    },
    "kind": {
        "blade": "one blade of a rotor, of one sense",
        "hub": "what the blades are fixed to",
        "fastener": "a screw, a washer, a nut",
        "consumable": "it is used up: threadlocker, tape",
        "other": "none of these",
        "torque": "it tightens to a torque",
        "scale": "it weighs blades, or balances them",
        "bin": "a place on a shelf",
        "bench": "where kits and sets are made",
        "van": "it takes kits to where aircraft stand",
        "hold cage": "what is on hold, locked away",
        "removed-parts cage": "what came off an aircraft, until it is inspected",
        "goods-in": "where deliveries are taken in",
        "apron": "where aircraft stand",
    },
    "method": {
        "torque": "to a torque, by a tool whose range covers it",
        "angle": "by an angle after contact",
        "snug": "to contact and no further, as the source says",
    },
    "paper": {"A4": "210 by 297 mm", "LETTER": "8.5 by 11 inches"},
    "per": {"kit": "so many for the whole kit", "hub": "so many for each hub of the kit"},
    "purpose": {
        "replacement": "another set takes its place",
        "transport": "it comes off for a journey and goes back on",
        "finding": "something is wrong with it",
    },
    "result": {
        "accepted": "it becomes serviceable",
        "held": "it stays on hold, with what was seen",
        "rejected": "it becomes unserviceable",
    },
    "roles": {
        "clerk": "takes in, moves, builds, issues",
        "technician": "fits and removes",
        "inspector": "inspects, and is a second person",
        "manager": "settings, recalls, people",
        "auditor": "reads only",
    },
    "sense": {"CW": "clockwise, seen from above", "CCW": "counter-clockwise, seen from above"},
    "state": {
        "building": "its lines are being picked",
        "checked": "a second person counted it",
        "sealed": "closed under a seal; it may be issued whole",
        "issued": "handed over, whole",
        "opened": "its seal is broken; its number is dead",
        "dissolved": "taken apart again before issue; its number is dead",
    },
    "symbol": {"code 128": "bars, for every scanner", "data matrix": "a square, where there is little room"},
    "thread_hand": {"RH": "right-hand: it closes clockwise", "LH": "left-hand: it closes counter-clockwise"},
    "tracking": {"lot": "counted, by its lot", "serial": "each piece has a number of its own"},
    "work": {
        "motor": "a motor was changed or taken off",
        "wiring": "its wires were changed, or two were swapped",
        "speed controller": "it was changed or set anew",
    },
    "yes or no": {"yes": "it is so", "no": "it is not"},
}  # fmt: skip


def told(name: str, choices: Sequence[str]) -> tuple[tuple[str, str], ...]:
    """The words that a field takes, each with what it means; nothing where nobody wrote it down."""
    words = _WORDS.get(name, {})
    return tuple((choice, words.get(choice, "")) for choice in choices)

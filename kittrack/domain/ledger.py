"""The ledger's vocabulary: conditions, places, and the class of the recall account of each.

Source: design 2 ("every piece is in exactly one place"), R15. The conditions are the trade's own four
(145.A.42(a) names serviceable, unserviceable and unsalvageable; a hold is quarantine).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum


class Condition(StrEnum):
    """What is known of a piece; expired and recalled are judged by date and by hold, never stored here."""

    ON_HOLD = "on hold"
    SERVICEABLE = "serviceable"
    UNSERVICEABLE = "unserviceable"
    UNSALVAGEABLE = "unsalvageable"


class PlaceKind(StrEnum):
    """What a place is. Containers (set, kit, airframe, position) and jobs are places too."""

    BIN = "bin"
    GOODS_IN = "goods-in"
    HOLD_CAGE = "hold cage"
    BENCH = "bench"
    VAN = "van"
    HANDS = "hands"
    JOB = "job"
    REMOVED_CAGE = "removed-parts cage"
    ROTOR_SET = "rotor set"
    KIT = "kit"
    POSITION = "position"
    AIRFRAME = "airframe"
    APRON = "apron"
    SUPPLIER = "supplier"
    RETURNED = "returned to supplier"
    CONSUMED = "consumed"
    SCRAPPED = "scrapped"
    SOLD = "sold"
    LOST = "lost"
    UNACCOUNTED = "unaccounted"


def place_in_words(kind: str, name: str) -> str:
    """A place as a sentence names it: "bin A-01"; one that is named by its kind stands as it is."""
    return name if name.startswith(kind) else f"{kind} {name}"


ENDS = frozenset(
    {
        PlaceKind.SUPPLIER,
        PlaceKind.RETURNED,
        PlaceKind.CONSUMED,
        PlaceKind.SCRAPPED,
        PlaceKind.SOLD,
        PlaceKind.LOST,
        PlaceKind.UNACCOUNTED,
    }
)
"""The ends of the road. What is there has left the stores."""

OVERDRAWN = frozenset({PlaceKind.SUPPLIER, PlaceKind.UNACCOUNTED})
"""Ends that give more than they got: stock comes from a supplier, a surplus from *unaccounted*."""

SHELVES = frozenset({PlaceKind.BIN, PlaceKind.GOODS_IN, PlaceKind.HOLD_CAGE})
"""Places of the stores where stock lies; pickable stock lies in a bin."""


class AccountClass(StrEnum):
    """The disjoint classes of the recall account, in the order of its lines. Source: R15."""

    SHELF = "on the shelf"
    HOLD = "on hold"
    BENCH = "at a bench or in a kit being built"
    SEALED = "in sealed kits"
    VAN = "in vans"
    ISSUED = "issued, not fitted"
    FITTED = "fitted"
    REMOVED = "removed"
    CONSUMED = "consumed"
    RETURNED = "returned to supplier"
    SCRAPPED = "scrapped"
    SOLD = "sold"
    LOST = "lost"
    UNACCOUNTED = "unaccounted"


_BY_END = {
    PlaceKind.RETURNED: AccountClass.RETURNED,
    PlaceKind.CONSUMED: AccountClass.CONSUMED,
    PlaceKind.SCRAPPED: AccountClass.SCRAPPED,
    PlaceKind.SOLD: AccountClass.SOLD,
    PlaceKind.LOST: AccountClass.LOST,
    PlaceKind.UNACCOUNTED: AccountClass.UNACCOUNTED,
    PlaceKind.VAN: AccountClass.VAN,
    PlaceKind.HANDS: AccountClass.ISSUED,
    PlaceKind.JOB: AccountClass.ISSUED,
    PlaceKind.REMOVED_CAGE: AccountClass.REMOVED,
}


_SETTLED = frozenset({AccountClass.CONSUMED, AccountClass.RETURNED, AccountClass.SCRAPPED})


def settled_by_movement(account_class: AccountClass) -> bool:
    """Whether stock in a class needs nothing more under a recall: nobody will meet it again.

    What is lost, unaccounted or sold may turn up or fly, and what lies in the stores may be picked by hand: all of it
    stays open until somebody decides about it. Source: design R15; trade practice, no published source.
    """
    return account_class in _SETTLED


@dataclass(frozen=True)
class Link:
    """One place on the way from a piece outward: its kind, and whether it is a sealed container."""

    kind: PlaceKind
    sealed: bool = False


def account_class(chain: Sequence[Link], *, condition: Condition, held: bool) -> AccountClass:
    """Say in which line of the recall account stock belongs.

    Args:
        chain: the places from the one that holds the stock outward to the outermost, at least one.
        condition: the stock's own condition.
        held: whether an open hold covers it.

    Returns:
        Exactly one class; every chain that the ledger can hold has one, the supplier's side excepted.

    Raises:
        ValueError: for the supplier's end, which is the account's other side and not a class of it.

    Source: design R15. The outermost place decides (a set in a kit in a van is in the van), except that
    what sits on an airframe's position is fitted, wherever the airframe itself stands, until it is sold.
    What lies in the hold cage is on hold, also where nothing else says so: nobody picks from there.
    """
    outer = chain[-1].kind
    if outer is PlaceKind.SUPPLIER:
        raise ValueError("the supplier's end is not a class of the account")
    kinds = [link.kind for link in chain]
    if outer in (PlaceKind.SOLD, PlaceKind.SCRAPPED, PlaceKind.LOST, PlaceKind.UNACCOUNTED):
        return _BY_END[outer]
    if PlaceKind.POSITION in kinds:
        return AccountClass.FITTED
    if outer in _BY_END:
        return _BY_END[outer]
    for link in chain:
        if link.kind is PlaceKind.KIT:
            return AccountClass.SEALED if link.sealed else AccountClass.BENCH
    if outer is PlaceKind.BENCH:
        return AccountClass.BENCH
    on_shelf = condition is Condition.SERVICEABLE and not held and outer is not PlaceKind.HOLD_CAGE
    return AccountClass.SHELF if on_shelf else AccountClass.HOLD

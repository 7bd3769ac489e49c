"""Rotor sets that are found short while their place is counted: kept when found, broken when the count is settled.

Source: design 2 (a missing blade breaks its set), R1.
"""

import json
from collections.abc import Sequence

from kittrack.domain import codes
from kittrack.domain.rules import Rule, require
from kittrack.errors import BadInput, Refusal
from kittrack.services import desk
from kittrack.services.set_breaking import check_breakable, let_go_of, take_apart
from kittrack.store.act import Act
from kittrack.store.records import StockCount
from kittrack.store.stock import directly_in

_FOUND, _ANEW = "set found short", "count begun anew"


def check_missing(act: Act, code: str, missing: Sequence[str]) -> None:
    """Raise BadInput or NotFound unless a code is a rotor set's and what is missing are pieces of it."""
    _missing_of(act, code, missing)


def keep_short_set(act: Act, sheet: StockCount, code: str, missing: Sequence[str]) -> str:
    """Keep that a set was found short at a count; answers with the next step."""
    rotor_set, pieces = codes.read_code(code).text, [desk.find_piece(act, text).code for text in missing]
    act.note(_FOUND, count=sheet.code, rotor_set=rotor_set, missing=pieces)
    return f"{rotor_set} lacks {', '.join(pieces)}: name it as short when you settle {sheet.code}, which breaks it."


def forget_short_sets(act: Act, sheet: StockCount) -> None:
    """Keep that a count begins anew: what was found at it before is to be found again."""
    act.note(_ANEW, count=sheet.code)


def check_short_named(act: Act, sheet: StockCount, named: Sequence[str]) -> list[Refusal]:
    """Refuse to settle a count at which a set was found short that is not named: it would stay whole on record (R1)."""
    known = {codes.read_code(text).text for text in named}
    return [
        Refusal(
            Rule.WHOLE_SET,
            code,
            f"{code} was found short of {', '.join(missing)} at {sheet.code}; name it as short in the settlement, or "
            "begin the count anew.",
        )
        for code, missing in _found_short(act, sheet).items()
        if code not in known
    ]


def break_short_set(act: Act, code: str, missing: Sequence[str]) -> str:
    """Break a set that lacks a blade: the missing ones are unaccounted, the others orphaned on hold."""
    rotor_set = desk.find_set(act, code)
    require(check_breakable(act, rotor_set))
    gone = _missing_of(act, code, missing)
    take_apart(act, rotor_set, directly_in(act, rotor_set.place_id), damaged=set(), missing=gone)
    let_go_of(act, rotor_set)
    return f"{rotor_set.code} lacks {len(gone)} of its pieces and is broken; the others are orphaned and on hold."


def _missing_of(act: Act, code: str, missing: Sequence[str]) -> frozenset[int]:
    rotor_set = desk.find_set(act, code)
    gone = frozenset(desk.find_piece(act, text).id for text in missing)
    if not gone or gone - {s.piece_id for s in directly_in(act, rotor_set.place_id)}:
        raise BadInput(
            f"name the pieces of {rotor_set.code} that are missing, and no others", field="missing"
        )
    return gone


def _found_short(act: Act, sheet: StockCount) -> dict[str, list[str]]:
    """The missing pieces of each set that was found short since a count was opened or begun anew."""
    rows = act.rows(
        "SELECT statements FROM event WHERE act IN ('enter a count', 'begin a count anew') AND id > ? ORDER BY id",
        sheet.event_id,
    )
    notes = [s[1:] for (text,) in rows for s in json.loads(text) if s[0] == "note"]
    found: dict[str, list[str]] = {}
    for what, given in notes:
        if given.get("count") != sheet.code:
            continue
        if what == _FOUND:
            found[given["rotor_set"]] = given["missing"]
        elif what == _ANEW:
            found.clear()
    return found

"""What of an airframe is on hold or recalled: its rotor sets, their blades, and what fastens them. Source: design R6, R15."""

from collections.abc import Mapping, Sequence

from kittrack.store.act import Reading
from kittrack.store.kit_facts import marks
from kittrack.store.records import Position, RotorSet
from kittrack.store.stock import open_holds


def holds_on(
    read: Reading, positions: Sequence[Position], sets: Mapping[int, Sequence[RotorSet]]
) -> tuple[str, ...]:
    """Every open hold on what sits on some positions, each with the names of the positions in their order.

    Args:
        read: the transaction.
        positions: the positions.
        sets: the rotor sets on them, by place.
    """
    name_of = {p.place_id: p.name for p in positions}
    inside = name_of | {one.place_id: name_of[place] for place, there in sets.items() for one in there}
    on: dict[tuple[str, int], set[str]] = {}
    for place, there in sets.items():
        for one in there:
            on.setdefault(("rotor set", one.id), set()).add(name_of[place])
    held = f"SELECT place_id, receipt_line_id, piece_id FROM holding WHERE place_id IN ({marks([*inside])}) AND quantity > 0"
    for place, line, piece in read.rows(held, *inside) if inside else ():
        on.setdefault(("receipt line", line), set()).add(inside[place])
        on.setdefault(("piece", piece or 0), set()).add(inside[place])
    told: dict[str, set[str]] = {}
    for held_now in open_holds(
        read,
        receipt_lines=_ids(on, "receipt line"),
        pieces=_ids(on, "piece"),
        rotor_sets=_ids(on, "rotor set"),
    ):
        what = "RECALLED" if held_now.is_recall else "ON HOLD"
        words = f"{what} by {held_now.hold_code} ({held_now.reason})"
        told.setdefault(words, set()).update(on[held_now.thing, held_now.thing_id])
    return tuple(
        f"{words}: {', '.join(p.name for p in positions if p.name in names)}" for words, names in told.items()
    )


def _ids(on: Mapping[tuple[str, int], set[str]], kind: str) -> list[int]:
    return [row_id for own, row_id in on if own == kind]

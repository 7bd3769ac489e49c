"""What a hold on a kit holds once its content leaves it: each set and bottle by its own number.

While a kit is whole the hold is on the kit, and so on all that is in it. A doubt about who built it does not end when it is
opened or taken apart, so the hold goes on with what leaves it. What has no number of its own goes on hold by its condition
where the kit is taken apart, and is named where it came out at an aircraft before the hold. Source: design R5, R6.
"""

from collections.abc import Sequence

from kittrack.store.act import Act
from kittrack.store.recall_scope import Covered
from kittrack.store.records import Hold, HoldItem, Kit, Piece, RotorSet


def pass_on_holds(
    act: Act, kit: Kit, *, rotor_sets: Sequence[RotorSet] = (), pieces: Sequence[Piece] = ()
) -> tuple[str, ...]:
    """Put what leaves a held kit under the kit's open holds, each by its own number; answers with sentences.

    Every act that takes things out of a kit calls it, or the hold would be waved through by taking the kit apart.
    """
    said = []
    for item in act.select(HoldItem, "kit_id = ? AND released_event_id IS NULL", kit.id):
        hold = act.get(Hold, item.hold_id)
        known = act.select(HoldItem, "hold_id = ? AND released_event_id IS NULL", hold.id)
        left = [s for s in rotor_sets if s.id not in {k.rotor_set_id for k in known}]
        loose = [p for p in pieces if p.id not in {k.piece_id for k in known}]
        for one in left:
            act.insert(HoldItem(hold_id=hold.id, rotor_set_id=one.id))
        for piece in loose:
            act.insert(HoldItem(hold_id=hold.id, piece_id=piece.id))
        if left or loose:
            names = ", ".join([*(s.code for s in left), *(p.code for p in loose)])
            said.append(f"{names} of {kit.code} stay on hold under {hold.code} ({hold.reason}).")
    return tuple(said)


def came_out_uncounted(act: Act, things: Covered) -> list[str]:
    """What came out of an opened kit and has no number by which it could be held there."""
    rows = [
        row
        for kit in things.kits
        for row in act.rows(
            "SELECT r.code, t.number, sum(k.quantity) FROM kit_pick k JOIN kit o ON o.id = k.kit_id "
            "JOIN receipt_line r ON r.id = k.receipt_line_id JOIN part t ON t.id = r.part_id WHERE k.kit_id = ? "
            "AND o.state = 'opened' AND k.active = 1 AND k.piece_id IS NULL GROUP BY r.code, t.number ORDER BY r.code",
            kit,
        )
    ]
    return [
        f"{quantity} of {code} ({number}) came out of the kit without a number of their own; hold {code} too if the doubt is about them."
        for code, number, quantity in rows
    ]

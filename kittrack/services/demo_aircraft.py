"""The ordinary work at an aircraft as the scenario plays it: which parts a hub takes, which mark is read.

What a person would see at the aircraft is looked up in the store; every act is the real one and is checked.
Source: design A6.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from kittrack.errors import NotFound
from kittrack.services import fitting, inspecting, inspecting_stock, moving, removing, returning
from kittrack.services import position_desk as spots
from kittrack.services.demo_scene import Scene, sets_of_place
from kittrack.services.fastening import TakenPart, needs_of
from kittrack.services.moving import MoveSpec
from kittrack.services.set_making import blades_of
from kittrack.store.act import Reading
from kittrack.store.aircraft_facts import Spot, find_airframe, sets_at
from kittrack.store.records import ApprovedPart, Lot, Part, Piece, Position, ReceiptLine, RotorSet
from kittrack.store.stock import directly_in


@dataclass(frozen=True)
class Fitter:
    """Somebody who changes rotors on a job, with the inspector beside and the tool in hand."""

    scene: Scene
    job: str
    by: str
    inspector: str
    tool: str
    reason: str
    times: Iterator[datetime]

    def change(self, where: str) -> None:
        """Take off what sits at a position, put on the next set of the job that turns as its map says."""
        self.take_off(where)
        code, job, store = self.scene.code(where), self.job, self.scene.store
        with store.reading() as read:
            new = next_set(read, spots.find_spot(read, code), self.scene.place(read, job).id)
            mark = mark_of(read, new)
        fitting.fit_set(
            store, job=job, position=code, rotor_set=new.code, mark=mark, by=self.by, at=next(self.times)
        )
        self.fasten(where)

    def fasten(self, where: str) -> None:
        """Fasten the set that was put on a position with what the job holds, and have it inspected."""
        code, job, store = self.scene.code(where), self.job, self.scene.store
        with store.reading() as read:
            spot = spots.find_spot(read, code)
            parts = parts_for(read, spot, job, self.scene)
            mark = mark_of(read, sets_at(read, spot.position)[0])
        fitting.fasten(
            store, job=job, position=code, parts=parts, torque_mnm=spot.fixing.torque_mnm, tool=self.tool,
            by=self.by, at=next(self.times),
        )  # fmt: skip
        fitting.inspect_position(
            store, job=job, position=code, mark=mark, by=self.inspector, at=next(self.times)
        )

    def take_off(self, where: str) -> None:
        """Take off the set that sits at a position, if there is one."""
        code = self.scene.code(where)
        with self.scene.store.reading() as read:
            there = sets_at(read, spots.find_position(read, code))
            mark = mark_of(read, there[0]) if there else ""
        if there:
            removing.remove_set(
                self.scene.store, job=self.job, position=code, mark=mark, reason=self.reason,
                by=self.by, at=next(self.times),
            )  # fmt: skip


def next_set(read: Reading, spot: Spot, place_id: int) -> RotorSet:
    """The first set in a place that turns as a position's map says and is approved there.

    Raises:
        NotFound: there is none.
    """
    approved = read.select(ApprovedPart, "type_position_id = ? AND active = 1", spot.type_position.id)
    for one in sets_of_place(read, place_id):
        if one.sense == spot.mapped and one.part_id in {row.part_id for row in approved}:
            return one
    raise NotFound(f"nothing in hand fits {spot.name}; look at what was issued")


def mark_of(read: Reading, rotor_set: RotorSet) -> str:
    """The mark on the first blade of a set."""
    return blades_of(read, rotor_set)[0].mark


def marks_on(read: Reading, tail: str) -> list[tuple[str, str]]:
    """Code and mark of every position of an airframe that carries a rotor, in the order of its positions."""
    frame = find_airframe(read, tail)
    own = read.select(Position, "airframe_id = ? AND active = 1", frame.id)
    return [(p.code, mark_of(read, there[0])) for p in own if (there := sets_at(read, p))]


def parts_for(read: Reading, spot: Spot, job: str, scene: Scene) -> tuple[TakenPart, ...]:
    """What one hub takes of what a job holds: screws and washers of one lot each, and the threadlocker."""
    taken: list[TakenPart] = []
    for need in needs_of(read, spot):
        by_lot: dict[str, list[tuple[str, int]]] = {}
        for stock in directly_in(read, scene.place(read, job).id):
            line = read.get(ReceiptLine, stock.receipt_line_id)
            if read.get(Part, line.part_id).number == need.part:
                code = read.get(Piece, stock.piece_id).code if stock.piece_id else line.code
                by_lot.setdefault(read.get(Lot, line.lot_id).code, []).append((code, stock.quantity))
        enough = [own for own in by_lot.values() if sum(q for _, q in own) >= need.quantity]
        taken += _draw(enough[0] if enough else [], need.quantity)
    return tuple(taken)


def _draw(own: list[tuple[str, int]], quantity: int) -> Iterator[TakenPart]:
    for code, have in own:
        taken = min(have, quantity)
        if not taken:
            return
        yield TakenPart(code, taken)
        quantity -= taken


def give_back(scene: Scene, *, job: str, clerk: str, to_bin: str, times: Iterator[datetime]) -> None:
    """Return what a job has left over; bottles and whole items are looked at and put back on the shelf."""
    with scene.store.reading() as read:
        left = directly_in(read, scene.place(read, job).id)
        bottles = [read.get(Piece, s.piece_id).code for s in left if s.piece_id]
        lines = {read.get(ReceiptLine, s.receipt_line_id).code: s.quantity for s in left if not s.piece_id}
        sets = [one.code for one in sets_of_place(read, scene.place(read, job).id)]
    back = [
        *(returning.Leftover(code) for code in sets),
        *(returning.Leftover(code) for code in bottles),
        *(returning.Leftover(c, q) for c, q in lines.items()),
    ]
    if not back:
        return
    returning.return_leftovers(scene.store, job=job, items=back, by=clerk, at=next(times))
    for bottle in bottles:
        look = inspecting.PieceFinding(bottle, note="bottle back from the aircraft, closed and clean")
        inspecting.reinspect_pieces(scene.store, findings=[look], by=clerk, at=next(times))
        moving.move_things(scene.store, things=[MoveSpec(bottle)], to=to_bin, by=clerk, at=next(times))
    with scene.store.reading() as read:
        goods_in = directly_in(read, scene.place(read, "goods-in Harbour Stores").id)
        kept = [
            (line.code, s.quantity)
            for s in goods_in
            if not s.piece_id
            and (line := read.get(ReceiptLine, s.receipt_line_id)).code in lines
            and read.get(Part, line.part_id).kind == "other"
        ]
    for code, quantity in kept:
        inspecting_stock.inspect_stock(
            scene.store,
            line=code,
            accepted=quantity,
            note="back from the aircraft, fit for use",
            by=clerk,
            at=next(times),
        )
        moving.move_things(
            scene.store, things=[MoveSpec(code, quantity)], to=to_bin, by=clerk, at=next(times)
        )

"""The invented acts at goods-in and at the bench: deliveries, inspections, rotor sets, the everyday of other parts."""

import random
from collections import deque
from collections.abc import Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import datetime, timedelta

from kittrack.domain import codes
from kittrack.domain.kits import Demand
from kittrack.services.coverage import Chosen
from kittrack.store.act import Slot
from kittrack.store.records import (
    Company,
    Delivery,
    Inspection,
    Lot,
    MatchReading,
    MatchRecord,
    Paper,
    Part,
    Person,
    Piece,
    Place,
    ReceiptLine,
    RotorSet,
    Tool,
    TypeRevision,
)
from tests.bench.bulk import BulkAct

ON_HOLD, READY, DEAD = "on hold", "serviceable", "unsalvageable"
BOX = 60
MARKS = {"CW": "R", "CCW": "L"}
MEAN_MOMENT_G_UM, SPREAD_G_UM = 20_000_000, 15_000


@dataclass(frozen=True)
class Facts:
    """The rows of the small world that the acts refer to."""

    people: dict[str, Person]
    ends: dict[str, Place]
    bins: Sequence[Place]
    bench: Place
    hands: Place
    rotor_parts: dict[str, Part]
    fixings: dict[str, Part]
    others: Sequence[Part]
    suppliers: Sequence[Company]
    revision: TypeRevision
    chosen: Sequence[Chosen]
    demand: Sequence[Demand]
    torque_tool: Tool
    scale: Tool


@dataclass
class Supply:
    """A receipt line whose stock is being used, where it lies, and how much is left there."""

    line: ReceiptLine
    place: Place
    left: int


class GoodsIn:
    """Tells acts one after another; `clock` moves on with each. Chance has a fixed seed."""

    def __init__(self, act: BulkAct, facts: Facts, *, start: datetime) -> None:
        self.act, self.facts, self.clock = act, facts, start
        self.chance = random.Random(20260302)  # noqa: S311  (a repeatable world, no secret)
        self.shelf: dict[str, deque[tuple[RotorSet, Place]]] = {"CW": deque(), "CCW": deque()}
        self.blades = 0

    def tell(
        self, name: str, who: str = "clerk", *, second: str = "", reason: str = "", minutes: int = 2
    ) -> AbstractContextManager[None]:
        """One act some minutes after the one before."""
        self.clock += timedelta(minutes=minutes)
        people = self.facts.people
        return self.act.event(
            name,
            at=self.clock,
            by=people[who].id,
            second=people[second].id if second else None,
            reason=reason,
        )

    def at(self, end: str, condition: str) -> Slot:
        """The slot of counted stock in a place that there is one of."""
        return Slot(self.facts.ends[end].id, condition)

    def some_bin(self) -> Place:
        """Any bin."""
        return self.facts.bins[self.chance.randrange(len(self.facts.bins))]

    # ---- counted stock ---------------------------------------------------------------------------

    def receive(self, part: Part, quantity: int, *, expires_in_days: int = 0) -> ReceiptLine:
        """A delivery of one line with its paper, on hold in goods-in."""
        act, facts = self.act, self.facts
        company = facts.suppliers[self.chance.randrange(len(facts.suppliers))]
        until = (self.clock + timedelta(days=expires_in_days)).date().isoformat() if expires_in_days else None
        with self.tell("receive a delivery", minutes=10):
            number = act.event_id
            lot = act.insert(
                Lot(
                    code=act.new_code(Lot, codes.Kind.LOT), part_id=part.id, maker_id=part.maker_id,
                    supplier_id=company.id, lot_code=f"{part.number[:2]}{number:07d}",
                )
            )  # fmt: skip
            delivery = act.insert(
                Delivery(
                    code=act.new_code(Delivery, codes.Kind.DELIVERY), supplier_id=company.id,
                    reference=f"DN-{number}", event_id=number,
                )
            )  # fmt: skip
            line = act.insert(
                ReceiptLine(
                    code=act.new_code(ReceiptLine, codes.Kind.RECEIPT_LINE), delivery_id=delivery.id,
                    lot_id=lot.id, part_id=part.id, quantity=quantity, unit=part.unit,
                    expiry_kind="date" if until else "none", expires_on=until, event_id=number,
                )
            )  # fmt: skip
            act.insert(
                Paper(
                    receipt_line_id=line.id, kind="certificate of conformity", number=f"C-{number}",
                    issuer=company.name, event_id=number,
                )
            )  # fmt: skip
            act.move_stock(
                line.id, quantity, from_slot=self.at("supplier", ON_HOLD), to_slot=self.at("goods-in", ON_HOLD)
            )  # fmt: skip
        return line

    def stock_up(self, part: Part, quantity: int, *, expires_in_days: int = 0) -> Supply:
        """Counted stock received, accepted and put into a bin."""
        act, place = self.act, self.some_bin()
        line = self.receive(part, quantity, expires_in_days=expires_in_days)
        ready = self.at("goods-in", READY)
        with self.tell("inspect stock"):
            act.move_stock(line.id, quantity, from_slot=self.at("goods-in", ON_HOLD), to_slot=ready)
            act.insert(
                Inspection(
                    receipt_line_id=line.id, quantity=quantity, result="accepted", event_id=act.event_id
                )
            )
        with self.tell("move"):
            act.move_stock(line.id, quantity, from_slot=ready, to_slot=Slot(place.id, READY))
        return Supply(line, place, quantity)

    def use_others(self) -> ReceiptLine:
        """The everyday of the other parts: some come in, some are moved, some are scrapped."""
        part = self.facts.others[self.chance.randrange(len(self.facts.others))]
        supply, target = self.stock_up(part, 200), self.some_bin()
        here = Slot(supply.place.id, READY)
        if target.id != here.place_id:
            with self.tell("move"):
                self.act.move_stock(supply.line.id, 150, from_slot=here, to_slot=here.at_place(target.id))
        with self.tell("scrap", reason="bent"):
            self.act.move_stock(supply.line.id, 7, from_slot=here, to_slot=self.at("scrapped", DEAD))
        return supply.line

    # ---- rotor sets ------------------------------------------------------------------------------

    def make_sets(self, sense: str) -> None:
        """A box of blades: received, looked at one by one, weighed and made into sets on the shelf."""
        act, part, bench = self.act, self.facts.rotor_parts[sense], self.facts.bench.id
        line = self.receive(part, BOX)
        goods_in = self.at("goods-in", ON_HOLD)
        moments = sorted(MEAN_MOMENT_G_UM + self.chance.randrange(SPREAD_G_UM) for _ in range(BOX))
        with self.tell("inspect pieces", minutes=60):
            pieces = [self._piece(line, part, moment) for moment in moments]
            for piece in pieces:
                ready = Slot(goods_in.place_id, READY, piece.id)
                act.move_stock(line.id, 1, from_slot=goods_in, to_slot=ready)
        with self.tell("move"):
            for piece in pieces:
                ready = Slot(goods_in.place_id, READY, piece.id)
                act.move_stock(line.id, 1, from_slot=ready, to_slot=ready.at_place(bench))
        for pair in zip(pieces[::2], pieces[1::2], strict=True):
            made, place = self._set(line, part, pair), self.some_bin()
            with self.tell("move"):
                act.move_container(made.place_id, from_place_id=bench, to_place_id=place.id)
            self.shelf[sense].append((made, place))

    def _piece(self, line: ReceiptLine, part: Part, moment_g_um: int) -> Piece:
        act = self.act
        self.blades += 1
        piece = act.insert(
            Piece(
                code=act.new_code(Piece, codes.Kind.PIECE), receipt_line_id=line.id, part_id=part.id,
                maker_id=part.maker_id, serial=f"{part.sense}{self.blades:07d}", mark=MARKS[part.sense or ""],
                sense=part.sense, mass_ug=95_000_000, moment_g_um=moment_g_um,
                weighed_with_id=self.facts.scale.id, event_id=act.event_id,
            )
        )  # fmt: skip
        act.insert(
            Inspection(
                piece_id=piece.id, quantity=1, result="accepted", mark=piece.mark, sense=piece.sense,
                event_id=act.event_id,
            )
        )  # fmt: skip
        return piece

    def _set(self, line: ReceiptLine, part: Part, pair: Sequence[Piece]) -> RotorSet:
        act, bench = self.act, self.facts.bench.id
        with self.tell("make a rotor set", "technician"):
            code = act.new_code(RotorSet, codes.Kind.ROTOR_SET)
            place = act.insert(Place(code=code, kind="rotor set", name=code))
            act.move_container(place.id, from_place_id=None, to_place_id=bench)
            made = act.insert(
                RotorSet(
                    code=code,
                    place_id=place.id,
                    part_id=part.id,
                    sense=part.sense or "",
                    event_id=act.event_id,
                )
            )
            first, second = (p.moment_g_um or 0 for p in pair)
            proof = act.insert(
                MatchRecord(
                    rotor_set_id=made.id, method="measured", source="static moments",
                    tool_id=self.facts.scale.id, tolerance_g_um=part.tolerance_g_um,
                    tolerance_source=part.tolerance_source, residual_g_um=abs(first - second),
                    uncertainty_g_um=1500, event_id=act.event_id,
                )
            )  # fmt: skip
            for slot, piece in enumerate(pair):
                act.insert(
                    MatchReading(
                        match_record_id=proof.id, piece_id=piece.id, slot=slot, moment_g_um=piece.moment_g_um
                    )
                )
                ready = Slot(bench, READY, piece.id)
                act.move_stock(line.id, 1, from_slot=ready, to_slot=ready.at_place(place.id))
            made = act.update(made, match_record_id=proof.id)
            act.update(place, closed=1)
        return made

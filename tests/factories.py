"""A small invented world for tests: people, places, parts, a four-arm type, one airframe.

Everything in it is made up. Times are fixed: `T0` is a Monday morning in the stores' own zone.
"""

from datetime import UTC, datetime, timedelta
from typing import Any

from kittrack.domain import codes
from kittrack.services import founding, inspecting, kitting, matching, sealing
from kittrack.store.act import Act, Slot
from kittrack.store.database import Store
from kittrack.store.records import (
    Airframe,
    AirframeType,
    ApprovedPart,
    Company,
    Delivery,
    HubFixing,
    Lot,
    MatchReading,
    MatchRecord,
    Paper,
    PaperKind,
    Part,
    PartMark,
    Piece,
    Place,
    Position,
    PositionGroup,
    ReceiptLine,
    RotorSet,
    SenseMap,
    SenseMapLine,
    Tool,
    TypePosition,
    TypeRevision,
    UsageReading,
)

T0 = datetime(2026, 3, 2, 7, 0, tzinfo=UTC)
"""08:00 in the stores of the invented world (Europe/Oslo, winter time)."""

MANAGER, CLERK, BUILDER = "Manager One", "Clerk One", "Clerk Two"
TECHNICIAN, INSPECTOR, AUDITOR = "Technician One", "Inspector One", "Auditor One"
SITE = "Home"
BIN, BIN2, BENCH, VAN = "A-01", "A-02", "Bench 1", "Van 1"
CW_BLADE, CCW_BLADE = "RB-18-CW", "RB-18-CCW"
SCREW, WASHER, LOCKER = "SC-M3x8", "WA-M3", "TL-10"
TAIL, TAIL2 = "QA-01", "QA-02"

QUAD = (  # the published four-arm X layout; angle clockwise from the nose, seen from above
    ("FR", 45, "CCW"), ("RL", -135, "CCW"), ("FL", -45, "CW"), ("RR", 135, "CW"),
)  # fmt: skip


def after(minutes: int) -> datetime:
    """An instant some minutes after T0."""
    return T0 + timedelta(minutes=minutes)


def make_world(store: Store) -> None:
    """Found the store and fill its catalogue by plain inserts in one act."""
    founding.found_store(store, site=SITE, time_zone="Europe/Oslo", manager=MANAGER, at=T0)
    people = (
        (CLERK, ("clerk",)), (BUILDER, ("clerk",)), (TECHNICIAN, ("technician",)),
        (INSPECTOR, ("inspector", "technician")), (AUDITOR, ("auditor",)),
    )  # fmt: skip
    for name, roles in people:
        founding.add_person(store, name=name, roles=roles, by=MANAGER, at=T0)
    for kind, name in (("bin", BIN), ("bin", BIN2), ("bench", BENCH), ("van", VAN)):
        founding.add_place(store, kind=kind, name=name, site=SITE, by=MANAGER, at=T0)
    with store.act("set up the invented world", by=MANAGER, at=T0) as act:
        _parts(act)
        _type_and_airframes(act)
        _tools(act)


def _parts(act: Act) -> None:
    maker = act.insert(Company(name="Invented Rotors", is_maker=1, is_supplier=1, lead_time_days=14))
    act.insert(Company(name="Invented Supplies", is_maker=1, is_supplier=1, lead_time_days=7))
    for number, sense, mark in ((CW_BLADE, "CW", "R"), (CCW_BLADE, "CCW", "L")):
        part = act.insert(
            Part(
                number=number, maker_id=maker.id, name=f"rotor blade 18 in {sense}", kind="blade", tracking="serial",
                paper_class="rotor", sense=sense, blades_per_rotor=2, tolerance_g_um=5000,
                tolerance_source="invented maker's sheet 1", pairing_suffices=1,
                pairing_source="invented maker's sheet 1", mark_revision=1, life_minutes=300 * 60,
            )
        )  # fmt: skip
        act.insert(PartMark(part_id=part.id, revision=1, mark=mark, sense=sense))
        act.insert(PartMark(part_id=part.id, revision=1, mark=sense, sense=sense))
    act.insert(
        Part(
            number=SCREW, maker_id=maker.id, name="screw M3 x 8", kind="fastener", paper_class="standard part",
            thread="M3", length_um=8000, head="socket head", drive="hex", property_class="A2-70",
            single_use=1, pack_quantity=8,
        )
    )  # fmt: skip
    act.insert(
        Part(
            number=WASHER,
            maker_id=maker.id,
            name="washer M3",
            kind="fastener",
            paper_class="standard part",
            single_use=1,
        )
    )
    act.insert(
        Part(
            number=LOCKER, maker_id=maker.id, name="threadlocker, medium", kind="consumable", unit="volume_ul",
            paper_class="material", expiry_needed=1, shelf_life_days=730, opened_life_days=365, pack_quantity=10_000,
        )
    )  # fmt: skip
    for paper_class in ("rotor", "standard part", "material"):
        act.insert(PaperKind(paper_class=paper_class, kind="certificate of conformity"))


def _type_and_airframes(act: Act) -> None:
    kind = act.insert(AirframeType(name="QA"))
    revision = act.insert(
        TypeRevision(airframe_type_id=kind.id, name="A", retorque_minutes=600, source="invented")
    )
    parts = {p.number: p for p in act.select(Part)}
    fixing = act.insert(
        HubFixing(
            type_revision_id=revision.id, name="hub", screw_part_id=parts[SCREW].id, screws_per_hub=4,
            washer_part_id=parts[WASHER].id, washers_per_hub=4, locker_part_id=parts[LOCKER].id, locker_ul_per_screw=50,
            torque_mnm=800, torque_condition="threadlocker", torque_source="invented manual 5.2",
        )
    )  # fmt: skip
    for rank, (name, angle, sense) in enumerate(QUAD, start=1):
        position = act.insert(
            TypePosition(
                type_revision_id=revision.id, rank=rank, name=name, alias=str(rank), arm=name, sense=sense,
                angle_mdeg=angle * 1000, radius_um=300_000, hub_fixing_id=fixing.id,
            )
        )  # fmt: skip
        blade = parts[CW_BLADE if sense == "CW" else CCW_BLADE]
        act.insert(ApprovedPart(type_position_id=position.id, part_id=blade.id))
        group = "front" if name.startswith("F") else "rear"
        act.insert(PositionGroup(type_revision_id=revision.id, name=group, type_position_id=position.id))
    for tail in (TAIL, TAIL2):
        _airframe(act, tail, revision)


def _airframe(act: Act, tail: str, revision: TypeRevision) -> None:
    code = act.new_code(Airframe, codes.Kind.AIRFRAME)
    place = act.insert(Place(code=code, kind="airframe", name=tail))
    apron = act.find(Place, kind="apron")
    assert apron is not None
    act.move_container(place.id, from_place_id=None, to_place_id=apron.id)
    airframe = act.insert(
        Airframe(code=code, tail=tail, type_revision_id=revision.id, place_id=place.id, minutes=0, flights=0)
    )
    act.insert(
        UsageReading(airframe_id=airframe.id, minutes=0, flights=0, source="new", event_id=act.event_id)
    )
    sense_map = act.insert(
        SenseMap(
            airframe_id=airframe.id, revision=1, source="layout of the type revision",
            verified_event_id=act.event_id, event_id=act.event_id,
        )
    )  # fmt: skip
    act.update(airframe, sense_map_id=sense_map.id)
    for type_position in act.select(TypePosition, "type_revision_id = ?", revision.id, order="rank"):
        own = act.new_code(Position, codes.Kind.POSITION)
        spot = act.insert(Place(code=own, kind="position", name=f"{tail} {type_position.name}"))
        act.move_container(spot.id, from_place_id=None, to_place_id=place.id)
        position = act.insert(
            Position(
                code=own, airframe_id=airframe.id, type_position_id=type_position.id, place_id=spot.id,
                name=type_position.name,
            )
        )  # fmt: skip
        act.insert(
            SenseMapLine(sense_map_id=sense_map.id, position_id=position.id, sense=type_position.sense)
        )


def _tools(act: Act) -> None:
    act.insert(
        Tool(
            code=act.new_code(Tool, codes.Kind.TOOL), name="Torque driver 1", kind="torque", min_mnm=500, max_mnm=5000,
            calibrated_until_on="2027-01-31",
        )
    )  # fmt: skip
    act.insert(
        Tool(
            code=act.new_code(Tool, codes.Kind.TOOL), name="Scale 1", kind="scale", resolution_ug=1000,
            uncertainty_ug=2000, repeatability_ug=1000, ruler_um=500, calibrated_until_on="2027-01-31",
        )
    )  # fmt: skip


def put_in_stock(
    store: Store, number: str, quantity: int, *, at: datetime, lot_code: str | None = "LOT-1", supplier: str = "Invented Rotors",
    place: str = BIN, kind: str = "bin", expires_on: str | None = None, condition: str = "serviceable",
) -> str:  # fmt: skip
    """Put counted stock straight into a place, with its paper; answers with the receipt line's code."""
    with store.act("put in stock", by=CLERK, at=at) as act:
        part = act.find(Part, number=number)
        company = act.find(Company, name=supplier)
        target = act.find(Place, kind=kind, name=place)
        source = act.find(Place, kind="supplier")
        assert part is not None
        assert company is not None
        assert target is not None
        assert source is not None
        same: dict[str, Any] = {
            "part_id": part.id,
            "maker_id": part.maker_id,
            "supplier_id": company.id,
            "lot_code": lot_code,
        }
        lot = (act.find(Lot, **same) if lot_code else None) or act.insert(
            Lot(code=act.new_code(Lot, codes.Kind.LOT), **same)
        )
        delivery = act.insert(
            Delivery(
                code=act.new_code(Delivery, codes.Kind.DELIVERY),
                supplier_id=company.id,
                reference="DN-1",
                event_id=act.event_id,
            )
        )
        line = act.insert(
            ReceiptLine(
                code=act.new_code(ReceiptLine, codes.Kind.RECEIPT_LINE), delivery_id=delivery.id, lot_id=lot.id, part_id=part.id,
                quantity=quantity, unit=part.unit, expiry_kind="date" if expires_on else "none", expires_on=expires_on,
                event_id=act.event_id,
            )
        )  # fmt: skip
        act.insert(
            Paper(
                receipt_line_id=line.id,
                kind="certificate of conformity",
                number="C-1",
                issuer=supplier,
                event_id=act.event_id,
            )
        )
        act.move_stock(
            line.id, quantity, from_slot=Slot(source.id, "on hold"), to_slot=Slot(target.id, condition)
        )
    return line.code


def assert_conserved(store: Store) -> None:
    """Every receipt line sums to zero over all places, the supplier's end and the other ends included."""
    with store.reading() as read:
        sums = read.rows("SELECT receipt_line_id, sum(quantity) FROM holding GROUP BY receipt_line_id")
        given = read.rows(
            "SELECT h.receipt_line_id, -sum(h.quantity) FROM holding h JOIN place p ON p.id = h.place_id "
            "WHERE p.kind = 'supplier' GROUP BY h.receipt_line_id ORDER BY 1"
        )
        lines = read.rows("SELECT id, quantity FROM receipt_line ORDER BY id")
    assert len(sums) == len(lines)
    assert all(int(total) == 0 for _, total in sums)
    assert [(line, int(quantity)) for line, quantity in given] == [(line, int(q)) for line, q in lines]


def blades_on_shelf(
    store: Store, number: str, count: int, *, at: datetime, place: str = BENCH, kind: str = "bench",
    lot_code: str | None = "LOT-1", pairs: bool = True, supplier: str = "Invented Rotors",
) -> tuple[str, ...]:  # fmt: skip
    """Inspected, serviceable blades of one lot, by two as their supplier paired them; answers with piece codes."""
    line = put_in_stock(
        store,
        number,
        count,
        at=at,
        place=place,
        kind=kind,
        condition="on hold",
        lot_code=lot_code,
        supplier=supplier,
    )
    with store.reading() as read:
        mark = read.value(
            "SELECT m.mark FROM part_mark m JOIN part p ON p.id = m.part_id AND p.mark_revision = m.revision "
            "WHERE p.number = ? AND m.sense = p.sense ORDER BY m.id",
            number,
        )
    pieces = [
        inspecting.PieceSpec(
            serial=None, mark=str(mark), note="sound", pair_code=f"{line}/{i // 2}" if pairs else ""
        )
        for i in range(count)
    ]
    return inspecting.inspect_pieces(store, line=line, pieces=pieces, by=CLERK, at=at).codes


def sets_on_shelf(
    store: Store, number: str, count: int, *, at: datetime, place: str = BIN, lot_code: str | None = "LOT-1"
) -> tuple[str, ...]:
    """Rotor sets of two blades in a bin, proved by their supplier's pairing; answers with set codes."""
    blades = blades_on_shelf(store, number, 2 * count, at=at, place=place, kind="bin", lot_code=lot_code)
    made = [
        matching.make_set_of_pair(store, blades=blades[2 * i : 2 * i + 2], by=CLERK, at=at).codes[0]
        for i in range(count)
    ]
    return tuple(made)


def put_sets(
    store: Store, number: str, count: int, *, at: datetime, lot_code: str = "BLADES-1", expires_on: str | None = None
) -> list[str]:  # fmt: skip
    """Put proved rotor sets of two blades each straight into the bin; answers with their codes."""
    line_code = put_in_stock(
        store, number, 2 * count, at=at, lot_code=f"{lot_code}-{number}", expires_on=expires_on
    )
    made = []
    with store.act("make sets", by=CLERK, at=at) as act:
        line, part = act.find(ReceiptLine, code=line_code), act.find(Part, number=number)
        shelf = act.find(Place, name=BIN)
        assert line is not None
        assert part is not None
        assert part.sense is not None
        assert shelf is not None
        for _ in range(count):
            code = act.new_code(RotorSet, codes.Kind.ROTOR_SET)
            place = act.insert(Place(code=code, kind="rotor set", name=code))
            act.move_container(place.id, from_place_id=None, to_place_id=shelf.id)
            rotor = act.insert(
                RotorSet(
                    code=code, place_id=place.id, part_id=part.id, sense=part.sense, event_id=act.event_id
                )
            )
            proof = act.insert(
                MatchRecord(
                    rotor_set_id=rotor.id, method="measured", source="bench", tolerance_g_um=5000,
                    tolerance_source="invented maker's sheet 1", residual_g_um=1200, uncertainty_g_um=800,
                    event_id=act.event_id,
                )
            )  # fmt: skip
            act.update(rotor, match_record_id=proof.id)
            for slot in (1, 2):
                piece = act.insert(
                    Piece(
                        code=act.new_code(Piece, codes.Kind.PIECE), receipt_line_id=line.id, part_id=part.id,
                        maker_id=part.maker_id, sense=part.sense, event_id=act.event_id,
                    )
                )  # fmt: skip
                act.insert(
                    MatchReading(match_record_id=proof.id, piece_id=piece.id, slot=slot, moment_g_um=30_000)
                )
                act.move_stock(
                    line.id,
                    1,
                    from_slot=Slot(shelf.id, "serviceable"),
                    to_slot=Slot(place.id, "serviceable", piece.id),
                )
            act.update(place, closed=1)
            made.append(code)
    return made


def put_bottle(store: Store, *, volume_ul: int, at: datetime, expires_on: str, lot_code: str = "TL-1") -> str:
    """Put a bottle of threadlocker with its own code into the bin; answers with the code."""
    line_code = put_in_stock(store, LOCKER, volume_ul, at=at, lot_code=lot_code, expires_on=expires_on)
    with store.act("make a bottle", by=CLERK, at=at) as act:
        line, shelf = act.find(ReceiptLine, code=line_code), act.find(Place, name=BIN)
        assert line is not None
        assert shelf is not None
        part = act.get(Part, line.part_id)
        bottle = act.insert(
            Piece(
                code=act.new_code(Piece, codes.Kind.PIECE), receipt_line_id=line.id, part_id=part.id,
                maker_id=part.maker_id, event_id=act.event_id,
            )
        )  # fmt: skip
        here = Slot(shelf.id, "serviceable")
        act.move_stock(line.id, volume_ul, from_slot=here, to_slot=Slot(shelf.id, "serviceable", bottle.id))
    return bottle.code


def stock_up(store: Store, *, at: datetime, sets: int = 2) -> None:
    """Fill the bin with what ship sets of the four-arm type take: sets of both senses, fixings, a bottle."""
    put_sets(store, CW_BLADE, sets, at=at)
    put_sets(store, CCW_BLADE, sets, at=at)
    put_in_stock(store, SCREW, 40, at=at, lot_code="S-1")
    put_in_stock(store, WASHER, 40, at=at, lot_code="W-1")
    put_bottle(store, volume_ul=10_000, at=at, expires_on="2026-12-31")


def sealed_kit(store: Store, *, at: datetime, seal: str = "0001", **how: Any) -> str:
    """A kit that was built, checked by another person and sealed; it lies in the bin. Answers with its code."""
    where: dict[str, Any] = {"revision": "QA A"} if "airframe" not in how else {}
    kit = kitting.build_kit(store, bench=BENCH, by=BUILDER, at=at, **where, **how).codes[0]
    return finished_kit(store, kit, at=at, seal=seal)


def finished_kit(store: Store, kit: str, *, at: datetime, seal: str) -> str:
    """Check, seal and put away a kit that was built."""
    sealing.check_kit(store, kit=kit, by=CLERK, at=at)
    sealing.seal_kit(store, kit=kit, seal=seal, by=CLERK, at=at)
    sealing.put_away_kit(store, kit=kit, to_place=BIN2, by=CLERK, at=at)
    return kit
